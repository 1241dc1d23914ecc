package colorimetry_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
)

// close reports whether two colours agree within 1e-9 of their largest
// component, or 1e-12.
func agree(a, b colorimetry.XYZ) bool {
	scale := math.Max(math.Abs(a.X), math.Max(math.Abs(a.Y), math.Abs(a.Z)))
	return largest(a.Sub(b)) <= math.Max(1e-9*scale, 1e-12)
}

// noInfinity fails where a value is infinite.
func noInfinity(t *testing.T, values ...float64) {
	t.Helper()
	for _, v := range values {
		if math.IsInf(v, 0) {
			t.Fatalf("an infinity among %v", values)
		}
	}
}

var seeds = [][6]float64{
	{0.2, 0.3, 0.1, 0.9642, 1, 0.8249}, {0, 0, 0, 0.95, 1, 1.09}, {1e-7, 1e-7, 1e-7, 0.95, 1, 1.09}, {120, 80, 300, 95, 100, 109},
	{-0.01, 0.02, -0.001, 0.95, 1, 1.09}, {1, 1, 1, 0, 1, 1}, {math.MaxFloat64, 1, 1, 1, 1, 1}, {math.NaN(), 1, 1, 1, 1, 1}, {math.Inf(1), 1, 1, 1, 1, 1},
	{1, 0, 0, 1, 1, 1}, {5, 5, 5, 1e-300, 1e-300, 1e-300}, {0.0088564516790356, 0.0088564516790357, 8, 1, 1, 1},
}

// FuzzLab: CIELAB of colours down to a hundredth of the white below zero and
// up to 1e6 times the white, LCh, and back.
func FuzzLab(f *testing.F) {
	for _, s := range seeds {
		f.Add(s[0], s[1], s[2], s[3], s[4], s[5])
	}
	f.Fuzz(func(t *testing.T, x, y, z, xw, yw, zw float64) {
		c, white := colorimetry.XYZ{X: x, Y: y, Z: z}, colorimetry.XYZ{X: xw, Y: yw, Z: zw}
		lab := c.Lab(white)
		lch := lab.LCh()
		back := lch.Lab().XYZ(white)
		noInfinity(t, lab.L, lab.A, lab.B, lch.C, lch.H)
		if lch.H < 0 || lch.H >= 360 {
			t.Fatalf("hue %g", lch.H)
		}
		for _, k := range [][2]float64{{x, xw}, {y, yw}, {z, zw}} {
			if !(k[1] > 1e-6 && k[1] < 1e6 && k[0] >= -0.01*k[1] && k[0] <= 1e6*k[1]) {
				return
			}
		}
		// a* and b* are differences: they carry the digits of the largest of
		// the three ratios to the white, and the white scales them again.
		most := math.Max(math.Abs(x/xw), math.Max(math.Abs(y/yw), math.Abs(z/zw)))
		for _, k := range [][3]float64{{x, back.X, xw}, {y, back.Y, yw}, {z, back.Z, zw}} {
			if math.Abs(k[0]-k[1]) > math.Max(1e-9*most, 1e-12)*k[2] {
				t.Fatalf("%v under %v comes back as %v", c, white, back)
			}
		}
	})
}

// FuzzLabValues: any three numbers as CIELAB and LCh give numbers or NaN.
func FuzzLabValues(f *testing.F) {
	f.Add(50.0, 20.0, -30.0)
	f.Add(1e200, -1e300, 1e308)
	f.Add(math.Inf(1), 0.0, math.NaN())
	f.Fuzz(func(t *testing.T, l, a, b float64) {
		white := colorimetry.D50()
		lab := colorimetry.Lab{L: l, A: a, B: b}.XYZ(white)
		luv := colorimetry.Luv{L: l, U: a, V: b}.XYZ(white)
		noInfinity(t, lab.X, lab.Y, lab.Z, luv.X, luv.Y, luv.Z)
		lch, lchuv := colorimetry.Lab{L: l, A: a, B: b}.LCh(), colorimetry.Luv{L: l, U: a, V: b}.LCh()
		noInfinity(t, lch.C, lch.H, lchuv.C, lchuv.H, lchuv.Saturation())
		noInfinity(t, colorimetry.LightnessInverse(l), colorimetry.Lightness(l))
		if l >= -8 && l <= 1e4 {
			if got := colorimetry.Lightness(colorimetry.LightnessInverse(l)); math.Abs(got-l) > 1e-12*math.Max(1, math.Abs(l)) {
				t.Fatalf("L* %.17g comes back as %.17g", l, got)
			}
		}
	})
}

