package colorimetry_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
)

// compare holds values against the columns of a row: eleven digits of what
// twelve were printed, or 1e-9 near 0.
func compare(t *testing.T, i int, row worked.Row, columns []string, got ...float64) {
	t.Helper()
	for k, name := range columns {
		if want := row.Num(t, name); math.Abs(got[k]-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("row %d, %s: got %.12g, want %.12g", i+1, name, got[k], want)
		}
	}
}

// The hue of colours that are almost neutral, and u*, v* of dark ones, carry
// fewer digits than the rest: the inputs were printed to twelve.
func hueSlack(chroma float64) float64 { return 1e-9 * math.Max(1, 100/chroma) * 60 }

func TestAgainstColorJS(t *testing.T) {
	rows := worked.Read(t, "crosscheck_colorjs.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	d65, d50 := colorimetry.D65(), colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}.XYZ(1)
	to50, err := colorimetry.Bradford(d65, d50)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		c := xyzOf(t, row, "X", "Y", "Z")
		lab, lab50, luv := c.Lab(d65), to50.Apply(c).Lab(d50), c.Luv(d65)
		compare(t, i, row, []string{"L65", "a65", "b65"}, lab.L, lab.A, lab.B)
		compare(t, i, row, []string{"L50", "a50", "b50"}, lab50.L, lab50.A, lab50.B)
		compare(t, i, row, []string{"L", "u_star", "v_star"}, luv.L, luv.U, luv.V)
		lch := luv.LCh()
		compare(t, i, row, []string{"L_uv", "C_uv"}, lch.L, lch.C)
		if want := row.Num(t, "h_uv"); math.Abs(lch.H-want) > hueSlack(lch.C) {
			t.Errorf("row %d: hue %.12g, want %.12g", i+1, lch.H, want)
		}
		compare(t, i, row, []string{"u_prime", "v_prime"}, c.UV().U, c.UV().V)
		xyy := c.XyY()
		compare(t, i, row, []string{"x", "y", "Y"}, xyy.X, xyy.Y, xyy.Luminance)
	}
}

func TestAdaptationAgainstColorJS(t *testing.T) {
	rows := worked.Read(t, "crosscheck_adaptation.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	for i, row := range rows {
		from := colorimetry.Chromaticity{X: row.Num(t, "x_from"), Y: row.Num(t, "y_from")}.XYZ(1)
		to := colorimetry.Chromaticity{X: row.Num(t, "x_to"), Y: row.Num(t, "y_to")}.XYZ(1)
		for name, a := range map[string]colorimetry.Adaptation{
			"bradford": colorimetry.BradfordAdaptation(), "cat02": colorimetry.CAT02(), "cat16": colorimetry.CAT16(), "hpe": colorimetry.HPE(),
		} {
			m, err := a.Complete(from, to)
			if err != nil {
				t.Fatal(err)
			}
			got := m.Apply(xyzOf(t, row, "X", "Y", "Z"))
			compare(t, i, row, []string{"X_" + name, "Y_" + name, "Z_" + name}, got.X, got.Y, got.Z)
		}
	}
}

func TestAgainstCulori(t *testing.T) {
	rows := worked.Read(t, "crosscheck_culori.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	d65, d50 := colorimetry.D65(), colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}.XYZ(1)
	to50, err := colorimetry.Bradford(d65, d50)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		c := xyzOf(t, row, "X", "Y", "Z")
		// The library carries the matrix between its whites in rounded digits.
		c50 := xyzOf(t, row, "X50", "Y50", "Z50")
		if d := to50.Apply(c).Sub(c50); largest(d) > 1.3e-7 {
			t.Errorf("row %d: under D50 off by %v", i+1, d)
		}
		lab, lab65, luv := c50.Lab(d50), c.Lab(d65), c50.Luv(d50)
		compare(t, i, row, []string{"L", "a", "b"}, lab.L, lab.A, lab.B)
		compare(t, i, row, []string{"L65", "a65", "b65"}, lab65.L, lab65.A, lab65.B)
		compare(t, i, row, []string{"L_uv", "u_star", "v_star"}, luv.L, luv.U, luv.V)
		lch, lchuv := lab.LCh(), luv.LCh()
		compare(t, i, row, []string{"C", "C_uv"}, lch.C, lchuv.C)
		if math.Abs(lch.H-row.Num(t, "h")) > hueSlack(lch.C) || math.Abs(lchuv.H-row.Num(t, "h_uv")) > hueSlack(lchuv.C) {
			t.Errorf("row %d: hues %.12g and %.12g, want %s and %s", i+1, lch.H, lchuv.H, row["h"], row["h_uv"])
		}
	}
}

func TestAgainstColorspacious(t *testing.T) {
	rows := worked.Read(t, "crosscheck_colorspacious.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	for i, row := range rows {
		c := xyzOf(t, row, "X", "Y", "Z")
		lab := c.Lab(xyzOf(t, row, "Xw", "Yw", "Zw"))
		lch := lab.LCh()
		compare(t, i, row, []string{"x", "y"}, c.Chromaticity().X, c.Chromaticity().Y)
		compare(t, i, row, []string{"L", "a", "b", "C"}, lab.L, lab.A, lab.B, lch.C)
		if want := row.Num(t, "h"); math.Abs(lch.H-want) > hueSlack(lch.C) {
			t.Errorf("row %d: hue %.12g, want %.12g", i+1, lch.H, want)
		}
	}
}

// testdata/lab_css.csv names its source; twelve digits.
func TestCSSValues(t *testing.T) {
	d65, d50 := colorimetry.D65(), colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}.XYZ(1)
	to50, err := colorimetry.Bradford(d65, d50)
	if err != nil {
		t.Fatal(err)
	}
	rows := worked.Read(t, "lab_css.csv")
	if len(rows) != 14 {
		t.Fatalf("%d rows, want 14", len(rows))
	}
	for i, row := range rows {
		c := xyzOf(t, row, "X", "Y", "Z")
		lab, lab50, luv := c.Lab(d65), to50.Apply(c).Lab(d50), c.Luv(d65)
		compare(t, i, row, []string{"lab_d65_L", "lab_d65_a", "lab_d65_b"}, lab.L, lab.A, lab.B)
		compare(t, i, row, []string{"lab_d50_bradford_L", "lab_d50_bradford_a", "lab_d50_bradford_b"}, lab50.L, lab50.A, lab50.B)
		compare(t, i, row, []string{"luv_d65_L", "luv_d65_u", "luv_d65_v"}, luv.L, luv.U, luv.V)
	}
}
