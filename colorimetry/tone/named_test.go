package tone_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/primaries/colorimetry/tone"

	"example.org/primaries/colorimetry/internal/worked"
)

// testdata/curves.csv names its sources; 15 digits are printed.
func TestCurvesAgainstStandards(t *testing.T) {
	type function = func(float64) float64
	byName := map[string]function{
		"sRGB_EOTF (IEC 61966-2-1)": tone.SRGB{}.Light,
		"sRGB_inverse_EOTF":         tone.SRGB{}.Signal,
		"BT709_OETF":                tone.BT709{}.Signal,
		"BT709_inverse_OETF":        tone.BT709{}.Light,
		"BT2020_OETF12bit=False":    tone.BT2020{Bits: 10}.Signal,
		"BT2020_OETF12bit=True":     tone.BT2020{Bits: 12}.Signal,
		"ROMM_encoding":             tone.ROMM{}.Signal,
		"Y_from_Lstar":              func(l float64) float64 { return tone.LStar{}.Light(l / 100) },
		"Lstar_from_Y":              func(y float64) float64 { return 100 * tone.LStar{}.Signal(y) },
	}
	seen := map[string]int{}
	for _, row := range worked.Read(t, "curves.csv") {
		name, in, want := row["function"], row.Num(t, "input"), row.Num(t, "output")
		f := byName[name]
		if name == "BT2020_OETF" {
			f = byName[name+row["parameters"]]
		}
		if name == "power" {
			var gamma float64
			if _, err := fmt.Sscanf(row["parameters"], "gamma=%g", &gamma); err != nil {
				t.Fatal(err)
			}
			f = tone.Power{Gamma: gamma}.Light
		}
		if f == nil {
			t.Fatalf("no curve for %q", name)
		}
		tol := 1e-12 * math.Max(1, math.Abs(want))
		switch {
		case name == "sRGB_EOTF (IEC 61966-2-1)" && in == 0.04045:
			// IEC 61966-2-1 prints "not above 0.04045" for the straight part; the
			// other program joins at 12.92·0.0031308, and is 2.3e-9 higher here.
			tol = 2.4e-9
		case name == "BT709_inverse_OETF" && in > 0.081 && in < 0.08125:
			// A signal the camera never makes; BT709 says what it does there. The
			// other program goes on with the straight line.
			tol = 5.5e-5
		}
		if got := f(in); math.Abs(got-want) > tol {
			t.Errorf("%s %s of %g: got %.15g, want %.15g", name, row["parameters"], in, got, want)
		}
		seen[name]++
	}
	if len(seen) != 9 || seen["power"] != 5*27 {
		t.Errorf("functions checked: %v", seen)
	}
}

// Luminances of ITU-R BT.1886, annex 1; testdata/bt1886.csv names its source.
func TestBT1886AgainstStandard(t *testing.T) {
	rows := worked.Read(t, "bt1886.csv")
	if len(rows) != 80 {
		t.Fatalf("%d rows, want 80", len(rows))
	}
	for i, row := range rows {
		white := row.Num(t, "Lw")
		c := tone.BT1886{WhiteCdM2: white, BlackCdM2: row.Num(t, "Lb")}
		want := row.Num(t, "luminance_L")
		if got := white * c.Light(row.Num(t, "signal_V")); math.Abs(got-want) > 1e-10*want {
			t.Errorf("row %d: got %.13g cd/m², want %.13g", i+1, got, want)
		}
	}
}

// The constant in the signal, on a power of 2.4, is BT.1886 by its definition.
func TestLiftIsBT1886(t *testing.T) {
	c := tone.BT1886{WhiteCdM2: 120, BlackCdM2: 0.3}
	l := tone.Lift(tone.Power{Gamma: 2.4}, 0.3/120)
	for s := 0.0; s <= 1; s += 1.0 / 64 {
		if a, b := c.Light(s), l.Light(s); math.Abs(a-b) > 1e-14 {
			t.Errorf("at %g: %.16g and %.16g", s, a, b)
		}
	}
}

// everyCurve is one of each kind, for the properties all share.
func everyCurve(t *testing.T) []tone.Curve {
	t.Helper()
	sampled, err := tone.NewSampled([]float64{0, 0.1, 0.15, 0.5, 0.8, 1}, []float64{0, 0.004, 0.02, 0.2, 0.7, 1})
	if err != nil {
		t.Fatal(err)
	}
	return []tone.Curve{
		tone.Power{Gamma: 2.2}, tone.Power{Gamma: 1}, tone.Power{Gamma: 0.5}, tone.SRGB{}, tone.LStar{}, tone.BT709{},
		tone.BT1886{}, tone.BT1886{WhiteCdM2: 100, BlackCdM2: 0.2}, sampled,
		tone.Linear{}, tone.ROMM{}, tone.BT2020{}, tone.BT2020{Bits: 10}, tone.BT2020{Bits: 12},
		tone.PQ{}, tone.PQ{PeakCdM2: 600}, tone.HLGCamera{}, tone.HLG{}, tone.HLG{WhiteCdM2: 600, BlackCdM2: 0.02},
		tone.HLG{WhiteCdM2: 4000, SystemGamma: 1.4}, gsdf(t, 400, 0.4, 0.3), gsdf(t, 3990, 0, 0.06),
		parametric(t, 0, 1.8), parametric(t, 1, 2.4, 0.9, 0.1), parametric(t, 2, 2.2, 0.95, 0.05, 0.0), parametric(t, 3, 2.4, 1/1.055, 0.055/1.055, 1/12.92, 0.04045),
		parametric(t, 4, 2.2, 0.95, 0.05, 0.1, 0.08, 0, 0), parametric(t, 1, 2, 1.25, -0.25),
		tone.Lift(tone.SRGB{}, 0.002), tone.Stretch(tone.SRGB{}, 0.002), tone.Lift(sampled, 0.01),
		tone.Stretch(tone.Lift(tone.LStar{}, 0.001), 0.02),
	}
}

