package colorimetry

import "math"

//go:generate go run cuberoot_gen.go

// The table of cube roots covers eight octaves, 64 cells each. It begins below
// labEpsilon and ends where colours more than twice as bright as the white do.
const (
	rootCells = 512
	rootFrom  = 0x3f80000000000000 // the bits of 2⁻⁷
	rootTo    = 2.0
	rootShift = 52 - 6
)

// rootCell is a number near the middle of a cell whose cube root is known
// exactly: root has 17 bits, so that its cube has at most 51.
type rootCell struct{ root, inverse float64 } // inverse is 1/root³

// tableRoot returns ∛t for t in [2⁻⁷, 2), to the last bit but for a share of
// 1e-3 of it: the root of the cell, times the series of (1+d)^(1/3) where d is
// t's exact distance from that root's cube, at most 1/64 of it.
func tableRoot(t float64) float64 {
	k := &rootCellTable[(math.Float64bits(t)-rootFrom)>>rootShift%rootCells]
	c := k.root
	d := (t - c*c*c) * k.inverse
	return c + c*d*(1.0/3-d*(1.0/9-d*(5.0/81-d*(10.0/243-d*(22.0/729-d*(154.0/6561-d*(374.0/19683)))))))
}

// cubeRoot returns ∛t for any t, by the table where it reaches.
func cubeRoot(t float64) float64 {
	if t > labEpsilon && t < rootTo {
		return tableRoot(t)
	}
	return math.Cbrt(t)
}
