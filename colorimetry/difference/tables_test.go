package difference_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/internal/worked"
)

// labs returns the two colours of a row.
func labs(t testing.TB, row worked.Row) (a, b colorimetry.Lab) {
	t.Helper()
	return colorimetry.Lab{L: row.Num(t, "L1"), A: row.Num(t, "a1"), B: row.Num(t, "b1")},
		colorimetry.Lab{L: row.Num(t, "L2"), A: row.Num(t, "a2"), B: row.Num(t, "b2")}
}

func compare(t *testing.T, i int, row worked.Row, column string, got, tol float64) {
	t.Helper()
	if want := row.Num(t, column); !(math.Abs(got-want) <= tol) {
		t.Errorf("row %d, %s: got %.13g, want %.13g", i+1, column, got, want)
	}
}

// multiplied99 is DIN99 with kE = 2, kCH = 0.5 as the program that made the
// tables has it: it multiplies lightness by kE. Here lightness is divided by
// kE, as chroma is and as other open programs do (Colors.jl, colorio): with
// the customary weights for textiles a difference of lightness then counts half
// as much as one of chroma, which is what those weights are for. All else is
// held by putting the factor kE² between the two right.
func multiplied99(a, b colorimetry.Lab) float64 {
	w := difference.DIN99Weights{KE: 2, KCH: 0.5}
	p, q := difference.Space99.Lab99(a, colorimetry.XYZ{}, w), difference.Space99.Lab99(b, colorimetry.XYZ{}, w)
	l, r, s := (p.L-q.L)*w.KE*w.KE, p.A-q.A, p.B-q.B
	return math.Sqrt(l*l + r*r + s*s)
}

// testdata/formulas.csv, twelve digits.
func TestFormulas(t *testing.T) {
	rows := worked.Read(t, "formulas.csv")
	if len(rows) != 41 {
		t.Fatalf("%d rows, want 41", len(rows))
	}
	for i, row := range rows {
		a, b := labs(t, row)
		for column, got := range map[string]float64{
			"dE76": difference.AB(a, b),
			"dE94_graphic_arts_kL1_K1_0.045_K2_0.015": difference.CIE94(a, b, difference.GraphicArts()),
			"dE94_textiles_kL2_K1_0.048_K2_0.014":     difference.CIE94(a, b, difference.Textiles()),
			"dE_CMC_1_1":                              difference.CMC(a, b, 1, 1),
			"dE_CMC_2_1":                              difference.CMC(a, b, 2, 1),
			"dE00_1_1_1":                              difference.CIEDE2000(a, b),
			"dE00_2_1_1":                              difference.CIEDE2000Weighted(a, b, difference.Weights{KL: 2}),
			"dE_DIN99_kE1_kCH1":                       difference.DIN99(a, b, difference.DIN99Weights{}),
			"dE_DIN99_textiles_kE2_kCH0.5":            multiplied99(a, b),
		} {
			compare(t, i, row, column, got, 1e-9)
		}
	}
}

// testdata/literals.csv, all digits of a test suite.
func TestLiterals(t *testing.T) {
	rows := worked.Read(t, "literals.csv")
	if len(rows) != 15 {
		t.Fatalf("%d rows, want 15", len(rows))
	}
	for i, row := range rows {
		a, b := labs(t, row)
		var got float64
		tol := 1e-9
		switch row["formula"] {
		case "CIE94":
			got = difference.CIE94(a, b, difference.CIE94Weights{})
		case "CIE94_textiles":
			got = difference.CIE94(a, b, difference.Textiles())
		case "CMC_2_1":
			got, tol = difference.CMC(a, b, 2, 1), 5.1e-9 // eight decimals
		case "DIN99":
			got = difference.DIN99(a, b, difference.DIN99Weights{KE: 1, KCH: 1})
		case "DIN99_textiles":
			got = multiplied99(a, b)
		default:
			t.Fatalf("formula %q", row["formula"])
		}
		compare(t, i, row, "dE_expected", got, tol)
	}
}

