package spectrum

import (
	"embed"
	"sync"
)

//go:embed data/*.csv
var files embed.FS

// table returns the columns of an embedded file. The files are part of the
// program and tested, so a fault in one is a fault of the build.
func table(name string) []Spectrum {
	f, err := files.Open("data/" + name)
	if err != nil {
		panic(err)
	}
	defer f.Close()
	_, columns, err := ReadCSV(f)
	if err != nil {
		panic(err)
	}
	return columns
}

var (
	cie1931  = sync.OnceValue(func() []Spectrum { return table("cie1931.csv") })
	daylight = sync.OnceValue(func() []Spectrum { return table("daylight.csv") })
)
