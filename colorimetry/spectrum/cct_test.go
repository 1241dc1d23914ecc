package spectrum_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/spectrum"
)

// Root finding elsewhere on 500 random lights of 1000 to 20,000 K.
func TestCCTRandom(t *testing.T) {
	rows := worked.Read(t, "cct_random.csv")
	if len(rows) != 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	for i, row := range rows {
		k, duv, err := spectrum.CCT(colorimetry.Chromaticity{X: row.Num(t, "x"), Y: row.Num(t, "y")})
		want, wantDuv := row.Num(t, "kelvin"), row.Num(t, "duv")
		if err != nil || math.Abs(k-want) > 1e-6*want || math.Abs(duv-wantDuv) > 1e-9 {
			t.Errorf("row %d: %.6f K, %.10f, %v; want %.6f K, %.10f", i, k, duv, err, want, wantDuv)
		}
	}
}

// The way back, on the documented domain, to a billionth.
func TestFromCCT(t *testing.T) {
	answered := 0
	for mired := 10.0; mired <= 1000; mired += 1.7 {
		for step := -5; step <= 5; step++ {
			want, wantDuv := spectrum.Kelvin(mired), float64(step)/100
			c, err := spectrum.FromCCT(want, wantDuv)
			if err != nil {
				// Only where no light can be: above the locus of warm light, and at
				// x + y = 1 below the coolest.
				if want > 2600 && wantDuv <= 0.02 || wantDuv == 0 {
					t.Error(err)
				}
				continue
			}
			answered++
			k, d, err := spectrum.CCT(c)
			if err != nil && step*step < 25 {
				t.Fatalf("%g K, %g: %v", want, wantDuv, err)
			}
			if math.Abs(k/want-1) > 1e-9 || math.Abs(d-wantDuv) > 1e-12 {
				t.Errorf("%g K, %g comes back as %.12g K, %.15g", want, wantDuv, k, d)
			}
		}
	}
	if answered < 4500 {
		t.Errorf("%d of 6413 answered", answered)
	}
	for _, bad := range [][2]float64{{999, 0}, {100001, 0}, {5000, 0.051}, {math.NaN(), 0}, {5000, math.NaN()}, {math.Inf(1), 0}, {1000, 0.05}, {2400, 0.02}} {
		if c, err := spectrum.FromCCT(bad[0], bad[1]); err == nil || c != (colorimetry.Chromaticity{}) {
			t.Errorf("%v: %v, %v", bad, c, err)
		}
	}
}

// Robertson (1968), J. Opt. Soc. Am. 58(11) 1528-1535: places on the locus to
// five decimals and slopes of the lines across it, all to the last printed
// digit.
func TestIsotemperatureLines(t *testing.T) {
	rows := worked.Read(t, "isotemperature.csv")
	if len(rows) != 31 {
		t.Fatalf("%d rows, want 31", len(rows))
	}
	for _, row := range rows {
		mired := row.Num(t, "mired")
		if mired == 0 {
			continue // an infinite temperature
		}
		c, err := spectrum.Planckian(spectrum.Kelvin(mired))
		if err != nil {
			t.Fatal(err)
		}
		uv := c.UV()
		du, dv := uv.U-row.Num(t, "u_1960"), uv.V*2/3-row.Num(t, "v_1960")
		a, err1 := spectrum.Planckian(spectrum.Kelvin(mired - 0.01))
		b, err2 := spectrum.Planckian(spectrum.Kelvin(mired + 0.01))
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		slope := -(b.UV().U - a.UV().U) / (b.UV().V - a.UV().V) * 1.5
		// The slope is printed to five digits, at least two of them decimals.
		printed := row.Num(t, "slope")
		limit := 0.51 * math.Pow10(-min(5, 4-int(math.Floor(math.Log10(-printed)))))
		if math.Abs(du) > 5.1e-6 || math.Abs(dv) > 5.1e-6 || math.Abs(slope-printed) > limit {
			t.Errorf("%g mired: off by %.7f, %.7f in u, v; slope %.6f, printed %s", mired, du, dv, slope, row["slope"])
		}
	}
}

func TestLoci(t *testing.T) {
	p, err := spectrum.PlanckianLocus(2000, 10000, 5)
	if err != nil || len(p) != 5 {
		t.Fatal(p, err)
	}
	for i, mired := range []float64{500, 400, 300, 200, 100} {
		c, err := spectrum.Planckian(spectrum.Kelvin(mired))
		if err != nil || math.Hypot(c.X-p[i].X, c.Y-p[i].Y) > 1e-12 {
			t.Errorf("%g mired: %v, want %v, %v", mired, p[i], c, err)
		}
	}
	d, err := spectrum.DaylightLocus(25000, 4000, 100)
	if err != nil || len(d) != 100 {
		t.Fatal(d, err)
	}
	for i, k := range []float64{25000, 4000} {
		if c, err := spectrum.Daylight(k); err != nil || d[i*99] != c {
			t.Errorf("%g K: %v, want %v", k, d[i*99], c)
		}
	}
	for _, bad := range []struct {
		from, to float64
		n        int
	}{{400, 5000, 9}, {5000, math.NaN(), 9}, {3000, 4000, 1}, {3000, 4000, 1 << 20}} {
		if _, err := spectrum.PlanckianLocus(bad.from, bad.to, bad.n); err == nil {
			t.Errorf("%v is no error", bad)
		}
	}
	if spectrum.Mired(5000) != 200 || spectrum.Kelvin(spectrum.Mired(6504)) != 6504 {
		t.Error("mired")
	}
}

// There and back on the documented domain.
func FuzzCCT(f *testing.F) {
	f.Add(6504.0, 0.0032)
	f.Add(1000.0, -0.05)
	f.Add(20000.0, -0.02)
	f.Add(99999.0, 0.01)
	f.Add(2700.0, 0.0)
	f.Fuzz(func(t *testing.T, kelvin, duv float64) {
		c, err := spectrum.FromCCT(kelvin, duv)
		if err != nil {
			return
		}
		k, d, err := spectrum.CCT(c)
		if err != nil && math.Abs(duv) < 0.05-1e-9 {
			t.Fatalf("%g K, %g: %v", kelvin, duv, err)
		}
		if math.Abs(k/kelvin-1) > 1e-9 || math.Abs(d-duv) > 1e-12 {
			t.Fatalf("%g K, %g comes back as %.12g K, %.15g", kelvin, duv, k, d)
		}
	})
}
