package verify

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
)

// causes is how many independent causes of error a 3×3 correction matrix has.
const causes = 9

// Common is the error that a reading has in common with all others that went
// through the same instrument correction: element k is what the k-th of nine
// independent causes of variance 1 adds to XYZ, in cd/m². Errors of one cause
// have one sign in all readings, so that no average makes them smaller, and
// that what is the same in two readings cancels in their difference: take the
// difference first, element by element, and its variance then.
//
// Source: JCGM 100:2008 (GUM), 5.2.2 and F.1.2.3: correlated errors are put
// down to the independent causes behind them, and the law of propagation is
// applied to those.
type Common [causes]colorimetry.XYZ

// Covariance returns the covariance of XYZ that the error makes, (cd/m²)²: the
// reading's Systematic.
func (c Common) Covariance() colorimetry.Matrix {
	var m colorimetry.Matrix
	for _, e := range c {
		v := [3]float64{e.X, e.Y, e.Z}
		for i := range 3 {
			for j := range 3 {
				m[i][j] += v[i] * v[j]
			}
		}
	}
	return m
}

// RatioSpread returns the standard uncertainty that the common errors a and b
// leave in the ratio of two luminances, as a share of it: what both have as the
// same share of their light cancels. Luminances, in cd/m², must be above 0.
func RatioSpread(a Common, luminanceA float64, b Common, luminanceB float64) float64 {
	var sum float64
	for k := range a {
		d := a[k].Y/luminanceA - b[k].Y/luminanceB
		sum += d * d
	}
	return math.Sqrt(sum)
}

// at returns the error where the causes have the values z.
func (c *Common) at(z *[causes]float64) colorimetry.XYZ {
	var sum colorimetry.XYZ
	for k, e := range c {
		sum = sum.Add(e.Scale(z[k]))
	}
	return sum
}

// Causes takes the systematic error of readings apart into independent causes.
// The zero value knows each reading's Systematic alone: it takes the errors of
// X, Y and Z, as shares of them, for three causes that all readings have in
// common, which is so for gains of the three channels and hides some of what a
// matrix does to colours unlike white.
type Causes struct {
	root *mat.Dense // root·rootᵀ is the covariance of the matrix's elements
}

// CausesOf returns the causes of error of the correction matrix that the
// readings went through. A covariance of nil or zero is not known: the result
// is the zero Causes. The error says that it is no covariance.
func CausesOf(correction *mismatch.MatrixCovariance) (Causes, error) {
	if correction == nil || *correction == (mismatch.MatrixCovariance{}) {
		return Causes{}, nil
	}
	s := mat.NewSymDense(causes, nil)
	for i := range causes {
		for j := i; j < causes; j++ {
			s.SetSym(i, j, (correction[i][j]+correction[j][i])/2)
		}
	}
	v, scale, err := eigen(s)
	if err != nil {
		return Causes{}, fmt.Errorf("verify: instrument correction: %w", err)
	}
	v.Apply(func(_, j int, x float64) float64 { return x * scale[j] }, v)
	return Causes{v}, nil
}

// Of returns the reading's part in the causes: zero where its Systematic is.
// With a known matrix it follows from Raw. The error says that Systematic is no
// covariance.
func (c Causes) Of(r measure.Reading) (Common, error) {
	var out Common
	if r.Systematic == (colorimetry.Matrix{}) {
		return out, nil
	}
	if c.root != nil && r.Raw != (colorimetry.XYZ{}) {
		raw := [3]float64{r.Raw.X, r.Raw.Y, r.Raw.Z}
		for k := range out {
			var v [3]float64
			for i := range 3 {
				for j := range 3 {
					v[i] += c.root.At(3*i+j, k) * raw[j]
				}
			}
			out[k] = colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
		}
		return out, nil
	}
	light := [3]float64{1, 1, 1} // of a reading that has no shares
	if x := r.XYZ; x.X > 0 && x.Y > 0 && x.Z > 0 {
		light = [3]float64{x.X, x.Y, x.Z}
	}
	s := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			s.SetSym(i, j, (r.Systematic[i][j]+r.Systematic[j][i])/2/(light[i]*light[j]))
		}
	}
	v, scale, err := eigen(s)
	if err != nil {
		return out, fmt.Errorf("systematic error: %w", err)
	}
	// The symmetric root changes smoothly from one reading to the next.
	var scaled, root mat.Dense
	scaled.Apply(func(_, j int, x float64) float64 { return x * scale[j] }, v)
	root.Mul(&scaled, v.T())
	for k := range 3 {
		out[k] = colorimetry.XYZ{X: light[0] * root.At(0, k), Y: light[1] * root.At(1, k), Z: light[2] * root.At(2, k)}
	}
	return out, nil
}

// eigen returns the eigenvectors of a covariance as columns, and the roots of
// its eigenvalues. A covariance may be singular, as where all error lies along
// one direction, so a Cholesky factor would not do.
func eigen(s *mat.SymDense) (v *mat.Dense, roots []float64, err error) {
	n := s.SymmetricDim()
	for i := range n {
		for j := i; j < n; j++ {
			if x := s.At(i, j); x-x != 0 {
				return nil, nil, fmt.Errorf("its covariance is not a number")
			}
		}
	}
	var e mat.EigenSym
	if !e.Factorize(s, true) {
		return nil, nil, fmt.Errorf("its covariance has no eigenvalues")
	}
	roots = e.Values(nil) // rising
	if roots[0] < -1e-9*roots[n-1] {
		return nil, nil, fmt.Errorf("its covariance has a negative variance, %.3g", roots[0])
	}
	for i, x := range roots {
		roots[i] = sqrtPositive(x)
	}
	v = mat.NewDense(n, n, nil)
	e.VectorsTo(v)
	return v, roots, nil
}
