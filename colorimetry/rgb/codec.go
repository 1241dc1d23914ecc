package rgb

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// gamutSlack is how far linear light may lie outside 0 to 1 by rounding.
const gamutSlack = 1e-12

// Codec is a Space with its matrices worked out once: between signals and
// relative XYZ under the encoding's own white. It is a value, safe for
// concurrent use. [NewCodec] makes one; the zero value is of no use.
type Codec struct {
	space          Space
	toXYZ, fromXYZ colorimetry.Matrix
}

// NewCodec returns the codec of an encoding. The error wraps
// colorimetry.ErrSingular where the primaries span no area; others say that
// there is no curve, that it is none, or that the white lies outside the
// primaries' triangle.
func NewCodec(s Space) (Codec, error) {
	if s.Curve == nil {
		return Codec{}, fmt.Errorf("rgb: encoding %q has no curve; put one of package tone into Curve", s.Name)
	}
	if v := s.Curve.Light(0.5); !(v > 0) {
		return Codec{}, fmt.Errorf("rgb: encoding %q: its curve %v makes light %g of half the signal; give it parameters that make one", s.Name, s.Curve, v)
	}
	m, err := s.Matrix()
	if err != nil {
		return Codec{}, err
	}
	for i := range 3 {
		if c := m.Column(i); !(c.X+c.Y+c.Z > 0) {
			return Codec{}, fmt.Errorf("rgb: encoding %q: its white lies outside the triangle of its primaries, so that one of them takes light away", s.Name)
		}
	}
	inv, err := m.Inverse()
	if err != nil {
		return Codec{}, fmt.Errorf("%w (encoding %q)", err, s.Name)
	}
	return Codec{s, m, inv}, nil
}

// Space returns the encoding.
func (c Codec) Space() Space { return c.space }

// XYZ returns the colour of a signal, white having Y = 1. Signals outside 0 to
// 1 give what the curve gives there.
func (c Codec) XYZ(signal colorimetry.RGB) colorimetry.XYZ {
	return c.toXYZ.FromLinear(c.space.Linear(signal))
}

// Signal returns the signal of a relative colour. inGamut is false where its
// linear light lies outside 0 to 1 in some channel, beyond rounding, or is NaN;
// the signal is then what the curve gives there: most stop at 0.
func (c Codec) Signal(colour colorimetry.XYZ) (signal colorimetry.RGB, inGamut bool) {
	linear := c.fromXYZ.ToLinear(colour)
	return c.space.Signal(linear), inside(linear)
}

func inside(c colorimetry.RGB) bool {
	const lo, hi = -gamutSlack, 1 + gamutSlack
	return c.R >= lo && c.G >= lo && c.B >= lo && c.R <= hi && c.G <= hi && c.B <= hi
}

// XYZRow sets dst[i] to the colour of src[i]. It panics if dst is shorter than
// src.
func (c Codec) XYZRow(dst []colorimetry.XYZ, src []colorimetry.RGB) {
	dst = dst[:len(src):len(dst)] // panics here, not past the end
	for i, s := range src {
		dst[i] = c.XYZ(s)
	}
}

// Conversion leads signals of one encoding to those of another. It is a value,
// safe for concurrent use; [NewConversion] makes one.
type Conversion struct {
	from, to Space
	m        colorimetry.Matrix
}

// NewConversion returns the conversion between two encodings, the whites
// adapted completely by a where they differ. The error wraps
// colorimetry.ErrSingular where primaries span no area or the whites cannot be
// adapted; another says which encoding has no curve.
func NewConversion(from, to Space, a colorimetry.Adaptation) (Conversion, error) {
	f, err := NewCodec(from)
	if err != nil {
		return Conversion{}, err
	}
	t, err := NewCodec(to)
	if err != nil {
		return Conversion{}, err
	}
	m := f.toXYZ
	if from.White != to.White {
		adapt, err := a.Complete(from.White.XYZ(1), to.White.XYZ(1))
		if err != nil {
			return Conversion{}, err
		}
		m = adapt.Mul(m)
	}
	return Conversion{from, to, t.fromXYZ.Mul(m)}, nil
}

// Signal returns the signal that means in the second encoding what signal
// means in the first. inGamut is false where the second cannot show it; see
// [Codec.Signal].
func (c Conversion) Signal(signal colorimetry.RGB) (out colorimetry.RGB, inGamut bool) {
	l := c.from.Linear(signal)
	linear := c.m.ToLinear(colorimetry.XYZ{X: l.R, Y: l.G, Z: l.B})
	return c.to.Signal(linear), inside(linear)
}

// Row sets dst[i] to the converted src[i], whether it is in gamut or not. It
// panics if dst is shorter than src; dst may be src.
func (c Conversion) Row(dst, src []colorimetry.RGB) {
	dst = dst[:len(src):len(dst)] // panics here, not past the end
	for i, s := range src {
		dst[i], _ = c.Signal(s)
	}
}
