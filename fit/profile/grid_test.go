package profile

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/internal/level"
)

// starving is an invented display whose channels take light from each other.
type starving struct{ fit.Model }

func (starving) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	r, g, b := math.Pow(s.R, 2.2), math.Pow(s.G, 2.3), math.Pow(s.B, 2.1)
	return colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.12}.Add(colorimetry.Columns(
		colorimetry.XYZ{X: 55, Y: 28, Z: 1}, colorimetry.XYZ{X: 30, Y: 80, Z: 6}, colorimetry.XYZ{X: 22, Y: 9, Z: 120},
	).FromLinear(colorimetry.RGB{R: r * (1 - 0.12*g - 0.08*b), G: g * (1 - 0.05*r - 0.06*b), B: b * (1 - 0.1*r - 0.12*g)}))
}

// In gamut the inverse is right to 1e-6 of the white, on the model and not just
// on the grid that stands for it.
func TestInverseInGamut(t *testing.T) {
	m := starving{}
	f, err := newFrame(m, m.XYZ(colorimetry.Gray(1)), 0)
	if err != nil {
		t.Fatal(err)
	}
	g := newGrid(f)
	rng := rand.New(rand.NewPCG(4, 4))
	var coarse, fine float64
	off := func(v [3]float64, want colorimetry.XYZ) float64 {
		d := f.show(g.signals(v)).Sub(want)
		return math.Max(math.Abs(d.X), math.Max(math.Abs(d.Y), math.Abs(d.Z)))
	}
	for range 3000 {
		want := f.show([3]float64{rng.Float64(), rng.Float64(), rng.Float64()})
		y := levels(f.light(want))
		v, ok := g.find(y, y)
		if !ok {
			t.Fatalf("%v is not found", want)
		}
		coarse = math.Max(coarse, off(v, want))
		fine = math.Max(fine, off(g.refine(y, v), want))
	}
	t.Logf("grid within %.1e of the white, model within %.1e", coarse, fine)
	if fine > 1e-6 {
		t.Errorf("off by %.1e of the white", fine)
	}
}

// What the cubic leads to and its derivatives, against central differences.
func TestGridSlopes(t *testing.T) {
	m := starving{}
	f, err := newFrame(m, m.XYZ(colorimetry.Gray(1)), 256)
	if err != nil {
		t.Fatal(err)
	}
	g := newGrid(f)
	rng := rand.New(rand.NewPCG(4, 5))
	const h = 1e-6
	for range 200 {
		v := [3]float64{rng.Float64(), rng.Float64(), rng.Float64()}
		_, j := g.at(v)
		for c := range 3 {
			hi, lo := v, v
			hi[c] += h
			lo[c] -= h
			a, _ := g.at(hi)
			b, _ := g.at(lo)
			for k := range 3 {
				if d := (a[k] - b[k]) / (2 * h); math.Abs(d-j[k][c]) > 0.02*(1+math.Abs(d)) {
					t.Fatalf("at %v: slope %g, differences say %g", v, j[k][c], d)
				}
			}
		}
	}
}

// Levels and the curve that undoes them, as the profile holds it, are inverses.
func TestLevels(t *testing.T) {
	p := levelCurve(-0.3, 1.2)
	lo, hi := level.Tables.Light(-0.3), level.Tables.Light(1.2)
	var worst float64
	for i := range 1001 {
		l := lo + (hi-lo)*float64(i)/1000
		if d := level.Tables.Light(level.Tables.Of(l)) - l; math.Abs(d) > 1e-12 {
			t.Fatalf("light %g comes back off by %g", l, d)
		}
		share := (l - lo) / (hi - lo)
		worst = math.Max(worst, math.Abs(p.At(entry(p, share))-share))
	}
	// Where line and power meet, 16 bits of a coefficient leave a gap.
	if worst > 3e-6 {
		t.Errorf("the curve and its inverse miss each other by %g", worst)
	}
}

// The knee bends, and breaks nothing: it rises from 0 to 1 at most, with the slope
// 1 up to the knee and none that jumps.
func TestSoft(t *testing.T) {
	for _, knee := range []float64{0.01, 0.5, 0.8, 0.99} {
		for _, most := range []float64{1 + 1e-9, 1.1, 2, 10} {
			last, slope := 0.0, 1.0
			const h = 1e-4
			for x := h; x <= most; x += h {
				y := soft(x, knee, most)
				now := (y - last) / h
				if y < last || now > slope+1e-6 || now < slope-2.5*h/(1-knee)-1e-6 {
					t.Fatalf("knee %g, most %g: slope %g at %g after %g", knee, most, now, x, slope)
				}
				last, slope = y, now
			}
			if end := soft(most, knee, most); math.Abs(end-1) > 1e-9 {
				t.Errorf("knee %g: %g comes to %g", knee, most, end)
			}
			if x := knee * 0.999; soft(x, knee, most) != x {
				t.Errorf("knee %g: %g moves", knee, x)
			}
		}
	}
}