// testdata/ciede2000_steps.csv, ten digits.
func TestCIEDE2000Steps(t *testing.T) {
	steps := worked.Read(t, "ciede2000_steps.csv")
	for i, p := range sharma(t) {
		row, s := steps[i], difference.CIEDE2000Steps(p.a, p.b, difference.Weights{})
		for column, got := range map[string]float64{
			"a1_prime": s.A1, "a2_prime": s.A2, "C1_prime": s.C1, "C2_prime": s.C2, "h1_prime": s.H1, "h2_prime": s.H2,
			"h_bar_prime": s.HMean, "G": s.G, "T": s.T, "S_L": s.Parts.SL, "S_C": s.Parts.SC, "S_H": s.Parts.SH, "R_T": s.Parts.RT,
			"dL_prime": s.Parts.L, "dC_prime": s.Parts.C, "dH_prime": s.Parts.H, "dE00": s.Total,
		} {
			compare(t, i, row, column, got, 1e-8+5e-10*math.Abs(got))
		}
		if got := difference.CIEDE2000(p.a, p.b); math.Abs(got-s.Total) > 1e-13*got {
			t.Errorf("pair %d: %.17g step by step and %.17g at once", i+1, s.Total, got)
		}
	}
}

// testdata/uv.csv, white 0.95047 1 1.08883, twelve digits.
func TestUV(t *testing.T) {
	white := colorimetry.XYZ{X: 0.95047, Y: 1, Z: 1.08883}
	for i, row := range worked.Read(t, "uv.csv") {
		a := colorimetry.XYZ{X: row.Num(t, "X1"), Y: row.Num(t, "Y1"), Z: row.Num(t, "Z1")}.Luv(white)
		b := colorimetry.XYZ{X: row.Num(t, "X2"), Y: row.Num(t, "Y2"), Z: row.Num(t, "Z2")}.Luv(white)
		compare(t, i, row, "dEuv", difference.UV(a, b), 1e-9)
		compare(t, i, row, "dEuv", difference.UVParts(a, b).Total(), 1e-9)
	}
}

// ITU-R BT.2124-0: testdata/itp.csv, ten digits of coordinates up to 0.75,
// which are worth 720 times as much.
func TestITP(t *testing.T) {
	rows := worked.Read(t, "itp.csv")
	if len(rows) != 9 {
		t.Fatalf("%d rows, want 9", len(rows))
	}
	for i, row := range rows {
		a := appearance.ICtCp{I: row.Num(t, "I_1"), T: row.Num(t, "Ct_1"), P: row.Num(t, "Cp_1")}
		b := appearance.ICtCp{I: row.Num(t, "I_2"), T: row.Num(t, "Ct_2"), P: row.Num(t, "Cp_2")}
		compare(t, i, row, "dE_ITP", difference.ITP(a, b), 5e-8)
		x, _ := appearance.ICtCpPQ.XYZ(a)
		y, _ := appearance.ICtCpPQ.XYZ(b)
		compare(t, i, row, "dE_ITP", difference.XYZITP(x, y), 5e-8)
	}
	if got := difference.XYZITP(colorimetry.XYZ{X: -100}, colorimetry.XYZ{X: 1, Y: 1, Z: 1}); !math.IsNaN(got) {
		t.Errorf("a colour without ICtCp differs by %g", got)
	}
}

