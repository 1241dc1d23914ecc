package main

import (
	"bytes"
	"encoding/json"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
	"example.org/primaries/icc"
	"example.org/primaries/icc/embed"
)

func call(args ...string) (out, errs string, status int) {
	return clitest.Call(run, "", args...)
}

// display is the profile of an invented display with the primaries and the
// white of ITU-R BT.709-6 and a power of 2.2.
func display(t *testing.T) *icc.Profile {
	t.Helper()
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	power := &icc.ParametricCurve{G: 2.2}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: "Studio",
		Colorants: [3]colorimetry.XYZ{
			chad.Apply(colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}),
			chad.Apply(colorimetry.XYZ{X: 0.3576, Y: 0.7152, Z: 0.1192}),
			chad.Apply(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}),
		},
		Parametric:    [3]*icc.ParametricCurve{power, power, power},
		Chad:          chad,
		LuminanceCdM2: 120,
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func encode(t *testing.T, p *icc.Profile) []byte {
	t.Helper()
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func save(t *testing.T, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// What is told of a display is what ITU-R BT.709-6 prints: primaries, white.
func TestDisplay(t *testing.T) {
	file := save(t, "studio.icc", encode(t, display(t)))
	out, errs, status := call("-json", file)
	var a answer
	if err := json.Unmarshal([]byte(out), &a); err != nil || status != 0 || errs != "" || strings.Count(out, "\n") != 1 {
		t.Fatalf("status %d, %v, %s\n%s", status, err, errs, out)
	}
	p := a.Profile
	if a.File != file || a.Error != "" || p == nil || a.Findings == nil {
		t.Fatalf("%+v", a)
	}
	for name, c := range map[string][3]float64{
		"red x": {p.Primaries.Red[0], 0.64, 1e-3}, "green y": {p.Primaries.Green[1], 0.60, 1e-3}, "blue x": {p.Primaries.Blue[0], 0.15, 1e-3},
		"white x": {p.White.X, 0.3127, 1e-4}, "white y": {p.White.Y, 0.3290, 1e-4}, "temperature": {p.White.Kelvin, 6504, 5},
		"luminance": {p.LuminanceCdM, 120, 1e-3}, "black": {p.Black.Y, 0, 1e-9}, "gamma": {*p.Gamma[1], 2.2, 1e-3}, "volume": {p.VolumeLab, 830e3, 20e3},
	} {
		if math.Abs(c[0]-c[1]) > c[2] {
			t.Errorf("%s is %g, want %g", name, c[0], c[1])
		}
	}
	if p.Description != "Studio" || p.Class != "display" || p.Device != "RGB" || p.Connection != "XYZ" || p.Model != "matrix and curves" || p.Version != "4.3.0" || p.Curves || len(p.Tags) < 9 || p.ID == "" {
		t.Errorf("%+v", p)
	}
	text, _, _ := call(file)
	for _, says := range []string{"display, version 4.3.0, RGB to XYZ, by matrix and curves", "120 cd/m²", "green 0.3000, 0.6000", "2.20, 2.20, 2.20"} {
		if !strings.Contains(text, says) {
			t.Errorf("the text does not say %q:\n%s", says, text)
		}
	}
}

func TestInsideImage(t *testing.T) {
	var plain, with bytes.Buffer
	if err := png.Encode(&plain, image.NewNRGBA(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	bare := save(t, "plain.png", plain.Bytes())
	if err := embed.Insert(&with, bytes.NewReader(plain.Bytes()), int64(plain.Len()), encode(t, display(t)), embed.Options{}); err != nil {
		t.Fatal(err)
	}
	out, _, status := call(save(t, "with.png", with.Bytes()))
	if status != 0 || !strings.Contains(out, "inside      a PNG") || !strings.Contains(out, "Studio") {
		t.Errorf("status %d, %s", status, out)
	}
	out, errs, status := call(bare)
	if status != cli.BadInput || !strings.Contains(out, "the PNG has no profile inside") || !strings.Contains(errs, "1 of 1 files") {
		t.Errorf("status %d, %s %s", status, out, errs)
	}
}

// Departures give status 1 with -strict alone, and what cannot be decoded 2
// whatever else there is.
func TestStatus(t *testing.T) {
	good := save(t, "good.icc", encode(t, display(t)))
	p := display(t)
	p.Remove(icc.TagCopyright)
	departing := save(t, "departing.icc", encode(t, p))
	broken := save(t, "broken.icc", encode(t, p)[:200])
	for _, c := range []struct {
		args   []string
		status int
	}{
		{[]string{good}, cli.Done},
		{[]string{"-strict", good}, cli.Done},
		{[]string{departing}, cli.Done},
		{[]string{"-strict", departing, good}, cli.Failed},
		{[]string{"-strict", good, departing, broken}, cli.BadInput},
		{[]string{broken, good}, cli.BadInput},
		{[]string{"-json", broken, good}, cli.BadInput},
		{nil, cli.BadInput},
		{[]string{"-odd", good}, cli.BadInput},
		{[]string{"missing.icc"}, cli.BadInput},
	} {
		out, errs, status := call(c.args...)
		if status != c.status || status != 0 && errs == "" {
			t.Errorf("%v: status %d, %s\n%s", c.args, status, errs, out)
		}
		if len(c.args) > 1 && c.args[0] == "-json" {
			lines := strings.Split(strings.TrimSpace(out), "\n")
			var a, b answer
			if len(lines) != 2 || json.Unmarshal([]byte(lines[0]), &a) != nil || json.Unmarshal([]byte(lines[1]), &b) != nil || a.Error == "" || a.Profile != nil || b.Error != "" || b.Profile == nil {
				t.Errorf("%s", out)
			}
		}
	}
}

// What a stranger wrote cannot command the terminal, or look like a line of ours.
func TestHostileText(t *testing.T) {
	p := display(t)
	p.Set(icc.TagDescription, icc.LocalizedText{{Language: "e\x1b", Country: "\n\n", Text: "A\x1b[31mRED\a\n  standard    nothing\u202e\u2028"}, {Language: "de", Country: "DE", Text: "B"}})
	out, _, _ := call(save(t, "x\x1b[2J.icc", encode(t, p)))
	for _, bad := range []string{"\x1b", "\a", "\u202e", "\u2028", "\n  standard    nothing\\"} {
		if strings.Contains(out, bad) {
			t.Errorf("%q came through:\n%q", bad, out)
		}
	}
	if !strings.Contains(out, `A\x1b[31mRED\a\n  standard`) {
		t.Errorf("%q", out)
	}
}
