package appearance

import (
	"math"
	"sync"

	"example.org/primaries/colorimetry"
)

// Jzazbz is a colour in the uniform space of Safdar et al.: J from 0 for black
// to about 0.99 for a white of 10,000 cd/m², A from green to red, B from blue
// to yellow.
type Jzazbz struct{ J, A, B float64 }

// Jzczhz is Jzazbz in cylinder coordinates: H in degrees, [0, 360).
type Jzczhz struct{ J, C, H float64 }

// Source: M. Safdar, G. Cui, Y. J. Kim, M. R. Luo, Opt. Express 25(13)
// 15131-15151 (2017), doi:10.1364/OE.25.015131.
const (
	jzazbzB  = 1.15
	jzazbzG  = 0.66
	jzazbzD  = -0.56
	jzazbzD0 = 1.6295499532821566e-11
)

// jzazbzMatrices are from XYZ to the cones, from coded cones to I, a, b, and
// back.
type jzazbzMatrices struct{ lms, iab, xyz, back colorimetry.Matrix }

var jzazbz = sync.OnceValue(func() *jzazbzMatrices {
	cones := colorimetry.Matrix{{0.41478972, 0.579999, 0.0146480}, {-0.2015100, 1.120649, 0.0531008}, {-0.0166008, 0.264800, 0.6684799}}
	shift := colorimetry.Matrix{{jzazbzB, 0, 1 - jzazbzB}, {1 - jzazbzG, jzazbzG, 0}, {0, 0, 1}}
	m := &jzazbzMatrices{
		lms: cones.Mul(shift),
		iab: colorimetry.Matrix{{0.5, 0.5, 0}, {3.524000, -4.066708, 0.542708}, {0.199076, 1.096799, -1.295875}},
	}
	m.xyz, m.back = inverse(m.lms), inverse(m.iab)
	return m
})

// FromXYZJzazbz returns the Jzazbz of c, which is absolute XYZ in cd/m² under
// D65. ok is false, and the result NaN, where a cone response is negative,
// which happens outside the spectrum locus only, where c is so far beyond the
// 10,000 cd/m² of the code that J has its pole (some 700,000 cd/m² for a white),
// or c is not finite.
//
// Source: Safdar et al. (2017), doi:10.1364/OE.25.015131.
func FromXYZJzazbz(c colorimetry.XYZ) (j Jzazbz, ok bool) {
	m := jzazbz()
	v := m.lms.Apply(c)
	v = m.iab.Apply(colorimetry.XYZ{X: encodePQ(v.X, jzazbzM2), Y: encodePQ(v.Y, jzazbzM2), Z: encodePQ(v.Z, jzazbzM2)})
	if !v.Finite() || !(1+jzazbzD*v.X > 0) {
		return Jzazbz{math.NaN(), math.NaN(), math.NaN()}, false
	}
	return Jzazbz{(1+jzazbzD)*v.X/(1+jzazbzD*v.X) - jzazbzD0, v.Y, v.Z}, true
}

// XYZ returns the absolute XYZ of c in cd/m² under D65. ok is false, and the
// result NaN, where no light has the coordinates: a coded cone response is
// negative or beyond the code's pole.
//
// Source: Safdar et al. (2017), doi:10.1364/OE.25.015131.
func (c Jzazbz) XYZ() (x colorimetry.XYZ, ok bool) {
	m := jzazbz()
	j := c.J + jzazbzD0
	v := m.back.Apply(colorimetry.XYZ{X: j / (1 + jzazbzD - jzazbzD*j), Y: c.A, Z: c.B})
	v = m.xyz.Apply(colorimetry.XYZ{X: decodePQ(v.X, jzazbzM2), Y: decodePQ(v.Y, jzazbzM2), Z: decodePQ(v.Z, jzazbzM2)})
	if !v.Finite() {
		return noXYZ(), false
	}
	return v, true
}

// Jzczhz returns c in cylinder coordinates; the hue of a neutral is 0.
func (c Jzazbz) Jzczhz() Jzczhz { return Jzczhz{c.J, math.Hypot(c.A, c.B), degrees(c.A, c.B)} }

// Jzazbz returns c in rectangular coordinates.
func (c Jzczhz) Jzazbz() Jzazbz {
	s, cos := math.Sincos(c.H * (math.Pi / 180))
	return Jzazbz{c.J, c.C * cos, c.C * s}
}
