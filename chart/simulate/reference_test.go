package simulate_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// embedded lists the displays with what an earlier evaluation of the same
// measurements, independent of this code, found for them: the sum over the
// 4 nm rows times the 1931 functions at those wavelengths.
var embedded = []struct {
	panel    simulate.Panel
	file     string
	x, y, lm [4]float64 // red, green, blue, white; luminance in cd/m²
	digits   float64    // half a unit of the last digit printed for x and y
}{
	{simulate.WideGamutLCD, "wide_gamut_lcd", [4]float64{0.6913, 0.2021, 0.1490, 0.3184}, [4]float64{0.2985, 0.7172, 0.0505, 0.3286}, [4]float64{58.7, 156.3, 14.3, 229.3}, 5e-5},
	{simulate.CRT, "crt", [4]float64{0.6275, 0.2864, 0.1515, 0.2980}, [4]float64{0.3314, 0.6041, 0.0742, 0.3199}, [4]float64{21.1, 68.7, 10.0, 99.8}, 5e-5},
	{simulate.ReferenceOLED, "reference_oled", [4]float64{0.670, 0.206, 0.143, 0.3086}, [4]float64{0.329, 0.694, 0.056, 0.3228}, [4]float64{0, 0, 0, 157.1}, 5e-4},
}

func primarySignals() [4]colorimetry.RGB {
	return [4]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1, B: 1}}
}

// TestEmbeddedSpectra holds the embedded figures against the evaluation above
// in its own way of summing, to the digits it printed.
func TestEmbeddedSpectra(t *testing.T) {
	cie := spectrum.CIE1931()
	for _, e := range embedded {
		var sum colorimetry.XYZ
		for c, p := range e.panel.Spec().Primaries {
			nm, v := p.Samples()
			if len(nm) != 101 || nm[0] != 380 || nm[100] != 780 {
				t.Fatalf("%v: %d rows from %g to %g nm; want 101, 380 to 780", e.panel, len(nm), nm[0], nm[len(nm)-1])
			}
			var xyz colorimetry.XYZ
			for i, w := range nm {
				k := 683 * 4 * v[i]
				xyz = xyz.Add(colorimetry.XYZ{X: k * cie.XBar.At(w), Y: k * cie.YBar.At(w), Z: k * cie.ZBar.At(w)})
			}
			sum = sum.Add(xyz)
			compare(t, e.panel.String(), c, xyz, e.x[c], e.y[c], e.lm[c], e.digits, 0.05)
		}
		compare(t, e.panel.String(), 3, sum, e.x[3], e.y[3], e.lm[3], 5e-5, 0.05)
	}
}

// TestTruthOfEmbedded: the displays show what was measured. The library takes
// the spectra along straight lines at 1 nm instead of summing rows of 4 nm.
// For these spectra the two differ by up to 0.0006 in x and y of a primary,
// 0.0002 of white, 0.15 % of luminance; the OLED's were printed to 3 digits.
func TestTruthOfEmbedded(t *testing.T) {
	for _, e := range embedded {
		d := simulate.Measured(e.panel, simulate.Options{})
		black := d.Truth(colorimetry.RGB{})
		for c, signal := range primarySignals() {
			xyz := d.Truth(signal)
			if c < 3 {
				// The other channels' leak is not part of the primary.
				var own colorimetry.XYZ
				leak := d.Spec().Tones[c].Light(0)
				own = xyz.Sub(black).Scale(1 / (1 - leak))
				xyz = own
			}
			tol := 0.0006 + e.digits
			if c == 3 {
				tol = 0.00025
			}
			compare(t, e.panel.String(), c, xyz, e.x[c], e.y[c], e.lm[c], tol, 0.05+0.0015*e.lm[c])
		}
	}
}

func compare(t *testing.T, name string, c int, got colorimetry.XYZ, x, y, cdM2, tolXY, tolY float64) {
	t.Helper()
	p := got.Chromaticity()
	if math.Abs(p.X-x) > tolXY || math.Abs(p.Y-y) > tolXY {
		t.Errorf("%s, colour %d: x %.5f y %.5f, want %.4f %.4f ± %g", name, c, p.X, p.Y, x, y, tolXY)
	}
	if cdM2 != 0 && math.Abs(got.Y-cdM2) > tolY {
		t.Errorf("%s, colour %d: %.3f cd/m², want %.1f ± %.2f", name, c, got.Y, cdM2, tolY)
	}
}

// TestD65Range: the same evaluation found that the OLED gives at most 156
// cd/m² at D65, and that the LCD, whose blue leaks, makes no D65 grey below
// about 20 % signal (a tone of 2.2 is taken for that figure here).
func TestD65Range(t *testing.T) {
	rangeOf := func(p simulate.Panel) (least, most float64) {
		d := simulate.Measured(p, simulate.Options{})
		black := d.Truth(colorimetry.RGB{})
		var light [3]colorimetry.XYZ
		var leak [3]float64
		signals := primarySignals()
		for c, signal := range signals[:3] {
			leak[c] = d.Spec().Tones[c].Light(0)
			light[c] = d.Truth(signal).Sub(black).Scale(1 / (1 - leak[c]))
		}
		inverse, err := colorimetry.Columns(light[0], light[1], light[2]).Inverse()
		if err != nil {
			t.Fatal(err)
		}
		per := inverse.ToLinear(colorimetry.D65()) // amounts for 1 cd/m²
		least = math.Max(leak[0]/per.R, math.Max(leak[1]/per.G, leak[2]/per.B))
		return least, 1 / per.Max()
	}
	if _, most := rangeOf(simulate.ReferenceOLED); math.Abs(most-156) > 0.5 {
		t.Errorf("the OLED gives at most %.2f cd/m² at D65, want 156", most)
	}
	least, most := rangeOf(simulate.WideGamutLCD)
	if signal := math.Pow(least/most, 1/2.2); math.Abs(signal-0.20) > 0.02 {
		t.Errorf("the LCD's D65 greys begin at signal %.3f, want about 0.20", signal)
	}
}

