package mismatch

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Pair is one light as both instruments read it.
type Pair struct {
	Name      string          // for errors and residuals: a patch's ID
	Reference colorimetry.XYZ // absolute, cd/m², or both on one scale
	// Instrument is the value as the instrument reports it, uncorrected.
	Instrument colorimetry.XYZ
	// Their covariances in the square of that unit; a zero one means that it is
	// not known and is taken as that of one integration with the noise that
	// [measure.Noise.Assumed] assumes.
	ReferenceCovariance, InstrumentCovariance colorimetry.Matrix
}

// FitOptions steer [Fit]. The zero value is the default.
type FitOptions struct {
	// MostUV is the largest standard uncertainty in u'v' that noise may leave in
	// white: 0 = 0.004, above which a correction is no better than that of
	// another panel (common practice, no source). Three times as much may be left
	// in the other lights and in the primaries of BT.709, which stand for the
	// colours of a display that was read in fewer.
	MostUV float64
	// MostMisfit is the largest Misfit that is taken for the display's or the
	// instrument's nature; above it some pairs are wrong: 0 = 0.005.
	MostMisfit float64
}

// The defaults of FitOptions.
const (
	defaultMostUV     = 0.004
	defaultMostMisfit = 0.005
)

// Fitted is a correction from pairs with what tells how good it is.
type Fitted struct {
	Correction
	// Misfit is what the pairs keep of differences that neither noise nor one
	// matrix explains: the standard deviation in x and in y, with eight times as
	// much in Y as a share. It is part of Covariance. 0 where noise explains
	// everything, or where there are three pairs only.
	Misfit float64
	// ChiSquared is the sum of squared residuals, each in units of its noise,
	// without Misfit; where one matrix holds it is about Freedom.
	ChiSquared float64
	Freedom    int
	Residuals  []Residual // one a pair, in order
}

// Residual is what a correction leaves in one pair.
type Residual struct {
	Name      string
	DX, DY    float64 // in x and y: corrected less reference
	Luminance float64 // of Y, as a share
	UV        float64 // distance in u'v'
	Distance  float64 // in standard deviations of noise and misfit together, of three components
}

// luminancePart is how much larger a misfit is in Y, as a share, than in x and
// in y: Ohno and Hardis, Proc. IS&T 6th Color Imaging Conf. (1998) 65–68, left
// 0.9 % and 0.0011 on colours of a CRT.
const luminancePart = 8

// maxPairs bounds the work of [Fit]: far more than anybody reads.
const maxPairs = 4096

// Fit returns the matrix that the pairs support best, by least squares on X, Y
// and Z, weighted by the covariance of each pair: that of the reference, that of
// the instrument carried through the matrix, and the misfit, which is estimated
// so that the residuals are as large as they should be. Any lights will do,
// three of them at least that span the colours, several of each primary too.
// Where luminance is what is noisy, weighting by covariance leaves it out, as
// the four-colour method does by construction.
//
// Covariance is that of the fit, with the misfit as a relative error of X, Y
// and Z; UncertaintyUV and UncertaintyY are for the brightest light, which
// should be white.
//
// The error wraps [ErrDegenerate] where the lights do not span the colours, and
// [ErrUnsupported] where the pairs do not support a correction: two instruments
// that saw different lights, contradictions, too much noise. A Fitted with its
// Residuals comes with the latter where the fit was possible.
func Fit(pairs []Pair, o FitOptions) (Fitted, error) {
	if o.MostUV == 0 {
		o.MostUV = defaultMostUV
	}
	if o.MostMisfit == 0 {
		o.MostMisfit = defaultMostMisfit
	}
	if !(o.MostUV > 0) || !(o.MostMisfit > 0) {
		return Fitted{}, fmt.Errorf("mismatch: limits of %g in u'v' and a misfit of %g; give numbers above 0", o.MostUV, o.MostMisfit)
	}
	condition, err := checkPairs(pairs)
	if err != nil {
		return Fitted{}, err
	}
	f := fitting{pairs: pairs, matrix: colorimetry.Identity()}
	if err := f.solve(); err != nil {
		return Fitted{}, err
	}
	out := Fitted{Misfit: f.misfit, Freedom: f.freedom(), ChiSquared: f.chiSquared(0)}
	out.Correction = Correction{Kind: KindWeighted, Matrix: f.matrix, Condition: condition, Covariance: f.covariance,
		Note: fmt.Sprintf("least squares over %d pairs, weighted by their noise", len(pairs))}
	f.report(&out)
	return out, f.judge(&out, o)
}

// report fills in residuals and uncertainty.
func (f *fitting) report(out *Fitted) {
	ref, meas := make([]colorimetry.XYZ, len(f.pairs)), make([]colorimetry.XYZ, len(f.pairs))
	for i, p := range f.pairs {
		ref[i], meas[i] = p.Reference, p.Instrument
		got := out.Apply(p.Instrument)
		a, b := got.Chromaticity(), p.Reference.Chromaticity()
		d2, _ := f.distance2(i, f.misfit)
		out.Residuals = append(out.Residuals, Residual{Name: p.Name, DX: a.X - b.X, DY: a.Y - b.Y,
			Luminance: got.Y/p.Reference.Y - 1, UV: got.UV().Distance(p.Reference.UV()), Distance: math.Sqrt(d2)})
	}
	out.residuals(ref, meas)
	white := f.pairs[f.brightest()]
	if f.misfit > 0 {
		out.Covariance.addGains(out.Matrix, gains(white.Reference, f.misfit, luminancePart*f.misfit))
	}
	out.UncertaintyUV, out.UncertaintyY = out.spread(white.Instrument)
}

