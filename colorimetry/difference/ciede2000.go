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
	// Chroma, with a* stretched for colours near neutral.
	cMean := (math.Sqrt(a.A*a.A+a.B*a.B) + math.Sqrt(b.A*b.A+b.B*b.B)) / 2
	stretch := 1.5 - 0.5*chromaShare(cMean)
	a1, a2 := stretch*a.A, stretch*b.A
	c1 := math.Sqrt(a1*a1 + a.B*a.B)
	c2 := math.Sqrt(a2*a2 + b.B*b.B)
	dL, dC := b.L-a.L, c2-c1
	cMean = (c1 + c2) / 2

	dH, cosH, sinH := hues(vector{a1, a.B, c1}, vector{a2, b.B, c2})

	// Multiples of the mean hue by the addition theorems.
	cos2, sin2 := cosH*cosH-sinH*sinH, 2*sinH*cosH
	cos3, sin3 := cos2*cosH-sin2*sinH, sin2*cosH+cos2*sinH
	cos4, sin4 := cos2*cos2-sin2*sin2, 2*sin2*cos2
	t := 1 - 0.17*(cosH*cos30+sinH*sin30) + 0.24*cos2 +
		0.32*(cos3*cos6-sin3*sin6) - 0.20*(cos4*cos63+sin4*sin63)

	l50 := (a.L+b.L)/2 - 50
	l50 *= l50
	dL /= 1 + 0.015*l50/math.Sqrt(20+l50)
	dC /= 1 + 0.045*cMean
	dH /= 1 + 0.015*cMean*t

	e := dL*dL + dC*dC + dH*dH + rotation(cosH, sinH, cMean)*dC*dH
	// The rotation can take a difference of next to nothing below zero by
	// rounding; NaN has to pass.
	if e < 0 {
		return 0
	}
	return math.Sqrt(e)
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
		dH = cross / math.Sqrt((p.c*q.c+dot)/2)
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

// rotation returns R_T, the interaction of chroma and hue in the blues.
func rotation(cosH, sinH, cMean float64) float64 {
	if cosH > 0 && sinH > 0 {
		return 0 // hues below 90°: under 1e-22, lost in the sum
	}
	h := math.Atan2(sinH, cosH) / degree
	if h < 0 {
		h += 360
	}
	x := (h - 275) / 25
	return -2 * chromaShare(cMean) * math.Sin(60*degree*math.Exp(-x*x))
}

// chromaShare returns √(c⁷/(c⁷+25⁷)).
func chromaShare(c float64) float64 {
	c2 := c * c
	c7 := c2 * c2 * c2 * c
	return math.Sqrt(c7 / (c7 + pow25to7))
}
