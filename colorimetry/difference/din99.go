package difference

import (
	"math"

	"example.org/primaries/colorimetry"
)

// DIN99Weights are the parametric weights of the DIN99 formulas. A weight left
// 0 is 1, the value for reference conditions; textiles have KE = 2 and
// KCH = 0.5 by custom. A negative weight makes the difference NaN.
type DIN99Weights struct{ KE, KCH float64 }

func (w DIN99Weights) orDefault() DIN99Weights {
	return DIN99Weights{orOne(w.KE), orOne(w.KCH)}
}

// Lab99 is a colour in one of the DIN99 spaces, in rectangular coordinates.
type Lab99 struct{ L, A, B float64 }

// DIN99Space is one of the five DIN99 spaces. All of them turn CIELAB, squeeze
// one of its chromatic axes, and take logarithms of lightness and chroma.
type DIN99Space uint8

const (
	// Space99 is the space of DIN99.
	//
	// Source: DIN 6176:2001-03; ASTM D2244-07, which has 105.509 where the
	// DIN prints 105.51 (the DIN from memory).
	Space99 DIN99Space = iota
	// Space99b is the space of DIN99b.
	//
	// Source: Cui et al. (2002).
	Space99b
	// Space99c is the space of DIN99c.
	//
	// Source: Cui et al. (2002).
	Space99c
	// Space99d is the space of DIN99d.
	//
	// Source: Cui et al. (2002).
	Space99d
	// Space99o is the space of DIN99o.
	//
	// Source: DIN 6176:2018-10, as open programs have it; not seen itself.
	Space99o
)

// form99 holds the coefficients of a space: L = l·ln(1 + lIn·L*)/kE,
// C = c·ln(1 + cIn·G)/(kCH·kE).
type form99 struct {
	l, lIn   float64
	cos, sin float64 // the angle by which a*, b* are turned
	squeeze  float64 // of the turned b*
	c, cIn   float64
	back     bool // turned back afterwards
	x        float64
}

// The angles 16°, 26° and 50°.
const (
	cos16, sin16 = 0.96126169593831886191649704855706, 0.27563735581699918564997157461130
	cos26, sin26 = 0.89879404629916699278229567669579, 0.43837114678907741745273454065827
	cos50, sin50 = 0.64278760968653932632264340990726, 0.76604444311897803520239265055542
)

var forms99 = [...]form99{
	Space99:  {105.509, 0.0158, cos16, sin16, 0.7, 1 / 0.045, 0.045, false, 0},
	Space99b: {303.67, 0.0039, cos26, sin26, 0.83, 23, 0.075, true, 0},
	Space99c: {317.65, 0.0037, 1, 0, 0.94, 23, 0.066, true, 0.1},
	Space99d: {325.22, 0.0036, cos50, sin50, 1.14, 22.5, 0.06, true, 0.12},
	// 100/ln(1.39) is printed as 303.67.
	Space99o: {303.67, 0.0039, cos26, sin26, 0.83, 1 / 0.0435, 0.075, true, 0},
}

// Lab99 returns the coordinates in s of c, CIELAB under white. Space99c and
// Space99d look at white, the others do not. An L* so low that no logarithm can
// be taken (below −63 in Space99, below −250 in the others) makes the result
// NaN, as does NaN.
//
// DIN99c and DIN99d replace X by 1.1·X − 0.1·Z and 1.12·X − 0.12·Z before
// CIELAB. Programs differ in what they do with the white: here it is replaced
// alike, so that greys stay grey. The paper itself was not opened.
//
// Source: G. Cui, M. R. Luo, B. Rigg, G. Roesler, K. Witt, Color Res. Appl.
// 27(4) 282-290 (2002), doi:10.1002/col.10066; see the spaces for the others.
func (s DIN99Space) Lab99(c colorimetry.Lab, white colorimetry.XYZ, w DIN99Weights) Lab99 {
	f := &forms99[s]
	if f.x != 0 {
		c = replaceX(c.XYZ(white), f.x).Lab(replaceX(white, f.x))
	}
	return f.from(c, w.orDefault())
}

