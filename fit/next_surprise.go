package fit

import (
	"math"
	"slices"

	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/stat"
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
// in the places that the processes see; and what they say counts as far as it
// varies more from reading to reading than chance lets it.
func (m *ResidualModel) surprises(signals []colorimetry.RGB) []float64 {
	ratio := make([]float64, len(m.apart))
	for i, a := range m.apart {
		if inv, err := a.spread.Add(m.stated[i]).Inverse(); err == nil {
			ratio[i] = dot(a.rest, times(inv, a.rest)) / 3
		}
	}
	places := make([][3]float64, len(m.spots))
	for i := range places {
		places[i] = [3]float64(m.spots[i].u[:3])
	}
	around := make([]float64, len(ratio))
	var chance float64
	for i, u := range places {
		var share float64
		around[i], share = surrounding(u, places, ratio)
		// The mean of three squared deviations has the variance 2/3.
		chance += share * 2 / 3 / float64(len(ratio))
	}
	mean, variance := stat.MeanVariance(around, nil)
	trust := math.Max(0, 1-chance/math.Max(variance, 1e-12))
	out := make([]float64, len(signals))
	for k, s := range signals {
		u, _ := m.spot(s.Clamp(), 0)
		v, _ := surrounding([3]float64(u.u[:3]), places, ratio)
		out[k] = mean + trust*(v-mean)
	}
	return out
}

// surrounding returns the mean of the values near u, and the share that the
// variance of one of them has in the variance of that.
func surrounding(u [3]float64, places [][3]float64, values []float64) (mean, share float64) {
	reach := surpriseReach / math.Cbrt(float64(len(places)))
	sum, weight, squares := surpriseDoubt, surpriseDoubt, 0.0
	for i, v := range places {
		var d float64
		for c := range u {
			d += (u[c] - v[c]) * (u[c] - v[c])
		}
		w := math.Exp(-d / (2 * reach * reach))
		sum, weight, squares = sum+w*values[i], weight+w, squares+w*w
	}
	return sum / weight, squares / (weight * weight)
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

// middle returns the median of v, which it sorts; of an even number the greater.
func middle(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}
