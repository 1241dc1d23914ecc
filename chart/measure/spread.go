package measure

import (
	"math"

	"example.org/primaries/colorimetry"
)

// SpreadUV returns the standard deviation of the reading's place in the u'v'
// diagram, from its covariance by the derivatives of u' and v': the root of the
// sum of both variances. It is 0 where the reading has no chromaticity or no
// covariance.
func (r Reading) SpreadUV() float64 {
	c := r.XYZ
	d := c.X + 15*c.Y + 3*c.Z
	if !(d > 0) {
		return 0
	}
	u, v := 4*c.X/d, 9*c.Y/d
	du := colorimetry.XYZ{X: (4 - u) / d, Y: -15 * u / d, Z: -3 * u / d}
	dv := colorimetry.XYZ{X: -v / d, Y: (9 - 15*v) / d, Z: -3 * v / d}
	return math.Sqrt(quadratic(r.Covariance, du) + quadratic(r.Covariance, dv))
}

// SpreadShare returns the standard deviation of the luminance as a share of
// it, 0 where the reading has no luminance.
func (r Reading) SpreadShare() float64 {
	if !(r.XYZ.Y > 0) {
		return 0
	}
	return math.Sqrt(math.Max(r.Covariance[1][1], 0)) / r.XYZ.Y
}

// quadratic returns gᵀ·m·g, at least 0.
func quadratic(m colorimetry.Matrix, g colorimetry.XYZ) float64 {
	h := m.Apply(g)
	return math.Max(g.X*h.X+g.Y*h.Y+g.Z*h.Z, 0)
}
