package simulate_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// spectraTable returns a plausible table of spectra: three bells, invented,
// about 160 cd/m² together.
func spectraTable() string {
	var b strings.Builder
	b.WriteString("# invented\nwavelength_nm,R,G,B\n")
	bell := func(nm, at, width float64) float64 { return 0.004 * math.Exp(-(nm-at)*(nm-at)/(2*width*width)) }
	for nm := 380.0; nm <= 780; nm += 5 {
		fmt.Fprintf(&b, "%g,%.9f,%.9f,%.9f\n", nm, bell(nm, 620, 15), bell(nm, 530, 20), bell(nm, 455, 12))
	}
	return b.String()
}

// tonesTable returns a table of tones with n levels, light in per cent.
func tonesTable(n int, light func(signal float64) float64) string {
	var b strings.Builder
	b.WriteString("input_level,R,G,B\n")
	for i := range n {
		v := 100 * light(float64(i)/float64(n-1))
		fmt.Fprintf(&b, "%d,%.7f,%.7f,%.7f\n", i, v, v, v)
	}
	return b.String()
}

func power(s float64) float64 { return math.Pow(s, 2.2) }

func spec(t *testing.T, spectra, tones string) simulate.Spec {
	t.Helper()
	s, err := simulate.ReadSpec(strings.NewReader(spectra), strings.NewReader(tones), "bench display")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestReadSpec: tables of other depths and units, columns in another order,
// more columns, comments, a byte order mark and Windows line ends.
func TestReadSpec(t *testing.T) {
	const steps = 63 // a multiple of which every depth below has as its top
	for _, n := range []int{64, 256, 1024, 4096} {
		s := spec(t, spectraTable(), tonesTable(n, power))
		for c := range s.Tones {
			for i := range steps + 1 {
				v := float64(i) / steps
				// Seven decimals of a per cent are printed, and the cubic between
				// 64 levels is within 1e-4 of the power law.
				if got := s.Tones[c].Light(v); math.Abs(got-power(v)) > 1e-4 {
					t.Errorf("%d levels, channel %d: light %g at %g, want %g", n, c, got, v, power(v))
				}
			}
		}
	}
	// Four columns turned about, one more, in one case each.
	text := "\ufeff# a comment\r\nBLUE,note,level,green, red\r\n0,a,0,0,0\r\n10,b,128,20,30\r\n50,c,256,60,80\r\n"
	s := spec(t, spectraTable(), text)
	for c, want := range []float64{30.0 / 80, 20.0 / 60, 10.0 / 50} {
		if got := s.Tones[c].Light(0.5); math.Abs(got-want) > 1e-12 {
			t.Errorf("channel %d: %g at half signal, want %g", c, got, want)
		}
	}
	d, err := simulate.New(s, simulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := d.Screen().Name; got != "bench display" {
		t.Errorf("the display is called %q", got)
	}
	if w := d.Truth(colorimetry.Gray(1)).Y; w < 100 || w > 300 {
		t.Errorf("white of %g cd/m²", w)
	}
}

// TestFilledTables: where a table was filled by straight lines between few
// levels, whatever their number, depth and place, they are found; where it was
// not, all rows count.
func TestFilledTables(t *testing.T) {
	filled := func(levels ...float64) func(float64) float64 {
		return func(s float64) float64 {
			for i := 1; i < len(levels); i++ {
				if s <= levels[i] {
					a, b := levels[i-1], levels[i]
					return power(a) + (s-a)/(b-a)*(power(b)-power(a))
				}
			}
			return 1
		}
	}
	for _, tc := range []struct {
		name string
		n    int
		at   []float64
	}{
		{"five of 256, on rows", 256, []float64{0, 51.0 / 255, 102.0 / 255, 204.0 / 255, 1}},
		{"eight of 256, between rows", 256, []float64{0, 1.0 / 7, 2.0 / 7, 3.0 / 7, 4.0 / 7, 5.0 / 7, 6.0 / 7, 1}},
		{"17 of 1024, between rows", 1024, sixteenths()},
		{"two", 256, []float64{0, 1}},
	} {
		s := spec(t, spectraTable(), tonesTable(tc.n, filled(tc.at...)))
		signal, light := s.Tones[1].(tone.Sampled).Points()
		if len(signal) != len(tc.at) {
			t.Errorf("%s: %d levels found, want %d", tc.name, len(signal), len(tc.at))
			continue
		}
		for i, want := range tc.at {
			if math.Abs(signal[i]-want) > 1e-5 || math.Abs(light[i]-power(want)) > 1e-5 {
				t.Errorf("%s: level %d at %.6f, %.6f; want %.6f, %.6f", tc.name, i, signal[i], light[i], want, power(want))
			}
		}
		if note := s.Notes[1]; !strings.Contains(note, fmt.Sprintf("green: tone is a monotone curve through the %d levels", len(tc.at))) {
			t.Errorf("%s: the note says %q", tc.name, note)
		}
	}
	for _, n := range []int{5, 17, 256, 1024} {
		s := spec(t, spectraTable(), tonesTable(n, power))
		signal, _ := s.Tones[0].(tone.Sampled).Points()
		if len(signal) != n || !strings.Contains(s.Notes[0], fmt.Sprintf("all %d rows", n)) {
			t.Errorf("a smooth table of %d rows: %d levels, note %q", n, len(signal), s.Notes[0])
		}
	}
}

func sixteenths() (v []float64) {
	for i := range 17 {
		v = append(v, float64(i)/16)
	}
	return v
}

// TestSmallFalls: falls that reading noise explains are levelled by the mean,
// and said.
func TestSmallFalls(t *testing.T) {
	s := spec(t, spectraTable(), "level,R,G,B\n0,0,0,0\n64,0.0503,0.05,0.05\n128,0.0500,0.2,0.2\n192,0.5,0.5,0.5\n255,1,1,1\n")
	if !strings.Contains(strings.Join(s.Notes, "\n"), "red: 2 rows that fell by at most 0.002 of full light were levelled") {
		t.Errorf("notes %q", s.Notes)
	}
	for _, l := range []float64{64, 96, 128} {
		if got := s.Tones[0].Light(l / 255); math.Abs(got-0.05015) > 1e-12 {
			t.Errorf("light %g at level %g, want 0.05015", got, l)
		}
	}
}

// TestBadTables: one sentence each that names file, line and remedy.
func TestBadTables(t *testing.T) {
	goodSpectra, goodTones := spectraTable(), tonesTable(256, power)
	row := func(text string, line int, with string) string {
		lines := strings.Split(text, "\n")
		lines[line-1] = with
		return strings.Join(lines, "\n")
	}
	scaled := strings.ReplaceAll(goodSpectra, "0.00", "0.90")
	for _, tc := range []struct {
		name, spectra, tones string
		file                 string
		line                 int
		says                 string
	}{
		{"empty", "", goodTones, "spectra", 0, "empty"},
		{"blank", goodSpectra, " \n\n", "tones", 0, "empty"},
		{"comments only", goodSpectra, "# a\n# b\n", "tones", 0, "0 rows"},
		{"head only", "wavelength_nm,R,G,B\n", goodTones, "spectra", 0, "0 rows"},
		{"one row", goodSpectra, "level,R,G,B\n0,0,0,0\n", "tones", 0, "1 rows"},
		{"binary", goodSpectra, "\x89PNG\r\n\x00\x00", "tones", 0, "not text"},
		{"not UTF-8", "wavelength_nm,R,G,B\xff\n", goodTones, "spectra", 0, "not text"},
		{"too large", goodSpectra, strings.Repeat("#", 9<<20), "tones", 0, "larger than 8 MiB"},
		{"too many rows", goodSpectra, "level,R,G,B\n" + strings.Join(manyRows(), "\n"), "tones", 65538, "more than 65536 rows"},
		{"no head", goodSpectra, "0,0,0,0\n255,1,1,1\n", "tones", 1, "no column input_level"},
		{"no blue", row(goodSpectra, 2, "wavelength_nm,R,G"), goodTones, "spectra", 2, "no column B"},
		{"semicolons", goodSpectra, strings.ReplaceAll(goodTones, ",", ";"), "tones", 1, "no column input_level"},
		{"short row", goodSpectra, row(goodTones, 100, "98,5,5"), "tones", 100, "before column B"},
		{"word", goodSpectra, row(goodTones, 100, "98,5,x,5"), "tones", 100, `"x" in column G is no number`},
		{"NaN", row(goodSpectra, 9, "410,NaN,0,0"), goodTones, "spectra", 9, "not finite"},
		{"infinite", goodSpectra, row(goodTones, 100, "98,5,5,inf"), "tones", 100, "not finite"},
		{"too great", goodSpectra, row(goodTones, 100, "98,5,5,1e999"), "tones", 100, "no number"},
		{"quote", goodSpectra, row(goodTones, 100, `98,5,"5,5`), "tones", 0, "not CSV"},
		{"same level twice", goodSpectra, row(goodTones, 100, "97,13,13,13"), "tones", 100, "97 is not above the 97"},
		{"wavelengths fall", row(goodSpectra, 9, "400,0,0,0"), goodTones, "spectra", 9, "not above"},
		{"starts at 16", goodSpectra, "level,R,G,B\n16,0,0,0\n235,1,1,1\n", "tones", 2, "the first level is 16"},
		{"dark at the end", goodSpectra, "level,R,G,B\n0,0,0,0\n255,1,0,1\n", "tones", 3, "green is 0 at the last level"},
		{"negative light", goodSpectra, row(goodTones, 3, "1,0.1,-0.1,0.1"), "tones", 3, "the light of green is -0.1"},
		{"falls", goodSpectra, row(goodTones, 200, "198,10,57.3,57.3"), "tones", 200, "the light of red falls from"},
		{"upside down", goodSpectra, "level,R,G,B\n0,9,9,9\n255,10,10,10\n", "tones", 2, "0.9 of its full light at level 0"},
		{"negative radiance", row(goodSpectra, 9, "410,-0.001,0,0"), goodTones, "spectra", 9, "1 % of its peak below 0"},
		{"dark primary", strings.ReplaceAll(goodSpectra, "wavelength_nm,R", "wavelength_nm,X,R"), goodTones, "spectra", 3, "before column B"},
		{"in mW", scaled, goodTones, "spectra", 0, "which no display does"},
		{"in µm", "wavelength_nm,R,G,B\n0.38,0,0,0\n0.78,1,1,1\n", goodTones, "spectra", 2, "run from 0.38 to 0.78 nm"},
		{"coarse", "wavelength_nm,R,G,B\n380,0,0,0\n400,1,1,1\n780,0,0,0\n", goodTones, "spectra", 3, "a step of 20 nm"},
		{"half the range", strings.Join(strings.Split(goodSpectra, "\n")[:40], "\n"), goodTones, "spectra", 3, "run from 380 to 565 nm"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := simulate.ReadSpec(named{strings.NewReader(tc.spectra), "spectra"}, named{strings.NewReader(tc.tones), "tones"}, "x")
			var bad *chart.InputError
			if !errors.As(err, &bad) {
				t.Fatalf("error %v, want one of the table", err)
			}
			if bad.File != tc.file || tc.line != 0 && bad.Line != tc.line || !strings.Contains(bad.Problem, tc.says) || bad.Remedy == "" {
				t.Errorf("%+v; want %s, line %d, %q and a remedy", *bad, tc.file, tc.line, tc.says)
			}
			if text := err.Error(); strings.Contains(text, "\n") || len(text) > 300 {
				t.Errorf("not one clear sentence: %q", text)
			}
		})
	}
}

func manyRows() (rows []string) {
	for i := range 65537 {
		rows = append(rows, fmt.Sprintf("%d,%d,%d,%d", i, i, i, i))
	}
	return rows
}

type named struct {
	*strings.Reader
	name string
}

func (n named) Name() string { return n.name }

// TestNamesFile: an open file is named by its path, and a reader that fails is
// not taken for a bad table.
func TestNamesFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mine.csv")
	if err := os.WriteFile(path, []byte("a,b\n1,2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	_, err = simulate.ReadSpec(f, strings.NewReader(""), "x")
	var bad *chart.InputError
	if !errors.As(err, &bad) || bad.File != path {
		t.Errorf("error %v does not name %s", err, path)
	}
	_, err = simulate.ReadSpec(broken{}, strings.NewReader(""), "x")
	if errors.As(err, &bad) || !errors.Is(err, errBroken) {
		t.Errorf("a failing reader gives %v", err)
	}
	if _, err := simulate.ReadSpec(strings.NewReader(spectraTable()), strings.NewReader(tonesTable(9, power)), ""); err == nil {
		t.Error("a display without a name was accepted")
	}
}

var errBroken = errors.New("the disk is gone")

type broken struct{}

func (broken) Read([]byte) (int, error) { return 0, errBroken }

// FuzzReadSpec: whatever the tables hold, the answer is an error or a display
// whose light is finite, never negative beyond noise and never falls.
func FuzzReadSpec(f *testing.F) {
	f.Add(spectraTable(), tonesTable(9, power))
	f.Add(spectraTable(), "level,R,G,B\n0,1,0,0.1\n64,0.0503,0.05,0.05\n128,0.0500,0.2,0.2\n255,1,1,1\n")
	f.Add("wavelength_nm,R,G,B\n400,0,0,1\n405,0,1,0\n", "level,R,G,B\n0,0,0,0\n1,1,1,1\n")
	f.Fuzz(func(t *testing.T, spectra, tones string) {
		s, err := simulate.ReadSpec(strings.NewReader(spectra), strings.NewReader(tones), "fuzz")
		if err != nil {
			var bad *chart.InputError
			if !errors.As(err, &bad) || bad.Problem == "" || bad.Remedy == "" {
				t.Fatalf("error %v", err)
			}
			return
		}
		d, err := simulate.New(s, simulate.Options{})
		if err != nil {
			t.Fatalf("read, but not usable: %v", err)
		}
		before := -1.0
		for i := range 65 {
			c := d.Truth(colorimetry.Gray(float64(i) / 64))
			if !c.Finite() || c.Y < before-1e-9 {
				t.Fatalf("grey %d/64 is %v after Y = %g", i, c, before)
			}
			before = c.Y
		}
		if err := d.Show(context.Background(), colorimetry.Gray(1)); err != nil {
			t.Fatal(err)
		}
		if c := read(t, d.Colorimeter(), 0, 0).XYZ; !c.Finite() {
			t.Fatalf("white reads %v", c)
		}
	})
}