// TestMeasuredLevels: the tables of the LCD and the CRT run straight between 5
// and 10 measured levels, as an inspection of the published tables found; the
// CRT's lie at ninths of 255, between its rows. The OLED's table is smooth and
// is taken row by row.
func TestMeasuredLevels(t *testing.T) {
	for _, tc := range []struct {
		panel  simulate.Panel
		levels [3][]float64
		top    float64
	}{
		{simulate.WideGamutLCD, [3][]float64{{0, 63, 127, 191, 255}, {0, 63, 127, 191, 255}, {0, 63, 127, 191, 255}}, 255},
		// Red and green are dark at the first ninth, blue at the first two:
		// there the table is one straight line, so that blue's first ninth
		// cannot be told from it.
		{simulate.CRT, [3][]float64{ninths(0, 1, 2, 3, 4, 5, 6, 7, 8, 9), ninths(0, 1, 2, 3, 4, 5, 6, 7, 8, 9), ninths(0, 2, 3, 4, 5, 6, 7, 8, 9)}, 255},
	} {
		for c, curve := range tc.panel.Spec().Tones {
			signal, _ := curve.(tone.Sampled).Points()
			if len(signal) != len(tc.levels[c]) {
				t.Errorf("%v, channel %d: %d levels, want %d", tc.panel, c, len(signal), len(tc.levels[c]))
				continue
			}
			for i, want := range tc.levels[c] {
				if got := signal[i] * tc.top; math.Abs(got-want) > 0.001 {
					t.Errorf("%v, channel %d: level %d is %.4f, want %.4f", tc.panel, c, i, got, want)
				}
			}
		}
	}
	signal, _ := simulate.ReferenceOLED.Spec().Tones[0].(tone.Sampled).Points()
	if len(signal) != 1024 {
		t.Errorf("OLED: %d levels, want all 1024 rows", len(signal))
	}
}

func ninths(k ...float64) []float64 {
	for i := range k {
		k[i] *= 255.0 / 9
	}
	return k
}

// TestTonePassesTable: at measured levels that are rows, the tones give the
// published rows; nowhere are they far from the table, and they never fall.
func TestTonePassesTable(t *testing.T) {
	for _, e := range embedded {
		levels, rows := readTable(t, "data/"+e.file+"_tones.csv")
		top := levels[len(levels)-1]
		for c, curve := range e.panel.Spec().Tones {
			signal, light := curve.(tone.Sampled).Points()
			knot := map[float64]bool{}
			bend := 0.0 // largest change between neighbouring chords
			for i, s := range signal {
				knot[math.Round(s*top*1e6)/1e6] = true
				if i > 1 {
					bend = math.Max(bend, math.Abs(light[i]-2*light[i-1]+light[i-2]))
				}
			}
			before, worst := -1.0, 0.0
			for i, l := range levels {
				got := curve.Light(l / top)
				if got < before {
					t.Errorf("%v, channel %d falls at level %g", e.panel, c, l)
				}
				before = got
				off := math.Abs(got - rows[i][c])
				if knot[l] && off > 1e-6 {
					t.Errorf("%v, channel %d, level %g: %.9g, the table has %.9g", e.panel, c, l, got, rows[i][c])
				}
				worst = math.Max(worst, off)
			}
			// In the middle of a piece a cubic lies an eighth of the difference
			// of its two end slopes (per piece) off the chord; the slopes lie
			// between those of the chords beside them, at the end of the curve
			// half a bend beyond.
			if worst > 1.5*bend/8+1e-6 {
				t.Errorf("%v, channel %d: %.4f from the table's straight lines", e.panel, c, worst)
			}
			t.Logf("%v, channel %d: at most %.4f from the straight lines", e.panel, c, worst)
		}
	}
	// The published leak of the LCD.
	for c, want := range []float64{0.008542144, 0.0037210362, 0.033097801} {
		if got := simulate.WideGamutLCD.Spec().Tones[c].Light(0); math.Abs(got-want) > 1e-9 {
			t.Errorf("leak of channel %d is %g, want %g", c, got, want)
		}
	}
}

// readTable reads an embedded table by itself, apart from ReadSpec.
func readTable(t *testing.T, file string) (key []float64, rows [][3]float64) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.Comment = '#'
	all, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all[1:] {
		var v [4]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(r[i], 64); err != nil {
				t.Fatal(err)
			}
		}
		key, rows = append(key, v[0]), append(rows, [3]float64(v[1:]))
	}
	return key, rows
}

// TestSourceStated: every embedded file names its source in its first line.
func TestSourceStated(t *testing.T) {
	files, err := os.ReadDir("data")
	if err != nil || len(files) != 6 {
		t.Fatalf("%d files, %v; want 6", len(files), err)
	}
	for _, f := range files {
		text, err := os.ReadFile("data/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		if first, _, _ := strings.Cut(string(text), "\n"); !strings.HasPrefix(first, "# Source: ISETCAM/isetcam data/displays (MIT)") {
			t.Errorf("%s begins with %q", f.Name(), first)
		}
	}
}
