package appearance

import (
	"math"

	"example.org/primaries/colorimetry"
)

// Appearance is what a colour looks like: the correlates of CIECAM02 and
// CAM16. The white has J = 100; black has all of them 0, save that the hue of
// a neutral is whatever rounding makes it.
type Appearance struct {
	J float64 // lightness
	Q float64 // brightness
	C float64 // chroma
	M float64 // colourfulness
	S float64 // saturation
	// Hue is the hue angle h in degrees, [0, 360).
	Hue float64
	// Quadrature is the hue quadrature H, [0, 400): 0 unique red, 100 unique
	// yellow, 200 unique green, 300 unique blue.
	Quadrature float64
}

func noAppearance() Appearance {
	n := math.NaN()
	return Appearance{n, n, n, n, n, n, n}
}

func noXYZ() colorimetry.XYZ { return colorimetry.XYZ{X: math.NaN(), Y: math.NaN(), Z: math.NaN()} }

// cos2 and sin2 turn the eccentricity's phase of 2 radians.
const (
	cos2 = -0.41614683654714238699756823
	sin2 = 0.90929742682568169539601987
)

// polar is a colour's √(J/100), its α = C/√(J/100), and the direction of its
// hue.
type polar struct{ root, alpha, cos, sin float64 }

func (m *Model) polar(c colorimetry.XYZ) (polar, bool) {
	p := m.cones(c)
	a := p.r + (p.b-12*p.g)/11
	b := (p.r + p.g - 2*p.b) / 9
	u := p.r + p.g + 1.05*p.b + 0.305
	r := math.Sqrt(a*a + b*b)
	cos, sin := 1.0, 0.0
	if r > 0 {
		cos, sin = a/r, b/r
	}
	e := (cos*cos2 - sin*sin2 + 3.8) / 4
	out := polar{
		root:  pow(p.achromatic()/m.aw, m.root),
		alpha: pow(m.induce*e*r/u, 0.9) * m.chroma,
		cos:   cos, sin: sin,
	}
	// A negative achromatic response or denominator has become NaN.
	return out, u > 0 && out.root >= 0 && out.alpha <= math.MaxFloat64 && out.root <= math.MaxFloat64
}

// Appearance returns every correlate of c, which is relative XYZ on the scale
// of the model's white. ok is false, and all fields are NaN, where the model
// has no appearance for c: a component is NaN or infinite, or c lies so far
// outside the spectrum locus that the achromatic response or the sum of cone
// responses is negative.
func (m *Model) Appearance(c colorimetry.XYZ) (a Appearance, ok bool) {
	p, ok := m.polar(c)
	if !ok {
		return noAppearance(), false
	}
	a.J = 100 * p.root * p.root
	a.Q = m.bright * p.root
	a.C = p.alpha * p.root
	a.M = a.C * m.flRoot
	a.S = 50 * math.Sqrt(p.alpha*m.satur)
	a.Hue = degrees(p.cos, p.sin)
	a.Quadrature = Quadrature(a.Hue)
	return a, true
}

// degrees returns the angle of a direction in [0, 360).
func degrees(cos, sin float64) float64 {
	h := math.Atan2(sin, cos) * (180 / math.Pi)
	if h < 0 {
		h += 360
	}
	if h >= 360 {
		h = 0
	}
	return h
}

// By names the correlates that Model.XYZ starts from: one of lightness, one of
// chroma; the third is always Appearance.Hue.
type By uint8

// The six ways back.
const (
	ByJC By = iota // lightness J and chroma C
	ByJM           // lightness J and colourfulness M
	ByJS           // lightness J and saturation s
	ByQC           // brightness Q and chroma C
	ByQM           // brightness Q and colourfulness M
	ByQS           // brightness Q and saturation s
)

// XYZ returns the colour, relative, that has the hue and the two other
// correlates of a which by names; the rest of a is not looked at. To start
// from a hue quadrature, set a.Hue to HueOf(quadrature). ok is false, and the
// colour NaN, where no colour looks so: a correlate is negative, NaN or
// infinite, black is given a chroma, or more than the strongest cone response
// would be needed.
//
// Source: CIE 159:2004; Li et al. (2017).
func (m *Model) XYZ(a Appearance, by By) (c colorimetry.XYZ, ok bool) {
	p, ok := m.given(a, by)
	if !ok {
		return noXYZ(), false
	}
	s, cos := math.Sincos(a.Hue * (math.Pi / 180))
	p.cos, p.sin = cos, s
	return m.fromPolar(p)
}

