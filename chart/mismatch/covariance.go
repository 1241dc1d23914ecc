package mismatch

import (
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// MatrixCovariance is the covariance of the nine elements of a 3×3 correction
// matrix, taken row by row: element 3i+j is that of row i, column j. The zero
// value is a matrix without error.
type MatrixCovariance [9][9]float64

// Of returns the covariance that the matrix's error gives to the corrected
// value of a raw reading, in the square of its unit.
func (c *MatrixCovariance) Of(raw colorimetry.XYZ) colorimetry.Matrix { return c.Between(raw, raw) }

// Between returns the covariance of the errors of the corrected values of two
// raw readings, rows for the first: one matrix corrects both, so that its error
// is common to them. Their difference has the covariance Of(a−b).
func (c *MatrixCovariance) Between(a, b colorimetry.XYZ) colorimetry.Matrix {
	p, q := [3]float64{a.X, a.Y, a.Z}, [3]float64{b.X, b.Y, b.Z}
	var out colorimetry.Matrix
	for i := range 3 {
		for k := range 3 {
			for j := range 3 {
				for l := range 3 {
					out[i][k] += p[j] * c[3*i+j][3*k+l] * q[l]
				}
			}
		}
	}
	return out
}

// add adds a symmetric 9×9 matrix, of which what gives the upper half.
func (c *MatrixCovariance) add(what func(i, k int) float64) {
	for i := range 9 {
		for k := i; k < 9; k++ {
			c[i][k] += what(i, k)
			c[k][i] = c[i][k]
		}
	}
}

// addGradient adds variance·g·gᵀ, with g the derivative of the matrix by one
// cause of error.
func (c *MatrixCovariance) addGradient(g colorimetry.Matrix, variance float64) {
	c.add(func(i, k int) float64 { return variance * g[i/3][i%3] * g[k/3][k%3] })
}

// addGradients adds Σ g_a·cov_ab·g_bᵀ, with g the derivatives of the matrix by
// three causes of error that have the covariance cov.
func (c *MatrixCovariance) addGradients(g [3]colorimetry.Matrix, cov colorimetry.Matrix) {
	c.add(func(i, k int) (sum float64) {
		for a := range 3 {
			for b := range 3 {
				sum += g[a][i/3][i%3] * cov[a][b] * g[b][k/3][k%3]
			}
		}
		return sum
	})
}

// addGains adds the error of what comes after the matrix m: gains of X, Y and Z
// whose relative errors have the covariance e.
func (c *MatrixCovariance) addGains(m, e colorimetry.Matrix) {
	c.add(func(i, k int) float64 { return e[i/3][k/3] * m[i/3][i%3] * m[k/3][k%3] })
}

// gains returns the relative covariance of X, Y and Z of a light, from the
// standard uncertainties of x and of y and of Y as a share.
func gains(light colorimetry.XYZ, xy, share float64) colorimetry.Matrix {
	e := measure.Noise{Chromaticity: xy, Luminance: share}.Covariance(light, 1)
	v := [3]float64{light.X, light.Y, light.Z}
	for i := range 3 {
		for k := range 3 {
			e[i][k] /= v[i] * v[k]
		}
	}
	return e
}

// Correct returns the corrected value of a reading with what the correction's
// own error means for it: it makes a Correction a [measure.Corrector].
func (c Correction) Correct(raw colorimetry.XYZ) measure.Corrected {
	return measure.Corrected{XYZ: c.Matrix.Apply(raw), Slope: c.Matrix, Systematic: c.Covariance.Of(raw)}
}

// spread returns the standard uncertainty that the correction's error leaves in
// the chromaticity of a light, as a distance in u'v', and in its luminance as a
// share.
func (c *Correction) spread(raw colorimetry.XYZ) (uv, share float64) {
	r := measure.Reading{XYZ: c.Apply(raw), Covariance: c.Covariance.Of(raw)}
	return r.SpreadUV(), r.SpreadShare()
}

// WithUncertainty returns c with more uncertainty than it states, independent
// of it: uv in the chromaticity of white, as a distance in u'v', and share in
// luminance, both standard. It is for what pairs cannot show: the certificate
// of the reference (√2 times [measure.InstrumentInfo].CertificateUV, which is
// that of each axis), or a panel whose spectra are typical ones. white is the
// display's as the instrument reads it. Other colours get the same relative
// error of X, Y and Z. Without light c comes back as it was.
func (c Correction) WithUncertainty(white colorimetry.XYZ, uv, share float64) Correction {
	light := c.Apply(white)
	if !(light.X > 0 && light.Y > 0 && light.Z > 0) || !light.Finite() {
		return c
	}
	unit := measure.Reading{XYZ: light, Covariance: measure.Noise{Chromaticity: 1}.Covariance(light, 1)}.SpreadUV()
	c.Covariance.addGains(c.Matrix, gains(light, uv/unit, share))
	c.UncertaintyUV, c.UncertaintyY = math.Hypot(c.UncertaintyUV, uv), math.Hypot(c.UncertaintyY, share)
	return c
}
