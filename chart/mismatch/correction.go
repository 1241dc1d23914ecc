package mismatch

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
)

// Kinds of correction.
const (
	KindFourColour   = "four-colour"
	KindLeastSquares = "least squares"
	KindSource       = "panel spectra"
	KindUnknown      = "panel unknown"
	KindWeighted     = "weighted pairs"
	KindSpectra      = "several spectra a primary"
)

// Correction takes an instrument's readings to those of a reference.
type Correction struct {
	Kind   string             `json:"kind"`
	Matrix colorimetry.Matrix `json:"matrix"` // corrected XYZ = Matrix · XYZ as read
	// UncertaintyUV is the standard uncertainty that the correction leaves in
	// the white's chromaticity, as a distance in u'v': the root of the summed
	// variances of u' and v'. UncertaintyY is that of its luminance, as a
	// share. 0 means that it is not known.
	UncertaintyUV float64 `json:"uncertainty_uv"`
	UncertaintyY  float64 `json:"uncertainty_luminance"`
	// Covariance is that of the matrix's elements, from which the uncertainty
	// of every colour follows: see [Correction.Correct]. Zero means that it is
	// not known.
	Covariance MatrixCovariance `json:"covariance,omitzero"`
	// Condition is the condition number (2-norm) of the matrix of the lights
	// that the correction rests on, as the instrument saw them: how much their
	// errors may be enlarged. Primaries of real displays give 2 to 10.
	Condition float64 `json:"condition"`
	// Residual is the root mean square of what the correction leaves in the
	// pairs it was made from, over all components, in their unit: 0 where it
	// goes through them.
	Residual float64 `json:"residual"`
	// LargestUV is the largest distance in u'v' that is left in those pairs,
	// or, for an unknown panel, in the white of the kinds considered.
	LargestUV float64 `json:"largest_uv"`
	Note      string  `json:"note,omitempty"` // one sentence on what it rests on
}

// Apply returns the corrected tristimulus value.
func (c Correction) Apply(raw colorimetry.XYZ) colorimetry.XYZ { return c.Matrix.Apply(raw) }

// ErrDegenerate is wrapped where the lights of a correction do not span the
// colours: two primaries are alike, or one is dark.
var ErrDegenerate = errors.New("the lights do not differ enough to make a correction")

// largestCondition is where a correction is refused: errors of one part in a
// thousand would be enlarged to all of it.
const largestCondition = 1000

// FourColour returns the correction by the four-colour method from paired
// readings of red, green, blue and white, in this order, absolute or both on
// one scale: it brings the chromaticities of all four to those of ref, whatever
// their luminances, which are the noisier part of a reading, and the luminance
// of white. The error wraps [ErrDegenerate] where the primaries of either
// instrument do not span the colours, or where white has no luminance.
//
// Source: Ohno and Hardis, Proc. IS&T 5th Color Imaging Conf. (1997) 301–305.
func FourColour(ref, meas [4]colorimetry.XYZ) (Correction, error) {
	r, _, err := primaries(ref)
	if err != nil {
		return Correction{}, fmt.Errorf("mismatch: readings of the reference: %w", err)
	}
	m, condition, err := primaries(meas)
	if err != nil {
		return Correction{}, fmt.Errorf("mismatch: readings of the instrument: %w", err)
	}
	inv, err := m.Inverse()
	if err != nil {
		return Correction{}, fmt.Errorf("mismatch: readings of the instrument: %w", ErrDegenerate)
	}
	c := r.Mul(inv)
	y := c.Apply(meas[3]).Y
	if !(y > 0) {
		return Correction{}, fmt.Errorf("mismatch: white has no luminance: %w", ErrDegenerate)
	}
	out := Correction{Kind: KindFourColour, Matrix: c.Scale(ref[3].Y / y), Condition: condition,
		Note: "chromaticities of red, green, blue and white and the luminance of white from paired readings"}
	out.residuals(ref[:], meas[:])
	return out, nil
}

