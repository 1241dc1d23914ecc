package difference_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
)

// randomPairs returns pairs anywhere and near each other, in turn.
func randomPairs(n int) (a, b []colorimetry.Lab) {
	r := rand.New(rand.NewPCG(94, 2000))
	for i := range n {
		p := colorimetry.Lab{L: 100 * r.Float64(), A: 200*r.Float64() - 100, B: 200*r.Float64() - 100}
		q := colorimetry.Lab{L: 100 * r.Float64(), A: 200*r.Float64() - 100, B: 200*r.Float64() - 100}
		if i%2 == 1 {
			s := math.Pow(10, -4+5*r.Float64())
			q = colorimetry.Lab{L: p.L + s*(r.Float64()-0.5), A: p.A + s*(r.Float64()-0.5), B: p.B + s*(r.Float64()-0.5)}
		}
		a, b = append(a, p), append(b, q)
	}
	return a, b
}

// metrics of two CIELAB colours; symmetric says that the order does not matter.
func metrics(t testing.TB) []struct {
	name      string
	f         func(a, b colorimetry.Lab) float64
	symmetric bool
} {
	t.Helper()
	white := colorimetry.D50()
	m, err := appearance.NewCAM16(appearance.Viewing{White: white})
	if err != nil {
		t.Fatal(err)
	}
	itp := func(c colorimetry.Lab) appearance.ICtCp {
		return appearance.ICtCp{I: c.L / 100, T: c.A / 250, P: c.B / 250}
	}
	return []struct {
		name      string
		f         func(a, b colorimetry.Lab) float64
		symmetric bool
	}{
		{"AB", difference.AB, true},
		{"UV", func(a, b colorimetry.Lab) float64 {
			return difference.UV(colorimetry.Luv{L: a.L, U: a.A, V: a.B}, colorimetry.Luv{L: b.L, U: b.A, V: b.B})
		}, true},
		{"HyAB", difference.HyAB, true},
		{"CIE94", func(a, b colorimetry.Lab) float64 { return difference.CIE94(a, b, difference.CIE94Weights{}) }, false},
		{"CMC", func(a, b colorimetry.Lab) float64 { return difference.CMC(a, b, 2, 1) }, false},
		{"CIEDE2000", difference.CIEDE2000, true},
		{"CIEDE2000Weighted", func(a, b colorimetry.Lab) float64 {
			return difference.CIEDE2000Weighted(a, b, difference.Weights{KL: 2})
		}, true},
		{"DIN99", func(a, b colorimetry.Lab) float64 { return difference.DIN99(a, b, difference.DIN99Weights{}) }, true},
		{"DIN99b", difference.DIN99b, true},
		{"DIN99c", func(a, b colorimetry.Lab) float64 { return difference.DIN99c(a, b, white) }, true},
		{"DIN99d", func(a, b colorimetry.Lab) float64 { return difference.DIN99d(a, b, white) }, true},
		{"DIN99o", func(a, b colorimetry.Lab) float64 { return difference.DIN99o(a, b, difference.DIN99Weights{}) }, true},
		{"CAMUCS", func(a, b colorimetry.Lab) float64 {
			return difference.CAMUCS(m, appearance.UCS(), a.XYZ(white), b.XYZ(white))
		}, true},
		{"ITP", func(a, b colorimetry.Lab) float64 { return difference.ITP(itp(a), itp(b)) }, true},
		{"XYZITP", func(a, b colorimetry.Lab) float64 {
			return difference.XYZITP(a.XYZ(colorimetry.D65().Scale(100)), b.XYZ(colorimetry.D65().Scale(100)))
		}, true},
		{"JZ", func(a, b colorimetry.Lab) float64 {
			return difference.JZ(appearance.Jzazbz{J: a.L, A: a.A, B: a.B}, appearance.Jzazbz{J: b.L, A: b.A, B: b.B})
		}, true},
		{"OK", func(a, b colorimetry.Lab) float64 {
			return difference.OK(appearance.Oklab{L: a.L, A: a.A, B: a.B}, appearance.Oklab{L: b.L, A: b.A, B: b.B})
		}, true},
	}
}

