package appearance

import (
	"math"

	"example.org/primaries/colorimetry"
)

// Uniform holds the coefficients that make uniform coordinates of lightness and
// colourfulness: J′ = (1 + 100·C1)·J/(1 + C1·J), M′ = ln(1 + C2·M)/C2. KL
// divides differences of J′.
//
// Source: M. R. Luo, G. Cui, C. Li, Color Res. Appl. 31(4) 320-330 (2006),
// doi:10.1002/col.20227; Li et al. (2017) for CAM16.
type Uniform struct{ KL, C1, C2 float64 }

// UCS returns the coefficients for differences of every size: CAM02-UCS or
// CAM16-UCS.
func UCS() Uniform { return Uniform{1, 0.007, 0.0228} }

// LCD returns the coefficients for large differences (about 10 units of
// CIELAB): CAM02-LCD or CAM16-LCD.
func LCD() Uniform { return Uniform{0.77, 0.007, 0.0053} }

// SCD returns the coefficients for small differences (below 5 units of
// CIELAB): CAM02-SCD or CAM16-SCD.
func SCD() Uniform { return Uniform{1.24, 0.007, 0.0363} }

// Jab is a colour in uniform coordinates of CIECAM02 or CAM16: J is J′, which
// is 100 for the white, A and B are a′ (from green to red) and b′ (from blue to
// yellow).
type Jab struct{ J, A, B float64 }

func noJab() Jab { return Jab{math.NaN(), math.NaN(), math.NaN()} }

// Distance returns the difference between c and d, whose coordinates both have
// the coefficients u.
func (u Uniform) Distance(c, d Jab) float64 {
	j, a, b := (c.J-d.J)/u.KL, c.A-d.A, c.B-d.B
	return math.Sqrt(j*j + a*a + b*b)
}

// Jab returns c, relative XYZ on the scale of the model's white, in the uniform
// coordinates of u. ok is as of Appearance.
func (m *Model) Jab(c colorimetry.XYZ, u Uniform) (j Jab, ok bool) {
	p, ok := m.polar(c)
	if !ok {
		return noJab(), false
	}
	l := 100 * p.root * p.root
	r := math.Log1p(u.C2*p.alpha*p.root*m.flRoot) / u.C2
	return Jab{(1 + 100*u.C1) * l / (1 + u.C1*l), r * p.cos, r * p.sin}, true
}

// FromJab returns the colour, relative XYZ on the scale of the model's white,
// that has the uniform coordinates j under u. ok is as of XYZ.
func (m *Model) FromJab(j Jab, u Uniform) (c colorimetry.XYZ, ok bool) {
	r := math.Sqrt(j.A*j.A + j.B*j.B)
	p := polar{root: math.Sqrt(j.J/(1+u.C1*(100-j.J))) / 10, cos: 1}
	chroma := math.Expm1(u.C2*r) / u.C2 / m.flRoot
	switch {
	case p.root > 0 && r > 0:
		p.alpha, p.cos, p.sin = chroma/p.root, j.A/r, j.B/r
	case p.root > 0 && r == 0, p.root == 0 && r == 0:
	default:
		return noXYZ(), false
	}
	return m.fromPolar(p)
}