// testdata/cam_ucs.csv: three surrounds, three adapting luminances, ten digits.
func TestCAMUCS(t *testing.T) {
	rows := worked.Read(t, "cam_ucs.csv")
	if len(rows) != 72 {
		t.Fatalf("%d rows, want 72", len(rows))
	}
	surrounds := map[string]appearance.Surround{"average": appearance.Average(), "dim": appearance.Dim(), "dark": appearance.Dark()}
	for i, row := range rows {
		s, known := surrounds[row["surround"]]
		if !known {
			t.Fatalf("surround %q", row["surround"])
		}
		v := appearance.Viewing{White: colorimetry.XYZ{X: 0.9505, Y: 1, Z: 1.0888}, AdaptingCdM2: row.Num(t, "L_A"), Background: row.Num(t, "Y_b") / 100, Surround: s}
		a := colorimetry.XYZ{X: row.Num(t, "X1"), Y: row.Num(t, "Y1"), Z: row.Num(t, "Z1")}.Scale(0.01)
		b := colorimetry.XYZ{X: row.Num(t, "X2"), Y: row.Num(t, "Y2"), Z: row.Num(t, "Z2")}.Scale(0.01)
		for name, make := range map[string]func(appearance.Viewing) (*appearance.Model, error){"cam02ucs": appearance.NewCIECAM02, "cam16ucs": appearance.NewCAM16} {
			m, err := make(v)
			if err != nil {
				t.Fatal(err)
			}
			p, _ := m.Jab(a, appearance.UCS())
			q, _ := m.Jab(b, appearance.UCS())
			compare(t, i, row, name+"_J1", p.J, 5e-8)
			compare(t, i, row, name+"_a1", p.A, 5e-8)
			compare(t, i, row, name+"_b1", p.B, 5e-8)
			compare(t, i, row, name+"_J2", q.J, 5e-8)
			compare(t, i, row, name+"_a2", q.A, 5e-8)
			compare(t, i, row, name+"_b2", q.B, 5e-8)
			compare(t, i, row, "dE_"+name, difference.CAMUCS(m, appearance.UCS(), a, b), 5e-8)
		}
	}
}

// 640 random pairs against culori and colorjs.io: testdata/generate.mjs made
// the table, thirteen digits.
func TestCrossCheck(t *testing.T) {
	rows := worked.Read(t, "crosscheck.csv")
	if len(rows) < 500 {
		t.Fatalf("only %d rows", len(rows))
	}
	for i, row := range rows {
		a, b := labs(t, row)
		itp := func(c colorimetry.Lab) appearance.ICtCp {
			return appearance.ICtCp{I: c.L / 100, T: c.A / 250, P: c.B / 250}
		}
		p, q := itp(a), itp(b)
		for column, got := range map[string]float64{
			"ab":             difference.AB(a, b),
			"uv":             difference.UV(colorimetry.Luv{L: a.L, U: a.A, V: a.B}, colorimetry.Luv{L: b.L, U: b.A, V: b.B}),
			"hyab":           difference.HyAB(a, b),
			"cie94":          difference.CIE94(a, b, difference.GraphicArts()),
			"cie94_textiles": difference.CIE94(a, b, difference.Textiles()),
			"cmc_2_1":        difference.CMC(a, b, 2, 1),
			"cmc_1_1_js":     difference.CMC(a, b, 1, 1),
			"ciede2000":      difference.CIEDE2000(a, b),
			"ciede2000_k":    difference.CIEDE2000Weighted(a, b, difference.Weights{KL: 2, KC: 1.5, KH: 0.7}),
			"itp":            difference.ITP(p, q),
			"itp_js":         difference.ITP(p, q),
			"jz_js":          difference.JZ(appearance.Jzazbz{J: p.I, A: p.T, B: p.P}, appearance.Jzazbz{J: q.I, A: q.T, B: q.P}),
			"ok_js":          difference.OK(appearance.Oklab{L: p.I, A: p.T, B: p.P}, appearance.Oklab{L: q.I, A: q.T, B: q.P}),
		} {
			// Differences of nearby colours are differences of large numbers.
			compare(t, i, row, column, got, 1e-9)
		}
		// culori has 100/ln(1.39) = 303.6710 where 303.67 is printed.
		u, v := difference.Space99o.Lab99(a, colorimetry.XYZ{}, difference.DIN99Weights{}), difference.Space99o.Lab99(b, colorimetry.XYZ{}, difference.DIN99Weights{})
		l := (u.L - v.L) / 303.67 * 100 / math.Log(1.39)
		compare(t, i, row, "din99o", math.Sqrt(l*l+(u.A-v.A)*(u.A-v.A)+(u.B-v.B)*(u.B-v.B)), 1e-9)
		compare(t, i, row, "din99o", difference.DIN99o(a, b, difference.DIN99Weights{}), 3.4e-6*row.Num(t, "din99o"))
	}
}
