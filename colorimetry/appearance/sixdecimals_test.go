package appearance

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
)

// The four worked examples of CIECAM02 hold to the last printed digit once the
// inverse of CAT02 is rounded to six decimals, as the report is remembered to
// print it and those who worked them out must have had it. The model itself has
// the exact inverse, which moves the results by up to 2.2e-5.
//
// One figure stays off: row 4's H is printed 399.38837, whereas the table of
// CIE 159 makes 399.38845 of the h = 19.55739 printed beside it.
func TestPublishedWithSixDecimals(t *testing.T) {
	printed := colorimetry.Matrix{{1.096124, -0.278869, 0.182745}, {0.454369, 0.473533, 0.072098}, {-0.009628, -0.005698, 1.015326}}
	for i, row := range worked.Read(t, "published.csv")[:4] {
		v, err := Viewing{
			White:        colorimetry.XYZ{X: row.Num(t, "Xw"), Y: row.Num(t, "Yw"), Z: row.Num(t, "Zw")}.Scale(0.01),
			AdaptingCdM2: row.Num(t, "L_A"), Background: row.Num(t, "Y_b") / 100,
		}.withDefaults()
		if err != nil {
			t.Fatal(err)
		}
		adapt, err := adaptation(cat02(), v)
		if err != nil {
			t.Fatal(err)
		}
		m, err := newModel("CIECAM02", v, hpe().Mul(printed).Mul(adapt))
		if err != nil {
			t.Fatal(err)
		}
		a, ok := m.Appearance(colorimetry.XYZ{X: row.Num(t, "X"), Y: row.Num(t, "Y"), Z: row.Num(t, "Z")}.Scale(0.01))
		if !ok {
			t.Fatalf("row %d has no appearance", i+1)
		}
		for column, got := range map[string]float64{"J": a.J, "C": a.C, "h": a.Hue, "s": a.S, "Q": a.Q, "M": a.M, "H": a.Quadrature} {
			tol := 5.1e-5 // rows 1 and 2: four decimals
			if i >= 2 {
				tol = 5.1e-6 // rows 3 and 4: five, trailing zeros dropped
			}
			if column == "H" && i == 3 {
				tol = 8e-5 // see above
			}
			if want := row.Num(t, column); math.Abs(got-want) > tol {
				t.Errorf("row %d, %s: got %.7f, printed %.7g", i+1, column, got, want)
			}
		}
	}
}
