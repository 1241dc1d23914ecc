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

// orNaN returns v, or NaN where it is infinite.
func orNaN(v float64) float64 {
	if math.IsInf(v, 0) {
		return math.NaN()
	}
	return v
}

// orNaN returns c, or NaN in all three where one is infinite or NaN.
func (c XYZ) orNaN() XYZ {
	if c.Finite() {
		return c
	}
	return XYZ{math.NaN(), math.NaN(), math.NaN()}
}

// Chromaticity returns the CIE 1931 x, y of c. Black (X+Y+Z = 0) has none: the
// result is then NaN, NaN.
//
// Source: ISO/CIE 11664-3:2019.
func (c XYZ) Chromaticity() Chromaticity {
	x, y := over(c.X, c.Y, c.X+c.Y+c.Z)
	return Chromaticity{x, y}
}

// UV returns the CIE 1976 u', v' of c, NaN for black.
//
// Source: ISO/CIE 11664-5:2016.
func (c XYZ) UV() UV {
	u, v := over(4*c.X, 9*c.Y, c.X+15*c.Y+3*c.Z)
	return UV{u, v}
}

// XyY returns the chromaticity of c together with its luminance: NaN, NaN and
// Y for black.
func (c XYZ) XyY() XyY {
	p := c.Chromaticity()
	return XyY{p.X, p.Y, c.Y}
}

// over returns a/d and b/d, both NaN where one, or d, is not finite.
func over(a, b, d float64) (float64, float64) {
	a, b = a/d, b/d
	if s := a + b; s-s != 0 || d-d != 0 {
		return math.NaN(), math.NaN()
	}
	return a, b
}

// XyY is a colour as its CIE 1931 chromaticity x, y and its luminance, or
// luminance factor, on whichever scale the XYZ had.
type XyY struct{ X, Y, Luminance float64 }

// Chromaticity returns the x, y of c.
func (c XyY) Chromaticity() Chromaticity { return Chromaticity{c.X, c.Y} }

// XYZ returns the tristimulus value of c. A luminance of 0 is black whatever
// the chromaticity, also NaN; with light, y = 0 has no tristimulus value: NaN.
func (c XyY) XYZ() XYZ {
	if c.Luminance == 0 {
		return XYZ{}
	}
	return c.Chromaticity().XYZ(c.Luminance)
}

// Chromaticity is a CIE 1931 chromaticity x, y.
type Chromaticity struct{ X, Y float64 }

// XYZ returns the colour of chromaticity c whose second tristimulus value is
// y, on whichever scale y has. Where c.Y is 0 there is none: NaN.
func (c Chromaticity) XYZ(y float64) XYZ {
	return XYZ{c.X / c.Y * y, y, (1 - c.X - c.Y) / c.Y * y}.orNaN()
}

// UV returns the CIE 1976 u', v' of c, NaN where −2x + 12y + 3 is 0.
func (c Chromaticity) UV() UV {
	u, v := over(4*c.X, 9*c.Y, -2*c.X+12*c.Y+3)
	return UV{u, v}
}

// UV is a CIE 1976 u', v' chromaticity.
type UV struct{ U, V float64 }

// Chromaticity returns the CIE 1931 x, y of c, NaN where 6u' − 16v' + 12 is 0.
func (c UV) Chromaticity() Chromaticity {
	x, y := over(9*c.U, 4*c.V, 6*c.U-16*c.V+12)
	return Chromaticity{x, y}
}

// UV1960 returns c in the older diagram, whose v is two thirds of v'.
func (c UV) UV1960() UV1960 { return UV1960{c.U, c.V * 2 / 3} }

// UV1960 is a CIE 1960 u, v chromaticity. It lives on in correlated colour
// temperature, which is defined by distances in it, and in colour rendering.
//
// Source: CIE 15:2018.
type UV1960 struct{ U, V float64 }

// UV returns c in the CIE 1976 diagram.
func (c UV1960) UV() UV { return UV{c.U, c.V * 3 / 2} }

// Distance returns the Euclidean distance Δu'v' between c and d. It is not
// Duv, the signed distance from the Planckian locus in the CIE 1960 diagram.
func (c UV) Distance(d UV) float64 { return orNaN(math.Hypot(c.U-d.U, c.V-d.V)) }

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
// number of bits a channel, clamped to [0, 1]. Fewer bits than 1 count as 1,
// more than 16 as 16.
func (c RGB) Quantise(bits int) RGB {
	bits = max(1, min(bits, 16))
	top := float64(uint(1)<<uint(bits)) - 1
	q := func(v float64) float64 { return math.Round(clamp01(v)*top) / top }
	return RGB{q(c.R), q(c.G), q(c.B)}
}
