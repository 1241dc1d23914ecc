package icc

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// Evaluator computes colours through an RGB profile in both directions, as two
// Chains do. It does not change and is safe for concurrent use; the profile may
// be changed after it was made.
type Evaluator struct{ to, from *Chain }

// NewEvaluator prepares p for one intent, by ToPCS and FromPCS, whose errors it
// returns. errors.Is finds ErrUnsupported in the error where the device is not
// RGB.
func NewEvaluator(p *Profile, intent Intent) (*Evaluator, error) {
	if p.Header.Space != SpaceRGB {
		return nil, fmt.Errorf("icc: an Evaluator is for RGB and the profile is for %v; use ToPCS and FromPCS: %w", p.Header.Space, ErrUnsupported)
	}
	o := Options{Intent: intent, PCS: SpaceXYZ}
	to, err := ToPCS(p, o)
	if err != nil {
		return nil, err
	}
	from, err := FromPCS(p, o)
	if err != nil {
		return nil, err
	}
	return &Evaluator{to, from}, nil
}

// ToPCS returns the XYZ under D50, white Y = 1, of a device signal. Signals
// outside [0, 1] are clamped and NaN is taken as 0; the result is always
// finite.
func (e *Evaluator) ToPCS(c colorimetry.RGB) colorimetry.XYZ {
	v := [3]float64{c.R, c.G, c.B}
	e.to.Eval(v[:], v[:])
	return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
}

// FromPCS returns the device signal of an XYZ under D50, white Y = 1. In a
// matrix profile each channel is clamped to [0, 1] on its own, so that colours
// outside the device's gamut come back as some colour on its surface, and the
// lowest signal is returned where a curve is flat. NaN gives 0.
func (e *Evaluator) FromPCS(c colorimetry.XYZ) colorimetry.RGB {
	v := [3]float64{c.X, c.Y, c.Z}
	e.from.Eval(v[:], v[:])
	return colorimetry.RGB{R: v[0], G: v[1], B: v[2]}
}
