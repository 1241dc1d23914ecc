package icc

import (
	"math"
	"testing"
)

func TestParametricCurves(t *testing.T) {
	worst, worstBack := 0.0, 0.0
	for _, r := range readTable(t, "parametric_curves.csv") {
		p := r.nums("g", "a", "b", "c", "d", "e", "f")
		v := ParametricCurve{int(r.num("icc_function_type")), p[0], p[1], p[2], p[3], p[4], p[5], p[6]}
		x, y, back := r.num("x"), r.num("y"), r.num("y_inverse_of_y")
		worst = max(worst, math.Abs(v.At(x)-clamp(y)))
		// Little CMS goes beyond 1 at the end of function 4, which ICC.1 clips.
		if y <= 1 {
			worstBack = max(worstBack, math.Abs(v.segments().lowest(y)-back))
		}
	}
	t.Logf("worst difference %.2g, of the inverse %.2g", worst, worstBack)
	// 1e-6: x and y are 32-bit floats in the table.
	if worst > 1e-6 || worstBack > 1e-6 {
		t.Errorf("worst difference %g, of the inverse %g; want at most 1e-6", worst, worstBack)
	}
}

// Parameters no one would choose, and what the clause on clipping makes of
// them (ICC.1:2022, 10.18: values outside the range are clipped to it).
func TestParametricOddities(t *testing.T) {
	nan := math.NaN()
	for _, v := range []ParametricCurve{
		{0, 0, 0, 0, 0, 0, 0, 0}, {0, -1, 0, 0, 0, 0, 0, 0}, {1, 2, 0, 0.5, 0, 0, 0, 0}, {1, 2, -1, 1, 0, 0, 0, 0},
		{2, 1, 1, 0, -0.5, 0, 0, 0}, {3, 2.4, 1, 0, 0, 0.5, 0, 0}, {4, 3, 1, -0.5, 0.2, 0.5, 0.1, 0.3},
		{4, 32767, 32767, 32767, -32768, 0.5, 32767, -32768}, {4, -32768, -32768, 0, 32767, 2, 0, 0},
	} {
		s := v.segments()
		for _, x := range []float64{nan, -1, 0, 0.25, 0.5, 0.75, 1, 2, math.Inf(1)} {
			if y := v.At(x); !(y >= 0 && y <= 1) {
				t.Errorf("%+v at %g is %g", v, x, y)
			}
			if b := s.lowest(x); !(b >= 0 && b <= 1) {
				t.Errorf("%+v: inverse of %g is %g", v, x, b)
			}
		}
	}
}

func TestParametricInverseIsLowest(t *testing.T) {
	for _, v := range []ParametricCurve{
		{0, 2.2, 0, 0, 0, 0, 0, 0},
		{1, 2, 2, -1, 0, 0, 0, 0},         // flat at 0 up to one half
		{2, 2, 2, -1, 0.25, 0, 0, 0},      // flat at 0.25
		{3, 2.4, 1, 0, 0, 0.5, 0, 0},      // flat, then a jump
		{4, 1, 2, 0, 0.5, 0.25, 0, 0.125}, // a jump, then flat at 1
		{4, 1, -1, 1, -0.5, 0.5, 0.25, 1}, // falls
	} {
		s := v.segments()
		for i := range 257 {
			y := float64(i) / 256
			x := s.lowest(y)
			if s.falls {
				if got := s.at(x); y >= s.at(1) && y <= s.at(0) && math.Abs(got-y) > 1e-9 {
					t.Errorf("%+v: %g comes back as %g", v, y, got)
				}
				continue
			}
			if y <= s.at(1) && s.at(x)-y < -1e-12 {
				t.Errorf("%+v: inverse of %g is %g, where the curve is only at %g", v, y, x, s.at(x))
			}
			if below := x - 1e-6; below > 0 && s.at(below) > y-1e-12 && y > s.at(0) {
				t.Errorf("%+v: inverse of %g is %g, but the curve is there already at %g", v, y, x, below)
			}
		}
	}
}

// ICC.1:2022, 10.6: no entries are the identity, one is an exponent in
// u8Fixed8, more are joined by straight lines.
func TestSampledCurve(t *testing.T) {
	cases := []struct {
		name string
		v    SampledCurve
		x, y float64
	}{
		{"identity", nil, 0.3, 0.3},
		{"exponent 1", SampledCurve{256}, 0.3, 0.3},
		{"exponent 2", SampledCurve{512}, 0.5, 0.25},
		{"exponent 2.19921875", SampledCurve{563}, 0.5, math.Pow(0.5, 2.19921875)},
		{"two entries", SampledCurve{0, 65535}, 0.25, 0.25},
		{"start", SampledCurve{100, 200, 65535}, 0, 100.0 / 65535},
		{"node", SampledCurve{0, 13107, 65535}, 0.5, 0.2},
		{"between", SampledCurve{0, 13107, 65535}, 0.75, 0.6},
		{"end", SampledCurve{0, 1, 65535}, 1, 1},
		{"below", SampledCurve{7, 1, 65535}, -1, 7.0 / 65535},
		{"above", SampledCurve{0, 1, 9}, 2, 9.0 / 65535},
		{"not a number", SampledCurve{7, 1, 9}, math.NaN(), 7.0 / 65535},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			if y := c.v.At(c.x); math.Abs(y-c.y) > 1e-15 {
				t.Errorf("at %g the curve is %g, want %g", c.x, y, c.y)
			}
		})
	}
}

func TestSampledInverse(t *testing.T) {
	cases := []struct {
		name string
		v    SampledCurve
		y, x float64
	}{
		{"line", SampledCurve{0, 65535}, 0.25, 0.25},
		{"flat part: its lowest end", SampledCurve{0, 13107, 13107, 13107, 65535}, 0.2, 0.25},
		{"flat foot", SampledCurve{0, 0, 0, 65535}, 0, 0},
		{"just above a flat foot", SampledCurve{0, 0, 65535}, 0.5, 0.75},
		{"flat top", SampledCurve{0, 65535, 65535}, 1, 0.5},
		{"below the start", SampledCurve{100, 65535}, 0, 0},
		{"above the end", SampledCurve{0, 32768}, 1, 1},
		{"dent passed over", SampledCurve{0, 52428, 13107, 65535}, 0.4, 1.0 / 6},
		{"falling", SampledCurve{65535, 0}, 0.25, 0.75},
		{"not a number", SampledCurve{0, 65535}, math.NaN(), 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			up, falls := c.v.rising()
			ch := channel{sampled: true, table: c.v, up: up, falls: falls}
			if x := ch.inverse(c.y); math.Abs(x-c.x) > 1e-15 {
				t.Errorf("inverse of %g is %g, want %g", c.y, x, c.x)
			}
		})
	}
}
