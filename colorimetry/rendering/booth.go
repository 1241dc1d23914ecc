package rendering

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"sync"
)

// BoothLimit is one published condition for judging prints or displays.
type BoothLimit struct {
	Standard string // with its year
	Quantity string
	Where    string // which viewing condition it belongs to
	Limit    string // as published
	Unit     string
	Sure     string // how sure the figure is: none was read in the standard itself
	Source   string // where it was read
}

//go:embed data/booth.csv
var boothCSV []byte

var booth = sync.OnceValue(func() []BoothLimit {
	r := csv.NewReader(bytes.NewReader(boothCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(err) // a test reads the table
	}
	var out []BoothLimit
	for _, v := range rows[1:] {
		out = append(out, BoothLimit{v[0], v[1], v[2], v[3], v[4], v[5], v[6]})
	}
	return out
})

// BoothLimits returns the published conditions for viewing booths and the rooms
// of displays, in their order. They come from open summaries: before claiming
// to keep a standard, read it.
func BoothLimits() []BoothLimit { return append([]BoothLimit(nil), booth()...) }
