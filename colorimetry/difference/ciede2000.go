package difference

import (
	"math"

	"example.org/primaries/colorimetry"
)

const (
	pow25to7 = 25.0 * 25 * 25 * 25 * 25 * 25 * 25

	// Cosines and sines of the phases in the weight T.
	cos30, sin30 = 0.8660254037844386467637, 0.5
	cos6, sin6   = 0.9945218953682733369227, 0.1045284632676534713998
	cos63, sin63 = 0.4539904997395467915604, 0.8910065241883678623597

	degree = math.Pi / 180
)

// Weights are the parametric weights kL, kC and kH of CIEDE2000, by which the
// differences of lightness, chroma and hue are divided. A weight left 0 is 1,
// the value for reference conditions; textiles have kL = 2 by custom. A negative
// weight makes the difference NaN.
type Weights struct{ KL, KC, KH float64 }

func (w Weights) orDefault() Weights {
	return Weights{orOne(w.KL), orOne(w.KC), orOne(w.KH)}
}

// CIEDE2000 returns the CIEDE2000 difference between a and b, which are CIELAB
// under the same white: 0 for equal colours, about 1 where a trained eye
// begins to see a difference side by side. It is symmetric. kL = kC = kH = 1.
// NaN in gives NaN out.
//
// Where the two hues stand exactly 180° apart the formula jumps and rounding
// would decide. Here the sign of a′₁·b₂ − a′₂·b₁ decides, and zero counts as
// "not more than 180°". The formula is not smooth there, nor where a hue is
// undefined near neutral: mind it when fitting.
//
// Source: ISO/CIE 11664-6:2014; Sharma, Wu and Dalal, Color Res. Appl. 30(1)
// 21-30 (2005), doi:10.1002/col.20070.
func CIEDE2000(a, b colorimetry.Lab) float64 {
	return ciede2000(a, b, Weights{1, 1, 1}, turnTable())
}

// CIEDE2000Weighted is CIEDE2000 with parametric weights.
//
// Source: ISO/CIE 11664-6:2014.
func CIEDE2000Weighted(a, b colorimetry.Lab, w Weights) float64 {
	return ciede2000(a, b, w.orDefault(), turnTable())
}

// CIEDE2000Row sets dst[i] to CIEDE2000(a[i], b[i]). It panics if dst or b is
// shorter than a.
func CIEDE2000Row(dst []float64, a, b []colorimetry.Lab) {
	dst, b = dst[:len(a)], b[:len(a)]
	table := turnTable()
	for i := range a {
		dst[i] = ciede2000(a[i], b[i], Weights{1, 1, 1}, table)
	}
}

// ciede2000 is the whole formula without an angle: CIEDE2000Steps with square
// roots and quotients shared, so that it takes half of the time.
func ciede2000(a, b colorimetry.Lab, w Weights, table *turns) float64 {
	// Chroma, with a* stretched for colours near neutral.
	cMean := (math.Sqrt(a.A*a.A+a.B*a.B) + math.Sqrt(b.A*b.A+b.B*b.B)) / 2
	stretch := 1.5 - 0.5*chromaShare(cMean)
	a1, a2 := stretch*a.A, stretch*b.A
	c1 := math.Sqrt(a1*a1 + a.B*a.B)
	c2 := math.Sqrt(a2*a2 + b.B*b.B)
	cMean = (c1 + c2) / 2

	// As in hues, but both vectors are scaled by the other's length, and the
	// length of their sum (or difference) is known beforehand to be √(2qp).
	dot := a1*a2 + a.B*b.B
	cross := float64(a1*b.B) - float64(a2*a.B)
	q := c1 * c2
	p := q + math.Abs(dot)
	var dH, cosH, sinH float64
	if s := 2 * q * p; s > tiny && s < 1/tiny {
		inv := 1 / math.Sqrt(s)
		x, y := float64(c2*a1), float64(c2*a.B)
		u, v := float64(c1*a2), float64(c1*b.B)
		dH = 2 * math.Sqrt(q) * inv
		if dot >= 0 {
			dH *= cross
			cosH, sinH = (x+u)*inv, (y+v)*inv
		} else {
			dH *= p
			if cross < 0 || cross == 0 && (a.B < 0 || a.B == 0 && a1 < 0) {
				dH, inv = -dH, -inv
			}
			cosH, sinH = (v-y)*inv, (x-u)*inv
		}
	} else {
		dH, cosH, sinH = hues(vector{a1, a.B, c1}, vector{a2, b.B, c2})
	}

	// 1 + 0.015·l²/√(20 + l²) as a quotient of √(20 + l²), and one division for
	// all three weights.
	l2 := square((a.L+b.L)/2 - 50)
	rl := math.Sqrt(20 + l2)
	sl := w.KL * (rl + 0.015*l2)
	sc := w.KC * (1 + 0.045*cMean)
	sh := w.KH * (1 + 0.015*cMean*hueWeight(cosH, sinH))
	inv := 1 / (sl * sc * sh)
	l := (b.L - a.L) * rl * (sc * sh) * inv
	c := (c2 - c1) * (sl * sh) * inv
	h := dH * (sl * sc) * inv

	e := l*l + c*c + h*h
	if t := turn(cosH, sinH, table); t != 0 {
		e -= 2 * chromaShare(cMean) * t * c * h
	}
	// The rotation can take a difference of next to nothing below zero by
	// rounding; NaN has to pass.
	return root(e)
}

