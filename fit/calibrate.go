package fit

import (
	"math"

	"example.org/primaries/colorimetry"
)

const (
	// calibrationPrior is the spread, in logarithms of variance, of the factors
	// that are thought likely: a model is off by half in its standard deviation.
	calibrationPrior = 1.0
	// calibrationCap keeps single readings from deciding: squares of distances
	// count up to it, which one in a thousand exceeds by chance.
	calibrationCap = 16.0
)

// calibrate returns by how much the covariance of the model is to be enlarged,
// as two logarithms: everywhere, and more in the dark. It asks what the readings
// show, each beside what all others say of it: where they miss by more than their
// own noise and the model's covariance explain, the covariance is too small. How
// large the misses are may depend on the light in ways that no single misfit has.
// It is never made smaller: the readings lie where the model was taught, and
// colours between them may be farther off.
func (m *ResidualModel) calibrate() [2]float64 {
	dark := make([]float64, len(m.apart))
	for i, s := range m.signals {
		dark[i] = m.darkness(s)
	}
	loss := func(k [2]float64) float64 {
		sum := (k[0]*k[0] + k[1]*k[1]) / (2 * calibrationPrior * calibrationPrior)
		for i, a := range m.apart {
			v := a.spread.Scale(math.Exp(k[0] + k[1]*dark[i])).Add(m.stated[i])
			inv, err := v.Inverse()
			det := v.Det()
			if err != nil || !(det > 0) {
				continue
			}
			sum += (math.Min(dot(a.rest, times(inv, a.rest)), calibrationCap) + math.Log(det)) / 2
		}
		return sum
	}
	var best [2]float64
	least := loss(best)
	for _, step := range []float64{0.8, 0.4, 0.2, 0.1} {
		for moved := true; moved; {
			moved = false
			for _, d := range [4][2]float64{{step, 0}, {-step, 0}, {0, step}, {0, -step}} {
				k := [2]float64{math.Max(best[0]+d[0], 0), math.Max(best[1]+d[1], 0)}
				if v := loss(k); v < least {
					best, least, moved = k, v, true
				}
			}
		}
	}
	return best
}

// factor returns by how much the model's covariance is enlarged at a signal.
func (m *ResidualModel) factor(s colorimetry.RGB) float64 {
	k := m.calibrated()
	return math.Exp(k[0] + k[1]*m.darkness(s))
}

// darkness is 1 where the model under the residuals is black and falls to 0 at its
// lightness of 50.
func (m *ResidualModel) darkness(s colorimetry.RGB) float64 {
	share := m.under.XYZ(s.Clamp()).Y / m.white
	return math.Max(0, 1-colorimetry.Lightness(math.Max(share, 0))/50)
}
