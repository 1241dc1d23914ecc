package icc

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Evaluator computes colours through a profile in float64, without any
// rounding of its own. It is immutable and safe for concurrent use; the
// profile may be changed after it was made.
//
// For now it evaluates RGB profiles by matrix and curves; those with tables
// give ErrUnsupported, since ICC.1 gives tables precedence.
type Evaluator struct {
	curves  [3]channel
	toPCS   colorimetry.Matrix // linear RGB to XYZ, absolute scaling included
	fromPCS colorimetry.Matrix
}

// channel is a tone curve made ready for both directions.
type channel struct {
	sampled    bool
	table, up  SampledCurve // two entries or more; up never falls
	falls      bool         // up is the mirror image of table
	parametric segments
}

// NewEvaluator prepares p for one intent. Perceptual, Relative and Saturation
// are the same in a matrix profile. Absolute scales by the media white point
// over D50 as ICC.1:2022, 6.3.2, says, for every version; in profiles whose
// media white is D50, as in all version 4 display profiles, it equals Relative,
// and Profile.Adaptation leads on to the colours as measured. (Little CMS
// takes the media white of version 2 display profiles as D50 whatever it is.)
//
// The error says which tag is missing or unusable; errors.Is finds
// ErrUnsupported in it where the profile is of another kind.
func NewEvaluator(p *Profile, intent Intent) (*Evaluator, error) {
	if err := matrixModel(p); err != nil {
		return nil, err
	}
	e := &Evaluator{}
	for i, sig := range []Signature{TagRedCurve, TagGreenCurve, TagBlueCurve} {
		var err error
		if e.curves[i], err = newChannel(p, sig); err != nil {
			return nil, err
		}
	}
	c, err := p.Colorants()
	if err != nil {
		return nil, err
	}
	e.toPCS = colorimetry.Columns(c[0], c[1], c[2])
	if intent == Absolute {
		s, err := absoluteScale(p)
		if err != nil {
			return nil, err
		}
		e.toPCS = s.Mul(e.toPCS)
	}
	if e.fromPCS, err = e.toPCS.Inverse(); err != nil {
		return nil, fmt.Errorf("icc: the colorants of red, green and blue are not independent: %w", err)
	}
	return e, nil
}

// matrixModel tells why p is not evaluated by matrix and curves.
func matrixModel(p *Profile) error {
	h := p.Header
	if h.Space != SpaceRGB || h.PCS != SpaceXYZ {
		return fmt.Errorf("icc: evaluation from %v to %v: %w; RGB to XYZ is", h.Space, h.PCS, ErrUnsupported)
	}
	if h.Class != ClassDisplay && h.Class != ClassInput && h.Class != ClassSpace && h.Class != ClassOutput {
		return fmt.Errorf("icc: evaluation of profile class %v: %w", h.Class, ErrUnsupported)
	}
	for _, t := range p.Tags {
		switch t.Signature {
		case TagAToB0, TagAToB1, TagAToB2, TagBToA0, TagBToA1, TagBToA2,
			TagDToB0, TagDToB1, TagDToB2, TagDToB3, TagBToD0, TagBToD1, TagBToD2, TagBToD3:
			return fmt.Errorf("icc: evaluation of tables (tag %v): %w", t.Signature, ErrUnsupported)
		}
	}
	return nil
}

// absoluteScale returns the media white over D50. The media white that is
// encoded as D50 is D50, without the rounding of its encoding.
func absoluteScale(p *Profile) (colorimetry.Matrix, error) {
	w, err := p.MediaWhite()
	if err != nil {
		return colorimetry.Matrix{}, err
	}
	if !(w.X > 0 && w.Y > 0 && w.Z > 0) {
		return colorimetry.Matrix{}, fmt.Errorf("icc: media white %.4f %.4f %.4f cannot be: every value is above 0", w.X, w.Y, w.Z)
	}
	if w == encodedD50() {
		return colorimetry.Identity(), nil
	}
	d := colorimetry.D50()
	return colorimetry.Diagonal(w.X/d.X, w.Y/d.Y, w.Z/d.Z), nil
}

func newChannel(p *Profile, sig Signature) (channel, error) {
	switch v := p.Value(sig).(type) {
	case nil:
		return channel{}, fmt.Errorf("icc: the profile has no tag %v", sig)
	case ParametricCurve:
		if v.Function < 0 || v.Function > 4 {
			return channel{}, fmt.Errorf("icc: tag %v: parametric function %d; 0 to 4 are defined", sig, v.Function)
		}
		return channel{parametric: v.segments()}, nil
	case SampledCurve:
		switch len(v) {
		case 0:
			return channel{parametric: ParametricCurve{G: 1}.segments()}, nil
		case 1:
			return channel{parametric: v.power().segments()}, nil
		}
		c := channel{sampled: true, table: append(SampledCurve(nil), v...)}
		c.up, c.falls = c.table.rising()
		return c, nil
	default:
		return channel{}, fmt.Errorf("icc: tag %v is of type %v, which is no curve", sig, v.Type())
	}
}

func (c *channel) at(x float64) float64 {
	if c.sampled {
		return c.table.At(x)
	}
	return c.parametric.at(x)
}

func (c *channel) inverse(y float64) float64 {
	switch {
	case !c.sampled:
		return c.parametric.lowest(y)
	case c.falls:
		return 1 - c.up.lowest(y)
	}
	return c.up.lowest(y)
}

// ToPCS returns the XYZ under D50, white Y = 1, of a device signal. Signals
// outside [0, 1] are clamped and NaN is taken as 0; the result is always
// finite.
func (e *Evaluator) ToPCS(c colorimetry.RGB) colorimetry.XYZ {
	c = c.Clamp()
	return e.toPCS.FromLinear(colorimetry.RGB{R: e.curves[0].at(c.R), G: e.curves[1].at(c.G), B: e.curves[2].at(c.B)})
}

// FromPCS returns the device signal of an XYZ under D50, white Y = 1. Each
// channel is clamped to [0, 1] on its own, so that colours outside the
// device's gamut come back as some colour on its surface. Where a curve is
// flat the lowest signal is returned. NaN gives 0.
func (e *Evaluator) FromPCS(c colorimetry.XYZ) colorimetry.RGB {
	l := e.fromPCS.ToLinear(c)
	return colorimetry.RGB{R: e.curves[0].inverse(l.R), G: e.curves[1].inverse(l.G), B: e.curves[2].inverse(l.B)}
}

// encodedD50 returns D50 as s15Fixed16 numbers hold it.
func encodedD50() colorimetry.XYZ {
	d := colorimetry.D50()
	q := func(v float64) float64 { return math.Floor(v*65536+0.5) / 65536 }
	return colorimetry.XYZ{X: q(d.X), Y: q(d.Y), Z: q(d.Z)}
}