// primaries returns the matrix whose columns are the chromaticities x, y, z of
// red, green and blue, each weighted so that they add up to the white's, and
// its condition number.
func primaries(c [4]colorimetry.XYZ) (colorimetry.Matrix, float64, error) {
	for _, v := range c {
		if !v.Finite() || !(v.X+v.Y+v.Z > 0) {
			return colorimetry.Matrix{}, 0, ErrDegenerate
		}
	}
	n := colorimetry.Columns(unitSum(c[0]), unitSum(c[1]), unitSum(c[2]))
	inv, err := n.Inverse()
	if err != nil {
		return n, 0, ErrDegenerate
	}
	k := inv.Apply(unitSum(c[3]))
	n = n.Mul(colorimetry.Diagonal(k.X, k.Y, k.Z))
	condition := condition(n)
	if !(condition < largestCondition) {
		return n, condition, ErrDegenerate
	}
	return n, condition, nil
}

// unitSum returns c scaled to X + Y + Z = 1.
func unitSum(c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(1 / (c.X + c.Y + c.Z)) }

func condition(m colorimetry.Matrix) float64 {
	d := mat.NewDense(3, 3, nil)
	for i, row := range m {
		d.SetRow(i, row[:])
	}
	return mat.Cond(d, 2)
}

// LeastSquares returns the matrix that brings the readings meas nearest to
// those of the reference, in the sum of squared differences of X, Y and Z. The
// two are paired by position; at least three pairs are needed. The error wraps
// [ErrDegenerate] where the lights do not span the colours. Noise of luminance
// leaks into chromaticity; where red, green, blue and white were read,
// [FourColour] is the better choice.
//
// Source: ASTM E1455, the method of least squares on tristimulus values.
func LeastSquares(ref, meas []colorimetry.XYZ) (Correction, error) {
	if len(ref) != len(meas) || len(ref) < 3 {
		return Correction{}, fmt.Errorf("mismatch: %d readings of the reference and %d of the instrument; at least three pairs are needed", len(ref), len(meas))
	}
	a, b := mat.NewDense(len(ref), 3, nil), mat.NewDense(len(ref), 3, nil)
	for i := range ref {
		if !ref[i].Finite() || !meas[i].Finite() {
			return Correction{}, fmt.Errorf("mismatch: pair %d holds a number that is not finite", i)
		}
		a.SetRow(i, []float64{meas[i].X, meas[i].Y, meas[i].Z})
		b.SetRow(i, []float64{ref[i].X, ref[i].Y, ref[i].Z})
	}
	out := Correction{Kind: KindLeastSquares, Condition: mat.Cond(a, 2),
		Note: fmt.Sprintf("least squares over %d pairs", len(ref))}
	if !(out.Condition < largestCondition) {
		return Correction{}, fmt.Errorf("mismatch: %w", ErrDegenerate)
	}
	var qr mat.QR
	qr.Factorize(a)
	var x mat.Dense
	if err := qr.SolveTo(&x, false, b); err != nil {
		return Correction{}, fmt.Errorf("mismatch: %w", ErrDegenerate)
	}
	for i := range 3 {
		for j := range 3 {
			out.Matrix[i][j] = x.At(j, i)
		}
	}
	out.residuals(ref, meas)
	return out, nil
}

// residuals fills in what the correction leaves in its pairs.
func (c *Correction) residuals(ref, meas []colorimetry.XYZ) {
	var sum float64
	c.LargestUV = 0
	for i := range ref {
		got := c.Apply(meas[i])
		d := got.Sub(ref[i])
		sum += d.X*d.X + d.Y*d.Y + d.Z*d.Z
		if uv := got.UV().Distance(ref[i].UV()); uv > c.LargestUV {
			c.LargestUV = uv
		}
	}
	c.Residual = math.Sqrt(sum / float64(3*len(ref)))
}
