package mismatch

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
)

// ErrUnsupported is wrapped where pairs do not support a correction, although
// their lights would do.
var ErrUnsupported = errors.New("the pairs do not support a correction")

// otherLight is a distance in u'v' at which two instruments no longer saw one
// light: ten times what colorimeters are off on displays (NIST saw more than
// 0.010 in x and y on some colours; Ohno and Hardis 1998, from an excerpt).
const otherLight = 0.1

// checkPairs says what keeps the pairs from being fitted, or returns their
// condition: that of the chromaticities of their lights.
func checkPairs(pairs []Pair) (condition float64, err error) {
	if len(pairs) < 3 || len(pairs) > maxPairs {
		return 0, fmt.Errorf("mismatch: %d pairs; 3 to %d are possible", len(pairs), maxPairs)
	}
	seen := mat.NewDense(len(pairs), 3, nil)
	for i, p := range pairs {
		for _, c := range []colorimetry.XYZ{p.Reference, p.Instrument} {
			if !c.Finite() || !(c.Y > 0) || !(c.X+c.Y+c.Z > 0) {
				return 0, fmt.Errorf("mismatch: pair %d, %q, holds %v, which is no light; leave dark patches out", i, p.Name, c)
			}
		}
		for _, m := range []colorimetry.Matrix{p.ReferenceCovariance, p.InstrumentCovariance} {
			for _, row := range m {
				if s := row[0] + row[1] + row[2]; math.IsNaN(s) || math.IsInf(s, 0) {
					return 0, fmt.Errorf("mismatch: pair %d, %q, has a covariance that is not finite", i, p.Name)
				}
			}
		}
		if d := p.Reference.UV().Distance(p.Instrument.UV()); !(d <= otherLight) {
			return 0, fmt.Errorf("mismatch: pair %d, %q: the instruments are %.3f apart in u'v', so that they saw different lights; pair the readings anew: %w", i, p.Name, d, ErrUnsupported)
		}
		u := unitSum(p.Instrument)
		seen.SetRow(i, []float64{u.X, u.Y, u.Z})
	}
	condition = mat.Cond(seen, 2)
	if !(condition < largestCondition) {
		return condition, fmt.Errorf("mismatch: %w; read red, green, blue and white", ErrDegenerate)
	}
	return condition, nil
}

// judge says why a fit is no correction, if it is none.
func (f *fitting) judge(out *Fitted, o FitOptions) error {
	if out.Misfit > o.MostMisfit {
		worst := out.Residuals[0]
		for _, r := range out.Residuals {
			if r.Distance > worst.Distance {
				worst = r
			}
		}
		return fmt.Errorf("mismatch: one matrix misses the pairs by %.4f in x and y beyond their noise, more than %.4f; the worst is %q, %.4f off in u'v': read it anew: %w",
			out.Misfit, o.MostMisfit, worst.Name, worst.UV, ErrUnsupported)
	}
	lights := make([]colorimetry.XYZ, 0, len(f.pairs)+3)
	for _, p := range f.pairs {
		lights = append(lights, p.Instrument)
	}
	// The primaries of BT.709 stand for the colours of a display that was read
	// in fewer.
	for _, c := range []colorimetry.Chromaticity{{X: 0.64, Y: 0.33}, {X: 0.30, Y: 0.60}, {X: 0.15, Y: 0.06}} {
		lights = append(lights, c.XYZ(1))
	}
	bare := Correction{Matrix: f.matrix, Covariance: f.covariance} // without the misfit of other colours
	return bare.supported(f.pairs[f.brightest()].Instrument, lights, o.MostUV)
}

// ofColours is how much more uncertain than white a colour may be: a step in x
// or y is up to two and a half times as long in u'v' at a blue primary as at
// white.
const ofColours = 3

// supported says for which light the correction is too uncertain, if it is for
// one: most in u'v' is the limit for white, and three times as much for others.
func (c *Correction) supported(white colorimetry.XYZ, others []colorimetry.XYZ, most float64) error {
	for i, l := range append([]colorimetry.XYZ{white}, others...) {
		if i == 1 {
			most *= ofColours
		}
		if uv, _ := c.spread(l); !(uv <= most) {
			at := l.Chromaticity()
			return fmt.Errorf("mismatch: the correction is uncertain by %.4f in u'v' at x %.3f, y %.3f, more than %.4f; take more averages, or read more colours: %w",
				uv, at.X, at.Y, most, ErrUnsupported)
		}
	}
	return nil
}
