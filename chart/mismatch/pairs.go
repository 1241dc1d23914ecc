package mismatch

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// FromPairs returns the four-colour correction from a session's readings of
// red, green, blue and white at full signal with the reference and with the
// instrument, in any order and any number each: readings of one patch are
// averaged. Readings of other patches are not used. The instrument's Raw
// values are taken, the reference's XYZ; their covariances give the
// correction's uncertainty at white. It is an error if one of the four is
// missing, and as in [FourColour].
func FromPairs(ref, meas []measure.Reading) (Correction, error) {
	r, err := fourMeans(ref, "the reference", func(m measure.Reading) colorimetry.XYZ { return m.XYZ })
	if err != nil {
		return Correction{}, err
	}
	m, err := fourMeans(meas, "the instrument", func(m measure.Reading) colorimetry.XYZ { return m.Raw })
	if err != nil {
		return Correction{}, err
	}
	c, err := FourColour(r.xyz, m.xyz)
	if err != nil {
		return Correction{}, err
	}
	// The variance that each of the eight readings adds to the corrected white,
	// by small changes of each of its components.
	var uv, lum float64
	white := m.xyz[3]
	base := c.Apply(white)
	for i := range 4 {
		for k, side := range []four{r, m} {
			var du, dv, dy [3]float64
			for j := range 3 {
				h := 1e-5 * (side.xyz[i].X + side.xyz[i].Y + side.xyz[i].Z)
				shifted := [2][4]colorimetry.XYZ{r.xyz, m.xyz}
				shifted[k][i] = shift(shifted[k][i], j, h)
				moved, err := FourColour(shifted[0], shifted[1])
				if err != nil {
					return Correction{}, err
				}
				got := moved.Apply(white)
				a, b := base.UV(), got.UV()
				du[j], dv[j], dy[j] = (b.U-a.U)/h, (b.V-a.V)/h, (got.Y-base.Y)/(h*base.Y)
			}
			uv += quadratic(du, side.cov[i]) + quadratic(dv, side.cov[i])
			lum += quadratic(dy, side.cov[i])
		}
	}
	c.UncertaintyUV, c.UncertaintyY = math.Sqrt(uv), math.Sqrt(lum)
	return c, nil
}

// four holds red, green, blue and white with the covariances of their means.
type four struct {
	xyz [4]colorimetry.XYZ
	cov [4]colorimetry.Matrix
}

func fourMeans(readings []measure.Reading, whose string, value func(measure.Reading) colorimetry.XYZ) (four, error) {
	signals := [4]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, colorimetry.Gray(1)}
	var f four
	for i, s := range signals {
		n := 0.0
		for _, r := range readings {
			if r.Patch.Signal == s {
				f.xyz[i] = f.xyz[i].Add(value(r))
				f.cov[i] = f.cov[i].Add(r.Covariance)
				n++
			}
		}
		if n == 0 {
			return four{}, fmt.Errorf("mismatch: %s has no reading of signal %v; red, green, blue and white at full signal are needed", whose, s)
		}
		f.xyz[i] = f.xyz[i].Scale(1 / n)
		f.cov[i] = f.cov[i].Scale(1 / (n * n))
	}
	return f, nil
}

func shift(c colorimetry.XYZ, component int, h float64) colorimetry.XYZ {
	switch component {
	case 0:
		c.X += h
	case 1:
		c.Y += h
	default:
		c.Z += h
	}
	return c
}

// quadratic returns gᵀ·c·g, the variance along a gradient.
func quadratic(g [3]float64, c colorimetry.Matrix) float64 {
	var sum float64
	for i := range 3 {
		for j := range 3 {
			sum += g[i] * c[i][j] * g[j]
		}
	}
	return sum
}
