package appearance_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/internal/worked"
)

// near reports whether got is within tol of want.
func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// xyz returns the columns x, y, z over scale.
func xyz(t testing.TB, row worked.Row, x, y, z string, scale float64) colorimetry.XYZ {
	t.Helper()
	return colorimetry.XYZ{X: row.Num(t, x) / scale, Y: row.Num(t, y) / scale, Z: row.Num(t, z) / scale}
}

func surround(t testing.TB, name string) appearance.Surround {
	t.Helper()
	switch name {
	case "average":
		return appearance.Average()
	case "dim":
		return appearance.Dim()
	case "dark":
		return appearance.Dark()
	}
	t.Fatalf("surround %q", name)
	return appearance.Surround{}
}

// model returns the model of a row whose white is on the given scale.
func model(t testing.TB, name string, row worked.Row, scale float64) *appearance.Model {
	t.Helper()
	make := appearance.NewCAM16
	if name == "CIECAM02" {
		make = appearance.NewCIECAM02
	}
	m, err := make(appearance.Viewing{
		White:        xyz(t, row, "Xw", "Yw", "Zw", scale),
		AdaptingCdM2: row.Num(t, "L_A"),
		Background:   row.Num(t, "Y_b") / 100,
		Surround:     surround(t, row["surround"]),
		Discounting:  row["discounting"] == "true",
	})
	if err != nil {
		t.Fatal(err)
	}
	if m.Name() != name {
		t.Fatalf("the model calls itself %s, not %s", m.Name(), name)
	}
	return m
}

// correlate is one of the columns J, C, h, s, Q, M, H.
type correlate struct {
	column string
	got    float64
}

func correlates(a appearance.Appearance) []correlate {
	return []correlate{{"J", a.J}, {"C", a.C}, {"h", a.Hue}, {"s", a.S}, {"Q", a.Q}, {"M", a.M}, {"H", a.Quadrature}}
}

// Worked examples: CIE 159:2004 and the two spreadsheet rows are printed to
// four or five decimals, rows 5 and 6 to one or two, the rows of CAM16 to
// eight. testdata/published.csv names the source of each. Rows 1 to 4 were made
// with a matrix of six decimals, with which they hold to the last digit in
// TestPublishedWithSixDecimals.
//
// Of H the printed value holds where the table's note says so. In rows 6, 8, 10
// and 11 it was made with the bend between blue and red of CIECAM97s, which
// neither CIE 159:2004 nor Li et al. (2017) have; there the value by CIE 159's
// own table, printed beside it, is what has to come out.
func TestPublished(t *testing.T) {
	rows := worked.Read(t, "published.csv")
	if len(rows) != 11 {
		t.Fatalf("%d rows, want 11", len(rows))
	}
	for i, row := range rows {
		m := model(t, row["model"], row, 100)
		a, ok := m.Appearance(xyz(t, row, "X", "Y", "Z", 100))
		if !ok {
			t.Errorf("row %d has no appearance", i+1)
			continue
		}
		for _, c := range correlates(a) {
			want, tol := row.Num(t, c.column), 6e-9 // CAM16: eight decimals
			switch {
			case i == 3 && c.column == "H":
				tol = 8e-5 // misprinted: see TestPublishedWithSixDecimals
			case i == 0 && c.column == "H":
				tol = 6e-5 // the printed figure comes of a rounded matrix: see there
			case i < 2:
				tol = 5.1e-5 // four decimals
			case i < 4:
				tol = 2.5e-5 // five decimals and the rounded matrix: see there
			case i < 6:
				tol = 0.05 // one decimal in h and H
				if c.column != "h" && c.column != "H" {
					tol = 0.0051
				}
			}
			if c.column == "H" && row["H_note"] != "agrees within the printed digits" {
				want, tol = row.Num(t, "H_from_h_by_CIE159_formula"), 6e-8
				if i == 5 {
					tol = 0.05 // made from the printed h, which has one decimal
				}
			}
			if !near(c.got, want, tol) {
				t.Errorf("row %d (%s), %s: got %.9f, want %.9g", i+1, row["model"], c.column, c.got, want)
			}
		}
	}
}

// Both models under three surrounds, three whites and three adapting
// luminances, ten digits: testdata/correlates.csv names the source.
func TestGenerated(t *testing.T) {
	rows := worked.Read(t, "correlates.csv")
	if len(rows) != 324 {
		t.Fatalf("%d rows, want 324", len(rows))
	}
	for i, row := range rows {
		m := model(t, row["model"], row, 100)
		a, ok := m.Appearance(xyz(t, row, "X", "Y", "Z", 100))
		for _, c := range correlates(a) {
			want := row.Num(t, c.column)
			tol := 1e-8 + 5e-10*math.Abs(want) // ten digits are printed
			if c.column == "H" {
				tol = 2e-7 // made from an h of ten digits, and rounded again
			}
			if !ok || !near(c.got, want, tol) {
				t.Errorf("row %d (%s, %s), %s: got %.10g, want %.10g", i+1, row["model"], row["surround"], c.column, c.got, want)
			}
		}
	}
}

