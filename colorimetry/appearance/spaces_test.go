package appearance_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/internal/worked"
)

// check compares three numbers with the columns of a row.
func check(t *testing.T, i int, row worked.Row, columns string, got [3]float64, tol float64) {
	t.Helper()
	for k, column := range strings.Fields(columns) {
		if want := row.Num(t, column); !near(got[k], want, tol) {
			t.Errorf("row %d, %s: got %.13g, want %.13g", i+1, column, got[k], want)
		}
	}
}

func oklabOf(f *appearance.OklabForm, c colorimetry.XYZ) [3]float64 {
	v := f.Oklab(c)
	return [3]float64{v.L, v.A, v.B}
}

// Ottosson (2020), three decimals; eight decimals and twelve digits by another
// program: testdata/oklab.csv says which row is which.
func TestOklabFirst(t *testing.T) {
	rows := worked.Read(t, "oklab.csv")
	if len(rows) != 27 {
		t.Fatalf("%d rows, want 27", len(rows))
	}
	for i, row := range rows {
		tol := 1e-11
		switch {
		case strings.HasPrefix(row["source"], "Ottosson"):
			tol = 5.1e-4
		case strings.HasPrefix(row["source"], "colour test-suite"):
			tol = 5.1e-9
		}
		check(t, i, row, "L a b", oklabOf(appearance.OklabFirst(), xyz(t, row, "X", "Y", "Z", 1)), tol)
	}
}

// The samples of testdata/spaces.csv and 560 random colours, by colorjs.io.
func TestSpacesCrossCheck(t *testing.T) {
	for file, columns := range map[string][3]string{
		"spaces.csv":        {"oklab_css_L oklab_css_a oklab_css_b", "jzazbz_J jzazbz_a jzazbz_b", "ictcp_I ictcp_Ct ictcp_Cp"},
		"crosscheck_js.csv": {"ok_L ok_a ok_b", "jz_J jz_a jz_b", "I Ct Cp"},
	} {
		for i, row := range worked.Read(t, file) {
			c := xyz(t, row, "X", "Y", "Z", 1)
			check(t, i, row, columns[0], oklabOf(appearance.OklabCSS(), c), 1e-11)
			j, ok := appearance.FromXYZJzazbz(c.Scale(203))
			if !ok {
				t.Fatalf("%s, row %d has no Jzazbz", file, i+1)
			}
			check(t, i, row, columns[1], [3]float64{j.J, j.A, j.B}, 1e-11)
			p, ok := appearance.ICtCpPQ.FromXYZ(c.Scale(203))
			if !ok {
				t.Fatalf("%s, row %d has no ICtCp", file, i+1)
			}
			check(t, i, row, columns[2], [3]float64{p.I, p.T, p.P}, 1e-11)
		}
	}
}

// CAM16 of the samples of testdata/spaces.csv under the default situation of
// CSS: white D65, 64/π/5 cd/m², background 0.2, average surround.
func TestCAM16CSS(t *testing.T) {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65(), AdaptingCdM2: 64 / math.Pi * 0.2, Background: 0.2})
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range worked.Read(t, "spaces.csv") {
		a, ok := m.Appearance(xyz(t, row, "X", "Y", "Z", 1))
		if !ok {
			t.Fatalf("row %d has no appearance", i+1)
		}
		check(t, i, row, "cam16_J cam16_M cam16_h", [3]float64{a.J, a.M, a.Hue}, 1e-9)
	}
}

// Safdar et al. (2017) evaluated by another program, twelve digits.
func TestJzazbz(t *testing.T) {
	rows := worked.Read(t, "jzazbz.csv")
	if len(rows) != 60 {
		t.Fatalf("%d rows, want 60", len(rows))
	}
	for i, row := range rows {
		j, ok := appearance.FromXYZJzazbz(xyz(t, row, "X_abs_cd_m2", "Y_abs_cd_m2", "Z_abs_cd_m2", 1))
		if !ok {
			t.Fatalf("row %d has no Jzazbz", i+1)
		}
		check(t, i, row, "Jz az bz", [3]float64{j.J, j.A, j.B}, 1e-12)
	}
}

// ITU-R BT.2100, PQ and both editions of HLG, by another program, twelve
// digits; eight decimals where the last column has values of its test suite.
func TestICtCp(t *testing.T) {
	rows := worked.Read(t, "ictcp.csv")
	if len(rows) != 72 {
		t.Fatalf("%d rows, want 72", len(rows))
	}
	form := map[string]appearance.ICtCpForm{"PQ": appearance.ICtCpPQ, "HLG-2100-1": appearance.ICtCpHLGFirst, "HLG-2100-2": appearance.ICtCpHLG}
	for i, row := range rows {
		f, known := form[row["transfer"]]
		if !known {
			t.Fatalf("transfer %q", row["transfer"])
		}
		c := colorimetry.RGB{R: row.Num(t, "R"), G: row.Num(t, "G"), B: row.Num(t, "B")}
		p, ok := f.FromRGB(c)
		if !ok {
			t.Fatalf("row %d has no ICtCp", i+1)
		}
		check(t, i, row, "I Ct Cp", [3]float64{p.I, p.T, p.P}, 1e-11)
		literal := strings.Fields(row["literal_in_test_suite"])
		for k, got := range []float64{p.I, p.T, p.P} {
			if len(literal) != 3 {
				break
			}
			if want := (worked.Row{"v": literal[k]}).Num(t, "v"); !near(got, want, 5.1e-9) {
				t.Errorf("row %d, value %d: got %.9f, want %.8f", i+1, k+1, got, want)
			}
		}
		if back, ok := f.RGB(p); !ok || !near(back.R, c.R, 1e-9*10000) || !near(back.G, c.G, 1e-9*10000) || !near(back.B, c.B, 1e-9*10000) {
			t.Errorf("row %d: %v comes back as %v", i+1, c, back)
		}
	}
}