// FuzzLuv: CIELUV of colours whose chromaticity light can have, LChuv, and
// back.
func FuzzLuv(f *testing.F) {
	for _, s := range seeds {
		f.Add(s[0], s[1], s[2], s[3], s[4], s[5])
	}
	f.Fuzz(func(t *testing.T, x, y, z, xw, yw, zw float64) {
		c, white := colorimetry.XYZ{X: x, Y: y, Z: z}, colorimetry.XYZ{X: xw, Y: yw, Z: zw}
		luv := c.Luv(white)
		lch := luv.LCh()
		back := lch.Luv().XYZ(white)
		noInfinity(t, luv.L, luv.U, luv.V, lch.C, lch.H, back.X, back.Y, back.Z)
		p, n := c.UV(), white.UV()
		for _, q := range []colorimetry.UV{p, n} {
			if !(q.U >= 0 && q.U <= 0.7 && q.V > 0.01 && q.V <= 0.6) {
				return
			}
		}
		if !(yw > 1e-6 && yw < 1e6 && y > 1e-9*yw && y < 1e6*yw) {
			return
		}
		if !agree(c, back) {
			t.Fatalf("%v under %v comes back as %v", c, white, back)
		}
	})
}

// FuzzChromaticity: x, y, u', v' and the 1960 diagram of any colour, and back.
func FuzzChromaticity(f *testing.F) {
	for _, s := range seeds {
		f.Add(s[0], s[1], s[2])
	}
	f.Fuzz(func(t *testing.T, x, y, z float64) {
		c := colorimetry.XYZ{X: x, Y: y, Z: z}
		xyy, uv := c.XyY(), c.UV()
		noInfinity(t, xyy.X, xyy.Y, uv.U, uv.V)
		back := xyy.XYZ()
		far := colorimetry.UV{U: x, V: y}.Chromaticity()
		near := colorimetry.Chromaticity{X: x, Y: y}
		noInfinity(t, back.X, back.Y, back.Z, far.X, far.Y, near.UV().U, near.UV().V, near.XYZ(z).X, near.XYZ(z).Z)
		if !(xyy.X >= 0 && xyy.Y > 1e-3 && xyy.X+xyy.Y <= 1.0000001) || !(y > 1e-300 && y < 1e300) {
			return
		}
		if !agree(c, back) {
			t.Fatalf("%v comes back as %v", c, back)
		}
		p := uv.UV1960().UV().Chromaticity()
		if math.Abs(p.X-xyy.X) > 1e-9 || math.Abs(p.Y-xyy.Y) > 1e-9 {
			t.Fatalf("%v by u'v' is %v", xyy, p)
		}
	})
}

