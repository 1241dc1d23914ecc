package colorimetry

import "math"

// XYZ is a CIE tristimulus value: absolute in cd/m² or relative with the
// white's Y = 1, as the function that takes it says.
type XYZ struct{ X, Y, Z float64 }

// Add returns c + d, the additive mixture of two lights.
func (c XYZ) Add(d XYZ) XYZ { return XYZ{c.X + d.X, c.Y + d.Y, c.Z + d.Z} }

// Sub returns c − d, for instance a reading less its black.
func (c XYZ) Sub(d XYZ) XYZ { return XYZ{c.X - d.X, c.Y - d.Y, c.Z - d.Z} }

// Scale returns k·c.
func (c XYZ) Scale(k float64) XYZ { return XYZ{k * c.X, k * c.Y, k * c.Z} }

// Finite reports whether no component is NaN or infinite.
func (c XYZ) Finite() bool {
	s := c.X + c.Y + c.Z
	return !math.IsNaN(s-s) && !math.IsInf(c.X, 0) && !math.IsInf(c.Y, 0) && !math.IsInf(c.Z, 0)
}

// Chromaticity returns the CIE 1931 x, y of c. Black (X+Y+Z = 0) has none: the
// result is then NaN, NaN.
//
// Source: ISO/CIE 11664-3:2019.
func (c XYZ) Chromaticity() Chromaticity {
	s := c.X + c.Y + c.Z
	if s == 0 {
		return Chromaticity{math.NaN(), math.NaN()}
	}
	return Chromaticity{c.X / s, c.Y / s}
}

// UV returns the CIE 1976 u', v' of c, NaN for black.
//
// Source: ISO/CIE 11664-5:2016.
func (c XYZ) UV() UV {
	d := c.X + 15*c.Y + 3*c.Z
	if d == 0 {
		return UV{math.NaN(), math.NaN()}
	}
	return UV{4 * c.X / d, 9 * c.Y / d}
}

// Chromaticity is a CIE 1931 chromaticity x, y.
type Chromaticity struct{ X, Y float64 }

// XYZ returns the colour of chromaticity c whose second tristimulus value is
// y, on whichever scale y has. A zero c.Y gives ±Inf or NaN.
func (c Chromaticity) XYZ(y float64) XYZ {
	return XYZ{c.X / c.Y * y, y, (1 - c.X - c.Y) / c.Y * y}
}

// UV returns the CIE 1976 u', v' of c.
func (c Chromaticity) UV() UV {
	d := -2*c.X + 12*c.Y + 3
	return UV{4 * c.X / d, 9 * c.Y / d}
}

// UV is a CIE 1976 u', v' chromaticity.
type UV struct{ U, V float64 }

// Chromaticity returns the CIE 1931 x, y of c.
func (c UV) Chromaticity() Chromaticity {
	d := 6*c.U - 16*c.V + 12
	return Chromaticity{9 * c.U / d, 4 * c.V / d}
}

// Distance returns the Euclidean distance Δu'v' between c and d. It is not
// Duv, the signed distance from the Planckian locus in the CIE 1960 diagram.
func (c UV) Distance(d UV) float64 { return math.Hypot(c.U-d.U, c.V-d.V) }

// RGB is a device signal, 0 to 1 a channel. What colour it makes is the
// device's affair: a matrix, a model or a profile says.
type RGB struct{ R, G, B float64 }

// Gray returns the signal with v on all three channels.
func Gray(v float64) RGB { return RGB{v, v, v} }

// Clamp returns c with every channel limited to [0, 1]; NaN becomes 0.
func (c RGB) Clamp() RGB { return RGB{clamp01(c.R), clamp01(c.G), clamp01(c.B)} }

func clamp01(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return math.Min(v, 1)
}

// Max returns the largest channel of c.
func (c RGB) Max() float64 { return math.Max(c.R, math.Max(c.G, c.B)) }

// Min returns the smallest channel of c.
func (c RGB) Min() float64 { return math.Min(c.R, math.Min(c.G, c.B)) }

// Quantise returns c rounded to the nearest code of a path with the given
// number of bits a channel (1 to 16), clamped to [0, 1].
func (c RGB) Quantise(bits int) RGB {
	top := float64(uint(1)<<uint(bits)) - 1
	q := func(v float64) float64 { return math.Round(clamp01(v)*top) / top }
	return RGB{q(c.R), q(c.G), q(c.B)}
}
