package colorimetry

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// The cube of the root, worked out to 300 bits, tells how far the root is from
// the true one in units of its last place.
func TestTableRoot(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var worst float64
	for range 200_000 {
		v := math.Exp2(random.Float64()*8 - 7)
		r := tableRoot(v)
		b := new(big.Float).SetPrec(300).SetFloat64(r)
		cube := new(big.Float).SetPrec(300).Mul(b, b)
		cube.Mul(cube, b).Sub(cube, new(big.Float).SetFloat64(v))
		off, _ := cube.Float64()
		worst = max(worst, math.Abs(off/(3*r*r))/(math.Nextafter(r, math.Inf(1))-r))
	}
	if worst > 0.505 {
		t.Errorf("off by %.4f units in the last place, want at most 0.505", worst)
	}
	if tableRoot(1) != 1 || tableRoot(0.125) != 0.5 || tableRoot(1.0/64) != 0.25 {
		t.Errorf("the roots of 1, 1/8 and 1/64 are %.17g, %.17g and %.17g", tableRoot(1), tableRoot(0.125), tableRoot(1.0/64))
	}
}

// Every cell's root must have an exact cube, near the middle of the cell.
func TestRootCells(t *testing.T) {
	for i, k := range rootCellTable {
		lo := math.Float64frombits(rootFrom + uint64(i)<<rootShift)
		hi := math.Float64frombits(rootFrom + uint64(i+1)<<rootShift)
		b := new(big.Float).SetFloat64(k.root)
		cube, exact := new(big.Float).Mul(b, new(big.Float).Mul(b, b)).Float64()
		if exact != big.Exact || math.Abs(cube/((lo+hi)/2)-1) > 1e-4 || k.inverse != 1/cube {
			t.Errorf("cell %d, from %g to %g: root %g, inverse %g", i, lo, hi, k.root, k.inverse)
		}
	}
}