// given returns the polar form of the correlates that by names, its hue left
// out.
func (m *Model) given(a Appearance, by By) (p polar, ok bool) {
	switch by {
	case ByJC, ByJM, ByJS:
		p.root = math.Sqrt(a.J) / 10
	case ByQC, ByQM, ByQS:
		p.root = a.Q / m.bright
	default:
		return p, false
	}
	var c float64
	switch by {
	case ByJC, ByQC:
		c = a.C
	case ByJM, ByQM:
		c = a.M / m.flRoot
	default:
		p.alpha = a.S * a.S / (2500 * m.satur)
		return p, p.root >= 0 && a.S >= 0
	}
	if p.root > 0 {
		p.alpha = c / p.root
	}
	return p, p.root > 0 && c >= 0 || p.root == 0 && c == 0
}

func (m *Model) fromPolar(p polar) (colorimetry.XYZ, bool) {
	t := pow(p.alpha/m.chroma, 1/0.9)
	e := (p.cos*cos2 - p.sin*sin2 + 3.8) / 4
	achromatic := m.aw * pow(p.root, 1/m.root)
	// Cone responses from the achromatic and the two opponent ones.
	g := 23 * (achromatic + 0.305) * t / (23*m.induce*e + t*(11*p.cos+108*p.sin))
	a, b := g*p.cos, g*p.sin
	v := m.out.Apply(colorimetry.XYZ{
		X: expand((460*achromatic + 451*a + 288*b) / 1403),
		Y: expand((460*achromatic - 891*a - 261*b) / 1403),
		Z: expand((460*achromatic - 220*a - 6300*b) / 1403),
	})
	if !(g >= 0) || !v.Finite() {
		return noXYZ(), false
	}
	return v, true
}

// unique holds the hue angles of red, yellow, green, blue and red again, and
// the eccentricity of each.
//
// Source: CIE 159:2004; Li et al. (2017).
var unique = [5]struct{ h, e float64 }{{20.14, 0.8}, {90, 0.7}, {164.25, 1.0}, {237.53, 1.2}, {380.14, 0.8}}

// Quadrature returns the hue quadrature H in [0, 400) of a hue angle in
// degrees, in which unique red, yellow, green and blue stand at 0, 100, 200
// and 300. NaN or an infinity gives NaN.
//
// Source: CIE 159:2004; Li et al. (2017). (Some programs bend the way
// from blue to red as CIECAM97s did; this one does not.)
func Quadrature(hueDegrees float64) float64 {
	h := hueDegrees
	if !(h >= 0 && h < 360) {
		if h = math.Mod(h, 360); h < 0 {
			h += 360
		}
	}
	if h < unique[0].h {
		h += 360
	}
	i := 0
	for i < 3 && h >= unique[i+1].h {
		i++
	}
	lo, hi := unique[i], unique[i+1]
	p, q := (h-lo.h)/lo.e, (hi.h-h)/hi.e
	v := 100*float64(i) + 100*p/(p+q)
	if v >= 400 {
		return 0
	}
	return v
}

// HueOf returns the hue angle in degrees, [0, 360), of a hue quadrature. NaN or
// an infinity gives NaN.
//
// Source: Li et al. (2017).
func HueOf(quadrature float64) float64 {
	v := math.Mod(quadrature, 400)
	if v < 0 {
		v += 400
	}
	if !(v < 400) {
		if v != v {
			return v
		}
		v = 0
	}
	i := int(v / 100)
	lo, hi := unique[i], unique[i+1]
	v -= 100 * float64(i)
	h := (v*(hi.e*lo.h-lo.e*hi.h) - 100*lo.h*hi.e) / (v*(hi.e-lo.e) - 100*hi.e)
	if h >= 360 {
		h -= 360
	}
	return h
}
