package plug_test

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// block returns what the page's block of a kind holds.
func block(t *testing.T, kind string) string {
	t.Helper()
	b, err := os.ReadFile("PROTOCOL.md")
	noError(t, err)
	_, after, ok := strings.Cut(string(b), "```"+kind+"\n")
	if !ok {
		t.Fatalf("the page has no %s", kind)
	}
	text, _, _ := strings.Cut(after, "```")
	return text
}

// The session at the end of the page is, to the letter, what passes between
// this package and a program that plays the program's part.
func TestPageSession(t *testing.T) {
	watch(t)
	ctx, dir := context.Background(), folder(t)
	noError(t, os.WriteFile(filepath.Join(dir, "session"), []byte(block(t, "session")), 0o600))
	o := fast()
	o.Restarts = -1
	p, err := plug.Start(ctx, command(t, "script", dir), o)
	noError(t, err)
	t.Cleanup(func() { p.Close() })
	d := roles(t, p)
	reference, err := p.Reference()
	noError(t, err)
	loader := d.screen.(measure.CurveLoader)
	curves, err := tone.NewChannels([]float64{0, 32768. / 65535, 1}, []float64{0, 32768. / 65535, 1}, []float64{0, 30000. / 65535, 62000. / 65535})
	noError(t, err)
	noError(t, d.controls.Set(ctx, "brightness", 80))
	noError(t, loader.LoadCurves(ctx, curves))
	white, dim := colorimetry.Gray(1), colorimetry.RGB{R: 1.0 / 3, B: 0.25}
	var own *plug.AnswerError
	if _, err := d.instrument.Measure(ctx, measure.Request{Signal: white}); !errors.As(err, &own) {
		t.Fatalf("%v", err)
	}
	noError(t, d.screen.Show(ctx, white))
	noError(t, d.clock.Sleep(ctx, 1200*time.Millisecond))
	var last measure.Sample
	for i := range 2 {
		last, err = d.instrument.Measure(ctx, measure.Request{Repeat: i, Signal: white})
		noError(t, err)
	}
	written, err := json.Marshal([]float64{last.XYZ.X, last.XYZ.Y, last.XYZ.Z})
	noError(t, err)
	if !strings.Contains(block(t, "session"), string(written)) {
		t.Errorf("%s is not what the page says", written)
	}
	ended := d.clock.Now()
	noError(t, loader.LoadCurves(ctx, tone.Channels{}))
	noError(t, d.screen.Show(ctx, dim))
	_, err = reference.Measure(ctx, measure.Request{Reading: 1, Signal: dim})
	noError(t, err)
	noError(t, d.clock.(measure.Restorer).Restore(ctx, measure.Reading{Index: 0, Time: ended}))
}

// The program on the page conforms.
func TestPageProgram(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("python3 is needed to run the program on the page")
	}
	path := filepath.Join(t.TempDir(), "driver with spaces.py")
	noError(t, os.WriteFile(path, []byte(block(t, "python")), 0o600))
	c, err := plug.ParseCommand(`process:` + python + ` "` + path + `"`)
	noError(t, err)
	report, err := plug.Conform(context.Background(), c, plug.ConformOptions{Options: fast()})
	noError(t, err)
	if !report.Passed() || len(report.Checks) < 6 {
		t.Errorf("%s", text(report))
	}
}

func text(r plug.Report) string {
	var b strings.Builder
	_ = r.WriteText(&b)
	return b.String()
}

// whites that no display has, by the fault.
var whites = map[string][]any{
	"sees green alone": {0, 100, 0}, "has no light's colour": {1, 100, 3}, "counts millicandelas": {155600, 163700, 178200},
}

// The conformance check passes a program that keeps to the page and names, for
// each of the others, the check that it fails, and why.
func TestConform(t *testing.T) {
	watch(t)
	for fault, want := range map[string][2]string{
		"none":                    {"", ""},
		"exits at start":          {"says hello", "exit status 5"},
		"silent at start":         {"says hello", "no answer within"},
		"greets with garbage":     {"says hello", "this is no JSON"},
		"wrong version":           {"says hello", `"version" is not 1`},
		"lies about curves":       {"takes curves of 2 to 4096 entries, and takes them away", "no such message"},
		"lies about its spectrum": {"instrument: measures", "spectrum there: false"},
		"spectrum":                {"instrument: spectrum and XYZ agree", "the spectrum has a luminance"},
		"sees green alone":        {"instrument: measures", "white has XYZ of 0, 100 and 0"},
		"has no light's colour":   {"instrument: measures", "outside the spectrum locus"},
		"counts millicandelas":    {"instrument: measures", "no display is known to reach 20000"},
		"never dark":              {"instrument: tells white from black", "black 100"},
		"understates its noise":   {"instrument: scatters as it states", "0.816 cd/m², and 0.01"},
		"says NaN":                {"instrument: measures", `is a string`},
		"always hangs":            {"instrument: measures", "no answer within"},
		"always crashes":          {"instrument: measures", "exit status 3"},
		"says more than asked":    {"refuses a message that it does not know, and goes on", "answered message 1"},
		"loses its clock":         {"shows patches", "does not tell its time"},
		"condition":               {"finds its own patch where it stands", "display asleep"},
		"stubborn":                {"ends when its standard input is closed", "it still ran"},
		"changes its mind":        {"starts again as what it was", "its screen is not what it was"},
	} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			dir := folder(t)
			o := plug.ConformOptions{Options: fast(), Person: true}
			switch {
			case fault == "silent at start":
				o.StartTimeout = 300 * time.Millisecond
			case fault == "always hangs":
				o.MeasureTimeout = 100 * time.Millisecond
			case fault == "stubborn":
				o.EndTimeout = 200 * time.Millisecond
			}
			report, err := plug.Conform(context.Background(), command(t, fault, dir), o)
			noError(t, err)
			if report.Passed() != (want[0] == "") {
				t.Fatalf("%s", text(report))
			}
			if fault == "counts millicandelas" && !strings.Contains(text(report), "is this in cd/m²?") {
				t.Errorf("%s", text(report))
			}
			for _, c := range report.Checks {
				if c.State == plug.CheckFailed {
					if c.Name != want[0] || !strings.Contains(c.Why, want[1]) || c.Todo == "" {
						t.Errorf("%s", text(report))
					}
					return
				}
			}
		})
	}
	ctx, cancel := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer cancel()
	dir := folder(t)
	if _, err := plug.Conform(ctx, command(t, "silent at start", dir), plug.ConformOptions{}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("interrupted: %v", err)
	}
}
