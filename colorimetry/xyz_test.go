package colorimetry_test

import (
	"errors"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
)

func TestChromaticityRoundTrips(t *testing.T) {
	for _, c := range []colorimetry.Chromaticity{{X: 0.3127, Y: 0.3290}, {X: 0.64, Y: 0.33}, {X: 0.15, Y: 0.06}, {X: 0.708, Y: 0.292}} {
		if b := c.XYZ(87).Chromaticity(); !near(b.X, c.X, 1e-15) || !near(b.Y, c.Y, 1e-15) {
			t.Errorf("%v comes back from XYZ as %v", c, b)
		}
		if b := c.UV().Chromaticity(); !near(b.X, c.X, 1e-15) || !near(b.Y, c.Y, 1e-15) {
			t.Errorf("%v comes back from u'v' as %v", c, b)
		}
		if a, b := c.UV(), c.XYZ(3).UV(); a.Distance(b) > 1e-15 {
			t.Errorf("%v has two u'v': %v and %v", c, a, b)
		}
	}
	if c := (colorimetry.XYZ{}).Chromaticity(); !math.IsNaN(c.X) || !math.IsNaN(c.Y) {
		t.Errorf("black has the chromaticity %v, want NaN", c)
	}
}

// The two whites as their standards print them: ICC.1:2022, 7.2.16, and
// IEC 61966-2-1:1999 (X 0.9505, Y 1, Z 1.0890 from x 0.3127, y 0.3290; four
// decimals, the last of Z from rounded arithmetic: 1.08906 exactly).
func TestWhites(t *testing.T) {
	if got := colorimetry.D50(); got != (colorimetry.XYZ{X: 0.9642, Y: 1, Z: 0.8249}) {
		t.Errorf("D50 is %v", got)
	}
	if got := colorimetry.D65(); !near(got.X, 0.9505, 1e-4) || got.Y != 1 || !near(got.Z, 1.0890, 1e-4) {
		t.Errorf("D65 is %v", got)
	}
}

func TestFinite(t *testing.T) {
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, c := range []colorimetry.XYZ{{X: bad}, {Y: bad}, {Z: bad}, {X: math.Inf(1), Y: bad}} {
			if c.Finite() {
				t.Errorf("%v counts as finite", c)
			}
		}
	}
	if !(colorimetry.XYZ{X: 1, Y: -2, Z: 3e300}).Finite() {
		t.Error("a finite colour counts as not finite")
	}
}

func TestSignals(t *testing.T) {
	got := colorimetry.RGB{R: -1, G: math.NaN(), B: 2}.Clamp()
	if got != (colorimetry.RGB{B: 1}) {
		t.Errorf("clamped to %v", got)
	}
	c := colorimetry.RGB{R: 0.2, G: 0.9, B: 0.4}
	if c.Max() != 0.9 || c.Min() != 0.2 {
		t.Errorf("max %g, min %g", c.Max(), c.Min())
	}
	for _, k := range []struct {
		v    float64
		bits int
		want float64
	}{{0.5, 8, 128.0 / 255}, {0.5, 10, 512.0 / 1023}, {0.3, 1, 0}, {1.5, 16, 1}, {1.0 / 65535, 16, 1.0 / 65535}} {
		if got := colorimetry.Gray(k.v).Quantise(k.bits); got != colorimetry.Gray(k.want) {
			t.Errorf("%g at %d bits is %v, want %g", k.v, k.bits, got, k.want)
		}
	}
}

func TestMatrix(t *testing.T) {
	m := colorimetry.Matrix{{2, 1, 0}, {-1, 3, 4}, {0.5, 0, 7}}
	if got, want := m.Det(), 2*(3*7-4*0)-1*(-1*7-4*0.5)+0*1; got != float64(want) {
		t.Errorf("determinant %g, want %g", got, float64(want))
	}
	inv, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	product := m.Mul(inv)
	for i := range 3 {
		for j := range 3 {
			if !near(product[i][j], colorimetry.Identity()[i][j], 1e-15) {
				t.Fatalf("m·m⁻¹ is %v", product)
			}
		}
	}
	c := colorimetry.RGB{R: 0.1, G: 0.7, B: 0.3}
	if back := inv.ToLinear(m.FromLinear(c)); !near(back.R, c.R, 1e-15) || !near(back.G, c.G, 1e-15) || !near(back.B, c.B, 1e-15) {
		t.Errorf("%v comes back as %v", c, back)
	}
	if got := m.Transpose().Transpose(); got != m {
		t.Errorf("transposed twice it is %v", got)
	}
	if got := m.Add(m); got != m.Scale(2) {
		t.Errorf("m + m is %v", got)
	}
	if got := colorimetry.Columns(m.Column(0), m.Column(1), m.Column(2)); got != m {
		t.Errorf("put together from its columns it is %v", got)
	}
	for _, bad := range []colorimetry.Matrix{{}, {{1, 2, 3}, {2, 4, 6}, {0, 1, 1}}, {{math.NaN()}}, colorimetry.Diagonal(1e-200, 1e-200, 1)} {
		if _, err := bad.Inverse(); !errors.Is(err, colorimetry.ErrSingular) {
			t.Errorf("%v: error %v, want ErrSingular", bad, err)
		}
	}
}
