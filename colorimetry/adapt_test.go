package colorimetry_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
)

var cells = [3][3]string{{"m11", "m12", "m13"}, {"m21", "m22", "m23"}, {"m31", "m32", "m33"}}

// methods are the adaptations by the names of the tables.
func methods() map[string]colorimetry.Adaptation {
	return map[string]colorimetry.Adaptation{
		"bradford": colorimetry.BradfordAdaptation(), "cat02": colorimetry.CAT02(), "cat16": colorimetry.CAT16(),
		"vonkries_hpe": colorimetry.HPE(), "xyz_scaling": colorimetry.XYZScaling(),
	}
}

// complete returns the adaptation of a row.
func complete(t *testing.T, row worked.Row) colorimetry.Matrix {
	t.Helper()
	m, err := methods()[row["method"]].Complete(xyzOf(t, row, "Xs", "Ys", "Zs"), xyzOf(t, row, "Xd", "Yd", "Zd"))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// worst returns the largest difference between m and the matrix of a row.
func worst(t *testing.T, m colorimetry.Matrix, row worked.Row) float64 {
	t.Helper()
	var d float64
	for i := range cells {
		for j, name := range cells[i] {
			d = math.Max(d, math.Abs(m[i][j]-row.Num(t, name)))
		}
	}
	return d
}

// Published to seven decimals; each row says how far exact arithmetic stands
// from the print, 1e-7 at most.
func TestAdaptationPublished(t *testing.T) {
	rows := worked.Read(t, "adaptation_published.csv")
	if len(rows) != 37 {
		t.Fatalf("%d rows, want 37", len(rows))
	}
	for i, row := range rows {
		stated := row.Num(t, "max_abs_dev_from_recomputation") * 1.02 // itself rounded to two digits
		if d := worst(t, complete(t, row), row); d > math.Max(stated, 5e-8) || d > 1e-7 {
			t.Errorf("row %d, %s from %s to %s: off by %.3g, more than %.3g", i+1, row["method"], row["from"], row["to"], d, stated)
		}
	}
}

func TestAdaptationComputed(t *testing.T) {
	rows := worked.Read(t, "adaptation_computed.csv")
	if len(rows) != 50 {
		t.Fatalf("%d rows, want 50", len(rows))
	}
	for _, row := range rows {
		if d := worst(t, complete(t, row), row); d > 1e-10 {
			t.Errorf("%s from %s to %s: off by %.3g", row["method"], row["from"], row["to"], d)
		}
	}
}

func TestCorrespondingColours(t *testing.T) {
	matrices := map[string]colorimetry.Matrix{}
	for _, row := range worked.Read(t, "adaptation_computed.csv") {
		matrices[row["method"]+row["from"]+row["to"]] = complete(t, row)
	}
	rows := worked.Read(t, "adaptation_colours.csv")
	if len(rows) != 120 {
		t.Fatalf("%d rows, want 120", len(rows))
	}
	for i, row := range rows {
		m, ok := matrices[row["method"]+row["from"]+row["to"]]
		if !ok {
			t.Fatalf("row %d: no matrix from %s to %s", i+1, row["from"], row["to"])
		}
		if d := m.Apply(xyzOf(t, row, "X", "Y", "Z")).Sub(xyzOf(t, row, "X_adapted", "Y_adapted", "Z_adapted")); largest(d) > 1e-9 {
			t.Errorf("row %d, %s: off by %v", i+1, row["method"], d)
		}
	}
}

// The chad tags that Little CMS writes, and the bytes that profiles carry. Its
// arithmetic rounds to 16 binary digits here and there: 1e-6, and for the
// published row the difference of D65 from x, y of four digits, 2.1e-5.
func TestAdaptationICC(t *testing.T) {
	for i, row := range worked.Read(t, "adaptation_icc.csv") {
		tol := 1e-6
		if i == 6 {
			tol = 2.1e-5
		}
		white := colorimetry.Chromaticity{X: row.Num(t, "xw"), Y: row.Num(t, "yw")}.XYZ(1)
		m, err := colorimetry.Bradford(white, colorimetry.D50())
		if err != nil {
			t.Fatal(err)
		}
		if d := worst(t, m, row); d > tol {
			t.Errorf("%s: off by %.3g", row["source_white"], d)
		}
	}
}

// Worked values of incomplete adaptation: literals of the test suite of
// colour-science/colour (BSD-3-Clause) for CMCCAT2000 and for Zhai and Luo
// (2018), eight decimals at Y = 100. CMCCAT2000's responses are from the same
// source; its degree is that of Li et al. (2002) for equal
// luminances: 0.08·log10 of the luminance, plus 0.76.
func TestIncompleteAdaptation(t *testing.T) {
	cmc, err := colorimetry.NewAdaptation("cmccat2000", colorimetry.Matrix{{0.7982, 0.3389, -0.1371}, {-0.5918, 1.5512, 0.0406}, {0.0008, 0.0239, 0.9753}})
	if err != nil {
		t.Fatal(err)
	}
	for i, k := range []struct{ c, from, to, want colorimetry.XYZ }{
		{colorimetry.XYZ{X: 22.48, Y: 22.74, Z: 8.54}, colorimetry.XYZ{X: 111.15, Y: 100, Z: 35.20}, colorimetry.XYZ{X: 94.81, Y: 100, Z: 107.30}, colorimetry.XYZ{X: 19.52698326, Y: 23.06833960, Z: 24.97175229}},
		{colorimetry.XYZ{X: 14.222010, Y: 23.042768, Z: 10.495772}, colorimetry.XYZ{X: 95.045593, Y: 100, Z: 108.905775}, colorimetry.XYZ{X: 109.846607, Y: 100, Z: 35.582280}, colorimetry.XYZ{X: 17.90511171, Y: 22.75299363, Z: 3.79837384}},
		{colorimetry.XYZ{X: 7.818780, Y: 6.157201, Z: 28.099326}, colorimetry.XYZ{X: 95.045593, Y: 100, Z: 108.905775}, colorimetry.XYZ{X: 99.144661, Y: 100, Z: 67.315942}, colorimetry.XYZ{X: 6.76564344, Y: 5.86585763, Z: 18.40577315}},
	} {
		luminance := 100.0
		if i == 0 {
			luminance = 200
		}
		d := math.Min(0.08*math.Log10(luminance)+0.76, 1)
		m, err := cmc.Partial(k.from, k.to, d)
		if err != nil {
			t.Fatal(err)
		}
		if off := m.Apply(k.c).Sub(k.want); largest(off) > 1e-7 {
			t.Errorf("one step, case %d: off by %v", i, off)
		}
	}
	first := [3]colorimetry.XYZ{{X: 48.900, Y: 43.620, Z: 6.250}, {X: 109.850, Y: 100, Z: 35.585}, {X: 95.047, Y: 100, Z: 108.883}}
	second := [3]colorimetry.XYZ{{X: 52.034, Y: 58.824, Z: 23.703}, {X: 92.288, Y: 100, Z: 38.775}, {X: 105.432, Y: 100, Z: 137.392}}
	equal, blue := colorimetry.XYZ{X: 100, Y: 100, Z: 100}, colorimetry.XYZ{X: 97.079, Y: 100, Z: 141.798}
	for i, k := range []struct {
		a          colorimetry.Adaptation
		in         [3]colorimetry.XYZ
		via        colorimetry.XYZ
		dFrom, dTo float64
		want       colorimetry.XYZ
	}{
		{colorimetry.CAT02(), first, equal, 0.9407, 0.9800, colorimetry.XYZ{X: 39.18561644, Y: 42.15461798, Z: 19.23672036}},
		{colorimetry.CAT16(), first, equal, 0.9407, 0.9800, colorimetry.XYZ{X: 40.37398343, Y: 43.69426311, Z: 20.51733764}},
		{colorimetry.CAT02(), second, blue, 0.6709, 0.5331, colorimetry.XYZ{X: 57.03242915, Y: 58.93434364, Z: 64.76261333}},
		{colorimetry.CAT16(), second, blue, 0.6709, 0.5331, colorimetry.XYZ{X: 56.77130011, Y: 58.81317888, Z: 64.66922808}},
		{colorimetry.CAT02(), first, equal, 1, 1, colorimetry.XYZ{X: 38.72444735, Y: 42.09232891, Z: 20.05297620}},
	} {
		m, err := k.a.TwoStepVia(k.in[1], k.in[2], k.via, k.dFrom, k.dTo)
		if err != nil {
			t.Fatal(err)
		}
		if off := m.Apply(k.in[0]).Sub(k.want); largest(off) > 1e-7 {
			t.Errorf("two steps, case %d: off by %v", i, off)
		}
	}
}

func largest(c colorimetry.XYZ) float64 {
	if !c.Finite() {
		return math.Inf(1)
	}
	return math.Max(math.Abs(c.X), math.Max(math.Abs(c.Y), math.Abs(c.Z)))
}

func TestAdaptationProperties(t *testing.T) {
	from, to := colorimetry.Chromaticity{X: 0.4476, Y: 0.4074}.XYZ(80), colorimetry.D65().Scale(120)
	for name, a := range methods() {
		whole, err := a.Complete(from, to)
		if err != nil {
			t.Fatal(err)
		}
		if d := whole.Apply(from).Sub(to); largest(d) > 1e-12 {
			t.Errorf("%s: the white misses the new white by %v", name, d)
		}
		none, err := a.Partial(from, to, 0)
		if err != nil {
			t.Fatal(err)
		}
		if d := none.Apply(from).Sub(from.Scale(1.5)); largest(d) > 1e-12 {
			t.Errorf("%s: without adaptation the white becomes %v", name, none.Apply(from))
		}
		there, err := a.TwoStep(from, to, 0.7, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		back, err := a.TwoStep(to, from, 0.9, 0.7)
		if err != nil {
			t.Fatal(err)
		}
		full, err := a.TwoStep(from, to, 1, 1)
		if err != nil {
			t.Fatal(err)
		}
		round := back.Mul(there)
		for i := range 3 {
			for j := range 3 {
				if !near(round[i][j], colorimetry.Identity()[i][j], 1e-13) {
					t.Errorf("%s: there and back in two steps is %v", name, round)
				}
				if !near(full[i][j], whole[i][j], 1e-12) {
					t.Errorf("%s: two complete steps are %v, one is %v", name, full, whole)
				}
			}
		}
		if parsed, err := colorimetry.ParseAdaptation(a.String()); err != nil || parsed != a {
			t.Errorf("%s reads back as %v, %v", a, parsed, err)
		}
	}
}

func TestAdaptationRefuses(t *testing.T) {
	white, nan := colorimetry.D50(), math.NaN()
	cat := colorimetry.CAT16()
	for what, f := range map[string]func() (colorimetry.Matrix, error){
		"black from": func() (colorimetry.Matrix, error) { return colorimetry.Bradford(colorimetry.XYZ{}, white) },
		"black to":   func() (colorimetry.Matrix, error) { return cat.Complete(white, colorimetry.XYZ{}) },
		"negative":   func() (colorimetry.Matrix, error) { return cat.Complete(colorimetry.XYZ{X: 1, Y: -1, Z: 1}, white) },
		"NaN":        func() (colorimetry.Matrix, error) { return cat.Complete(colorimetry.XYZ{X: nan, Y: 1, Z: 1}, white) },
		"infinite":   func() (colorimetry.Matrix, error) { return cat.Complete(white, colorimetry.XYZ{X: math.Inf(1), Y: 1}) },
		"no blue": func() (colorimetry.Matrix, error) {
			return colorimetry.HPE().Complete(colorimetry.XYZ{X: 1, Y: 1}, white)
		},
		"zero Adaptation":   func() (colorimetry.Matrix, error) { return colorimetry.Adaptation{}.Complete(white, white) },
		"baseline is black": func() (colorimetry.Matrix, error) { return cat.TwoStepVia(white, white, colorimetry.XYZ{}, 1, 1) },
	} {
		m, err := f()
		if !errors.Is(err, colorimetry.ErrSingular) || m != (colorimetry.Matrix{}) {
			t.Errorf("%s: %v, error %v, want ErrSingular", what, m, err)
		}
		if err != nil && strings.Count(err.Error(), "colorimetry:") != 1 {
			t.Errorf("%s: the package is not named once: %v", what, err)
		}
	}
	for _, d := range []float64{-0.1, 1.1, nan} {
		if _, err := cat.Partial(white, white, d); err == nil || !strings.Contains(err.Error(), "degree of adaptation") {
			t.Errorf("degree %g: error %v", d, err)
		}
		if _, err := cat.TwoStep(white, white, 1, d); err == nil {
			t.Errorf("second degree %g is accepted", d)
		}
	}
	if _, err := colorimetry.NewAdaptation("flat", colorimetry.Matrix{{1, 1, 1}, {1, 1, 1}, {0, 0, 1}}); !errors.Is(err, colorimetry.ErrSingular) || !strings.Contains(err.Error(), "flat") {
		t.Errorf("dependent responses: error %v", err)
	}
	if _, err := colorimetry.ParseAdaptation("cat97"); err == nil || !strings.Contains(err.Error(), "bradford") {
		t.Errorf("an unknown name: error %v", err)
	}
}

// CIE 159:2004: the exponent is 0 at L_A = −42, and D tends to F.
func TestDegreeOfAdaptation(t *testing.T) {
	for _, k := range []struct{ f, la, want float64 }{
		{1, 0, 1 - math.Exp(-42.0/92)/3.6}, {0.9, 50, 0.9 * (1 - math.Exp(-1)/3.6)}, {0.8, 1e9, 0.8}, {1.2, 1e9, 1},
		{1, -1, math.NaN()}, {1, math.NaN(), math.NaN()},
	} {
		if got := colorimetry.DegreeOfAdaptation(k.f, k.la); !near(got, k.want, 1e-15) {
			t.Errorf("F %g, %g cd/m²: %g, want %g", k.f, k.la, got, k.want)
		}
	}
}
