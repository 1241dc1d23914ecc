package main

import (
	"math/rand/v2"

	"example.org/primaries/chart"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// greys returns n greys at the middles of as many equal steps of the signal, where
// no ramp has one but by chance.
func greys(n int) chart.Set {
	set := make(chart.Set, n)
	for i := range set {
		set[i].Signal = colorimetry.Gray((float64(i) + 0.5) / float64(n))
	}
	return set
}

// darkOnes returns n signals by lot among those that d shows with L* below 20, or
// fewer where its path has no more.
func darkOnes(d *simulate.Display, n, bits int) chart.Set {
	white := d.Truth(colorimetry.Gray(1))
	rng := rand.New(rand.NewPCG(unseen, 1))
	var set chart.Set
	for range 40 { // one draw in a few dozen is dark
		for range 20 * n {
			s := colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}.Quantise(bits)
			if d.Truth(s).Lab(white).L < 20 {
				set = append(set, chart.Patch{Signal: s})
			}
		}
		if set = chart.Union(set); len(set) >= n {
			return set[:n]
		}
	}
	return set
}

// matrixModel is the plainest model of a display: the light of the three channels,
// each of one colour and as strong as when it is shown alone, added up.
type matrixModel struct {
	black     colorimetry.XYZ
	primaries colorimetry.Matrix // columns: full channels, less the black
	amounts   [3][levels + 1]float64
}

// levels are the steps of the plain matrix' tones.
const levels = 1023

// plainMatrix makes the model of a display's truth: black, the primaries at full
// signal, and of each channel alone its share in the mixture of primaries, at 1024
// levels.
func plainMatrix(d *simulate.Display) (*matrixModel, error) {
	m := &matrixModel{black: d.Truth(colorimetry.RGB{})}
	full := [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}}
	alone := func(c int, v float64) colorimetry.XYZ {
		s := full[c]
		return d.Truth(colorimetry.RGB{R: s.R * v, G: s.G * v, B: s.B * v}).Sub(m.black)
	}
	m.primaries = colorimetry.Columns(alone(0, 1), alone(1, 1), alone(2, 1))
	inverse, err := m.primaries.Inverse()
	if err != nil {
		return nil, err
	}
	for c := range m.amounts {
		for i := range m.amounts[c] {
			a := inverse.Apply(alone(c, float64(i)/levels))
			m.amounts[c][i] = [3]float64{a.X, a.Y, a.Z}[c]
		}
	}
	return m, nil
}

// XYZ returns the colour that the model has for a signal, in cd/m².
func (m *matrixModel) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	var a [3]float64
	for c, v := range [3]float64{s.R, s.G, s.B} {
		at := v * levels
		low := min(int(at), levels-1)
		t := &m.amounts[c]
		a[c] = t[low] + (at-float64(low))*(t[low+1]-t[low])
	}
	return m.primaries.Apply(colorimetry.XYZ{X: a[0], Y: a[1], Z: a[2]}).Add(m.black)
}
