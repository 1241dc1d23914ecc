package difference_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/internal/worked"
)

type pair struct {
	a, b colorimetry.Lab
	row  worked.Row
}

func sharma(t testing.TB) []pair {
	t.Helper()
	var out []pair
	for _, row := range worked.Read(t, "sharma2005.csv") {
		out = append(out, pair{
			colorimetry.Lab{L: row.Num(t, "L1"), A: row.Num(t, "a1"), B: row.Num(t, "b1")},
			colorimetry.Lab{L: row.Num(t, "L2"), A: row.Num(t, "a2"), B: row.Num(t, "b2")}, row})
	}
	if len(out) != 34 {
		t.Fatalf("%d pairs, want 34", len(out))
	}
	return out
}

// Sharma, Wu and Dalal (2005), table 1: all 34 pairs, printed to four
// decimals, in both orders; and in double precision as another program has
// them.
func TestCIEDE2000Sharma(t *testing.T) {
	for _, p := range sharma(t) {
		there, back := difference.CIEDE2000(p.a, p.b), difference.CIEDE2000(p.b, p.a)
		for order, got := range []float64{there, back} {
			if want := p.row.Num(t, "dE00_published"); math.Abs(got-want) > 5e-5 {
				t.Errorf("pair %s, order %d: got %.6f, published %.4f", p.row["pair"], order, got, want)
			}
			if want := p.row.Num(t, "dE00_double"); math.Abs(got-want) > 1e-9 {
				t.Errorf("pair %s, order %d: got %.12f, want %.12f", p.row["pair"], order, got, want)
			}
			if want := angular(p.a, p.b); math.Abs(got-want) > 1e-12 {
				t.Errorf("pair %s, order %d: got %.15f, by angles %.15f", p.row["pair"], order, got, want)
			}
		}
		if there != back {
			t.Errorf("pair %s: %.17g one way and %.17g the other", p.row["pair"], there, back)
		}
	}
}