// FuzzAdaptation: there and back again, in one complete and in two incomplete
// steps, between whites that light can have.
func FuzzAdaptation(f *testing.F) {
	f.Add(0.3127, 0.3290, 0.3457, 0.3585, 0.8, 0.6)
	f.Add(0.4476, 0.4074, 0.3127, 0.3290, 1.0, 1.0)
	f.Add(0.25, 0.25, 0.5, 0.42, 0.0, 0.3)
	f.Fuzz(func(t *testing.T, x1, y1, x2, y2, d1, d2 float64) {
		inside := func(x, y float64) bool { return x >= 0.22 && x <= 0.55 && y >= 0.22 && y <= 0.45 && x+y < 0.95 }
		from, to := colorimetry.Chromaticity{X: x1, Y: y1}.XYZ(1), colorimetry.Chromaticity{X: x2, Y: y2}.XYZ(1)
		c := colorimetry.XYZ{X: 0.3, Y: 0.2, Z: 0.4}
		for _, a := range methods() {
			there, err := a.TwoStep(from, to, d1, d2)
			one, errOne := a.Complete(from, to)
			if err != nil || errOne != nil {
				if inside(x1, y1) && inside(x2, y2) && d1 >= 0 && d1 <= 1 && d2 >= 0 && d2 <= 1 {
					t.Fatal(a, err, errOne)
				}
				continue
			}
			for _, m := range []colorimetry.Matrix{there, one} {
				for _, row := range m {
					noInfinity(t, row[0], row[1], row[2])
				}
			}
			if !inside(x1, y1) || !inside(x2, y2) {
				continue
			}
			back, err := a.TwoStep(to, from, d2, d1)
			if err != nil {
				t.Fatal(err)
			}
			home, err := a.Complete(to, from)
			if err != nil {
				t.Fatal(err)
			}
			if got := back.Apply(there.Apply(c)); !agree(c, got) {
				t.Fatalf("%s in two steps: %v comes back as %v", a, c, got)
			}
			if got := home.Apply(one.Apply(c)); !agree(c, got) {
				t.Fatalf("%s: %v comes back as %v", a, c, got)
			}
		}
	})
}

func TestNoAllocation(t *testing.T) {
	c, white := colorimetry.XYZ{X: 20, Y: 30, Z: 10}, colorimetry.XYZ{X: 96, Y: 100, Z: 82}
	var sink float64
	var cat colorimetry.Matrix
	for name, f := range map[string]func(){
		"Lab":        func() { sink += c.Lab(white).LCh().Lab().XYZ(white).X },
		"Luv":        func() { sink += c.Luv(white).LCh().Luv().XYZ(white).X },
		"XyY":        func() { sink += c.XyY().XYZ().X + c.UV().UV1960().UV().Chromaticity().X },
		"adaptation": func() { cat, _ = colorimetry.CAT16().TwoStep(c, white, 0.8, 0.9) },
		"apply":      func() { sink += cat.Apply(c).X },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
	if math.IsNaN(sink) {
		t.Error("a conversion answers NaN")
	}
}

// Rows are the single calls, whatever lies in them.
func TestRows(t *testing.T) {
	c, white := colours(), colorimetry.D50()
	lab, back := make([]colorimetry.Lab, len(c)+1), make([]colorimetry.XYZ, len(c)+1)
	colorimetry.LabRow(lab, c, white)
	colorimetry.XYZRow(back, lab[:len(c)], white)
	for i, v := range c {
		if lab[i] != v.Lab(white) || back[i] != lab[i].XYZ(white) {
			t.Fatalf("row %d: %v, alone %v", i, lab[i], v.Lab(white))
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("a short destination is accepted")
		}
	}()
	colorimetry.LabRow(lab[:3], c[:4], white)
}

// The plain formula of ISO/CIE 11664-4 is the oracle of the quick one: within
// 1e-12 of the scale of L*.
func TestLabAgainstPlainFormula(t *testing.T) {
	white := colorimetry.D65()
	f := func(r float64) float64 {
		if r > 216.0/24389 {
			return math.Cbrt(r)
		}
		return (24389.0/27*r + 16) / 116
	}
	for _, v := range colours() {
		fx, fy, fz := f(v.X/white.X), f(v.Y/white.Y), f(v.Z/white.Z)
		got := v.Lab(white)
		if math.Abs(got.L-(116*fy-16)) > 1e-12 || math.Abs(got.A-500*(fx-fy)) > 1e-12 || math.Abs(got.B-200*(fy-fz)) > 1e-12 {
			t.Fatalf("%v: %v", v, got)
		}
	}
}