// CAM16 against colorjs.io: testdata/generate.mjs made the table.
func TestCAM16CrossCheck(t *testing.T) {
	rows := worked.Read(t, "crosscheck_js.csv")
	if len(rows) < 500 {
		t.Fatalf("only %d rows", len(rows))
	}
	for i, row := range rows {
		m := model(t, "CAM16", row, 1)
		a, ok := m.Appearance(xyz(t, row, "X", "Y", "Z", 1))
		for _, c := range correlates(a) {
			if want := row.Num(t, c.column); !ok || !near(c.got, want, 1e-9+1e-11*want) {
				t.Errorf("row %d, %s: got %.13g, want %.13g", i+1, c.column, c.got, want)
			}
		}
		// Li et al. (2017), equations for CAM16-UCS, from that library's J, M, h.
		sin, cos := math.Sincos(row.Num(t, "h") * math.Pi / 180)
		r := math.Log(1+0.0228*row.Num(t, "M")) / 0.0228
		want := appearance.Jab{J: 1.7 * row.Num(t, "J") / (1 + 0.007*row.Num(t, "J")), A: r * cos, B: r * sin}
		if j, ok := m.Jab(xyz(t, row, "X", "Y", "Z", 1), appearance.UCS()); !ok || !(appearance.UCS().Distance(j, want) < 1e-9) {
			t.Errorf("row %d: got %v, want %v", i+1, j, want)
		}
	}
}

// CIECAM02 and the differences in its three uniform spaces against
// colorspacious: testdata/generate.py made the table.
func TestCIECAM02CrossCheck(t *testing.T) {
	rows := worked.Read(t, "crosscheck_py.csv")
	if len(rows) < 500 {
		t.Fatalf("only %d rows", len(rows))
	}
	for i, row := range rows {
		m := model(t, "CIECAM02", row, 100)
		first, second := xyz(t, row, "X", "Y", "Z", 100), xyz(t, row, "X2", "Y2", "Z2", 100)
		a, ok := m.Appearance(first)
		for _, c := range correlates(a) {
			if want := row.Num(t, c.column); !ok || !near(c.got, want, 1e-9+1e-11*want) {
				t.Errorf("row %d, %s: got %.13g, want %.13g", i+1, c.column, c.got, want)
			}
		}
		for name, u := range map[string]appearance.Uniform{"ucs": appearance.UCS(), "lcd": appearance.LCD(), "scd": appearance.SCD()} {
			p, ok1 := m.Jab(first, u)
			q, ok2 := m.Jab(second, u)
			if got, want := u.Distance(p, q), row.Num(t, name); !ok1 || !ok2 || !near(got, want, 1e-9) {
				t.Errorf("row %d, %s: got %.13g, want %.13g", i+1, name, got, want)
			}
		}
	}
}

// Facts of the definitions: the white has J = 100 and, where adaptation is
// complete, no chroma; black has nothing.
func TestWhiteAndBlack(t *testing.T) {
	for _, make := range []func(appearance.Viewing) (*appearance.Model, error){appearance.NewCIECAM02, appearance.NewCAM16} {
		white := colorimetry.XYZ{X: 1.0985, Y: 1, Z: 0.35585}
		m, err := make(appearance.Viewing{White: white, Discounting: true})
		if err != nil {
			t.Fatal(err)
		}
		if m.Degree() != 1 {
			t.Errorf("%s: degree %g with the illuminant discounted", m.Name(), m.Degree())
		}
		a, ok := m.Appearance(white)
		// Chroma grows as the 0.9th power: 1e-16 of opponent response shows as
		// 1e-12. CIECAM02's cone matrix is printed with rows that sum to 1 within
		// 1e-5 only, which leaves its white that trace of chroma.
		tol := 1e-11
		if m.Name() == "CIECAM02" {
			tol = 0.007
		}
		if !ok || !near(a.J, 100, 1e-12) || !near(a.C, 0, tol) {
			t.Errorf("%s: the white is %+v, %v", m.Name(), a, ok)
		}
		if j, ok := m.Jab(white, appearance.UCS()); !ok || !near(j.J, 100, 1e-12) || math.Hypot(j.A, j.B) > tol {
			t.Errorf("%s: the white is %+v, %v", m.Name(), j, ok)
		}
		if a, ok := m.Appearance(colorimetry.XYZ{}); !ok || a != (appearance.Appearance{Quadrature: appearance.Quadrature(0)}) {
			t.Errorf("%s: black is %+v, %v", m.Name(), a, ok)
		}
		for _, by := range allWays {
			if c, ok := m.XYZ(appearance.Appearance{Hue: 33}, by); !ok || c != (colorimetry.XYZ{}) {
				t.Errorf("%s, way %d: black comes back as %v, %v", m.Name(), by, c, ok)
			}
		}
		if c, ok := m.FromJab(appearance.Jab{}, appearance.UCS()); !ok || c != (colorimetry.XYZ{}) {
			t.Errorf("%s: black comes back as %v, %v", m.Name(), c, ok)
		}
	}
}