// tiny bounds the products whose roots and quotients keep their digits.
const tiny = 1e-200

// hueWeight returns the weight T of a mean hue.
func hueWeight(cos, sin float64) float64 {
	// All phases and the multiples of the hue by the addition theorems.
	k := cos * cos
	cos2, sin2 := 2*k-1, 2*sin*cos
	return (1 - 0.24 + 0.20*cos63) + 0.48*k +
		cos*((-0.17*cos30-0.96*cos6)+1.28*cos6*k) +
		sin*((-0.17*sin30+0.32*sin6)-1.28*sin6*k) -
		0.40*cos2*(cos63*cos2+sin63*sin2)
}

// vector is a colour in the a′, b* plane and its length, the chroma C′.
type vector struct{ a, b, c float64 }

// hues returns ΔH′ from p to q and the cosine and sine of their mean hue.
//
// The formula's rules for adding and averaging angles mean: take the smaller
// arc, and its middle. So no angle is needed: the middle is the direction of
// the sum of the two unit vectors, or, where they point apart, of their
// difference turned by 90°, which does not cancel.
func hues(p, q vector) (dH, cosH, sinH float64) {
	if p.c == 0 || q.c == 0 {
		// No hue: ΔH′ is 0 and the mean hue is the other's.
		v := p
		if p.c == 0 {
			v = q
		}
		if v.c == 0 {
			return 0, 1, 0
		}
		return 0, v.a / v.c, v.b / v.c
	}
	dot := p.a*q.a + p.b*q.b
	// Rounded one by one, never fused, so that opposite colours give zero.
	cross := float64(p.a*q.b) - float64(q.a*p.b)
	pa, pb, qa, qb := p.a/p.c, p.b/p.c, q.a/q.c, q.b/q.c
	if dot >= 0 {
		if cross != 0 {
			dH = cross / math.Sqrt((p.c*q.c+dot)/2)
		}
		cosH, sinH = pa+qa, pb+qb
	} else {
		dH = math.Sqrt(2 * (p.c*q.c - dot))
		cosH, sinH = qb-pb, pa-qa
		// q stands clockwise from p; at exactly 180° the hue in [0°, 180°) is
		// the first one.
		if cross < 0 || cross == 0 && (p.b < 0 || p.b == 0 && p.a < 0) {
			dH, cosH, sinH = -dH, -cosH, -sinH
		}
	}
	n := math.Sqrt(cosH*cosH + sinH*sinH)
	return dH, cosH / n, sinH / n
}

// chromaShare returns √(c⁷/(c⁷+25⁷)).
func chromaShare(c float64) float64 {
	c2 := c * c
	c7 := c2 * c2 * c2 * c
	return math.Sqrt(c7 / (c7 + pow25to7))
}