// BT.2100-2: E = 1/12 is coded 0.5 and E = 1 is coded 1 (within 5e-9,
// since a is printed with eight decimals); ST 2084: no
// light is coded 7.3e-7 and 10,000 cd/m² is coded 1.
func TestTransferEnds(t *testing.T) {
	for _, k := range []struct {
		f       appearance.ICtCpForm
		e, want float64
		tol     float64
	}{
		{appearance.ICtCpHLG, 0, 0, 0}, {appearance.ICtCpHLG, 1.0 / 12, 0.5, 1e-15}, {appearance.ICtCpHLG, 1, 1, 5e-9},
		{appearance.ICtCpPQ, 0, 7.309559025783966e-07, 1e-18}, {appearance.ICtCpPQ, 10000, 1, 1e-14},
	} {
		if p, ok := k.f.FromRGB(colorimetry.RGB{R: k.e, G: k.e, B: k.e}); !ok || !near(p.I, k.want, k.tol) || !near(p.T, 0, 1e-14) || !near(p.P, 0, 1e-14) {
			t.Errorf("grey of %g is %+v, %v, want I = %g", k.e, p, ok, k.want)
		}
	}
}

func TestCylinders(t *testing.T) {
	// 3-4-5, in the fourth quadrant.
	want := 360 - math.Atan2(4, 3)*180/math.Pi
	if c := (appearance.Oklab{L: 0.5, A: 3, B: -4}).Oklch(); c.L != 0.5 || c.C != 5 || !near(c.H, want, 1e-12) {
		t.Errorf("Oklch is %+v", c)
	}
	if c := (appearance.Jzazbz{J: 0.5, A: 3, B: -4}).Jzczhz(); c.J != 0.5 || c.C != 5 || !near(c.H, want, 1e-12) {
		t.Errorf("Jzczhz is %+v", c)
	}
	if b := (appearance.Oklab{L: 0.5, A: 3, B: -4}).Oklch().Oklab(); b.L != 0.5 || !near(b.A, 3, 1e-14) || !near(b.B, -4, 1e-14) {
		t.Errorf("Oklab comes back as %+v", b)
	}
	if b := (appearance.Jzazbz{J: 0.5, A: 3, B: -4}).Jzczhz().Jzazbz(); b.J != 0.5 || !near(b.A, 3, 1e-14) || !near(b.B, -4, 1e-14) {
		t.Errorf("Jzazbz comes back as %+v", b)
	}
	if c := (appearance.Oklab{L: 1}).Oklch(); c != (appearance.Oklch{L: 1}) {
		t.Errorf("white is %+v", c)
	}
}

func TestSpacesOutside(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []colorimetry.XYZ{{X: nan}, {X: inf, Y: 1, Z: 1}, {X: -100, Y: 1, Z: 1}, {X: 1e308, Y: 1e308, Z: 1e308}} {
		if j, ok := appearance.FromXYZJzazbz(c); ok && c.X < 1e300 || !ok && !math.IsNaN(j.J) || math.IsInf(j.J, 0) {
			t.Errorf("Jzazbz of %v is %+v, %v", c, j, ok)
		}
		for _, f := range []appearance.ICtCpForm{appearance.ICtCpPQ, appearance.ICtCpHLG, appearance.ICtCpHLGFirst, 9} {
			if p, ok := f.FromXYZ(c); ok && c.X < 1e300 || !ok && !math.IsNaN(p.I) || math.IsInf(p.I, 0) {
				t.Errorf("ICtCp %d of %v is %+v, %v", f, c, p, ok)
			}
		}
	}
	for _, j := range []appearance.Jzazbz{{J: nan}, {J: inf}, {J: -1}, {J: 0.5, A: -50}} {
		if c, ok := j.XYZ(); ok || !math.IsNaN(c.X) {
			t.Errorf("%+v is %v", j, c)
		}
	}
	for _, p := range []appearance.ICtCp{{I: nan}, {I: inf}, {I: -1}, {I: 1e6}, {I: 0.5, T: 5}} {
		for _, f := range []appearance.ICtCpForm{appearance.ICtCpPQ, appearance.ICtCpHLG, appearance.ICtCpHLGFirst, 9} {
			c, ok := f.XYZ(p)
			d, ok2 := f.RGB(p)
			// HLG's decoding has no pole: it goes on as far as numbers do.
			if ok != ok2 || ok && f == appearance.ICtCpPQ || !ok && (!math.IsNaN(c.X) || !math.IsNaN(d.R)) || math.IsInf(c.X, 0) || math.IsInf(d.R, 0) {
				t.Errorf("ICtCp %d %+v is %v, %v", f, p, c, d)
			}
		}
	}
}
