package fit

import (
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// surprised is a Joint that knows how far each reading lies from what all others
// predict.
type surprised interface {
	// surprises returns, around each signal, the ratio of the squares of those
	// misses to what they were expected to be: about 1 where the model is right
	// about what it does not know.
	surprises(signals []colorimetry.RGB) []float64
}

func surprises(m Joint, signals []colorimetry.RGB) []float64 {
	if s, ok := m.(surprised); ok {
		return s.surprises(signals)
	}
	out := make([]float64, len(signals))
	for i := range out {
		out[i] = 1
	}
	return out
}

const (
	// surpriseReach is how far a reading's miss speaks, in the mean distance of
	// readings.
	surpriseReach = 1.0
	// surpriseDoubt is how many readings that missed as expected stand against
	// what the neighbours say: a few, since a single miss is mostly noise.
	surpriseDoubt = 2.0
)

// surprises implements surprised. Neighbours count the more the closer they are,
// in the places that the processes see.
func (m *ResidualModel) surprises(signals []colorimetry.RGB) []float64 {
	out := make([]float64, len(signals))
	ratio := make([]float64, len(m.stated))
	for i := range ratio {
		var missed, expected float64
		for c, p := range m.process {
			d := p.alpha[i] / p.alone[i]
			missed += d * d
			expected += 1/p.alone[i] - m.noise[c][i] + m.stated[i][c][c]
		}
		ratio[i] = missed / expected
	}
	reach := surpriseReach / math.Cbrt(float64(len(ratio)))
	for k, s := range signals {
		u, _ := m.input(s)
		sum, weight := surpriseDoubt, surpriseDoubt
		for i, v := range m.process[0].places {
			var d float64
			for c := range u {
				d += (u[c] - v[c]) * (u[c] - v[c])
			}
			w := math.Exp(-d / (2 * reach * reach))
			sum, weight = sum+w*ratio[i], weight+w
		}
		out[k] = sum / weight
	}
	return out
}

// misfit returns what no reading at another signal tells of the colour at s,
// where own is what readings do tell of.
func misfit(m Joint, s colorimetry.RGB, own colorimetry.Matrix) colorimetry.Matrix {
	switch m := m.(type) {
	case *ResidualModel:
		return m.misfit(s)
	case parametric:
		return colorimetry.Matrix{}
	}
	return m.Covariance(s).Add(own.Scale(-1))
}

// misfit returns the covariance of what no smooth function explains.
func (m *ResidualModel) misfit(s colorimetry.RGB) colorimetry.Matrix {
	_, back := m.placed(s)
	p := m.process
	return spreadBy(back, colorimetry.Diagonal(p[0].misfit, p[1].misfit, p[2].misfit))
}

// middle returns the median of v, which it sorts; of an even number the greater.
func middle(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}
