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
func (m *ResidualModel) calibrate() [3]float64 {
	where := make([][3]float64, len(m.apart))
	for i, s := range m.signals {
		where[i] = m.where(s)
	}
	loss := func(k [3]float64) float64 {
		sum := dot(k, k) / (2 * calibrationPrior * calibrationPrior)
		for i, a := range m.apart {
			v := a.spread.Scale(math.Exp(dot(k, where[i]))).Add(m.stated[i])
			inv, err := v.Inverse()
			det := v.Det()
			if err != nil || !(det > 0) {
				continue
			}
			sum += (math.Min(dot(a.rest, times(inv, a.rest)), calibrationCap) + math.Log(det)) / 2
		}
		return sum
	}
	var best [3]float64
	least := loss(best)
	for _, step := range []float64{0.8, 0.4, 0.2, 0.1} {
		for moved := true; moved; {
			moved = false
			for j := range best {
				for _, d := range [2]float64{step, -step} {
					k := best
					k[j] = math.Max(k[j]+d, 0)
					if v := loss(k); v < least {
						best, least, moved = k, v, true
					}
				}
			}
		}
	}
	return best
}

// factor returns by how much the model's covariance is enlarged at a signal.
func (m *ResidualModel) factor(s colorimetry.RGB) float64 {
	return math.Exp(dot(m.calibrated(), m.where(s)))
}

// where returns by how much each part of the enlargement holds at a signal:
// everywhere; in the dark, where the model under the residuals is black, falling to
// 0 at its lightness of 50; and where channels have most to do with each other, the
// level of the second brightest.
func (m *ResidualModel) where(s colorimetry.RGB) [3]float64 {
	s = s.Clamp()
	y := m.under.XYZ(s).Y
	at, _ := m.spot(s, y)
	dark := math.Max(0, 1-colorimetry.Lightness(math.Max(y/m.white, 0))/50)
	u := at.u[:3]
	second := u[0] + u[1] + u[2] - math.Max(u[0], math.Max(u[1], u[2])) - math.Min(u[0], math.Min(u[1], u[2]))
	return [3]float64{1, dark, math.Max(second, 0)}
}
