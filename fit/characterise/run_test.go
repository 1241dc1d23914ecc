package characterise_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
	"example.org/primaries/verify/report"
)

// setup returns the walk over a simulated display, cold at the start, as the
// example sets it up.
func setup(t testing.TB, panel simulate.Panel, seed uint64) (characterise.Setup, *simulate.Display) {
	t.Helper()
	d := simulate.Measured(panel, simulate.Options{Seed: seed, Cold: true})
	return characterise.Setup{
		Measure: measure.Setup{
			Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Controls: d, Clock: d.Clock(),
			Seed: seed, Digest: "test", Start: d.Clock().Now(),
		},
		Truth: d.Truth, Aim: aim.Aim{White: d65(t), Luminance: 100},
	}, d
}

func d65(t testing.TB) aim.White {
	t.Helper()
	white, err := aim.Illuminant("D65")
	if err != nil {
		t.Fatal(err)
	}
	return white
}

func run(t testing.TB, s characterise.Setup) *characterise.Result {
	t.Helper()
	r, err := characterise.Run(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// limits are what the main job promises, each over 20 seeds and in 19 of them,
// with the noise of one reading at σ 0.001 in x and y, 0.5 % in Y and 0.005
// cd/m² in X, Y and Z, 4 averages and 16 at white. They are this project's own
// targets.
var limits = []struct {
	name  string
	value float64
}{
	{"white as read, Δu'v' from the aim", 0.0015},
	{"white in truth, Δu'v' from the aim", 0.0015},
	{"luminance, share off the aim or the best step", 0.02},
	{"greys above the floor in truth, share off the aim's curve", 0.02},
	{"profile, relative as read, mean ΔE00", 0.5},
	{"profile, relative as read, max ΔE00", 1.5},
	{"profile, relative against the truth, mean ΔE00", 0.35},
	{"profile, relative against the truth, max ΔE00", 1.2},
}

// figures returns a run's figures in the order of limits.
func figures(t testing.TB, r *characterise.Result) []float64 {
	t.Helper()
	rep, err := report.FromRun(r, report.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if before, after := rep.AimAccuracy.Before.DeltaE2000.Mean, rep.AimAccuracy.After.DeltaE2000.Mean; !(after < before/5) {
		t.Errorf("the aim was missed by %.2f as found and by %.2f with curves: not much better", before, after)
	}
	p := rep.ProfileAccuracy
	for _, a := range []bool{p.Relative.NoiseFloor.Known, p.Absolute.NoiseFloor.Known, rep.AimAccuracy.After.NoiseFloor.Known} {
		if !a {
			t.Error("a figure as read has no noise floor")
		}
	}
	if p.Relative.DeltaE2000.Count < 100 {
		t.Errorf("%d patches prove the profile, want 100", p.Relative.DeltaE2000.Count)
	}
	return []float64{
		rep.White.DeltaUV, *rep.White.TrueDeltaUV, math.Abs(rep.LuminanceCdM2/r.Aim.Luminance - 1), greys(r, rep.FloorSignal),
		p.Relative.DeltaE2000.Mean, p.Relative.DeltaE2000.Max, p.True.DeltaE2000.Mean, p.True.DeltaE2000.Max,
	}
}

// greys returns the largest share by which any grey of the path above the
// floor misses the aim's curve in truth.
func greys(r *characterise.Result, floor float64) float64 {
	white, black := r.Aim.White.XYZ(r.Aim.Luminance), r.Truth(colorimetry.RGB{})
	worst := 0.0
	top := float64(int(1)<<r.Screen.Bits - 1)
	for code := math.Ceil(floor * top); code <= top; code++ {
		want := r.Aim.TargetOf(code/top, black, white).Y
		worst = math.Max(worst, math.Abs(r.Truth(colorimetry.Gray(code/top)).Y/want-1))
	}
	return worst
}

// TestSeeds holds the whole walk to the limits on the three measured displays.
// Noise alone puts the largest of 120 readings, always a light grey, above 1.5
// now and then, with a perfect model in 3 of 200 runs: here in 2 of 60 before
// doubtful readings were taken again, in none since. That is why one seed in
// twenty may fail.
func TestSeeds(t *testing.T) {
	seeds := 20
	if testing.Short() {
		seeds = 2
	}
	floors := map[simulate.Panel][2]float64{
		simulate.ReferenceOLED: {0, 0.20}, // its tone jumps by 4.9 % at code 180 of 1023
		simulate.WideGamutLCD:  {0.15, 0.25},
		simulate.CRT:           {0, 0.15},
	}
	for _, panel := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD, simulate.CRT} {
		t.Run(panel.String(), func(t *testing.T) {
			t.Parallel()
			all := make([][]float64, len(limits))
			failed, raised := 0, 0
			for seed := range seeds {
				s, _ := setup(t, panel, uint64(seed+1))
				r := run(t, s)
				good := true
				for i, v := range figures(t, r) {
					all[i] = append(all[i], v)
					if !(v <= limits[i].value) {
						good = false
						t.Logf("seed %d: %s is %.4f, limit %g", seed+1, limits[i].name, v, limits[i].value)
					}
				}
				if !good {
					failed++
				}
				if f := r.Curves.HoldSignal; f < floors[panel][0] || f > floors[panel][1] {
					t.Logf("seed %d: floor at signal %.3f, want %v: %s", seed+1, f, floors[panel], r.Curves.HoldCause)
					raised++
				}
				if c := r.Curves.HoldCause; c == "" || panel == simulate.WideGamutLCD && !strings.Contains(c, "blue") {
					t.Errorf("seed %d: the floor's cause is %q", seed+1, c)
				}
			}
			for i, v := range all {
				slices.Sort(v)
				t.Logf("%s: median %.4f, worst %.4f, limit %g", limits[i].name, v[len(v)/2], v[len(v)-1], limits[i].value)
			}
			if failed > 1 {
				t.Errorf("%d of %d seeds miss a limit, at most 1 may", failed, seeds)
			}
			// A jump of the tone is told from noisy greys, and now and then where
			// there is none: the walk then promises less than it keeps.
			if raised > 1 {
				t.Errorf("%d of %d seeds have a floor that is not the display's, at most 1 may", raised, seeds)
			}
		})
	}
}

// A run that is cut off after any line of its journal goes on to the same
// profile, report figures and display state.
func TestResume(t *testing.T) {
	t.Parallel()
	s, d := setup(t, simulate.ReferenceOLED, 7)
	journal := &measure.Memory{}
	s.Measure.Journal = journal
	whole := run(t, s)
	truth := d.Truth(colorimetry.Gray(0.5))
	lines := journal.Lines()
	step := len(lines) / 12
	if testing.Short() {
		step = len(lines) / 3
	}
	for cut := 1; cut <= len(lines); cut += step {
		s, d := setup(t, simulate.ReferenceOLED, 7)
		s.Measure.Replay, s.Measure.Journal = lines[:cut], measure.NewMemory(lines[:cut])
		r := run(t, s)
		if !bytes.Equal(r.Profile.Bytes, whole.Profile.Bytes) {
			t.Errorf("cut after line %d of %d: another profile", cut, len(lines))
		}
		if got := d.Truth(colorimetry.Gray(0.5)); got != truth {
			t.Errorf("cut after line %d of %d: the display ends in another state", cut, len(lines))
		}
		if len(r.Readings) != len(whole.Readings) || r.RunID != whole.RunID || !r.End.Equal(whole.End) {
			t.Errorf("cut after line %d of %d: %d readings of run %s", cut, len(lines), len(r.Readings), r.RunID)
		}
	}
	s, _ = setup(t, simulate.ReferenceOLED, 7)
	s.Measure.Replay, s.Measure.Journal = lines, measure.NewMemory(lines)
	if r := run(t, s); !bytes.Equal(r.Profile.Bytes, whole.Profile.Bytes) {
		t.Error("a journal that was whole leads to another profile")
	}
}

// The stages can be called one by one, and a cancelled context stops any.
func TestStagesStopAtOnce(t *testing.T) {
	s, _ := setup(t, simulate.CRT, 1)
	w, err := characterise.Begin(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WarmUp(context.Background()); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := w.CorrectInstrument(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled stage returns %v", err)
	}
	if r := w.Result(); r.WarmUp == nil || !r.WarmUp.Stable || len(r.Readings) == 0 {
		t.Error("what was found before is not kept")
	}
}

// What was given and cannot be had is refused with the nearest aim; a default
// bends to the display with a warning.
func TestOutOfReach(t *testing.T) {
	s, _ := setup(t, simulate.CRT, 3)
	r := run(t, s)
	if r.Aim.Luminance > 92 || r.Aim.Luminance < 85 {
		t.Errorf("the aim bent to %.1f cd/m²; the display has about 89 at D65", r.Aim.Luminance)
	}
	if !slices.ContainsFunc(r.Warnings, func(w string) bool { return strings.Contains(w, "bends") }) {
		t.Errorf("no warning says that the aim bent: %q", r.Warnings)
	}
	for name, change := range map[string]func(*characterise.Setup){
		"luminance": func(s *characterise.Setup) { s.Given.Luminance = true },
		"white": func(s *characterise.Setup) {
			s.Given.White, s.Aim.White = true, aim.XY(0.7, 0.25)
		},
		"black": func(s *characterise.Setup) {
			// The CRT's black gives no light; the LCD's is far above this.
			other, _ := setup(t, simulate.WideGamutLCD, 3)
			*s = other
			s.Given.Black, s.Aim.BlackCdM2 = true, 0.001
		},
	} {
		s, _ := setup(t, simulate.CRT, 3)
		change(&s)
		_, err := characterise.Run(context.Background(), s)
		var reach *characterise.ReachError
		if !errors.As(err, &reach) || !strings.Contains(err.Error(), "nearest") {
			t.Errorf("%s: error %v, want one that names the nearest aim", name, err)
		}
	}
}

// With the controls left alone the curves do it all.
func TestWithoutControls(t *testing.T) {
	s, d := setup(t, simulate.ReferenceOLED, 2)
	s.NoControls = true
	r := run(t, s)
	f := figures(t, r)
	for i, v := range f {
		if v > limits[i].value {
			t.Errorf("%s: %.4f, limit %g", limits[i].name, v, limits[i].value)
		}
	}
	for _, c := range d.Controls() {
		if c.Now != c.Max {
			t.Errorf("%s was moved to %d", c.Name, c.Now)
		}
	}
}

// Each way to correct the instrument is judged on the true white. The light
// source of the OLED is known to be one of the typical spectra's kind, not its
// own: a correction from another panel may leave 0.004 in u'v' (common
// practice, no source), which is three times what pairs leave.
func TestCorrections(t *testing.T) {
	for _, c := range []struct {
		correction characterise.Correction
		worst      float64
	}{
		{characterise.Correction{}, 0.0015},
		{characterise.Correction{Kind: characterise.FromSource, Source: "self-luminous-rgb"}, 0.004},
		{characterise.Correction{Kind: characterise.FromSource}, 0.012},
		{characterise.Correction{Kind: characterise.Uncorrected}, 0.012},
	} {
		s, d := setup(t, simulate.ReferenceOLED, 5)
		sensitivities := d.Sensitivities()
		c.correction.Sensitivities = &sensitivities
		s.Correction = c.correction
		r := run(t, s)
		got := r.Truth(colorimetry.Gray(1)).UV().Distance(r.Aim.White.At.UV())
		t.Logf("%q %q: true white %.4f in u'v' from the aim, %d warnings", c.correction.Kind, c.correction.Source, got, len(r.Warnings))
		if got > c.worst {
			t.Errorf("%q %q: true white %.4f from the aim, at most %g", c.correction.Kind, c.correction.Source, got, c.worst)
		}
	}
	s, d := setup(t, simulate.ReferenceOLED, 5)
	sensitivities := d.Sensitivities()
	s.Correction = characterise.Correction{Kind: characterise.FromSource, Source: "gas light", Sensitivities: &sensitivities}
	if _, err := characterise.Run(context.Background(), s); err == nil || !strings.Contains(err.Error(), "self-luminous-rgb") {
		t.Errorf("an unknown source gives %v, want the known ones", err)
	}
}

// Version 2 is written as well, and the same readings give the same promise.
func TestVersionTwo(t *testing.T) {
	s, _ := setup(t, simulate.WideGamutLCD, 4)
	four := run(t, s)
	s, _ = setup(t, simulate.WideGamutLCD, 4)
	s.Profile.Version = profile.V2
	two := run(t, s)
	a, err := profile.Predictor(four.Profile.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	b, err := profile.Predictor(two.Profile.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range chart.Lattice(5) {
		if d := a(p.Signal).Sub(b(p.Signal)); math.Abs(d.X)+math.Abs(d.Y)+math.Abs(d.Z) > 1e-9 {
			t.Errorf("signal %v: version 4 promises %v, version 2 %v", p.Signal, a(p.Signal), b(p.Signal))
		}
	}
	if two.Profile.Bytes[8] != 2 || four.Profile.Bytes[8] != 4 {
		t.Errorf("versions are %d and %d", two.Profile.Bytes[8], four.Profile.Bytes[8])
	}
}

// Readings that say which curves they were taken through take no others, and
// none only with a warning.
func TestStatedCurves(t *testing.T) {
	s, _ := setup(t, simulate.ReferenceOLED, 6)
	r := run(t, s)
	in := characterise.Brought{Readings: r.InState(), Stated: r.InForce.Digest(), Screen: r.Screen, InForce: tone.Identity(256)}
	if _, err := characterise.FromReadings(context.Background(), in); err == nil || !strings.Contains(err.Error(), "curves that were in force") {
		t.Errorf("other curves give %v", err)
	}
	// A tag that holds no curves would take away those that the profile is true
	// with.
	in.InForce, in.Profile.SystemCalibration = tone.Channels{}, true
	if _, err := characterise.FromReadings(context.Background(), in); err == nil || !strings.Contains(err.Error(), "MHC2") {
		t.Errorf("MHC2 without the curves in force gives %v", err)
	}
	in.Profile.SystemCalibration = false
	for want, curves := range map[bool]tone.Channels{true: {}, false: r.InForce} {
		in.InForce = curves
		got, err := characterise.FromReadings(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		if warned := slices.ContainsFunc(got.Warnings, func(w string) bool { return strings.Contains(w, "taken through the curves") }); warned != want {
			t.Errorf("curves %s: warnings %q", curves.Digest(), got.Warnings)
		}
	}
}