// angular is the formula as the standard prints it, with angles: the oracle
// of the version without them. It leaves 180° to a guard of 1e-9 degrees.
//
// Source: Sharma, Wu and Dalal (2005), equations 2 to 22.
func angular(p, q colorimetry.Lab) float64 {
	rad := math.Pi / 180
	cm := (math.Hypot(p.A, p.B) + math.Hypot(q.A, q.B)) / 2
	g := 0.5 * (1 - math.Sqrt(math.Pow(cm, 7)/(math.Pow(cm, 7)+math.Pow(25, 7))))
	a1, a2 := (1+g)*p.A, (1+g)*q.A
	c1, c2 := math.Hypot(a1, p.B), math.Hypot(a2, q.B)
	hue := func(a, b float64) float64 {
		h := math.Atan2(b, a) / rad
		if h < 0 {
			h += 360
		}
		return h
	}
	h1, h2 := hue(a1, p.B), hue(a2, q.B)
	dh, hm := h2-h1, (h1+h2)/2
	switch {
	case c1*c2 == 0:
		dh, hm = 0, h1+h2
	case math.Abs(dh) > 180+1e-9:
		dh -= math.Copysign(360, dh)
		if hm < 180 {
			hm += 180
		} else {
			hm -= 180
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * math.Sin(dh/2*rad)
	cm = (c1 + c2) / 2
	t := 1 - 0.17*math.Cos((hm-30)*rad) + 0.24*math.Cos(2*hm*rad) + 0.32*math.Cos((3*hm+6)*rad) - 0.20*math.Cos((4*hm-63)*rad)
	turn := 30 * math.Exp(-math.Pow((hm-275)/25, 2))
	rc := 2 * math.Sqrt(math.Pow(cm, 7)/(math.Pow(cm, 7)+math.Pow(25, 7)))
	l := math.Pow((p.L+q.L)/2-50, 2)
	x := (q.L - p.L) / (1 + 0.015*l/math.Sqrt(20+l))
	y := (c2 - c1) / (1 + 0.045*cm)
	z := dH / (1 + 0.015*cm*t)
	return math.Sqrt(math.Max(x*x+y*y+z*z-math.Sin(2*turn*rad)*rc*y*z, 0))
}

func TestCIEDE2000AgainstAngles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	lab := func(spread float64, around colorimetry.Lab) colorimetry.Lab {
		return colorimetry.Lab{
			L: around.L + spread*(r.Float64()-0.5),
			A: around.A + 2*spread*(r.Float64()-0.5),
			B: around.B + 2*spread*(r.Float64()-0.5)}
	}
	for range 200000 {
		a := lab(100, colorimetry.Lab{L: 50})
		spread := math.Pow(10, -3+5*r.Float64())
		b := lab(spread, a)
		got, want := difference.CIEDE2000(a, b), angular(a, b)
		// The oracle takes the difference of two angles, which costs it digits
		// where colours are close.
		if math.Abs(got-want) > 1e-12+1e-12*want {
			t.Fatalf("%v and %v: %.15g, by angles %.15g", a, b, got, want)
		}
		if got != difference.CIEDE2000(b, a) {
			t.Fatalf("%v and %v: not symmetric", a, b)
		}
	}
}

// Hues exactly 180° apart count as not more than 180° apart, whichever
// quadrant they are in and however long the two vectors are.
func TestCIEDE2000Opposite(t *testing.T) {
	for _, v := range [][2]float64{{1, 0}, {0, 1}, {-1, 0}, {0, -1}, {2.49, -0.001}, {-2.49, 0.001}, {3, 7}, {-3, 7}, {0.1, 60}} {
		for _, k := range []float64{-1, -2, -0.5, -8} {
			a := colorimetry.Lab{L: 50, A: v[0], B: v[1]}
			b := colorimetry.Lab{L: 60, A: k * v[0], B: k * v[1]}
			got, want := difference.CIEDE2000(a, b), angular(a, b)
			if math.Abs(got-want) > 1e-10 || got != difference.CIEDE2000(b, a) {
				t.Errorf("%v and %v: %.12f, by angles %.12f, reversed %.12f", a, b, got, want, difference.CIEDE2000(b, a))
			}
		}
	}
}

func TestCIEDE2000Edges(t *testing.T) {
	grey := colorimetry.Lab{L: 50}
	if got := difference.CIEDE2000(grey, grey); got != 0 {
		t.Errorf("a grey differs from itself by %g", got)
	}
	blue := colorimetry.Lab{L: 30, A: 60, B: -100}
	if got := difference.CIEDE2000(blue, blue); got != 0 {
		t.Errorf("a blue differs from itself by %g", got)
	}
	if got, want := difference.CIEDE2000(grey, blue), angular(grey, blue); math.Abs(got-want) > 1e-11 {
		t.Errorf("grey and blue: %g, by angles %g", got, want)
	}
	for _, bad := range []colorimetry.Lab{{L: math.NaN()}, {L: 50, A: math.NaN()}, {L: 50, B: math.NaN()}} {
		for _, other := range []colorimetry.Lab{grey, blue, {L: 50, A: -3, B: 3}} {
			if a, b := difference.CIEDE2000(bad, other), difference.CIEDE2000(other, bad); !math.IsNaN(a) || !math.IsNaN(b) {
				t.Errorf("%v against %v: %g and %g, want NaN", bad, other, a, b)
			}
		}
	}
}

func TestAB(t *testing.T) {
	// 3-4-12 and 13: a box's diagonal.
	if got := difference.AB(colorimetry.Lab{L: 50, A: 1, B: 2}, colorimetry.Lab{L: 53, A: -3, B: 14}); got != 13 {
		t.Errorf("got %g, want 13", got)
	}
}

func TestXYZ2000(t *testing.T) {
	white := colorimetry.D65().Scale(100)
	a, b := colorimetry.Lab{L: 50, A: 2.6772, B: -79.7751}, colorimetry.Lab{L: 50, B: -82.7485}
	// Sharma, Wu and Dalal (2005), table 1, pair 1.
	if got := difference.XYZ2000(a.XYZ(white), b.XYZ(white), white); math.Abs(got-2.0425) > 5e-5 {
		t.Errorf("got %.5f, want 2.0425", got)
	}
}

func TestCIEDE2000DoesNotAllocate(t *testing.T) {
	a, b := colorimetry.Lab{L: 50, A: 2, B: -79}, colorimetry.Lab{L: 51, A: 1, B: -80}
	var sum float64
	if n := testing.AllocsPerRun(100, func() { sum += difference.CIEDE2000(a, b) }); n != 0 {
		t.Errorf("%g allocations a call (sum %g)", n, sum)
	}
}