// None allocates, all are 0 for equal colours and NaN for NaN, none is negative
// or infinite, and those that are said to be are symmetric.
func TestMetrics(t *testing.T) {
	a, b := randomPairs(2000)
	for _, m := range metrics(t) {
		for i := range a {
			v := m.f(a[i], b[i])
			if v < 0 || math.IsInf(v, 0) || math.IsNaN(v) && m.name != "CAMUCS" && m.name != "XYZITP" {
				t.Fatalf("%s of %v and %v is %g", m.name, a[i], b[i], v)
			}
			if w := m.f(b[i], a[i]); m.symmetric && v != w && !math.IsNaN(v) {
				t.Fatalf("%s of %v and %v is %.17g, reversed %.17g", m.name, a[i], b[i], v, w)
			}
			if v := m.f(a[i], a[i]); v != 0 && !math.IsNaN(v) {
				t.Fatalf("%s of %v and itself is %g", m.name, a[i], v)
			}
		}
		for _, huge := range []float64{1e160, 1e308, math.Inf(1), math.NaN()} {
			for _, c := range []colorimetry.Lab{{L: huge}, {L: 50, A: -huge}, {L: 50, B: huge}, {L: huge, A: huge, B: huge}} {
				for _, d := range []colorimetry.Lab{{L: 50, A: 20, B: 30}, {L: -huge, A: 1}, {}} {
					v, w := m.f(c, d), m.f(d, c)
					if math.IsInf(v, 0) || math.IsInf(w, 0) || huge != huge && (!math.IsNaN(v) || !math.IsNaN(w)) {
						t.Fatalf("%s of %v and %v is %g, reversed %g", m.name, c, d, v, w)
					}
				}
			}
		}
		var sum float64
		if n := testing.AllocsPerRun(100, func() { sum += m.f(a[1], b[1]) }); n != 0 {
			t.Errorf("%s: %g allocations (sum %g)", m.name, n, sum)
		}
	}
}

// The parts add up to the whole, and have the signs that they are said to have.
func TestParts(t *testing.T) {
	luv := func(c colorimetry.Lab) colorimetry.Luv { return colorimetry.Luv{L: c.L, U: c.A, V: c.B} }
	a, b := randomPairs(2000)
	for i := range a {
		a, b := a[i], b[i]
		for _, k := range []struct {
			name  string
			p     difference.Parts
			whole float64
		}{
			{"AB", difference.ABParts(a, b), difference.AB(a, b)},
			{"UV", difference.UVParts(luv(a), luv(b)), difference.UV(luv(a), luv(b))},
			{"CIE94", difference.CIE94Parts(a, b, difference.Textiles()), difference.CIE94(a, b, difference.Textiles())},
			{"CMC", difference.CMCParts(a, b, 2, 1), difference.CMC(a, b, 2, 1)},
			{"CIEDE2000", difference.CIEDE2000Parts(a, b, difference.Weights{KH: 2}), difference.CIEDE2000Weighted(a, b, difference.Weights{KH: 2})},
		} {
			if got := k.p.Total(); math.Abs(got-k.whole) > 1e-11+1e-12*k.whole {
				t.Fatalf("%s of %v and %v: parts make %.15g, whole is %.15g", k.name, a, b, got, k.whole)
			}
			if k.p.L != b.L-a.L {
				t.Fatalf("%s of %v and %v: ΔL is %g", k.name, a, b, k.p.L)
			}
			cross := a.A*b.B - b.A*a.B
			if math.Abs(cross) > 1e-9 && math.Signbit(k.p.H) != math.Signbit(cross) {
				t.Fatalf("%s of %v and %v: ΔH is %g", k.name, a, b, k.p.H)
			}
		}
		if got, want := difference.ABParts(a, b).C, b.LCh().C-a.LCh().C; math.Abs(got-want) > 1e-12 {
			t.Fatalf("ΔC of %v and %v is %g, want %g", a, b, got, want)
		}
	}
}

func TestRows(t *testing.T) {
	a, b := randomPairs(1000)
	dst := make([]float64, 1001)
	dst[1000] = 7
	check := func(name string, f func(a, b colorimetry.Lab) float64) {
		t.Helper()
		for i := range a {
			if want := f(a[i], b[i]); dst[i] != want {
				t.Fatalf("%s, pair %d: %.17g in the row, %.17g alone", name, i, dst[i], want)
			}
		}
		if dst[1000] != 7 {
			t.Fatalf("%s wrote beyond the row", name)
		}
	}
	difference.CIEDE2000Row(dst, a, b)
	check("CIEDE2000Row", difference.CIEDE2000)
	difference.Row(dst, a, b, difference.HyAB)
	check("Row", difference.HyAB)
	cmc := func(a, b colorimetry.Lab) float64 { return difference.CMC(a, b, 2, 1) }
	for name, f := range map[string]func(){
		"CIEDE2000Row": func() { difference.CIEDE2000Row(dst, a, b) },
		"Row":          func() { difference.Row(dst, a, b, cmc) },
	} {
		if n := testing.AllocsPerRun(10, f); n != 0 {
			t.Errorf("%s: %g allocations a row", name, n)
		}
	}
	for name, f := range map[string]func(){
		"CIEDE2000Row, short dst": func() { difference.CIEDE2000Row(dst[:5:5], a, b) },
		"CIEDE2000Row, short b":   func() { difference.CIEDE2000Row(dst, a, b[:5:5]) },
		"Row, short dst":          func() { difference.Row(dst[:5:5], a, b, cmc) },
		"Row, short b":            func() { difference.Row(dst, a, b[:5:5], cmc) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s does not panic", name)
				}
			}()
			f()
		}()
	}
	difference.CIEDE2000Row(nil, nil, nil)
}

