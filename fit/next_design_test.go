package fit

import (
	"math"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/mat"
)

// wavy is a Joint of which everything is known: three independent functions of
// the signal's distance.
type wavy struct{}

func (wavy) Name() string { return "wavy" }

func (wavy) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	return colorimetry.XYZ{X: 95 * s.R, Y: 100 * s.G, Z: 108 * s.B}
}

func (wavy) Jacobian(colorimetry.RGB) colorimetry.Matrix { return colorimetry.Diagonal(95, 100, 108) }

func (w wavy) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	return w.Between(s, s).Add(colorimetry.Diagonal(0.01, 0.01, 0.01))
}

func (wavy) Between(a, b colorimetry.RGB) colorimetry.Matrix {
	d := (a.R-b.R)*(a.R-b.R) + (a.G-b.G)*(a.G-b.G) + (a.B-b.B)*(a.B-b.B)
	k := math.Exp(-d / 0.1)
	return colorimetry.Matrix{{2 * k, 0.5 * k, 0}, {0.5 * k, 1 * k, 0.2 * k}, {0, 0.2 * k, 3 * k}}
}

// oneReading is of white, and states no noise of its own.
func oneReading() []measure.Reading {
	white := colorimetry.Gray(1)
	return []measure.Reading{{Patch: chart.Patch{Signal: white}, XYZ: wavy{}.XYZ(white)}}
}

// What is left after patches were taken one by one is what the formula for all
// of them at once leaves: B_tt − B_ts·(B_ss + N)⁻¹·B_st (Rasmussen and Williams,
// Gaussian Processes for Machine Learning, eq. 2.24).
func TestDesignTakesAsTheFormulaSays(t *testing.T) {
	t.Parallel()
	var m wavy
	a, err := Adaptive{}.withDefaults()
	if err != nil {
		t.Fatal(err)
	}
	d := newDesign(m, a, oneReading())
	taken := []int{3, 40, 41, 3, 100} // one twice
	for _, j := range taken {
		d.take(j)
	}
	n := 3 * len(taken)
	seen := mat.NewSymDense(n, nil)
	for i, p := range taken {
		for j, q := range taken {
			b := m.Between(d.candidates[p], d.candidates[q])
			if i == j {
				b = b.Add(d.noise[p])
			}
			for r := range 3 {
				for c := range 3 {
					if 3*i+r <= 3*j+c {
						seen.SetSym(3*i+r, 3*j+c, b[r][c])
					}
				}
			}
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(seen) {
		t.Fatal("no factor")
	}
	targets, _ := a.targets()
	white := m.XYZ(colorimetry.Gray(1))
	for i, s := range targets {
		with := mat.NewDense(3, n, nil)
		for j, q := range taken {
			put(with, 0, j, m.Between(s, d.candidates[q]))
		}
		var half, told mat.Dense
		if err := factor.SolveTo(&half, with.T()); err != nil {
			t.Fatal(err)
		}
		told.Mul(with, &half)
		want := spreadBy(perceived(m.XYZ(s), white), m.Between(s, s).Add(block(&told, 0, 0).Scale(-1)))
		for r := range 3 {
			for c := range 3 {
				if e := math.Abs(want[r][c] - d.left[i][r][c]); e > 1e-6*trace(want)+1e-9 {
					t.Fatalf("target %v: %v left, want %v", s, d.left[i], want)
				}
			}
		}
	}
}

// The first choice is the candidate after which the expected error is least, as
// trying every candidate tells: within a tenth of the gain, since best reckons
// to first order.
func TestDesignBestIsBest(t *testing.T) {
	t.Parallel()
	a, err := Adaptive{}.withDefaults()
	if err != nil {
		t.Fatal(err)
	}
	fresh := newDesign(wavy{}, a, oneReading())
	before := fresh.expected()
	least := math.Inf(1)
	for j := range fresh.candidates {
		d := *fresh
		d.own, d.left, d.cross = slices.Clone(d.own), slices.Clone(d.left), mat.DenseCopyOf(d.cross)
		d.take(j)
		least = math.Min(least, d.expected())
	}
	j := fresh.best()
	fresh.take(j)
	if got := fresh.expected(); before-got < 0.9*(before-least) {
		t.Errorf("candidate %d lowers the expected error from %g to %g, another to %g", j, before, got, least)
	}
}