// fitting is a Fit under way.
type fitting struct {
	pairs      []Pair
	matrix     colorimetry.Matrix
	misfit     float64
	covariance MatrixCovariance // of the matrix, from noise and misfit of the pairs
}

func (f *fitting) freedom() int { return 3*len(f.pairs) - 9 }

func (f *fitting) brightest() int {
	best := 0
	for i, p := range f.pairs {
		if p.Reference.Y > f.pairs[best].Reference.Y {
			best = i
		}
	}
	return best
}

// variance returns the covariance of what the matrix leaves in a pair.
func (f *fitting) variance(i int, misfit float64) colorimetry.Matrix {
	p := f.pairs[i]
	ref, meas := p.ReferenceCovariance, p.InstrumentCovariance
	assumed := measure.Noise{}.Assumed()
	if ref == (colorimetry.Matrix{}) {
		ref = assumed.Covariance(p.Reference, 1)
	}
	if meas == (colorimetry.Matrix{}) {
		meas = assumed.Covariance(p.Instrument, 1)
	}
	v := ref.Add(f.matrix.Mul(meas).Mul(f.matrix.Transpose()))
	if misfit > 0 {
		v = v.Add(measure.Noise{Chromaticity: misfit, Luminance: luminancePart * misfit}.Covariance(p.Reference, 1))
	}
	return v
}

// distance2 returns the squared residual of a pair in units of its variance,
// whose inverse comes with it.
func (f *fitting) distance2(i int, misfit float64) (float64, colorimetry.Matrix) {
	inv, err := f.variance(i, misfit).Inverse()
	if err != nil {
		return math.NaN(), inv
	}
	d := f.matrix.Apply(f.pairs[i].Instrument).Sub(f.pairs[i].Reference)
	w := inv.Apply(d)
	return d.X*w.X + d.Y*w.Y + d.Z*w.Z, inv
}

func (f *fitting) chiSquared(misfit float64) float64 {
	sum := 0.0
	for i := range f.pairs {
		d2, _ := f.distance2(i, misfit)
		sum += d2
	}
	return sum
}

// rounds is how often weights and matrix are found in turn. Weights change by
// the square of the correction's departure from 1, so that few rounds do.
const rounds = 12

func (f *fitting) solve() error {
	for range rounds {
		was := f.matrix
		if err := f.weighted(); err != nil {
			return err
		}
		f.misfit = f.estimate()
		moved := 0.0
		for i, row := range f.matrix {
			for j := range row {
				moved = math.Max(moved, math.Abs(f.matrix[i][j]-was[i][j]))
			}
		}
		if moved < 1e-12 {
			break
		}
	}
	return nil
}

// believedMisfit is the probability that noise alone stays below residuals that
// are taken to show a misfit.
const believedMisfit = 0.95

// estimate returns the misfit with which the residuals are as large as their
// degrees of freedom say, 0 where noise alone may well have made them.
//
// Source: Paule and Mandel, J. Res. Natl. Bur. Stand. 87(5) 377-385 (1982), the
// same condition for means.
func (f *fitting) estimate() float64 {
	n := float64(f.freedom())
	if n < 1 || !(f.chiSquared(0) > distuv.ChiSquared{K: n}.Quantile(believedMisfit)) {
		return 0
	}
	lo, hi := 0.0, 1.0
	for range 50 {
		if mid := (lo + hi) / 2; f.chiSquared(mid) > n {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// weighted finds matrix and covariance with the weights that the present matrix
// and misfit give, by QR of the whitened equations.
func (f *fitting) weighted() error {
	n := 3 * len(f.pairs)
	a, b := mat.NewDense(n, 9, nil), mat.NewVecDense(n, nil)
	for i, p := range f.pairs {
		_, inv := f.distance2(i, f.misfit)
		root, ok := upper(inv)
		if !ok {
			return fmt.Errorf("mismatch: the covariance of pair %d, %q, is none: it has a variance of 0 or below; leave it zero where it is not known", i, p.Name)
		}
		m, r := [3]float64{p.Instrument.X, p.Instrument.Y, p.Instrument.Z}, root.Apply(p.Reference)
		for row, v := range [3]float64{r.X, r.Y, r.Z} {
			b.SetVec(3*i+row, v)
			for k := range 9 {
				a.Set(3*i+row, k, root[row][k/3]*m[k%3])
			}
		}
	}
	var qr mat.QR
	qr.Factorize(a)
	var x mat.VecDense
	var r, inv mat.Dense
	qr.RTo(&r)
	top := r.Slice(0, 9, 0, 9)
	if err := qr.SolveVecTo(&x, false, b); err != nil || inv.Inverse(top) != nil {
		return fmt.Errorf("mismatch: %w", ErrDegenerate)
	}
	var cov mat.Dense
	cov.Mul(&inv, inv.T())
	for i := range 9 {
		f.matrix[i/3][i%3] = x.AtVec(i)
		for k := range 9 {
			f.covariance[i][k] = (cov.At(i, k) + cov.At(k, i)) / 2
		}
	}
	return nil
}

// upper returns the upper triangular root of a symmetric positive definite
// matrix: m = rootᵀ·root.
func upper(m colorimetry.Matrix) (root colorimetry.Matrix, ok bool) {
	for i := range 3 {
		for j := i; j < 3; j++ {
			v := m[i][j]
			for k := range i {
				v -= root[k][i] * root[k][j]
			}
			if i == j {
				if !(v > 0) || math.IsInf(v, 1) {
					return root, false
				}
				root[i][i] = math.Sqrt(v)
			} else {
				root[i][j] = v / root[i][i]
			}
		}
	}
	return root, true
}
