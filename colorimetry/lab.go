package colorimetry

import "math"

// CIE 15 constants in their exact form, ISO/CIE 11664-4:2019.
const (
	labEpsilon = 216.0 / 24389.0 // (6/29)³
	labKappa   = 24389.0 / 27.0  // (29/3)³
	labKnee    = 6.0 / 29.0      // the cube root of labEpsilon
	labMost    = 1e9             // a ratio to the white beyond this has no CIELAB
	labMostF   = 1e3             // its cube root
)

// Lab is a CIELAB colour: L in [0, 100] for colours no brighter than the
// white, A and B unbounded.
type Lab struct{ L, A, B float64 }

// LCh is a CIELAB colour in cylinder coordinates: H in degrees, [0, 360).
type LCh struct{ L, C, H float64 }

// Lab returns the CIELAB of c under white, both on the same scale, every
// component of white above 0. Components of c below 0, as rounding and noise
// make them, go on along the straight part. Where a component of white is 0, or
// one of c is NaN or more than 1e9 times the white's, the result is NaN in
// those of L, A and B that it enters, never an infinity.
//
// Source: ISO/CIE 11664-4:2019.
func (c XYZ) Lab(white XYZ) Lab {
	x, y, z := c.X/white.X, c.Y/white.Y, c.Z/white.Z
	if x > labEpsilon && y > labEpsilon && z > labEpsilon && x < rootTo && y < rootTo && z < rootTo {
		fy := tableRoot(y)
		return Lab{116*fy - 16, 500 * (tableRoot(x) - fy), 200 * (fy - tableRoot(z))}
	}
	fx, fy, fz := labF(x), labF(y), labF(z)
	return Lab{Lightness(y), 500 * (fx - fy), 200 * (fy - fz)}
}

// XYZ returns the tristimulus value of c under white, on white's scale: the
// inverse of [XYZ.Lab], with NaN for components beyond its range.
func (c Lab) XYZ(white XYZ) XYZ {
	fy := (c.L + 16) / 116
	return XYZ{white.X * labInverse(fy+c.A/500), white.Y * labInverse(fy), white.Z * labInverse(fy-c.B/200)}
}

// LabRow sets dst[i] to the CIELAB of src[i] under white. It panics if dst is
// shorter than src.
func LabRow(dst []Lab, src []XYZ, white XYZ) {
	dst = dst[:len(src):len(dst)] // panics here, not past the end
	for i, c := range src {
		dst[i] = c.Lab(white)
	}
}

// XYZRow sets dst[i] to the tristimulus value of src[i] under white. It panics
// if dst is shorter than src.
func XYZRow(dst []XYZ, src []Lab, white XYZ) {
	dst = dst[:len(src):len(dst)] // panics here, not past the end
	for i, c := range src {
		dst[i] = c.XYZ(white)
	}
}

func labF(t float64) float64 {
	switch {
	case t > labEpsilon && t < labMost:
		return cubeRoot(t)
	case t <= labEpsilon && t > -labMost:
		return (labKappa*t + 16) / 116
	}
	return math.NaN()
}

func labInverse(f float64) float64 {
	switch {
	case f > labKnee && f < labMostF:
		return f * f * f
	case f <= labKnee && f > -labMost:
		return (116*f - 16) / labKappa
	}
	return math.NaN()
}

// Lightness returns CIE L* of a relative luminance (white = 1): 0 for 0, 100
// for 1. It is NaN for NaN and for luminances above 1e9.
//
// Source: ISO/CIE 11664-4:2019.
func Lightness(y float64) float64 {
	if y <= labEpsilon && y > -labMost {
		return labKappa * y // exactly what the general form comes to
	}
	return 116*labF(y) - 16
}

// LightnessInverse returns the relative luminance (white = 1) of a CIE L*, the
// inverse of [Lightness].
func LightnessInverse(l float64) float64 {
	if l <= 8 && l > -labKappa*labMost {
		return l / labKappa
	}
	return labInverse((l + 16) / 116)
}

// LCh returns c in cylinder coordinates; the hue of a neutral is 0. NaN and
// infinite coordinates give NaN.
func (c Lab) LCh() LCh { return LCh{c.L, length(c.A, c.B), hue(c.A, c.B)} }

// Lab returns c in rectangular coordinates; any angle in degrees is a hue.
func (c LCh) Lab() Lab {
	s, cos := math.Sincos(c.H * math.Pi / 180)
	return Lab{c.L, c.C * cos, c.C * s}
}

// length is the Euclidean length of (a, b), NaN where it is not finite.
func length(a, b float64) float64 {
	h := math.Hypot(a, b)
	if h-h != 0 {
		return math.NaN()
	}
	return h
}

// hue is the angle of (a, b) in degrees, [0, 360), NaN where one is not finite.
func hue(a, b float64) float64 {
	if a-a != 0 || b-b != 0 {
		return math.NaN()
	}
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	if h >= 360 {
		h = 0
	}
	return h
}