func gsdf(t *testing.T, white, black, ambient float64) tone.GSDF {
	t.Helper()
	c, err := tone.NewGSDF(white, black, ambient)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func parametric(t *testing.T, form int, p ...float64) tone.Parametric {
	t.Helper()
	c, err := tone.NewParametric(form, p...)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestCurveProperties(t *testing.T) {
	for _, c := range everyCurve(t) {
		t.Run(c.String(), func(t *testing.T) {
			whiteSlack := 1e-15
			switch c.(type) {
			case tone.HLG, tone.HLGCamera:
				whiteSlack = 1e-7 // eight digits of the one printed constant
			}
			if got := c.Light(1); math.Abs(got-1) > whiteSlack {
				t.Errorf("white is %.17g", got)
			}
			before := math.Inf(-1)
			for i := 0; i <= 4096; i++ {
				s := float64(i) / 4096
				light := c.Light(s)
				if light < before {
					t.Fatalf("falls at %g, from %g to %g", s, before, light)
				}
				before = light
				// Where the curve is flat a signal cannot come back; see BT709.
				if back := c.Signal(light); math.Abs(back-s) > 1e-12 && !(c.Slope(s) < 1e-3) {
					t.Fatalf("signal %g comes back as %.15g", s, back)
				}
			}
			for s := 0.0137; s < 1; s += 0.0171 {
				const h = 1e-6
				want := (c.Light(s+h) - c.Light(s-h)) / (2 * h)
				if got := c.Slope(s); math.Abs(got-want) > 1e-5*math.Max(1, want) {
					t.Errorf("slope at %g: got %g, by differences %g", s, got, want)
				}
			}
			for _, v := range []float64{c.Light(math.NaN()), c.Signal(math.NaN()), c.Slope(math.NaN())} {
				if !math.IsNaN(v) {
					t.Errorf("NaN gives %g", v)
				}
			}
			if got, want := c.Signal(-1), math.Min(0, c.Light(-1)); got != want { // Linear passes it on
				t.Errorf("light below the black has signal %g, want 0", got)
			}
		})
	}
}

func TestBlackPolicies(t *testing.T) {
	const black = 0.003
	for _, base := range everyCurve(t) {
		if base.Light(0) > 0 {
			continue // has a black of its own already
		}
		lift, stretch := tone.Lift(base, black), tone.Stretch(base, black)
		for _, c := range []tone.Curve{lift, stretch} {
			if got := c.Light(0); math.Abs(got-black) > 1e-12 {
				t.Errorf("%s: black is %g, want %g", c, got, black)
			}
		}
		if a, b := stretch.Light(0.4), black+(1-black)*base.Light(0.4); a != b {
			t.Errorf("%s at 0.4: %g, want %g", stretch, a, b)
		}
		for _, none := range []float64{0, -1} {
			if tone.Lift(base, none) != base || tone.Stretch(base, none) != base {
				t.Errorf("%s: a black of %g changes the curve", base, none)
			}
		}
		for _, bad := range []float64{1, 2, math.NaN()} {
			for _, c := range []tone.Curve{tone.Lift(base, bad), tone.Stretch(base, bad)} {
				if v := c.Light(0.5); v == v {
					t.Errorf("%s with a black of %g makes %g", base, bad, v)
				}
			}
		}
	}
}

// Parameters that make no curve make no light either.
func TestNoCurves(t *testing.T) {
	nan := math.NaN()
	for _, c := range []tone.Curve{
		tone.Power{}, tone.Power{Gamma: -2}, tone.Power{Gamma: nan},
		tone.HLG{WhiteCdM2: 100, BlackCdM2: 200}, tone.HLG{WhiteCdM2: -5}, tone.HLG{WhiteCdM2: nan}, tone.HLG{SystemGamma: nan}, tone.HLG{BlackCdM2: -1},
		tone.BT1886{BlackCdM2: 1}, tone.BT1886{WhiteCdM2: 100, BlackCdM2: nan}, tone.BT1886{WhiteCdM2: 100, BlackCdM2: -1}, tone.BT1886{WhiteCdM2: 1, BlackCdM2: 2},
		tone.PQ{PeakCdM2: -1}, tone.PQ{PeakCdM2: nan}, tone.PQ{PeakCdM2: 1e9},
	} {
		for _, v := range []float64{c.Light(0.5), c.Signal(0.5), c.Slope(0.5)} {
			if v == v {
				t.Errorf("%#v answers %g", c, v)
			}
		}
	}
}
