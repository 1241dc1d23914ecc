package spectrum_test

import (
	"errors"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/spectrum"
)

func TestDaylightLocus(t *testing.T) {
	rows := worked.Read(t, "daylight.csv")
	if len(rows) != 48 {
		t.Fatalf("%d rows, want 48", len(rows))
	}
	for _, row := range rows {
		c, err := spectrum.Daylight(row.Num(t, "CCT_K"))
		if err != nil {
			t.Fatal(err)
		}
		if x, y := row.Num(t, "x_D"), row.Num(t, "y_D"); math.Abs(c.X-x) > 1e-11 || math.Abs(c.Y-y) > 1e-11 {
			t.Errorf("%s K: %.12f, want %g, %g", row["CCT_K"], c, x, y)
		}
	}
	// D65, ISO/CIE 11664-2:2022 and ITU-R BT.709-6: 0.3127, 0.3290, which is the
	// chromaticity of its spectrum; the polynomial's y is 0.00012 higher.
	c, err := spectrum.Daylight(6504)
	if err != nil || math.Abs(c.X-0.3127) > 5e-5 || math.Abs(c.Y-0.3290) > 1.3e-4 {
		t.Errorf("6504 K is %v, %v", c, err)
	}
	for _, bad := range []float64{3999, 25001, math.NaN(), math.Inf(1), -1} {
		if _, err := spectrum.Daylight(bad); err == nil {
			t.Errorf("daylight of %g K is no error", bad)
		}
		if _, err := spectrum.DaylightSpectrum(bad); err == nil {
			t.Errorf("the spectrum of daylight of %g K is no error", bad)
		}
	}
}

func TestPlanckianLocus(t *testing.T) {
	rows := worked.Read(t, "planckian.csv")
	if len(rows) != 38 {
		t.Fatalf("%d rows, want 38", len(rows))
	}
	for _, row := range rows {
		c, err := spectrum.Planckian(row.Num(t, "T_K"))
		if err != nil {
			t.Fatal(err)
		}
		if x, y := row.Num(t, "x"), row.Num(t, "y"); math.Abs(c.X-x) > 1e-9 || math.Abs(c.Y-y) > 1e-9 {
			t.Errorf("%s K: %.12f, want %g, %g", row["T_K"], c, x, y)
		}
	}
	for _, bad := range []float64{499, 1.1e6, math.NaN()} {
		if _, err := spectrum.Planckian(bad); err == nil {
			t.Errorf("a black body of %g K is no error", bad)
		}
		if _, err := spectrum.PlanckianSpectrum(bad); err == nil {
			t.Errorf("the spectrum of a black body of %g K is no error", bad)
		}
	}
}

// Points built at exact temperature and distance; ten digits of u, v and x, y
// are printed, which near 20,000 K are worth 5e-3 K.
func TestCCT(t *testing.T) {
	rows := worked.Read(t, "cct.csv")
	if len(rows) != 126 {
		t.Fatalf("%d rows, want 126", len(rows))
	}
	for _, row := range rows {
		want, wantDuv := row.Num(t, "T_K"), row.Num(t, "Duv")
		k, duv, err := spectrum.CCT(colorimetry.Chromaticity{X: row.Num(t, "x"), Y: row.Num(t, "y")})
		if err != nil {
			t.Errorf("%s K, Duv %s: %v", row["T_K"], row["Duv"], err)
			continue
		}
		if math.Abs(k-want) > 1e-6*want || math.Abs(duv-wantDuv) > 1e-9 {
			t.Errorf("%s K, Duv %s: got %.5f K, %.11f", row["T_K"], row["Duv"], k, duv)
		}
	}
}

// uv1960 returns the chromaticity of a place in the CIE 1960 diagram.
func uv1960(u, v float64) colorimetry.Chromaticity {
	return colorimetry.UV{U: u, V: 1.5 * v}.Chromaticity()
}

// By direct minimisation elsewhere, to 1e-2 K; Ohno, LEUKOS 10(1) 47-55
// (2014), prints approximations of the first. What McCamy's cubic gives is not
// checked: it is an approximation that has no place here.
func TestCCTFarAndNear(t *testing.T) {
	for _, k := range []struct {
		u, v, kelvin, duv float64
		far               bool
	}{
		{0.1978, 0.3122, 6507.50243, 0.003223678, false},
		{0.4328, 0.2883, 1041.86086, -0.06737755, true},
		{0.2927, 0.2722, 2445.01085, -0.08436999, true},
	} {
		kelvin, duv, err := spectrum.CCT(uv1960(k.u, k.v))
		if k.far != errors.Is(err, spectrum.ErrFarFromLocus) || !k.far && err != nil {
			t.Errorf("%g, %g: error %v", k.u, k.v, err)
		}
		if math.Abs(kelvin-k.kelvin) > 1e-2 || math.Abs(duv-k.duv) > 1e-8 {
			t.Errorf("%g, %g: got %.4f K, %.9f; want %.4f K, %.9f", k.u, k.v, kelvin, duv, k.kelvin, k.duv)
		}
	}
	for _, bad := range []colorimetry.Chromaticity{
		{X: math.NaN(), Y: 0.3}, {X: 0.3, Y: math.NaN()}, {X: 0.3}, {X: -0.1, Y: 0.3}, {X: 1.2, Y: 0.3}, {X: math.Inf(1), Y: 0.3},
		{X: 0.15, Y: 0.06}, // a blue primary: beyond the hottest
		{X: 0.70, Y: 0.29}, // a red primary: below the coolest
	} {
		if k, duv, err := spectrum.CCT(bad); err == nil || k != 0 || duv != 0 {
			t.Errorf("%v: %g K, %g, error %v", bad, k, duv, err)
		}
	}
	// The ends of what is answered.
	for _, want := range []float64{1000, 1003, 99000, 100000} {
		c, err := spectrum.Planckian(want)
		if err != nil {
			t.Fatal(err)
		}
		if k, _, err := spectrum.CCT(c); err != nil || math.Abs(k-want) > 1e-5*want {
			t.Errorf("%g K comes back as %g K, %v", want, k, err)
		}
	}
}

// ANSI C78.377-2015 prints its quadrangles to four decimals.
func TestANSIQuadrangles(t *testing.T) {
	rows := worked.Read(t, "ansi_c78377.csv")
	if len(rows) != 40 {
		t.Fatalf("%d rows, want 40", len(rows))
	}
	for _, row := range rows {
		k, duv, err := spectrum.CCT(colorimetry.Chromaticity{X: row.Num(t, "x_published"), Y: row.Num(t, "y_published")})
		if err != nil {
			t.Fatal(err)
		}
		want, wantDuv := row.Num(t, "CCT_direct_minimisation"), row.Num(t, "Duv_direct_minimisation")
		if math.Abs(k-want) > 2e-2 || math.Abs(duv-wantDuv) > 1e-6 {
			t.Errorf("%s K, %s: got %.3f K, %.7f; want %.3f K, %.7f", row["nominal_CCT_K"], row["point"], k, duv, want, wantDuv)
		}
	}
}

func BenchmarkCCT(b *testing.B) {
	c := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	benchmark(b, func() {
		if _, _, err := spectrum.CCT(c); err != nil {
			b.Fatal(err)
		}
	})
}

func BenchmarkFromCCT(b *testing.B) {
	benchmark(b, func() {
		if _, err := spectrum.FromCCT(6504, 0.0032); err != nil {
			b.Fatal(err)
		}
	})
}
