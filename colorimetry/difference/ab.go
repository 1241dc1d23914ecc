package difference

import (
	"math"

	"example.org/primaries/colorimetry"
)

// XYZ2000 returns the CIEDE2000 difference between a and b under white, all
// three on the same scale.
func XYZ2000(a, b, white colorimetry.XYZ) float64 {
	return CIEDE2000(a.Lab(white), b.Lab(white))
}

// AB returns the Euclidean distance between a and b in CIELAB (ΔE*ab of 1976).
//
// Source: ISO/CIE 11664-4:2019.
func AB(a, b colorimetry.Lab) float64 {
	l, p, q := a.L-b.L, a.A-b.A, a.B-b.B
	return math.Sqrt(l*l + p*p + q*q)
}
