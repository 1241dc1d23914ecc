package colorimetry

import "math"

// CIE 15 constants in their exact form, ISO/CIE 11664-4:2019.
const (
	labEpsilon = 216.0 / 24389.0 // (6/29)³
	labKappa   = 24389.0 / 27.0  // (29/3)³
)

// Lab is a CIELAB colour: L in [0, 100] for colours no brighter than the
// white, A and B unbounded.
type Lab struct{ L, A, B float64 }

// LCh is a CIELAB colour in cylinder coordinates: H in degrees, [0, 360).
type LCh struct{ L, C, H float64 }

// Luv is a CIELUV colour.
type Luv struct{ L, U, V float64 }

// Lab returns the CIELAB of c under white, both on the same scale, every
// component of white above 0.
//
// Source: ISO/CIE 11664-4:2019.
func (c XYZ) Lab(white XYZ) Lab {
	fx, fy, fz := labF(c.X/white.X), labF(c.Y/white.Y), labF(c.Z/white.Z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// XYZ returns the tristimulus value of c under white, on white's scale.
func (c Lab) XYZ(white XYZ) XYZ {
	fy := (c.L + 16) / 116
	return XYZ{white.X * labInverse(fy+c.A/500), white.Y * labInverse(fy), white.Z * labInverse(fy-c.B/200)}
}

func labF(t float64) float64 {
	if t > labEpsilon {
		return math.Cbrt(t)
	}
	return (labKappa*t + 16) / 116
}

func labInverse(f float64) float64 {
	if f > 6.0/29.0 {
		return f * f * f
	}
	return (116*f - 16) / labKappa
}

// Lightness returns CIE L* of a relative luminance (white = 1).
func Lightness(y float64) float64 { return 116*labF(y) - 16 }

// LightnessInverse returns the relative luminance (white = 1) of a CIE L*.
func LightnessInverse(l float64) float64 { return labInverse((l + 16) / 116) }

// LCh returns c in cylinder coordinates; the hue of a neutral is 0.
func (c Lab) LCh() LCh {
	h := math.Atan2(c.B, c.A) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 {
		h = 0
	}
	return LCh{c.L, math.Hypot(c.A, c.B), h}
}

// Lab returns c in rectangular coordinates.
func (c LCh) Lab() Lab {
	s, cos := math.Sincos(c.H * math.Pi / 180)
	return Lab{c.L, c.C * cos, c.C * s}
}

// Luv returns the CIELUV of c under white, both on the same scale. Black has
// u* = v* = 0.
//
// Source: ISO/CIE 11664-5:2016.
func (c XYZ) Luv(white XYZ) Luv {
	l := Lightness(c.Y / white.Y)
	if c.X+15*c.Y+3*c.Z == 0 {
		return Luv{L: l}
	}
	p, n := c.UV(), white.UV()
	return Luv{l, 13 * l * (p.U - n.U), 13 * l * (p.V - n.V)}
}

// XYZ returns the tristimulus value of c under white, on white's scale.
// L = 0 gives black.
func (c Luv) XYZ(white XYZ) XYZ {
	if c.L == 0 {
		return XYZ{}
	}
	n := white.UV()
	u, v := c.U/(13*c.L)+n.U, c.V/(13*c.L)+n.V
	y := white.Y * LightnessInverse(c.L)
	return XYZ{y * 9 * u / (4 * v), y, y * (12 - 3*u - 20*v) / (4 * v)}
}
