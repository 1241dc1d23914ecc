package aim_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
)

// Lambert's law; the check values are the project's design notes'.
func TestPaperLuminance(t *testing.T) {
	for _, c := range []struct{ reflectance, lux, want, tol float64 }{
		{0.85, 500, 135, 0.5}, {0.85, 2000, 541, 0.5}, {1, math.Pi, 1, 1e-12},
	} {
		if got, err := aim.PaperLuminance(c.reflectance, c.lux); err != nil || math.Abs(got-c.want) > c.tol {
			t.Errorf("%g under %g lx: %g cd/m² (%v), not %g", c.reflectance, c.lux, got, err, c.want)
		}
	}
	for _, c := range [][2]float64{{0, 500}, {1.1, 500}, {math.NaN(), 500}, {0.8, 0}, {0.8, math.NaN()}, {0.8, 1e6}, {-1, 1}} {
		if got, err := aim.PaperLuminance(c[0], c[1]); err == nil {
			t.Errorf("%v: %g", c, got)
		}
	}
}

func TestParsePrint(t *testing.T) {
	for s, want := range map[string]aim.Print{
		"paper 0.85 in 500 lx":           {Reflectance: 0.85, Lux: 500},
		" Paper at 130 cd/m2":            {PaperCdM2: 130},
		"paper at 130.5 cd/m² in 480 lx": {PaperCdM2: 130.5, Lux: 480},
	} {
		got, err := aim.ParsePrint(s)
		if err != nil || got != want {
			t.Errorf("%q: %+v, %v", s, got, err)
		}
		if again, err := aim.ParsePrint(got.String()); err != nil || again != got {
			t.Errorf("%q reads back as %+v, %v", got, again, err)
		}
	}
	for _, s := range []string{"", "paper", "paper 0.85", "paper 85 in 500 lx", "paper 0.85 in 500", "paper 0.85 in NaN lx", "paper at", "paper at -3 cd/m²", "paper at 1e9 cd/m²", "card 0.85 in 500 lx", "paper 0.85 in 0 lx"} {
		if p, err := aim.ParsePrint(s); err == nil {
			t.Errorf("%q was read as %+v", s, p)
		}
	}
}

// A display of 100 cd/m² beside paper of 541: the honest answer is less light,
// and in that light the paper is as bright as the white.
func TestDimTheLight(t *testing.T) {
	black := colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.1}
	for _, c := range []struct {
		name string
		p    aim.Print
		lux  float64 // of the answer, by Lambert's law from what the display has
	}{
		{"critical comparison", aim.Print{Reflectance: 0.85, Lux: 2000}, 0},
		{"as read", aim.Print{PaperCdM2: 541, Lux: 2000}, 0},
		{"as read, lux unknown", aim.Print{PaperCdM2: 541}, 0},
	} {
		a, err := (aim.Aim{White: mustWhite(t, "D50")}).ForPrints(c.p)
		if err != nil {
			t.Fatal(err)
		}
		r, err := aim.Reach(a, srgbPrimaries(), black)
		if err != nil {
			t.Fatal(err)
		}
		if r.OK || !strings.Contains(r.Sentence, "dim the light on the prints to ") {
			t.Errorf("%s: %s", c.name, r.Sentence)
		}
		want := 2000 * r.Nearest.Luminance / a.Luminance
		if y, err := r.PrintLight.Luminance(); err != nil || math.Abs(y-r.Nearest.Luminance) > 1e-9 {
			t.Errorf("%s: in the light proposed the paper has %g cd/m², the white %g", c.name, y, r.Nearest.Luminance)
		}
		if c.p.Lux > 0 && math.Abs(r.PrintLight.Lux-want) > 1e-9 {
			t.Errorf("%s: %g lx, not %g", c.name, r.PrintLight.Lux, want)
		}
		if c.p.Lux == 0 && !strings.Contains(r.Sentence, "% of what there is") {
			t.Errorf("%s: %s", c.name, r.Sentence)
		}
		// Whoever does as told is told no more.
		again, err := r.Nearest.ForPrints(r.PrintLight)
		if err != nil {
			t.Fatal(err)
		}
		if r, err = aim.Reach(again, srgbPrimaries(), black); err != nil || !r.OK || strings.Contains(r.Sentence, "light on the prints") {
			t.Errorf("%s: after dimming: %s (%v)", c.name, r.Sentence, err)
		}
	}
	// A white brighter than the paper asks for more light; a luminance given
	// by itself takes the paper out.
	a, err := (aim.Aim{}).ForPrints(aim.Print{Reflectance: 0.85, Lux: 100})
	if err != nil {
		t.Fatal(err)
	}
	a.Luminance = 80
	r, err := aim.Reach(a, srgbPrimaries(), black)
	if err != nil || !r.OK || !strings.Contains(r.Sentence, "give the prints") {
		t.Errorf("a white brighter than the paper: %s (%v)", r.Sentence, err)
	}
	if a, err = a.With(aim.Words{Luminance: "90"}); err != nil || a.Print != (aim.Print{}) {
		t.Errorf("the paper stays: %+v, %v", a, err)
	}
	if a, err = a.With(aim.Words{Luminance: "paper 0.85 in 300 lx"}); err != nil || math.Abs(a.Luminance-81.2) > 0.05 || a.Print.Lux != 300 {
		t.Errorf("paper in words: %+v, %v", a, err)
	}
	for _, p := range []aim.Print{{}, {Reflectance: 0.8}, {PaperCdM2: 100, Reflectance: 0.8}, {PaperCdM2: 100, Lux: -1}, {PaperCdM2: math.NaN()}} {
		if a, err := (aim.Aim{}).ForPrints(p); err == nil {
			t.Errorf("%+v: %+v", p, a)
		}
	}
}

func TestAmbientWords(t *testing.T) {
	for s, want := range map[string]aim.Ambient{
		"0.4": aim.MeasuredAmbient(0.4), "0": aim.MeasuredAmbient(0), " 0.4 Measured ": aim.MeasuredAmbient(0.4),
		"1.5 estimated": {Source: aim.AmbientEstimated, CdM2: 1.5}, "unknown": {},
	} {
		got, err := aim.ParseAmbient(s)
		if err != nil || got != want {
			t.Errorf("%q: %v, %v", s, got, err)
		}
		if again, err := aim.ParseAmbient(got.String()); err != nil || again != got {
			t.Errorf("%v reads back as %v, %v", got, again, err)
		}
	}
	for _, s := range []string{"", "dark", "-1", "NaN", "1000", "estimated", "1 lx"} {
		if a, err := aim.ParseAmbient(s); err == nil {
			t.Errorf("%q was read as %v", s, a)
		}
	}
	// Lambert: 5 % under 64 lx.
	if a, err := aim.EstimateAmbient(0.05, 64); err != nil || math.Abs(a.CdM2-0.05*64/math.Pi) > 1e-12 || a.Source != aim.AmbientEstimated {
		t.Errorf("estimated: %+v, %v", a, err)
	}
}
