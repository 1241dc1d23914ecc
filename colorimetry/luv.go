package colorimetry

import "math"

// Luv is a CIELUV colour: L in [0, 100] for colours no brighter than the
// white, U and V unbounded. Additive mixtures lie on straight lines in its
// u', v' diagram, which is why displays and lamps are often judged in it.
type Luv struct{ L, U, V float64 }

// LChuv is a CIELUV colour in cylinder coordinates: H in degrees, [0, 360).
type LChuv struct{ L, C, H float64 }

// Luv returns the CIELUV of c under white, both on the same scale. Black has
// u* = v* = 0. Where c or white has no u', v' the result is NaN.
//
// Source: ISO/CIE 11664-5:2016.
func (c XYZ) Luv(white XYZ) Luv {
	l := Lightness(c.Y / white.Y)
	if c == (XYZ{}) {
		return Luv{L: l}
	}
	p, n := c.UV(), white.UV()
	return Luv{l, 13 * l * (p.U - n.U), 13 * l * (p.V - n.V)}
}

// XYZ returns the tristimulus value of c under white, on white's scale. L = 0
// gives black. A colour whose v' would be 0 has none: the result is NaN.
func (c Luv) XYZ(white XYZ) XYZ {
	if c.L == 0 {
		return XYZ{}
	}
	n := white.UV()
	u, v := c.U/(13*c.L)+n.U, c.V/(13*c.L)+n.V
	y := white.Y * LightnessInverse(c.L)
	return XYZ{y * 9 * u / (4 * v), y, y * (12 - 3*u - 20*v) / (4 * v)}.orNaN()
}

// LCh returns c in cylinder coordinates; the hue of a neutral is 0. NaN and
// infinite coordinates give NaN.
func (c Luv) LCh() LChuv { return LChuv{c.L, length(c.U, c.V), hue(c.U, c.V)} }

// Luv returns c in rectangular coordinates; any angle in degrees is a hue.
func (c LChuv) Luv() Luv {
	s, cos := math.Sincos(c.H * math.Pi / 180)
	return Luv{c.L, c.C * cos, c.C * s}
}

// Saturation returns the CIE 1976 u, v saturation: 13 times the distance from
// the white in u', v', whatever the lightness. It is NaN for L = 0.
//
// Source: ISO/CIE 11664-5:2016.
func (c LChuv) Saturation() float64 {
	if c.L == 0 {
		return math.NaN()
	}
	return orNaN(c.C / c.L)
}
