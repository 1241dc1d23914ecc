//go:build goexperiment.simd && amd64

package transform

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/icc"
)

// Where the processor has no vectors, all other tests are about the portable passes
// and these have nothing to look at.

// Curves that displays and spaces have, and their inverses: that of IEC 61966-2-1
// (constants from memory), powers, and CIELAB's of light.
var usualCurves = map[string]func(float64) float64{
	"sRGB": func(x float64) float64 {
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	},
	"sRGB back": func(x float64) float64 {
		if x <= 0.04045/12.92 {
			return 12.92 * x
		}
		return 1.055*math.Pow(x, 1/2.4) - 0.055
	},
	"root":  rootOf,
	"1":     func(x float64) float64 { return x },
	"1.8":   func(x float64) float64 { return math.Pow(x, 1.8) },
	"2.2":   func(x float64) float64 { return math.Pow(x, 2.2) },
	"2.4":   func(x float64) float64 { return math.Pow(x, 2.4) },
	"2.6":   func(x float64) float64 { return math.Pow(x, 2.6) },
	"1/1.8": func(x float64) float64 { return math.Pow(x, 1/1.8) },
	"1/2.2": func(x float64) float64 { return math.Pow(x, 1/2.2) },
	"1/2.4": func(x float64) float64 { return math.Pow(x, 1/2.4) },
	"1/2.6": func(x float64) float64 { return math.Pow(x, 1/2.6) },
}

func TestWideCurves(t *testing.T) {
	if !vectors {
		t.Log("no vectors on this processor: the portable passes are tested")
		return
	}
	for name, f := range usualCurves {
		c := newWideCurve(f, nil)
		if c == nil {
			t.Errorf("%s: no cubics", name)
			continue
		}
		var cubic [blockPixels]uint32
		worst := 0.0
		for from := 0; from < 1<<20; from += blockPixels {
			var x, row [blockPixels]float32
			for i := range x {
				x[i] = float32(c.power((float64(from+i) + 0.5) / (1 << 20)))
			}
			row = x
			c.run(&row, &cubic, blockPixels)
			for i := range x {
				worst = max(worst, math.Abs(float64(row[i])-f(float64(x[i]))))
			}
		}
		// fit looks at fewer places.
		if worst > 1.1*wideError {
			t.Errorf("%s: %g apart", name, worst)
		}
		nan, inf := float32(math.NaN()), float32(math.Inf(1))
		row := [blockPixels]float32{0, nan, -nan, -1, -inf, 1, 1.5, inf, math.MaxFloat32}
		c.run(&row, &cubic, 9)
		for i, v := range row[:9] {
			if at := min(i/5, 1); math.Abs(float64(v)-f(float64(at))) > 2e-7 {
				t.Errorf("%s: %g for number %d, not %g", name, v, i, f(float64(at)))
			}
		}
	}
	if c := newWideCurve(func(x float64) float64 { return math.Floor(4*x) / 4 }, nil); c != nil {
		t.Error("cubics of steps")
	}
}

// lattice returns some table.
func lattice(grid []int, outputs int, linear bool) icc.Lattice {
	l := icc.Lattice{Grid: grid, Outputs: outputs, Linear: linear}
	r := rand.New(rand.NewPCG(1, 2))
	numbers := outputs
	for _, points := range grid {
		numbers *= points
	}
	for range numbers {
		l.Nodes = append(l.Nodes, r.Float32())
	}
	return l
}

// Passes by vectors give what the portable ones do, but for the roundings of fused
// multiplications.
func TestWidePasses(t *testing.T) {
	if !vectors {
		t.Log("no vectors on this processor: the portable passes are tested")
		return
	}
	table := func(l icc.Lattice) func() pass { return func() pass { return newTable(l) } }
	for name, build := range map[string]func() pass{
		"limit": func() pass { return limit{3, 0, 1} },
		"bound": func() pass { return limit{4, -math.MaxFloat32, math.MaxFloat32} },
		"matrix": func() pass {
			return &affine{3, 3, [4][4]float32{{1.5, -0.4, 0.1}, {-0.2, 1.1, 0.3}, {0, 0.1, 2}}, [4]float32{0.1, -0.2, 0.3}}
		},
		"to L*a*b*":              func() pass { return toLab{} },
		"to XYZ":                 func() pass { return toXYZ{} },
		"tetrahedra":             table(lattice([]int{5, 6, 7}, 3, false)),
		"tetrahedra, four":       table(lattice([]int{5, 6, 7}, 4, false)),
		"tetrahedra, one":        table(lattice([]int{2, 3, 2}, 1, false)),
		"corners":                table(lattice([]int{5, 6, 7}, 3, true)),
		"corners, two":           table(lattice([]int{3, 2, 4}, 2, true)),
		"corners, no last":       table(lattice([]int{3, 4, 1}, 3, true)),
		"tetrahedra, no last":    table(lattice([]int{3, 4, 1}, 3, false)),
		"corners, no first":      table(lattice([]int{1, 4, 3}, 3, true)),
		"tetrahedra, one node":   table(lattice([]int{1, 1, 1}, 3, false)),
		"corners, of one node":   table(lattice([]int{1, 1, 1}, 3, true)),
		"four channels":          table(lattice([]int{4, 3, 5, 2}, 3, false)),
		"four channels to four":  table(lattice([]int{2, 3, 1, 4}, 4, false)),
		"four channels, flat":    table(lattice([]int{1, 3, 2, 2}, 3, false)),
		"four channels, linear":  table(lattice([]int{4, 3, 5, 2}, 3, true)),
		"tetrahedra, two a side": table(lattice([]int{2, 2, 2}, 3, false)),
	} {
		for _, n := range []int{1, 15, 16, 17, 255, blockPixels} {
			t.Run(fmt.Sprintf("%s/%d", name, n), func(t *testing.T) { comparePass(t, build, n) })
		}
	}
}

// comparePass runs a pass by vectors and without on the same pixels.
func comparePass(t *testing.T, build func() pass, n int) {
	var wide, plain block
	r := rand.New(rand.NewPCG(3, uint64(n)))
	special := []float32{0, 1, -1, 0.5, 1.0 / 3, 2, 1e8, -1e8, float32(math.NaN()), float32(math.Copysign(0, -1)), math.SmallestNonzeroFloat32, 216.0 / 24389}
	for c := range plain.v {
		for i := range plain.v[c] {
			switch v := r.Float32(); {
			case r.IntN(4) == 0:
				plain.v[c][i] = special[r.IntN(len(special))]
			case r.IntN(4) == 0 && c > 0:
				plain.v[c][i] = plain.v[c-1][i] // equal places in a cell
			default:
				plain.v[c][i] = 1.4*v - 0.2
			}
		}
	}
	wide.v = plain.v
	in := plain.v
	build().run(&wide, n)
	vectors = false
	p := build()
	p.run(&plain, n)
	vectors = true
	channels := 3
	if p, ok := p.(*table); ok {
		channels = p.out
	}
	for i := range n {
		most := 1.0
		for c := range channels {
			if v := math.Abs(float64(plain.v[c][i])); v > most {
				most = v
			}
		}
		for c := range channels {
			got, want := float64(wide.v[c][i]), float64(plain.v[c][i])
			if math.IsNaN(want) && math.IsNaN(got) || math.Abs(got-want) <= 3e-6*most {
				continue
			}
			t.Fatalf("pixel %d, channel %d: %g by vectors, %g without, of %g %g %g", i, c, got, want, in[0][i], in[1][i], in[2][i])
		}
	}
}
