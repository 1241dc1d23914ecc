package appearance

import (
	"math"
	"sync"

	"example.org/primaries/colorimetry"
)

// Oklab is a colour in Ottosson's uniform space: L is 1 for the white D65, A
// runs from green to red and B from blue to yellow.
type Oklab struct{ L, A, B float64 }

// Oklch is Oklab in cylinder coordinates: H in degrees, [0, 360).
type Oklch struct{ L, C, H float64 }

// OklabForm is one of the two published sets of matrices of Oklab. It does not
// change; the zero value is of no use.
type OklabForm struct{ lms, lab, xyz, back colorimetry.Matrix }

// OklabFirst returns Oklab with the matrices as first published. The white
// XYZ 0.95047, 1, 1.08883 misses a = b = 0 by up to 9e-5.
//
// Source: B. Ottosson, "A perceptual color space for image processing" (2020).
func OklabFirst() *OklabForm { return oklabFirst() }

// OklabCSS returns Oklab with the matrices of CSS, which were computed again in
// double precision so that sRGB's white is neutral. They differ from the first
// ones by up to some 1e-4 in a and b.
//
// Source: W3C CSS Color Module Level 4, its sample code.
func OklabCSS() *OklabForm { return oklabCSS() }

var oklabFirst = sync.OnceValue(func() *OklabForm {
	return oklabForm(
		colorimetry.Matrix{
			{0.8189330101, 0.3618667424, -0.1288597137},
			{0.0329845436, 0.9293118715, 0.0361456387},
			{0.0482003018, 0.2643662691, 0.6338517070}},
		colorimetry.Matrix{
			{0.2104542553, 0.7936177850, -0.0040720468},
			{1.9779984951, -2.4285922050, 0.4505937099},
			{0.0259040371, 0.7827717662, -0.8086757660}})
})

var oklabCSS = sync.OnceValue(func() *OklabForm {
	return oklabForm(
		colorimetry.Matrix{
			{0.8190224379967030, 0.3619062600528904, -0.1288737815209879},
			{0.0329836539323885, 0.9292868615863434, 0.0361446663506424},
			{0.0481771893596242, 0.2642395317527308, 0.6335478284694309}},
		colorimetry.Matrix{
			{0.2104542683093140, 0.7936177747023054, -0.0040720430116193},
			{1.9779985324311684, -2.4285922420485799, 0.4505937096174110},
			{0.0259040424655478, 0.7827717124575296, -0.8086757549230774}})
})

func oklabForm(lms, lab colorimetry.Matrix) *OklabForm {
	return &OklabForm{lms: lms, lab: lab, xyz: inverse(lms), back: inverse(lab)}
}

// inverse returns m⁻¹ of a constant matrix, which has one.
func inverse(m colorimetry.Matrix) colorimetry.Matrix {
	inv, err := m.Inverse()
	if err != nil {
		panic(err)
	}
	return inv
}

// Oklab returns c, which is relative XYZ under D65 (Y = 1 for the white).
// Negative cone responses have negative cube roots, so that every finite
// colour has its Oklab. NaN gives NaN.
func (f *OklabForm) Oklab(c colorimetry.XYZ) Oklab {
	v := f.lms.Apply(c)
	v = f.lab.Apply(colorimetry.XYZ{X: math.Cbrt(v.X), Y: math.Cbrt(v.Y), Z: math.Cbrt(v.Z)})
	return Oklab{v.X, v.Y, v.Z}
}

// XYZ returns the relative XYZ under D65 of c.
func (f *OklabForm) XYZ(c Oklab) colorimetry.XYZ {
	v := f.back.Apply(colorimetry.XYZ{X: c.L, Y: c.A, Z: c.B})
	return f.xyz.Apply(colorimetry.XYZ{X: v.X * v.X * v.X, Y: v.Y * v.Y * v.Y, Z: v.Z * v.Z * v.Z})
}

// Oklch returns c in cylinder coordinates; the hue of a neutral is 0.
func (c Oklab) Oklch() Oklch { return Oklch{c.L, math.Hypot(c.A, c.B), degrees(c.A, c.B)} }

// Oklab returns c in rectangular coordinates.
func (c Oklch) Oklab() Oklab {
	s, cos := math.Sincos(c.H * (math.Pi / 180))
	return Oklab{c.L, c.C * cos, c.C * s}
}
