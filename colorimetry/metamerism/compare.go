package metamerism

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/spectrum"
)

// Options say how [Compare] and [CompareDisplays] judge. The zero value is the
// default.
type Options struct {
	// Reference is the observer for whom the two lights match. The zero value
	// stands for CIE 1931. Between it and a model of eyes lies the difference
	// between their foundations too; Physiology.Observer of the zero value
	// leaves only what sets people apart.
	Reference spectrum.Observer
	// Difference is the measure of difference, first light first; nil stands for
	// difference.CIEDE2000.
	Difference func(a, b colorimetry.Lab) float64
	// Correct makes up for a match that isn't perfect: the second light's
	// tristimulus values are multiplied, for all observers, by what makes it
	// equal for the reference. CompareDisplays makes perfect matches and has no
	// use for it.
	//
	// Source: multiplicative correction of the metamerism index, CIE 015:2018
	// (the clause from memory).
	Correct bool
}

func (o Options) filled() Options {
	if o.Reference.YBar.Len() == 0 {
		o.Reference = spectrum.CIE1931()
	}
	if o.Difference == nil {
		o.Difference = difference.CIEDE2000
	}
	return o
}

// Summary sums up differences. The 95th percentile lies on a straight line
// between the two nearest of them.
type Summary struct{ Mean, Median, P95, Max float64 }

func summarise(d []float64) Summary {
	s := slices.Sorted(slices.Values(d))
	last := float64(len(s) - 1)
	at := func(q float64) float64 {
		i, part := math.Modf(q * last)
		if part == 0 {
			return s[int(i)]
		}
		return s[int(i)] + part*(s[int(i)+1]-s[int(i)])
	}
	return Summary{stat.Mean(s, nil), at(0.5), at(0.95), s[len(s)-1]}
}

// Spread is how differently a set of observers see two lights.
type Spread struct {
	Summary             // over the observers
	Each      []float64 // each observer's difference, in their order
	Worst     int       // the observer of Max
	Reference float64   // the reference observer's difference: 0 for a match
	// Shift is the mean over the observers of the second light minus the first
	// in CIELAB: what they agree on, and what a setting of the second light, or
	// another reference observer, would mend.
	Shift colorimetry.Lab
	// Scatter is the mean distance in CIELAB (ΔE*ab) of the observers' shifts
	// from their mean: what no setting mends for all of them.
	Scatter float64
}

// spread turns what the observers see, two colours each, into figures.
func spread(first, second []colorimetry.Lab, d func(a, b colorimetry.Lab) float64) (Spread, error) {
	s := Spread{Each: make([]float64, len(first))}
	k := 1 / float64(len(first))
	for i := range first {
		s.Each[i] = d(first[i], second[i])
		if v := s.Each[i]; math.IsNaN(v) || math.IsInf(v, 0) {
			return Spread{}, fmt.Errorf("metamerism: to observer %d the difference is %g; the lights or the white are too strong, too weak or not light", i+1, v)
		}
		if s.Each[i] > s.Each[s.Worst] {
			s.Worst = i
		}
		s.Shift.L += k * (second[i].L - first[i].L)
		s.Shift.A += k * (second[i].A - first[i].A)
		s.Shift.B += k * (second[i].B - first[i].B)
	}
	for i, a := range first {
		moved := colorimetry.Lab{L: a.L + s.Shift.L, A: a.A + s.Shift.A, B: a.B + s.Shift.B}
		s.Scatter += k * difference.AB(moved, second[i])
	}
	s.Summary = summarise(s.Each)
	return s, nil
}

// Compare returns how differently the observers see two lights, as a rule a
// pair that matches for the reference observer of o. Each observer is adapted
// to white, which has Y = 1 of its CIELAB.
//
// Lights and white are spectra on one scale, each summed over the observer's
// wavelengths: 390 to 780 nm for a [Physiology]. It is an error if there is no
// observer, if white is none to one of them, or if o.Correct meets a reference
// observer to whom a light has a tristimulus value not above 0.
//
// Source: CIE 80-1989 for the idea of a metamerism index for a change of
// observer; Asano, Fairchild and Blondé (2016) for that of many observers.
func Compare(observers []spectrum.Observer, first, second, white spectrum.Spectrum, o Options) (Spread, error) {
	o = o.filled()
	if len(observers) == 0 {
		return Spread{}, errNobody
	}
	correction := colorimetry.XYZ{X: 1, Y: 1, Z: 1}
	if o.Correct {
		a, b := o.Reference.Emission(first), o.Reference.Emission(second)
		if !positive(a) || !positive(b) {
			return Spread{}, fmt.Errorf("metamerism: to the reference observer %.40q the lights are %.3g and %.3g; a correction needs all six above 0", o.Reference.Name, a, b)
		}
		correction = colorimetry.XYZ{X: a.X / b.X, Y: a.Y / b.Y, Z: a.Z / b.Z}
	}
	look := func(by spectrum.Observer) (a, b colorimetry.Lab, err error) {
		w := by.Emission(white)
		if !positive(w) {
			return a, b, noWhite(by.Name, w)
		}
		c := by.Emission(second)
		c = colorimetry.XYZ{X: c.X * correction.X, Y: c.Y * correction.Y, Z: c.Z * correction.Z}
		return by.Emission(first).Lab(w), c.Lab(w), nil
	}
	a, b, err := look(o.Reference)
	if err != nil {
		return Spread{}, err
	}
	onFirst, onSecond := make([]colorimetry.Lab, len(observers)), make([]colorimetry.Lab, len(observers))
	for i, by := range observers {
		if onFirst[i], onSecond[i], err = look(by); err != nil {
			return Spread{}, err
		}
	}
	s, err := spread(onFirst, onSecond, o.Difference)
	if err != nil {
		return Spread{}, err
	}
	s.Reference = o.Difference(a, b)
	return s, nil
}

var errNobody = fmt.Errorf("metamerism: no observers; take Observers of Categories or of a Population")

func noWhite(observer string, w colorimetry.XYZ) error {
	return fmt.Errorf("metamerism: to observer %.40q the white is %.3g; all three must be above 0", observer, w)
}

func positive(c colorimetry.XYZ) bool { return c.X > 0 && c.Y > 0 && c.Z > 0 && c.Finite() }
