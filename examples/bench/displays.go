package main

import (
	"fmt"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// kind is a kind of display that models are tried on.
type kind struct {
	key  string // as options and tables name it
	spec func() simulate.Spec
	// bits is the depth of its path and lux the light of its room.
	bits int
	lux  float64
	// interacts says that its channels disturb each other, so that no sum over
	// them describes it.
	interacts bool
	// apart says that it is tried only where it is named: something to try models
	// on that were not made with it in view.
	apart bool
}

// displays are all kinds, in the order of the tables. A path of 16 bits is one
// without steps: models are to be judged, not rounding.
var displays = []kind{
	{key: "smooth", spec: simulate.SmoothLCD.Spec, bits: 16},
	{key: "crossing", spec: simulate.CrossingLCD.Spec, bits: 16, interacts: true},
	{key: "drifting", spec: simulate.DriftingLCD.Spec, bits: 16},
	{key: "crosstalk", spec: simulate.CrosstalkPanel.Spec, bits: 16, interacts: true},
	{key: "old-crt", spec: simulate.OldCRT.Spec, bits: 16, lux: 60},
	{key: "office", spec: simulate.OfficePanel.Spec, bits: 6},
	{key: "measured-oled", spec: simulate.ReferenceOLED.Spec, bits: 16},
	{key: "measured-lcd", spec: simulate.WideGamutLCD.Spec, bits: 16},
	{key: "measured-crt", spec: simulate.CRT.Spec, bits: 16},
	{key: "coupled", spec: simulate.CoupledLCD.Spec, bits: 16, interacts: true, apart: true},
	{key: "sagging", spec: simulate.SaggingPanel.Spec, bits: 16, interacts: true, apart: true},
	{key: "four-subpixels", spec: simulate.FourSubpixels.Spec, bits: 16, interacts: true, apart: true},
}

// noise is that of one integration: that of a middling filter colorimeter, which
// is what every reading of the library is assumed to have.
var noise = measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}

// on switches the display on.
func (k kind) on(seed uint64) (*simulate.Display, error) {
	return simulate.New(k.spec(), simulate.Options{Seed: seed, Bits: k.bits, RoomLux: k.lux, ReferenceNoise: &noise})
}

// Regions of colour that are judged apart.
const (
	all = iota
	neutrals
	dark
	surface
	regions
)

var regionNames = [regions]string{"all", "neutrals", "dark", "surface"}

// How many colours a region has, and the seed of theirs, which no set has.
const (
	manyAll, manyNeutrals, manyDark, manySurface = 1000, 300, 500, 500

	unseen = 1 << 40
)

// colour is a colour that models are judged on.
type colour struct {
	signal colorimetry.RGB
	truth  colorimetry.XYZ
	lab    colorimetry.Lab // relative to the true white
}

// ground is what is known of a display before anything is read.
type ground struct {
	kind
	name, origin string
	white        colorimetry.XYZ
	colours      [regions][]colour
	matrix       figures // of the plain matrix, on all
}

// survey switches a display on and collects its truth.
func survey(k kind) (*ground, error) {
	d, err := k.on(0)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", k.key, err)
	}
	g := &ground{kind: k, name: d.Spec().Name, origin: d.Spec().Origin, white: d.Truth(colorimetry.Gray(1))}
	o := chart.Options{Seed: unseen, Bits: k.bits, Space: chart.CAM16UCS}
	for r, set := range [regions]chart.Set{
		all:      chart.Sobol(manyAll, o),
		neutrals: chart.Union(chart.Quantise(greys(manyNeutrals), k.bits)),
		dark:     darkOnes(d, manyDark, k.bits),
		surface:  chart.Surface(manySurface, o),
	} {
		for _, p := range set {
			t := d.Truth(p.Signal)
			g.colours[r] = append(g.colours[r], colour{p.Signal, t, t.Lab(g.white)})
		}
	}
	m, err := plainMatrix(d)
	if err != nil {
		return nil, fmt.Errorf("%s: a plain matrix: %w", k.key, err)
	}
	g.matrix = g.errors(g.predicted(m.XYZ, all), all)
	return g, nil
}
