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
	return root(l*l + p*p + q*q)
}

// ABParts returns the parts ΔL*, ΔC*ab and ΔH*ab of AB, each with the weight 1.
//
// Source: ISO/CIE 11664-4:2019.
func ABParts(a, b colorimetry.Lab) Parts {
	p := cylinder(a.L, a.A, a.B, b.L, b.A, b.B)
	p.SL, p.SC, p.SH = 1, 1, 1
	return p
}

// UV returns the Euclidean distance between a and b in CIELUV (ΔE*uv of 1976).
//
// Source: ISO/CIE 11664-5:2016.
func UV(a, b colorimetry.Luv) float64 {
	l, p, q := a.L-b.L, a.U-b.U, a.V-b.V
	return root(l*l + p*p + q*q)
}

// UVParts returns the parts ΔL*, ΔC*uv and ΔH*uv of UV, each with the weight 1.
//
// Source: ISO/CIE 11664-5:2016.
func UVParts(a, b colorimetry.Luv) Parts {
	p := cylinder(a.L, a.U, a.V, b.L, b.U, b.V)
	p.SL, p.SC, p.SH = 1, 1, 1
	return p
}

// HyAB returns the hybrid distance between a and b: the difference of L* plus
// the distance in the a*, b* plane. It serves very large differences.
//
// Source: S. Abasi, M. Amani Tehran, M. D. Fairchild, Color Res. Appl. 45(2)
// 208-223 (2020), doi:10.1002/col.22451.
func HyAB(a, b colorimetry.Lab) float64 {
	p, q := a.A-b.A, a.B-b.B
	if d := math.Abs(a.L-b.L) + root(p*p+q*q); d <= math.MaxFloat64 {
		return d
	}
	return math.NaN()
}

// cylinder returns the differences of lightness, chroma and hue from one colour
// to another.
func cylinder(l1, a1, b1, l2, a2, b2 float64) Parts {
	c1, c2 := math.Sqrt(a1*a1+b1*b1), math.Sqrt(a2*a2+b2*b2)
	dH, _, _ := hues(vector{a1, b1, c1}, vector{a2, b2, c2})
	return Parts{L: l2 - l1, C: c2 - c1, H: dH}
}
