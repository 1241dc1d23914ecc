package difference

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// CAMUCS returns the difference between a and b, relative XYZ on the scale of
// m's white, in the uniform coordinates of m: CAM02-UCS or CAM16-UCS with
// appearance.UCS, and likewise -LCD and -SCD. It is NaN where the model has no
// appearance for one of the two.
//
// Source: Luo, Cui and Li (2006), doi:10.1002/col.20227; Li et al. (2017),
// doi:10.1002/col.22131.
func CAMUCS(m *appearance.Model, u appearance.Uniform, a, b colorimetry.XYZ) float64 {
	p, _ := m.Jab(a, u) // NaN where there is none
	q, _ := m.Jab(b, u)
	return u.Distance(p, q)
}

// ITP returns ΔE_ITP between a and b, which are ICtCp of absolute light by
// appearance.ICtCpPQ: about 1 where a difference is just visible to an eye that
// is adapted to it.
//
// Source: ITU-R BT.2124-0 (2019).
func ITP(a, b appearance.ICtCp) float64 {
	return 720 * root(square(a.I-b.I)+0.25*square(a.T-b.T)+square(a.P-b.P))
}

// XYZITP returns ΔE_ITP between a and b, which are absolute XYZ in cd/m² under
// D65. It is NaN where one of the two has no ICtCp.
//
// Source: ITU-R BT.2124-0 (2019).
func XYZITP(a, b colorimetry.XYZ) float64 {
	p, _ := appearance.ICtCpPQ.FromXYZ(a) // NaN where there is none
	q, _ := appearance.ICtCpPQ.FromXYZ(b)
	return ITP(p, q)
}

// JZ returns ΔE_z between a and b: the Euclidean distance in Jzazbz.
//
// Source: Safdar et al. (2017), doi:10.1364/OE.25.015131.
func JZ(a, b appearance.Jzazbz) float64 {
	return root(square(a.J-b.J) + square(a.A-b.A) + square(a.B-b.B))
}

// OK returns the Euclidean distance between a and b in Oklab, both made with
// the same matrices; CSS calls it ΔE OK. White and black differ by 1.
//
// Source: W3C CSS Color Module Level 4.
func OK(a, b appearance.Oklab) float64 {
	return root(square(a.L-b.L) + square(a.A-b.A) + square(a.B-b.B))
}