// Lab undoes Lab99: the CIELAB under white of coordinates in s.
func (s DIN99Space) Lab(c Lab99, white colorimetry.XYZ, w DIN99Weights) colorimetry.Lab {
	f := &forms99[s]
	out := f.to(c, w.orDefault())
	if f.x != 0 {
		v := out.XYZ(replaceX(white, f.x))
		v.X = (v.X + f.x*v.Z) / (1 + f.x)
		out = v.Lab(white)
	}
	return out
}

func replaceX(c colorimetry.XYZ, x float64) colorimetry.XYZ {
	c.X = (1+x)*c.X - x*c.Z
	return c
}

// from returns the coordinates of c, X being replaced already.
func (f *form99) from(c colorimetry.Lab, w DIN99Weights) Lab99 {
	e := c.A*f.cos + c.B*f.sin
	g := f.squeeze * (c.B*f.cos - c.A*f.sin)
	if r := math.Sqrt(e*e + g*g); r != 0 {
		k := f.c * math.Log1p(f.cIn*r) / (r * w.KCH * w.KE)
		e, g = k*e, k*g
	}
	if f.back {
		e, g = e*f.cos-g*f.sin, e*f.sin+g*f.cos
	}
	l := f.l * math.Log1p(f.lIn*c.L) / w.KE
	if l < -math.MaxFloat64 {
		l = math.NaN()
	}
	return Lab99{l, e, g}
}

// to undoes from.
func (f *form99) to(c Lab99, w DIN99Weights) colorimetry.Lab {
	e, g := c.A, c.B
	if f.back {
		e, g = e*f.cos+g*f.sin, g*f.cos-e*f.sin
	}
	if r := math.Sqrt(e*e + g*g); r != 0 {
		k := math.Expm1(r*w.KCH*w.KE/f.c) / (f.cIn * r)
		e, g = k*e, k*g
	}
	g /= f.squeeze
	return colorimetry.Lab{L: math.Expm1(c.L*w.KE/f.l) / f.lIn, A: e*f.cos - g*f.sin, B: e*f.sin + g*f.cos}
}

func distance99(s DIN99Space, a, b colorimetry.Lab, white colorimetry.XYZ, w DIN99Weights) float64 {
	p, q := s.Lab99(a, white, w), s.Lab99(b, white, w)
	return root(square(p.L-q.L) + square(p.A-q.A) + square(p.B-q.B))
}

// DIN99 returns the DIN99 difference between a and b, CIELAB under the same
// white (the formula was made for D65 and the 10° observer).
//
// Source: DIN 6176:2001-03; ASTM D2244-07.
func DIN99(a, b colorimetry.Lab, w DIN99Weights) float64 {
	return distance99(Space99, a, b, colorimetry.XYZ{}, w)
}

// DIN99b returns the DIN99b difference between a and b, CIELAB under the same
// white.
//
// Source: Cui et al. (2002), doi:10.1002/col.10066.
func DIN99b(a, b colorimetry.Lab) float64 {
	return distance99(Space99b, a, b, colorimetry.XYZ{}, DIN99Weights{})
}

// DIN99c returns the DIN99c difference between a and b, CIELAB under white;
// DIN99Space.Lab99 says what the white does.
//
// Source: Cui et al. (2002), doi:10.1002/col.10066.
func DIN99c(a, b colorimetry.Lab, white colorimetry.XYZ) float64 {
	return distance99(Space99c, a, b, white, DIN99Weights{})
}

// DIN99d returns the DIN99d difference between a and b, CIELAB under white;
// DIN99Space.Lab99 says what the white does.
//
// Source: Cui et al. (2002), doi:10.1002/col.10066.
func DIN99d(a, b colorimetry.Lab, white colorimetry.XYZ) float64 {
	return distance99(Space99d, a, b, white, DIN99Weights{})
}

// DIN99o returns the DIN99o difference between a and b, CIELAB under the same
// white.
//
// Source: DIN 6176:2018-10, as open programs have it.
func DIN99o(a, b colorimetry.Lab, w DIN99Weights) float64 {
	return distance99(Space99o, a, b, colorimetry.XYZ{}, w)
}
