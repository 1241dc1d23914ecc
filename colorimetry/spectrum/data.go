package spectrum

import (
	"embed"
	"slices"
	"strings"
	"sync"
)

//go:embed data/*.csv
var files embed.FS

// columns is an embedded file: spectra and their names.
type columns struct {
	names   []string
	spectra []Spectrum
}

// load returns a function that parses an embedded file once. The files are
// part of the program and tested, so a fault in one is a fault of the build.
func load(name string) func() columns {
	return sync.OnceValue(func() columns {
		f, err := files.Open("data/" + name)
		if err != nil {
			panic(err)
		}
		defer f.Close()
		names, spectra, err := ReadCSV(f)
		if err != nil {
			panic(err)
		}
		return columns{names, spectra}
	})
}

// find returns the spectrum of that name.
func (c columns) find(name string) (Spectrum, bool) {
	if i := slices.IndexFunc(c.names, func(n string) bool { return strings.EqualFold(n, name) }); i >= 0 {
		return c.spectra[i], true
	}
	return Spectrum{}, false
}

var (
	cie1931     = load("cie1931.csv")
	cie1964     = load("cie1964.csv")
	cie2015Two  = load("cie2015two.csv")
	cie2015Ten  = load("cie2015ten.csv")
	conesTwo    = load("conestwo.csv")
	conesTen    = load("conesten.csv")
	scotopic    = load("scotopic.csv")
	daylight    = load("daylight.csv")
	illuminants = load("illuminants.csv")
	fluorescent = load("fluorescent.csv")
	discharge   = load("discharge.csv")
	led         = load("led.csv")
	tcs14       = load("tcs14.csv")
	ces99       = load("ces99.csv")
	munsell     = load("munsell.csv")
)
