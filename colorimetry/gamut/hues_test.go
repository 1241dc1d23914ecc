package gamut_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

func oklabSolid(t testing.TB) (*gamut.Solid, gamut.Space) {
	t.Helper()
	space, err := gamut.Oklab(white)
	if err != nil {
		t.Fatal(err)
	}
	return solid(t, "sRGB", space, gamut.Options{}), space
}

// Colours outside come to the surface along their own hue, and nothing of that
// hue on a fine lattice of the surface is nearer.
func TestHuesKeepTheHue(t *testing.T) {
	s, _ := oklabSolid(t)
	h := s.Hues()
	rng := rand.New(rand.NewPCG(1, 2))
	var worst, off float64
	n := 0
	for range 3000 {
		p := gamut.Coordinates{L: rng.Float64(), A: rng.Float64() - 0.5, B: rng.Float64() - 0.5}
		q, d := h.Nearest(p)
		if s.Contains(p) {
			if q != p || d != 0 {
				t.Fatalf("%v is inside and goes to %v", p, q)
			}
			continue
		}
		n++
		if q.A*p.A+q.B*p.B < 0 {
			t.Fatalf("%v goes to the opposite hue, %v", p, q)
		}
		if c := math.Hypot(q.A, q.B); c > 1e-9 {
			worst = math.Max(worst, math.Abs(q.A*p.B-q.B*p.A)/math.Hypot(p.A, p.B))
		}
		_, away := s.Nearest(q)
		if s.Contains(q) {
			away = 0
		}
		off = math.Max(off, away)
		// The nearest of all hues is never farther.
		if _, free := s.Nearest(p); free > d+1e-9 {
			t.Fatalf("%v: %g away at its hue, %g at any", p, d, free)
		}
		for k := range 200 {
			f := float64(k) / 200
			c, l := f*0.35, p.L
			m := math.Hypot(p.A, p.B)
			try := gamut.Coordinates{L: l, A: p.A / m * c, B: p.B / m * c}
			if e := math.Hypot(c-m, 0); e < d-1e-9 && s.Contains(try) {
				t.Fatalf("%v goes to %v, %g away, and %v is nearer, %g", p, q, d, try, e)
			}
		}
	}
	t.Logf("%d colours outside: sideways by %.1e at most, %.4f outside the surface", n, worst, off)
	if worst > 1e-9 || off > 1e-9 {
		t.Errorf("sideways by %g, %g outside the surface", worst, off)
	}
	if q, d := h.Nearest(gamut.Coordinates{L: math.NaN()}); !math.IsNaN(d) || !math.IsNaN(q.L) {
		t.Errorf("NaN goes to %v", q)
	}
}

// White is L = 1 without hue, and the space is its own inverse.
func TestOklabSpace(t *testing.T) {
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	p, ok := space.Coordinates(colorimetry.D50())
	if !ok || math.Abs(p.L-1) > 1e-6 || math.Hypot(p.A, p.B) > 1e-6 {
		t.Errorf("white is %v", p)
	}
	for _, c := range []colorimetry.XYZ{{X: 0.2, Y: 0.1, Z: 0.7}, {X: 0.001, Y: 0.002, Z: 0.0005}, {X: -0.1, Y: 0.3, Z: 0.2}} {
		p, _ := space.Coordinates(c)
		back, ok := space.XYZ(p)
		if d := back.Sub(c); !ok || math.Abs(d.X)+math.Abs(d.Y)+math.Abs(d.Z) > 1e-12 {
			t.Errorf("%v comes back as %v", c, back)
		}
	}
	if _, err := gamut.Oklab(colorimetry.XYZ{}); err == nil {
		t.Error("no white gives no error")
	}
}

func BenchmarkHues(b *testing.B) {
	s, _ := oklabSolid(b)
	b.Run("sort", func(b *testing.B) {
		for b.Loop() {
			s.Hues()
		}
	})
	h := s.Hues()
	b.Run("nearest", func(b *testing.B) {
		for b.Loop() {
			h.Nearest(gamut.Coordinates{L: 0.6, A: 0.3, B: 0.3})
		}
	})
}

// The line from a grey through a colour leaves the solid where Contains, which
// counts windings and knows no hues, says that it does.
func TestReach(t *testing.T) {
	s, _ := oklabSolid(t)
	h := s.Hues()
	rng := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		p := gamut.Coordinates{L: rng.Float64(), A: 0.6 * (rng.Float64() - 0.5), B: 0.6 * (rng.Float64() - 0.5)}
		const l = 0.5
		r := h.Reach(l, p)
		at := func(f float64) gamut.Coordinates {
			return gamut.Coordinates{L: l + f*(p.L-l), A: f * p.A, B: f * p.B}
		}
		if !s.Contains(at(r*(1-1e-6))) || s.Contains(at(r*(1+1e-6))) {
			t.Fatalf("%v: the surface is not at %g", p, r)
		}
		for f := 1.001; f < 3; f += 0.05 {
			if s.Contains(at(r * f)) {
				t.Fatalf("%v: inside at %g, beyond %g", p, r*f, r)
			}
		}
	}
	for _, p := range []gamut.Coordinates{{L: 1.3}, {L: -0.2}} { // along the greys
		if r := h.Reach(0.5, p); math.Abs(0.5+r*(p.L-0.5)-math.Round(p.L)) > 1e-3 {
			t.Errorf("towards %v the greys end at %g", p, 0.5+r*(p.L-0.5))
		}
	}
	for _, p := range []gamut.Coordinates{{L: math.NaN()}, {L: 0.5}} {
		if r := h.Reach(0.5, p); !math.IsNaN(r) {
			t.Errorf("%v: %g", p, r)
		}
	}
	if r := h.Reach(3, gamut.Coordinates{L: 4, A: 0.1}); !math.IsNaN(r) {
		t.Errorf("from outside, away from the solid: %g", r)
	}
}
