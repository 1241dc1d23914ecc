package difference

import (
	"math"

	"example.org/primaries/colorimetry"
)

// Steps2000 holds the intermediate values of CIEDE2000, named as in the paper.
// Angles are degrees in [0, 360); the hue of a neutral is 0.
type Steps2000 struct {
	G      float64 // how far a* is stretched: a′ = (1 + G)·a*
	A1, A2 float64 // a′
	C1, C2 float64 // C′
	H1, H2 float64 // h′
	HMean  float64 // the mean hue
	T      float64 // the weight of hue
	Parts  Parts   // ΔL′, ΔC′, ΔH′ and their weights
	Total  float64 // ΔE00
}

// CIEDE2000Steps returns every intermediate value of CIEDE2000 from a to b, for
// teaching and for finding out where two programs part.
//
// Source: Sharma, Wu and Dalal, Color Res. Appl. 30(1) 21-30 (2005),
// equations 2 to 22, doi:10.1002/col.20070.
func CIEDE2000Steps(a, b colorimetry.Lab, w Weights) Steps2000 {
	w = w.orDefault()
	var s Steps2000
	s.G = 0.5 - 0.5*chromaShare((math.Sqrt(a.A*a.A+a.B*a.B)+math.Sqrt(b.A*b.A+b.B*b.B))/2)
	s.A1, s.A2 = (1+s.G)*a.A, (1+s.G)*b.A
	s.C1, s.C2 = math.Sqrt(s.A1*s.A1+a.B*a.B), math.Sqrt(s.A2*s.A2+b.B*b.B)
	s.H1, s.H2 = hueAngle(s.A1, a.B), hueAngle(s.A2, b.B)
	dH, cos, sin := hues(vector{s.A1, a.B, s.C1}, vector{s.A2, b.B, s.C2})
	s.HMean = hueAngle(cos, sin)
	s.T = hueWeight(cos, sin)
	cMean := (s.C1 + s.C2) / 2
	l2 := square((a.L+b.L)/2 - 50)
	s.Parts = Parts{
		L: b.L - a.L, C: s.C2 - s.C1, H: dH,
		SL: w.KL * (1 + 0.015*l2/math.Sqrt(20+l2)),
		SC: w.KC * (1 + 0.045*cMean),
		SH: w.KH * (1 + 0.015*cMean*s.T),
		RT: 0 - 2*chromaShare(cMean)*turn(cos, sin, turnTable()), // never −0
	}
	s.Total = s.Parts.Total()
	return s
}

// CIEDE2000Parts returns the parts ΔL′, ΔC′ and ΔH′ of CIEDE2000 from a to b,
// and their weights.
//
// Source: ISO/CIE 11664-6:2014.
func CIEDE2000Parts(a, b colorimetry.Lab, w Weights) Parts { return CIEDE2000Steps(a, b, w).Parts }

// hueAngle returns the angle of a direction in degrees, [0, 360).
func hueAngle(cos, sin float64) float64 {
	h := math.Atan2(sin, cos) / degree
	if h < 0 {
		h += 360
	}
	if h >= 360 {
		h = 0
	}
	return h
}
