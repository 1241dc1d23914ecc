package difference

import (
	"math"

	"example.org/primaries/colorimetry"
)

// CIE94Weights are the parametric weights of CIE94. A factor left 0 is 1, and K1
// and K2 are those of GraphicArts where both are 0. A negative weight makes the
// difference NaN.
type CIE94Weights struct {
	KL, KC, KH float64 // divide the differences of lightness, chroma and hue
	K1, K2     float64 // how the weights of chroma and hue grow with the reference's chroma
}

// GraphicArts returns the weights of the CIE's reference conditions: all 1,
// with 0.045 and 0.015.
//
// Source: CIE 116-1995.
func GraphicArts() CIE94Weights { return CIE94Weights{1, 1, 1, 0.045, 0.015} }

// Textiles returns the weights for textiles: kL = 2, with 0.048 and 0.014.
//
// Source: CIE 116-1995 for kL; 0.048 and 0.014 are common practice.
func Textiles() CIE94Weights { return CIE94Weights{2, 1, 1, 0.048, 0.014} }

// CIE94 returns the CIE94 difference of a sample from a reference, both CIELAB
// under the same white. It is not symmetric.
//
// Source: CIE 116-1995.
func CIE94(reference, sample colorimetry.Lab, w CIE94Weights) float64 {
	w = w.orDefault()
	c1 := math.Sqrt(reference.A*reference.A + reference.B*reference.B)
	c2 := math.Sqrt(sample.A*sample.A + sample.B*sample.B)
	l := (sample.L - reference.L) / w.KL
	c := (c2 - c1) / (w.KC * (1 + w.K1*c1))
	return root(l*l + c*c + hueSquare(reference, sample, c1, c2)/square(w.KH*(1+w.K2*c1)))
}

// CIE94Parts returns the parts of CIE94.
func CIE94Parts(reference, sample colorimetry.Lab, w CIE94Weights) Parts {
	w = w.orDefault()
	p := cylinder(reference.L, reference.A, reference.B, sample.L, sample.A, sample.B)
	c := math.Sqrt(reference.A*reference.A + reference.B*reference.B)
	p.SL, p.SC, p.SH = w.KL, w.KC*(1+w.K1*c), w.KH*(1+w.K2*c)
	return p
}

func (w CIE94Weights) orDefault() CIE94Weights {
	if w.K1 == 0 && w.K2 == 0 {
		w.K1, w.K2 = GraphicArts().K1, GraphicArts().K2
	}
	w.KL, w.KC, w.KH = orOne(w.KL), orOne(w.KC), orOne(w.KH)
	if w.K1 < 0 || w.K2 < 0 {
		w.KL = math.NaN()
	}
	return w
}

// orOne returns a weight, 1 for one left 0 and NaN for one that is none.
func orOne(k float64) float64 {
	switch {
	case k == 0:
		return 1
	case k < 0:
		return math.NaN()
	}
	return k
}

func square(x float64) float64 { return x * x }

// hueSquare returns the square of ΔH*ab, without the cancellation of the usual
// ΔE² − ΔL² − ΔC².
func hueSquare(p, q colorimetry.Lab, c1, c2 float64) float64 {
	dot := p.A*q.A + p.B*q.B
	if dot < 0 {
		return 2 * (c1*c2 - dot)
	}
	cross := float64(p.A*q.B) - float64(q.A*p.B)
	if cross == 0 {
		return 0
	}
	both := c1*c2 + dot
	if both == 0 { // chromas too small for their product
		return 0
	}
	return 2 * cross * cross / both
}
