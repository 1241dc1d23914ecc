package controls_test

import (
	"context"
	"errors"
	"flag"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
	"github.com/google/go-cmp/cmp"
)

var seedCount = flag.Uint64("seeds", 5, "number of seeds")

// mainJob is the noise of the main job's colorimeter, given here to the
// instrument without colour error: what controls do with a colour error is
// bring the white as read to the aim.
func mainJob() *measure.Noise {
	return &measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}
}

func open(t *testing.T, d *simulate.Display) *measure.Session {
	t.Helper()
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Controls: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func d65(t *testing.T) aim.White {
	t.Helper()
	w, err := aim.Illuminant("D65")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// left returns the true luminance that is left at the aim's white: that at
// which the channel that the display's white has least of, counted in its
// primaries, is all used. Where channels interact white is not their sum.
func left(t *testing.T, d *simulate.Display, w aim.White) float64 {
	t.Helper()
	k := d.Truth(colorimetry.RGB{})
	m := colorimetry.Columns(d.Truth(colorimetry.RGB{R: 1}).Sub(k), d.Truth(colorimetry.RGB{G: 1}).Sub(k), d.Truth(colorimetry.RGB{B: 1}).Sub(k))
	inv, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	has, need := inv.ToLinear(d.Truth(colorimetry.Gray(1))), inv.ToLinear(w.At.XYZ(1))
	return min(has.R/need.R, has.G/need.G, has.B/need.B)
}

// best returns the true luminance left at the brightness step that is really
// nearest to the aim, the gains as they are, and leaves the display as found.
func best(t *testing.T, d *simulate.Display, a aim.Aim) float64 {
	t.Helper()
	now := d.Controls()[0].Now
	var at float64
	least := math.Inf(1)
	for step := range 101 {
		set(t, d, measure.Brightness, step)
		if y := left(t, d, a.White); math.Abs(y-a.Luminance) < least {
			at, least = y, math.Abs(y-a.Luminance)
		}
	}
	set(t, d, measure.Brightness, now)
	return at
}

func set(t *testing.T, d *simulate.Display, name string, step int) {
	t.Helper()
	if err := d.Set(context.Background(), name, step); err != nil {
		t.Fatal(err)
	}
}

// returns counts how often each control came back to a step that it had left.
func returns(steps []controls.Step) int {
	worst := 0
	back := map[string]int{}
	been := map[string][]int{}
	for _, s := range steps {
		if s.Control == "" {
			continue
		}
		if slices.Contains(been[s.Control], s.To) {
			back[s.Control]++
			worst = max(worst, back[s.Control])
		}
		been[s.Control] = append(been[s.Control], s.From, s.To)
	}
	return worst
}

// TestGuide holds guidance against the truth: the white within 0.0015 of the
// aim in u'v' in every case, the luminance at the step that is really the
// nearest or at one that the noise cannot tell from it (0.4 % of the
// luminance), in few readings and without oscillation.
func TestGuide(t *testing.T) {
	coarse := simulate.Response{Lowest: 0.2, Exponent: 2.2}
	for _, c := range []struct {
		name       string
		panel      simulate.Panel
		luminance  float64
		gain       simulate.Response
		brightness simulate.Response
		white      float64 // limit in u'v'
		readings   int
	}{
		{"oled", simulate.ReferenceOLED, 100, simulate.Response{}, simulate.Response{}, 0.0015, 22},
		{"oled dim", simulate.ReferenceOLED, 40, simulate.Response{}, simulate.Response{}, 0.0015, 22},
		{"lcd", simulate.WideGamutLCD, 120, simulate.Response{}, simulate.Response{}, 0.0015, 22},
		{"crt", simulate.CRT, 80, simulate.Response{}, simulate.Response{}, 0.0015, 24},
		// Steps of 2 % of a channel's light: half of one is 0.0015 in u'v'.
		{"lcd, coarse gains", simulate.WideGamutLCD, 120, coarse, simulate.Response{}, 0.0025, 22},
		{"lcd, steep brightness", simulate.WideGamutLCD, 90, simulate.Response{}, simulate.Response{Lowest: 0.01, Exponent: 3}, 0.0015, 24},
		{"lcd, flat brightness", simulate.WideGamutLCD, 200, simulate.Response{}, simulate.Response{Lowest: 0.6, Exponent: 0.7}, 0.0015, 26},
	} {
		t.Run(c.name, func(t *testing.T) {
			var worstUV, worstY float64
			most, back := 0, 0
			for seed := range *seedCount {
				spec := c.panel.Spec()
				spec.Gain, spec.Brightness = c.gain, c.brightness
				d, err := simulate.New(spec, simulate.Options{Seed: seed, ReferenceNoise: mainJob()})
				if err != nil {
					t.Fatal(err)
				}
				s := open(t, d)
				want := aim.Aim{White: d65(t), Luminance: c.luminance}
				r, err := controls.Guide(context.Background(), s, s.Controls(), want, controls.Options{})
				if err != nil {
					t.Fatal(err)
				}
				worstUV = math.Max(worstUV, d.Truth(colorimetry.Gray(1)).UV().Distance(want.White.At.UV()))
				y := left(t, d, want.White)
				worstY = math.Max(worstY, (math.Abs(y-c.luminance)-math.Abs(best(t, d, want)-c.luminance))/c.luminance)
				most, back = max(most, len(s.Readings())), max(back, returns(r.Steps))
				if math.Abs(r.Reachable-y) > 4*r.LuminanceUncertainty+0.004*y {
					t.Errorf("seed %d: said %.2f ± %.2f cd/m² are left, %.2f are", seed, r.Reachable, r.LuminanceUncertainty, y)
				}
				if !r.Accepted || r.Aim.Luminance != r.Reachable || r.Aim.White != want.White {
					t.Errorf("seed %d: the curves' aim is %+v, accepted %v", seed, r.Aim, r.Accepted)
				}
				if d := cmp.Diff(r.Settings, s.Controls()); d != "" {
					t.Errorf("seed %d: settings: %s", seed, d)
				}
				if testing.Verbose() && seed == 0 {
					for _, s := range r.Steps {
						t.Log(s.Sentence)
					}
					t.Log(strings.Join(r.Sentences, "\n"))
				}
			}
			t.Logf("worst of %d: white %.5f, luminance %.4f worse than the best step, %d readings, %d returns", *seedCount, worstUV, worstY, most, back)
			if worstUV > c.white || worstY > 0.004 || most > c.readings || back > 2 {
				t.Error("beyond the limits")
			}
		})
	}
}

// TestEnds: an aim beyond the controls' ends is approached and told.
func TestEnds(t *testing.T) {
	for _, c := range []struct {
		name      string
		luminance float64
		accepted  bool
		says      string
	}{
		{"too bright", 400, false, "highest"},
		{"too dark", 5, true, "lowest"},
	} {
		d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{ReferenceNoise: mainJob()})
		s := open(t, d)
		r, err := controls.Guide(context.Background(), s, s.Controls(), aim.Aim{White: d65(t), Luminance: c.luminance}, controls.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if r.Accepted != c.accepted || !strings.Contains(strings.Join(r.Sentences, " "), c.says) {
			t.Errorf("%s: accepted %v, %q", c.name, r.Accepted, r.Sentences)
		}
		if c.accepted && r.Aim.Luminance != c.luminance {
			t.Errorf("%s: the curves' aim is %g", c.name, r.Aim.Luminance)
		}
	}
}

func TestMissingControls(t *testing.T) {
	for _, c := range []struct {
		name string
		keep []string
		want aim.Aim
		move []string
	}{
		{"none", nil, aim.Aim{White: d65(t), Luminance: 100}, nil},
		{"brightness only", []string{measure.Brightness}, aim.Aim{White: d65(t), Luminance: 100}, []string{measure.Brightness}},
		{"gains only", []string{measure.RedGain, measure.GreenGain, measure.BlueGain}, aim.Aim{White: d65(t), Luminance: 100}, []string{measure.RedGain}},
		{"native luminance", []string{measure.Brightness, measure.RedGain}, aim.Aim{White: d65(t)}, []string{measure.RedGain}},
		{"native white", []string{measure.Brightness, measure.RedGain}, aim.Aim{Luminance: 100}, []string{measure.Brightness}},
		{"native all", []string{measure.Brightness, measure.RedGain}, aim.Aim{}, nil},
	} {
		d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 3, ReferenceNoise: mainJob()})
		s := open(t, d)
		have := slices.DeleteFunc(s.Controls(), func(k measure.Control) bool { return !slices.Contains(c.keep, k.Name) })
		have = append(have, measure.Control{Name: "contrast", Max: 10, Now: 5})
		r, err := controls.Guide(context.Background(), s, have, c.want, controls.Options{})
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		var moved []string
		for _, k := range r.Steps {
			if k.Control != "" && !slices.Contains(moved, k.Control) {
				moved = append(moved, k.Control)
			}
		}
		if d := cmp.Diff(c.move, moved); d != "" {
			t.Errorf("%s: %s", c.name, d)
		}
		if len(r.Settings) != len(have) {
			t.Errorf("%s: settings %v", c.name, r.Settings)
		}
	}
}

