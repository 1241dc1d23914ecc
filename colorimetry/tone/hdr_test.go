package tone_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/tone"
)

// testdata/pq.csv names its source; twelve digits are printed, codes to ten.
func TestPQAgainstStandard(t *testing.T) {
	rows := worked.Read(t, "pq.csv")
	if len(rows) != 60 {
		t.Fatalf("%d rows, want 60", len(rows))
	}
	for i, row := range rows {
		cdM2, signal := row.Num(t, "luminance_cd_m2"), row.Num(t, "signal_N")
		if row["direction"] == "EOTF" {
			want := row.Num(t, "luminance_out")
			if got := tone.PQLuminance(signal); math.Abs(got-want) > 1e-11*want {
				t.Errorf("row %d: %.13g cd/m², want %.13g", i+1, got, want)
			}
			if got := 10000 * (tone.PQ{}).Light(signal); math.Abs(got-want) > 1e-11*want {
				t.Errorf("row %d: PQ{} gives %.13g cd/m², want %.13g", i+1, got, want)
			}
			continue
		}
		got := tone.PQSignal(cdM2)
		if math.Abs(got-signal) > 1e-11*signal {
			t.Errorf("row %d: signal %.13g, want %.13g", i+1, got, signal)
		}
		if code := got * 1023; math.Abs(code-row.Num(t, "code10_full_range")) > 1e-9*math.Max(1, code) {
			t.Errorf("row %d: code %.12g, want %s", i+1, code, row["code10_full_range"])
		}
		if code := 64 + 876*got; math.Abs(code-row.Num(t, "code10_narrow_range")) > 1e-9*code {
			t.Errorf("row %d: code %.12g, want %s", i+1, code, row["code10_narrow_range"])
		}
		if got := (tone.PQ{}).Signal(cdM2 / 10000); math.Abs(got-signal) > 1e-11*signal {
			t.Errorf("row %d: PQ{} gives signal %.13g, want %.13g", i+1, got, signal)
		}
	}
}

// testdata/hlg.csv names its sources.
func TestHLGAgainstStandard(t *testing.T) {
	camera := tone.HLGCamera{}
	seen := map[string]int{}
	for i, row := range worked.Read(t, "hlg.csv") {
		name, in, want := row["function"], row.Num(t, "input"), row.Num(t, "output")
		var got float64
		switch name {
		case "HLG_OETF":
			got = camera.Signal(in)
		case "HLG_inverse_OETF":
			got = camera.Light(in)
		case "HLG_system_gamma":
			got = tone.HLGGammaBT2100(in)
		case "HLG_system_gamma_extended":
			got = tone.HLGGammaExtended(in)
		default:
			var white, black, gamma, beta float64
			if _, err := fmt.Sscanf(row["parameters"], "Lw=%g Lb=%g gamma=%g beta=%g", &white, &black, &gamma, &beta); err != nil {
				t.Fatal(err)
			}
			// The rows use BT.2100's formula outside its range, too.
			got = white * tone.HLG{WhiteCdM2: white, BlackCdM2: black, SystemGamma: tone.HLGGammaBT2100(white)}.Light(in)
		}
		if math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("row %d, %s %s of %g: got %.13g, want %.13g", i+1, name, row["parameters"], in, got, want)
		}
		seen[name]++
	}
	if len(seen) != 5 || seen["HLG_EOTF_grey_BT2100-2"] != 90 {
		t.Errorf("functions checked: %v", seen)
	}
}

// testdata/levels.csv: levels of Report ITU-R BT.2408, ITU-R BT.2100 and
// ISO 26431-1, to the tolerance that is quoted with them.
func TestPublishedLevels(t *testing.T) {
	rows := worked.Read(t, "levels.csv")
	checks := []struct {
		column   string // the one that got is held against
		got, tol float64
	}{
		{"matching_value", 100 * tone.PQSignal(203), 0.5},
		{"matching_value", 100 * tone.HLG{}.Signal(203.0/1000), 0.5},
		{"matching_value", 100 * tone.HLGCamera{}.Light(0.75), 0.05},
		{"value", tone.PQLuminance(1), 0},
		{"matching_value", tone.HLGGamma(1000, 0), 0},
		{"value", 14 * 3.4262591, 0.05}, // fL to cd/m²: 10.7639104/π
	}
	if len(rows) != len(checks) {
		t.Fatalf("%d rows, want %d", len(rows), len(checks))
	}
	for i, k := range checks {
		if want := rows[i].Num(t, k.column); math.Abs(k.got-want) > k.tol {
			t.Errorf("%s: %g, want %g", rows[i]["quantity"], k.got, want)
		}
	}
}

// Greys through the display of colours are the grey curve; colours come back.
func TestHLGDisplay(t *testing.T) {
	for _, c := range []tone.HLG{{}, {WhiteCdM2: 600, BlackCdM2: 0.01}, {WhiteCdM2: 3000}, {WhiteCdM2: 100}} {
		white := c.WhiteCdM2
		if white == 0 {
			white = 1000
		}
		for s := 0.0; s <= 1; s += 1.0 / 32 {
			got, want := c.Display(colorimetry.Gray(s)), white*c.Light(s)
			if math.Abs(got.R-want) > 1e-12*white || got.R != got.G || got.R != got.B {
				t.Errorf("%s: grey %g shows %v, want %g", c, s, got, want)
			}
		}
		for _, s := range []colorimetry.RGB{{R: 1}, {R: 0.2, G: 0.9, B: 0.4}, {R: 0.01, G: 0.02, B: 0.7}, {}, {R: 1, G: 1, B: 1}} {
			back := c.Encode(c.Display(s))
			if math.Abs(back.R-s.R) > 1e-12 || math.Abs(back.G-s.G) > 1e-12 || math.Abs(back.B-s.B) > 1e-12 {
				t.Errorf("%s: %v comes back as %v", c, s, back)
			}
		}
	}
}

func TestHLGGammaRanges(t *testing.T) {
	// BT.2390's term for the surround, from memory: 0.98 for each doubling of
	// 5 cd/m².
	if got, want := tone.HLGGamma(1000, 20), 1.2*0.98*0.98; math.Abs(got-want) > 1e-15 {
		t.Errorf("surround of 20 cd/m²: %g, want %g", got, want)
	}
	if a, b := tone.HLGGamma(400, 0), tone.HLGGammaBT2100(400); a != b {
		t.Errorf("400 cd/m²: %g, want %g", a, b)
	}
	if a, b := tone.HLGGamma(399, 0), tone.HLGGammaExtended(399); a != b {
		t.Errorf("399 cd/m²: %g, want %g", a, b)
	}
	if d := math.Abs(tone.HLGGammaExtended(400) - tone.HLGGammaBT2100(400)); math.Abs(d-0.011) > 5e-4 {
		t.Errorf("at 400 cd/m² the formulas differ by %g, the comment says 0.011", d)
	}
	if d := math.Abs(tone.HLGGammaExtended(2000) - tone.HLGGammaBT2100(2000)); math.Abs(d-0.007) > 5e-4 {
		t.Errorf("at 2,000 cd/m² the formulas differ by %g, the comment says 0.007", d)
	}
	for _, bad := range [][2]float64{{0, 0}, {-1, 5}, {math.NaN(), 5}, {1000, -1}, {1000, math.NaN()}, {math.Inf(1), 5}} {
		if got := tone.HLGGamma(bad[0], bad[1]); !math.IsNaN(got) {
			t.Errorf("HLGGamma(%g, %g) is %g, want NaN", bad[0], bad[1], got)
		}
	}
}
