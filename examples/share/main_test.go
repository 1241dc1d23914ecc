package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
	"example.org/primaries/fit/aim"
	"example.org/primaries/verify/report"
)

func call(args ...string) (out, errs string, status int) { return clitest.Call(run, "", args...) }

// rows returns the values of the table that a call printed, by display and
// column.
func rows(t *testing.T, out string) map[string]map[string]float64 {
	t.Helper()
	all, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil || len(all) < 2 {
		t.Fatalf("%v: %s", err, out)
	}
	by := map[string]map[string]float64{}
	for _, row := range all[1:] {
		by[row[0]] = map[string]float64{}
		for i, column := range all[0][1:] {
			v, err := strconv.ParseFloat(row[1+i], 64)
			if row[1+i] == "yes" {
				v, err = 1, nil
			} else if row[1+i] == "no" {
				v, err = 0, nil
			}
			if err != nil {
				t.Fatal(err)
			}
			by[row[0]][column] = v
		}
	}
	return by
}

// file writes a file into a folder of the test.
func file(t *testing.T, name string, write func(*bytes.Buffer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func described(t *testing.T, s simulate.Spec) string {
	return file(t, "display.json", func(b *bytes.Buffer) error { return s.WriteJSON(b) })
}

// table writes readings of a display's truth, scaled.
func table(t *testing.T, s simulate.Spec, head string, signals ...colorimetry.RGB) string {
	return file(t, "readings.csv", func(b *bytes.Buffer) error {
		d, err := simulate.New(s, simulate.Options{})
		fmt.Fprintf(b, "%sR,G,B,X,Y,Z\n", head)
		for _, c := range signals {
			x := d.Truth(c)
			fmt.Fprintf(b, "%g,%g,%g,%g,%g,%g\n", c.R, c.G, c.B, x.X, x.Y, x.Z)
		}
		return err
	})
}

// saved reads an aim as characterise -aim does.
func saved(t *testing.T, path string) aim.Aim {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	a, err := aim.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// brightest returns the highest luminance that a simulated display truly gives
// at a white: the channels' signals are moved, one of them full, until the colour
// is that.
func brightest(t *testing.T, d *simulate.Display, at colorimetry.Chromaticity) float64 {
	t.Helper()
	k := d.Truth(colorimetry.RGB{})
	m := colorimetry.Columns(d.Truth(colorimetry.RGB{R: 1}).Sub(k), d.Truth(colorimetry.RGB{G: 1}).Sub(k), d.Truth(colorimetry.RGB{B: 1}).Sub(k))
	inverse, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	s := colorimetry.Gray(1)
	for range 200 {
		has := d.Truth(s)
		got, want := inverse.ToLinear(has), inverse.ToLinear(at.XYZ(has.Y))
		s = colorimetry.RGB{R: s.R * math.Pow(want.R/got.R, 0.3), G: s.G * math.Pow(want.G/got.G, 0.3), B: s.B * math.Pow(want.B/got.B, 0.3)}
		most := max(s.R, s.G, s.B)
		s = colorimetry.RGB{R: s.R / most, G: s.G / most, B: s.B / most}
	}
	if off := d.Truth(s).UV().Distance(at.UV()); off > 3e-4 {
		t.Fatalf("the search ends %g from the white", off)
	}
	return d.Truth(s).Y
}

// TestLuminanceIsTrue: what the program says a display has at the white is what
// the display truly has, where channels interact too.
func TestLuminanceIsTrue(t *testing.T) {
	d65 := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	for _, spec := range append([]simulate.Spec{simulate.FourSubpixels.Spec(), simulate.CRT.Spec()}, room...) {
		out, errs, status := call(described(t, spec))
		if status != 0 {
			t.Fatal(errs)
		}
		got := rows(t, out)[spec.Name]["max_cd_m2"]
		d, err := simulate.New(spec, simulate.Options{Bits: 16})
		if err != nil {
			t.Fatal(err)
		}
		want := brightest(t, d, d65)
		t.Logf("%s: %.2f cd/m², %.2f in truth", spec.Name, got, want)
		// Where the channels add up that is exact. A white sub-pixel shines less
		// than in proportion as soon as one channel gives way.
		near := 0.002
		if spec.White.Share > 0 || spec.Supply.Sag > 0 || spec.Coupling != (simulate.Coupling{}) {
			near = 0.025
		}
		if math.Abs(got/want-1) > near {
			t.Errorf("%s: %.2f cd/m², %.2f in truth", spec.Name, got, want)
		}
	}
}

// TestSimulated: a desk of two and a room of ten, read with noise, come near what
// their truth gives, and the aim that is saved is the one that is told.
func TestSimulated(t *testing.T) {
	for _, count := range []int{2, 10} {
		path := filepath.Join(t.TempDir(), "aim.json")
		out, errs, status := call("-simulated", fmt.Sprint(count), "-save-aim", path)
		var files []string
		for _, s := range room[:count] {
			files = append(files, described(t, s))
		}
		truth, other, ok := call(files...)
		if status != 0 || ok != 0 {
			t.Fatalf("%s %s", errs, other)
		}
		got, want := rows(t, out), rows(t, truth)
		least := math.Inf(1)
		for name, row := range want {
			for column, near := range map[string]float64{"max_cd_m2": 0.01 * row["max_cd_m2"], "luminance_share": 0.01, "gamut_share": 0.01, "white_shift_uv": 0.001, "black_cd_m2": 0.01} {
				if math.Abs(got[name][column]-row[column]) > near {
					t.Errorf("%s: %s is %g, in truth %g", name, column, got[name][column], row[column])
				}
			}
			if got[name]["has_aim"] != 1 || row["has_aim"] != 1 {
				t.Errorf("%s cannot have the shared aim", name)
			}
			least = min(least, got[name]["max_cd_m2"])
		}
		a := saved(t, path)
		if len(got) != count || a.White.String() != "D65" || a.Luminance > least || a.Luminance < 0.995*least || !strings.Contains(errs, fmt.Sprintf("%.4g cd/m²", a.Luminance)) {
			t.Errorf("%d displays, the dimmest has %g: %+v: %s", len(got), least, a, errs)
		}
	}
}

// TestKindsAgree: a report, a table and a description of one display say the same.
func TestKindsAgree(t *testing.T) {
	spec := simulate.SmoothLCD.Spec()
	d, err := simulate.New(spec, simulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	written := file(t, "report.json", func(b *bytes.Buffer) error {
		r := report.Report{Greys: []report.Grey{{FoundCdM2: d.Truth(colorimetry.RGB{}).Y}}}
		r.Display.Name = "found"
		for i, name := range []string{"red", "green", "blue", "white"} {
			x := d.Truth(signals[1+i])
			c := x.Chromaticity()
			r.Primaries = append(r.Primaries, report.Primary{Name: name, When: report.AsFound, X: c.X, Y: c.Y, LuminanceCdM2: x.Y},
				report.Primary{Name: name, When: report.WithCurves, X: c.X, Y: c.Y, LuminanceCdM2: x.Y / 2})
		}
		return report.WriteJSON(b, &r)
	})
	out, errs, status := call(written, "read="+table(t, spec, "", signals[:]...), "described="+described(t, spec), "bare="+table(t, spec, "", signals[:4]...))
	if status != 0 {
		t.Fatal(errs)
	}
	by := rows(t, out)
	for _, name := range []string{"read", "described", "bare"} {
		for column, v := range by[name] {
			if math.Abs(v-by["found"][column]) > 2e-3*(1+v) {
				t.Errorf("%s: %s is %g, %g by the report", name, column, v, by["found"][column])
			}
		}
	}
	if strings.Contains(errs, "estimate") {
		t.Errorf("of an additive display: %s", errs)
	}
	if _, errs, status = call("four=" + table(t, simulate.FourSubpixels.Spec(), "", signals[:]...)); status != 0 || !strings.Contains(errs, "four: its channels together give 28 % less light than its white") {
		t.Errorf("status %d: %s", status, errs)
	}
	_, errs, status = call(table(t, spec, "# CURVES_IN_FORCE \"5f810522b20cbca5\"\n", signals[:]...))
	if status != 0 || !strings.Contains(errs, "read through curves") {
		t.Errorf("status %d: %s", status, errs)
	}
}

// TestOptions: what the displays settle by themselves, and what is asked of them.
func TestOptions(t *testing.T) {
	path := filepath.Join(t.TempDir(), "aim.json")
	use := func(want int, args ...string) (aim.Aim, string) {
		t.Helper()
		_, errs, status := call(append(args, "-save-aim", path)...)
		if status != want {
			t.Fatalf("%v: status %d, %s", args, status, errs)
		}
		return saved(t, path), errs
	}
	whole, _ := use(0)
	if a, _ := use(0, "-spare", "10"); math.Abs(a.Luminance/whole.Luminance-0.9) > 0.01 {
		t.Errorf("%g cd/m² with 10 %% to spare of %g", a.Luminance, whole.Luminance)
	}
	// The coupled display leaks 0.19 cd/m².
	if a, errs := use(0, "-black", "shared"); !(a.BlackCdM2 > 0.18 && a.BlackCdM2 < 0.2) || !strings.Contains(errs, "a black of 0.1") {
		t.Errorf("a black of %g cd/m²: %s", a.BlackCdM2, errs)
	}
	if a, errs := use(0, "-white", "native"); a.White.At.UV().Distance(colorimetry.D65().UV()) > 0.004 || a.White.At == whole.White.At || !strings.Contains(errs, "amid") {
		t.Errorf("white %v amid the displays' own: %s", a.White, errs)
	}
	if a, errs := use(1, "-luminance", "300"); a.Luminance > whole.Luminance || !strings.Contains(errs, "not all") {
		t.Errorf("%g cd/m² of 300: %s", a.Luminance, errs)
	}
	if a, _ := use(0, "-from", "srgb", "-luminance", "70"); a.Luminance != 70 || a.Start == "" {
		t.Errorf("%+v", a)
	}
	begun := filepath.Join(t.TempDir(), "begun.json")
	if err := os.Rename(path, begun); err != nil {
		t.Fatal(err)
	}
	if a, _ := use(0, "-aim", begun, "-tone", "power 2.4"); a.Luminance != 70 || a.Curve().String() != "power 2.4" {
		t.Errorf("%+v", a)
	}
	if a, _ := use(0, "-black", "1000:1", "-simulated", "1"); a.BlackRatio != 1000 {
		t.Errorf("%+v", a)
	}
}

func TestBadUse(t *testing.T) {
	spec := simulate.SmoothLCD.Spec()
	whole := table(t, spec, "", signals[:]...)
	broken := func(text string) string {
		return file(t, "broken.json", func(b *bytes.Buffer) error { b.WriteString(text); return nil })
	}
	for says, args := range map[string][]string{
		"no such file":      {"missing.csv"},
		"goes without":      {"-simulated", "3", whole},
		"are called":        {"a=" + whole, "a=" + whole},
		"give it a name":    {strings.Repeat("x", 300) + "=" + whole},
		"full green":        {table(t, spec, "", signals[0], signals[1], signals[3])},
		"outside":           {broken("R,G,B,X,Y,Z\n0,0,0,0,0,0\n1,0,0,82,42,4\n0,1,0,71,143,24\n0,0,1,36,14,190\n1,1,1,60,250,20\n")},
		"journal":           {broken(`{"sum":"1","header":{"version":1}}` + "\n" + `{"sum":"2"}`)},
		"no JSON":           {broken("{\"kind\": ")},
		"as found":          {broken(`{"version": 1}`)},
		"kind is":           {broken(`{"kind": "limits"}`)},
		"ambient":           {"-tone", "gsdf"},
		"give another file": {"-save-aim", filepath.Join(whole, "no folder")},
		"-from":             {"-from", "elsewhere"},
		"90 cd/m² is asked": {"-spare", "5", "-luminance", "90"},
		"-spare goes with":  {"-spare", "5", "-from", "srgb"},
		"exclude":           {"-from", "srgb", "-aim", whole},
		"1 to 10":           {"-simulated", "11"},
	} {
		if _, errs, status := call(args...); status != cli.BadInput || !strings.Contains(errs, says) {
			t.Errorf("%v: status %d, %q does not say %q", args, status, errs, says)
		}
	}
}