// DIN 6176: kE scales the whole difference, kCH chroma alone.
func TestDIN99Weights(t *testing.T) {
	a, b := colorimetry.Lab{L: 40, A: 10, B: -20}, colorimetry.Lab{L: 45, A: 14, B: -11}
	whole := difference.DIN99(a, b, difference.DIN99Weights{})
	if got := difference.DIN99(a, b, difference.DIN99Weights{KE: 2}); math.Abs(got-whole/2) > 1e-13 {
		t.Errorf("kE = 2 makes %g of %g", got, whole)
	}
	a.L = b.L
	whole = difference.DIN99(a, b, difference.DIN99Weights{})
	if got := difference.DIN99(a, b, difference.DIN99Weights{KE: 2, KCH: 0.5}); math.Abs(got-whole) > 1e-13 {
		t.Errorf("kE = 2, kCH = 0.5 makes %g of a chromatic %g", got, whole)
	}
	c, d := colorimetry.Lab{L: 30}, colorimetry.Lab{L: 60}
	if got, want := difference.DIN99(c, d, difference.DIN99Weights{KE: 2, KCH: 0.5}), difference.DIN99(c, d, difference.DIN99Weights{})/2; math.Abs(got-want) > 1e-13 {
		t.Errorf("kE = 2, kCH = 0.5 makes %g of lightness, want %g", got, want)
	}
}

// Any two colours in and around CIELAB: the formula without angles against the
// one with them, and the parts against the whole.
func FuzzCIEDE2000(f *testing.F) {
	for _, p := range sharma(f) {
		f.Add(p.a.L, p.a.A, p.a.B, p.b.L, p.b.A, p.b.B)
	}
	f.Add(50.0, 0.0, 0.0, 50.0, 1e-30, -1e-30)
	f.Add(50.0, 1e-120, 0.0, 50.0, -1e-120, 1e-150)
	f.Add(0.0, 1e200, -1e200, 1e300, -1.0, math.NaN())
	f.Fuzz(func(t *testing.T, l1, a1, b1, l2, a2, b2 float64) {
		p, q := colorimetry.Lab{L: l1, A: a1, B: b1}, colorimetry.Lab{L: l2, A: a2, B: b2}
		got := difference.CIEDE2000(p, q)
		if math.IsInf(got, 0) || got < 0 {
			t.Fatalf("%v and %v: %g", p, q, got)
		}
		if back := difference.CIEDE2000(q, p); back != got && !(math.IsNaN(got) && math.IsNaN(back)) {
			t.Fatalf("%v and %v: %.17g, reversed %.17g", p, q, got, back)
		}
		for _, v := range []float64{l1, a1, b1, l2, a2, b2} {
			if !(math.Abs(v) <= 1000) {
				return
			}
		}
		if steps := difference.CIEDE2000Steps(p, q, difference.Weights{}); !(math.Abs(steps.Total-got) <= 1e-9+1e-12*got) {
			t.Fatalf("%v and %v: %.17g step by step, %.17g at once", p, q, steps.Total, got)
		}
	})
}

// There and back through the five DIN99 spaces, for L* from 0 to 100 and a*, b*
// from −200 to 200.
func FuzzDIN99(f *testing.F) {
	f.Add(50.0, 20.0, -30.0, 1.0, 1.0)
	f.Add(0.0, 0.0, 0.0, 2.0, 0.5)
	f.Add(100.0, 1e-9, 200.0, 1.0, 1.0)
	f.Add(1.0, -200.0, -200.0, 1.0, 1.0)
	f.Fuzz(func(t *testing.T, l, a, b, ke, kch float64) {
		if !(l >= 0 && l <= 100 && math.Abs(a) <= 200 && math.Abs(b) <= 200 && ke >= 0.1 && ke <= 10 && kch >= 0.1 && kch <= 10) {
			return
		}
		c, w := colorimetry.Lab{L: l, A: a, B: b}, difference.DIN99Weights{KE: ke, KCH: kch}
		for s := difference.Space99; s <= difference.Space99o; s++ {
			u := s.Lab99(c, colorimetry.D65(), w)
			back := s.Lab(u, colorimetry.D65(), w)
			if tol := 1e-9 * math.Max(1, math.Abs(l)+math.Abs(a)+math.Abs(b)); !(difference.AB(c, back) <= tol) {
				t.Fatalf("space %d: %v is %v and comes back as %v", s, c, u, back)
			}
		}
	})
}