// TestLimits: a white out of reach, a cancelled context and the most readings.
func TestLimits(t *testing.T) {
	d := simulate.Measured(simulate.CRT, simulate.Options{ReferenceNoise: mainJob()})
	s := open(t, d)
	if _, err := controls.Guide(context.Background(), s, s.Controls(), aim.Aim{White: aim.XY(0.1, 0.8)}, controls.Options{}); err == nil || !strings.Contains(err.Error(), "outside") {
		t.Errorf("white out of reach: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := controls.Guide(ctx, s, s.Controls(), aim.Aim{}, controls.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	r, err := controls.Guide(context.Background(), s, s.Controls(), aim.Aim{White: d65(t), Luminance: 60}, controls.Options{MaxReadings: 4})
	if err != nil || len(r.Steps) != 4 || !strings.Contains(strings.Join(r.Sentences, " "), "limit of 4") {
		t.Errorf("4 readings at most: %d, %q, %v", len(r.Steps), r.Sentences, err)
	}
}

// TestResume: whatever reading the journal ends with, the controls end up at
// the same steps.
func TestResume(t *testing.T) {
	run := func(journal *measure.Memory, replay [][]byte) controls.Result {
		t.Helper()
		d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 2, ReferenceNoise: mainJob()})
		s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Controls: d, Instrument: d.Spectroradiometer(), Clock: d.Clock(), Journal: journal, Replay: replay})
		if err != nil {
			t.Fatal(err)
		}
		r, err := controls.Guide(context.Background(), s, s.Controls(), aim.Aim{White: d65(t), Luminance: 90}, controls.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	whole := measure.NewMemory(nil)
	want := run(whole, nil)
	lines := whole.Lines()
	for cut := 1; cut <= len(lines); cut += 3 {
		if d := cmp.Diff(want, run(measure.NewMemory(lines[:cut]), lines[:cut]), cmp.Comparer(func(a, b aim.Aim) bool { return a == b })); d != "" {
			t.Errorf("resumed after %d of %d lines: %s", cut, len(lines), d)
		}
	}
}