var allWays = []appearance.By{appearance.ByJC, appearance.ByJM, appearance.ByJS, appearance.ByQC, appearance.ByQM, appearance.ByQS}

func TestViewing(t *testing.T) {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		t.Fatal(err)
	}
	want := appearance.Viewing{White: colorimetry.D65(), AdaptingCdM2: 20, Background: 0.2, Surround: appearance.Average()}
	if got := m.Viewing(); got != want {
		t.Errorf("defaults are %+v", got)
	}
	// CIE 159:2004, by hand: 1 − e^(−62/92)/3.6.
	if got := m.Degree(); !near(got, 0.858414, 1e-6) {
		t.Errorf("degree %g", got)
	}
	for name, v := range map[string]appearance.Viewing{
		"no white":            {},
		"white without Z":     {White: colorimetry.XYZ{X: 1, Y: 1}},
		"NaN":                 {White: colorimetry.XYZ{X: math.NaN(), Y: 1, Z: 1}},
		"white out of gamut":  {White: colorimetry.XYZ{X: 0.01, Y: 0.01, Z: 1}},
		"negative luminance":  {White: colorimetry.D65(), AdaptingCdM2: -1},
		"infinite luminance":  {White: colorimetry.D65(), AdaptingCdM2: math.Inf(1)},
		"negative background": {White: colorimetry.D65(), Background: -0.1},
		"half a surround":     {White: colorimetry.D65(), Surround: appearance.Surround{F: 1}},
	} {
		for _, make := range []func(appearance.Viewing) (*appearance.Model, error){appearance.NewCIECAM02, appearance.NewCAM16} {
			if m, err := make(v); err == nil {
				t.Errorf("%s makes %+v", name, m)
			}
		}
	}
}

// Outside the domain nothing is infinite and ok is false.
func TestOutside(t *testing.T) {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		t.Fatal(err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []colorimetry.XYZ{{X: nan}, {Y: inf}, {Z: -inf}, {X: inf, Y: inf, Z: inf}, {X: -1, Y: -1, Z: -1}, {X: -5, Y: 0.1, Z: 2}} {
		if a, ok := m.Appearance(c); ok || !math.IsNaN(a.J) || !math.IsNaN(a.Quadrature) {
			t.Errorf("%v looks like %+v", c, a)
		}
		if j, ok := m.Jab(c, appearance.UCS()); ok || !math.IsNaN(j.J) || !math.IsNaN(j.A) {
			t.Errorf("%v looks like %+v", c, j)
		}
	}
	for _, a := range []appearance.Appearance{
		{J: -1, Q: -1}, {J: nan, Q: nan, C: 1, M: 1, S: 1}, {J: inf, Q: inf}, {J: 1e9, Q: 1e9, C: 1, M: 1, S: 1},
		{J: 50, Q: 100, C: -1, M: -1, S: -1}, {J: 50, Q: 100, C: nan, M: nan, S: nan}, {J: 50, Q: 100, C: 10, M: 10, S: 10, Hue: inf},
	} {
		for _, by := range append(allWays, 77) {
			if c, ok := m.XYZ(a, by); ok || !math.IsNaN(c.X) {
				t.Errorf("%+v by %d is %v", a, by, c)
			}
		}
	}
	if c, ok := m.XYZ(appearance.Appearance{J: 0, C: 3}, appearance.ByJC); ok || !math.IsNaN(c.Y) {
		t.Errorf("a black with chroma is %v", c)
	}
	for _, j := range []appearance.Jab{{J: -1}, {J: nan}, {J: 1e9}, {J: 0, A: 1}, {J: 50, A: inf}, {J: 50, A: nan}, {J: inf}} {
		if c, ok := m.FromJab(j, appearance.UCS()); ok || !math.IsNaN(c.X) {
			t.Errorf("%+v is %v", j, c)
		}
	}
}

// CIE 159:2004: the unique hues, and the way back between them.
func TestQuadrature(t *testing.T) {
	for h, want := range map[float64]float64{20.14: 0, 90: 100, 164.25: 200, 237.53: 300, 380.14: 0, -269.999999999: 100, 20.14 - 720: 0} {
		if got := appearance.Quadrature(h); !near(got, want, 1e-6) && !near(got, 400+want, 1e-6) {
			t.Errorf("hue %g has the quadrature %.9g, want %g", h, got, want)
		}
	}
	for h := 0.0; h < 360; h += 0.37 {
		q := appearance.Quadrature(h)
		if back := appearance.HueOf(q); q < 0 || q >= 400 || !near(back, h, 1e-11) {
			t.Errorf("hue %g has the quadrature %g and comes back as %.14g", h, q, back)
		}
	}
	if q := appearance.HueOf(-100); !near(q, appearance.HueOf(300), 1e-12) {
		t.Errorf("a quadrature of -100 is the hue %g", q)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if a, b := appearance.Quadrature(bad), appearance.HueOf(bad); !math.IsNaN(a) || !math.IsNaN(b) {
			t.Errorf("%g gives %g and %g", bad, a, b)
		}
	}
}
