package difference

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
)

// Values of the test suite of colour 0.4.6 (BSD-3-Clause), eight decimals, both
// directions. It leaves out the change of X in c and d, and so does this test.
func TestDIN99Coordinates(t *testing.T) {
	c := colorimetry.Lab{L: 55.11636304, A: -41.08791787, B: 30.91825778}
	back := Lab99{L: 66.08943912, A: -17.35290106, B: 16.09690691}
	for _, k := range []struct {
		space    DIN99Space
		want     Lab99
		wantBack colorimetry.Lab
	}{
		{Space99, Lab99{66.08943912, -17.35290106, 16.09690691}, c},
		{Space99b, Lab99{59.12639059, -28.53302263, 18.11595447}, colorimetry.Lab{L: 62.34208624, A: -19.58921167, B: 20.42580918}},
		{Space99c, Lab99{58.95318981, -27.48315361, 19.43995694}, colorimetry.Lab{L: 62.50915311, A: -19.97854178, B: 19.71543094}},
		{Space99d, Lab99{58.86583159, -26.97194924, 20.57222052}, colorimetry.Lab{L: 62.59315213, A: -19.84954543, B: 18.67113788}},
	} {
		f := &forms99[k.space]
		got := f.from(c, DIN99Weights{1, 1})
		if math.Abs(got.L-k.want.L) > 6e-9 || math.Abs(got.A-k.want.A) > 6e-9 || math.Abs(got.B-k.want.B) > 6e-9 {
			t.Errorf("space %d: got %.8f, want %.8f", k.space, got, k.want)
		}
		// The input's eight decimals are worth up to some 4e-8 on the way back.
		if got := f.to(back, DIN99Weights{1, 1}); math.Abs(got.L-k.wantBack.L) > 3e-8 || math.Abs(got.A-k.wantBack.A) > 3e-8 || math.Abs(got.B-k.wantBack.B) > 3e-8 {
			t.Errorf("space %d, back: got %.8f, want %.8f", k.space, got, k.wantBack)
		}
	}
}

// Greys stay grey in all five spaces, whatever the white.
func TestDIN99Greys(t *testing.T) {
	for _, white := range []colorimetry.XYZ{colorimetry.D65(), colorimetry.D50(), {X: 1.0985, Y: 1, Z: 0.35585}} {
		for s := Space99; s <= Space99o; s++ {
			if got := s.Lab99(colorimetry.Lab{L: 40}, white, DIN99Weights{}); math.Hypot(got.A, got.B) > 1e-12 {
				t.Errorf("space %d, white %v: a grey is %v", s, white, got)
			}
			// White has 99.99 to 100.05 in each of them.
			if got := s.Lab99(colorimetry.Lab{L: 100}, white, DIN99Weights{}); math.Abs(got.L-100) > 0.05 {
				t.Errorf("space %d: white is %v", s, got)
			}
		}
	}
}

// The directions that are written out as numbers.
func TestDirections(t *testing.T) {
	for _, k := range []struct{ degrees, cos, sin float64 }{
		{30, cos30, sin30}, {6, cos6, sin6}, {63, cos63, sin63}, {275, cos275, sin275},
		{164, cos164, sin164}, {345, cos345, sin345}, {168, cos168, sin168}, {35, cos35, sin35},
		{16, cos16, sin16}, {26, cos26, sin26}, {50, cos50, sin50},
	} {
		sin, cos := math.Sincos(k.degrees * degree)
		if math.Abs(cos-k.cos) > 1e-15 || math.Abs(sin-k.sin) > 1e-15 {
			t.Errorf("%g°: %.17g, %.17g, want %.17g, %.17g", k.degrees, k.cos, k.sin, cos, sin)
		}
	}
}
