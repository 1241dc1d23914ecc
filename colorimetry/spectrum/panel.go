package spectrum

import (
	"math"
	"sync"

	"example.org/primaries/colorimetry"
)

// PanelSource is a typical kind of display panel, told apart by what makes its
// light.
type PanelSource struct {
	Key         string      // short, stable, for files and flags
	Description string      // for people
	Primaries   [3]Spectrum // red, green and blue at full, W/(sr·m²·nm)
}

// PanelSources returns six typical kinds of panel, the two that are most
// common among desktop displays first. Each call returns a new slice.
//
// The spectra are invented: sums of Gaussian peaks whose places and widths are
// typical of such light sources, from common knowledge of the field, measured
// on no display. They serve to judge how an instrument would err on a panel of
// that kind, not to describe anybody's panel. Each set is scaled so that the
// three primaries at full make D65 of 100 cd/m², 380 to 780 nm at 1 nm.
func PanelSources() []PanelSource {
	out := make([]PanelSource, len(panelKinds))
	for i, p := range panelSpectra() {
		out[i] = PanelSource{panelKinds[i].key, panelKinds[i].description, p}
	}
	return out
}

// peak is a Gaussian: centre and full width at half its height in nm.
type peak struct{ centre, width, height float64 }

type panelKind struct {
	key, description string
	r, g, b          []peak
}

// panelKinds is constant. Small peaks in another primary's band are what the
// colour filters let through.
var panelKinds = [...]panelKind{
	{"blue-yellow", "white LEDs: blue chip and yellow phosphor",
		[]peak{{618, 50, 1}, {582, 20, 0.07}, {450, 22, 0.02}},
		[]peak{{545, 70, 1}, {500, 40, 0.16}, {450, 22, 0.05}},
		[]peak{{450, 22, 1}, {492, 46, 0.16}}},
	{"blue-red-green", "white LEDs: blue chip, green phosphor and narrow-line red phosphor",
		[]peak{{631, 5, 1}, {613, 5, 0.32}, {635, 5, 0.42}, {648, 6, 0.16}, {560, 50, 0.008}, {447, 20, 0.006}},
		[]peak{{536, 52, 1}, {447, 20, 0.03}, {631, 5, 0.03}},
		[]peak{{447, 20, 1}, {510, 36, 0.07}}},
	{"blue-quantum-dots", "blue LEDs and quantum dots",
		[]peak{{632, 28, 1}, {560, 40, 0.012}, {449, 20, 0.012}},
		[]peak{{530, 32, 1}, {449, 20, 0.03}, {632, 28, 0.008}},
		[]peak{{449, 20, 1}, {515, 30, 0.045}}},
	{"rgb-leds", "separate red, green and blue LEDs",
		[]peak{{637, 18, 1}, {540, 34, 0.01}},
		[]peak{{524, 34, 1}, {460, 22, 0.03}, {637, 18, 0.006}},
		[]peak{{460, 22, 1}, {510, 30, 0.03}}},
	{"self-luminous-rgb", "self-luminous red, green and blue pixels",
		[]peak{{620, 34, 1}, {655, 50, 0.22}},
		[]peak{{526, 28, 1}, {558, 46, 0.26}},
		[]peak{{460, 20, 1}, {484, 34, 0.16}}},
	{"self-luminous-white", "self-luminous white pixels behind colour filters",
		[]peak{{622, 54, 1}, {590, 24, 0.10}, {457, 26, 0.01}},
		[]peak{{538, 52, 1}, {500, 34, 0.10}, {457, 26, 0.03}},
		[]peak{{457, 26, 1}, {490, 36, 0.14}}},
}

var panelSpectra = sync.OnceValue(func() [][3]Spectrum {
	var out [][3]Spectrum
	for _, k := range panelKinds {
		out = append(out, balance([3]Spectrum{gaussians(k.r), gaussians(k.g), gaussians(k.b)}))
	}
	return out
})

// gaussians returns the sum of peaks, 380 to 780 nm at 1 nm.
func gaussians(peaks []peak) Spectrum {
	s := Spectrum{make([]float64, 401), make([]float64, 401)}
	for i := range s.nm {
		s.nm[i] = float64(380 + i)
		for _, p := range peaks {
			x := (s.nm[i] - p.centre) / p.width
			s.value[i] += p.height * math.Exp(-4*math.Ln2*x*x)
		}
	}
	return s
}

// balance scales three primaries so that together they make D65 of 100 cd/m².
func balance(p [3]Spectrum) [3]Spectrum {
	o := CIE1931()
	m := colorimetry.Columns(o.Emission(p[0]), o.Emission(p[1]), o.Emission(p[2]))
	inv, err := m.Inverse()
	if err != nil {
		panic(err) // the kinds above are part of the program and tested
	}
	a := inv.Apply(colorimetry.D65().Scale(100))
	return [3]Spectrum{p[0].Scale(a.X), p[1].Scale(a.Y), p[2].Scale(a.Z)}
}
