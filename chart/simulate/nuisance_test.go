package simulate_test

import (
	"context"
	"math"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// TestDimming: patch and surround load the supply by their areas; the power
// law is worked out by hand.
func TestDimming(t *testing.T) {
	dim := func(s *simulate.Spec) {
		s.Dimming = simulate.Dimming{From: 0.25, Exponent: 0.5}
		s.Supply.Currents = [3]float64{0.5, 0.3, 0.2}
	}
	bare := plain(t, nil, simulate.Options{})
	for _, tc := range []struct {
		o      simulate.Options
		signal colorimetry.RGB
		load   float64
	}{
		{simulate.Options{}, colorimetry.Gray(1), 0.1},
		{simulate.Options{WindowShare: 1}, colorimetry.Gray(1), 1},
		{simulate.Options{WindowShare: 1}, colorimetry.RGB{R: 1, B: 1}, 0.7},
		{simulate.Options{WindowShare: 1}, colorimetry.RGB{B: 1}, 0.2},
		{simulate.Options{WindowShare: 0.25, Surround: 1}, colorimetry.RGB{}, 0.75},
		{simulate.Options{WindowShare: 0.25, Surround: 1}, colorimetry.RGB{G: 1}, 0.75 + 0.25*0.3},
		{simulate.Options{WindowShare: 0.5, Surround: 0.4}, colorimetry.RGB{R: 1, G: 1, B: 1}, 0.5 + 0.5*math.Pow(0.4, 2.2)},
	} {
		d := plain(t, dim, tc.o)
		want := bare.Truth(tc.signal).Scale(math.Sqrt(math.Min(1, 0.25/tc.load)))
		near(t, "dimmed", d.Truth(tc.signal), want, 1e-12)
		if s := d.Screen(); tc.o.WindowShare != 0 && s.WindowShare != tc.o.WindowShare || s.Surround != tc.o.Surround {
			t.Errorf("the screen states window and surround %g and %g, not %+v", s.WindowShare, s.Surround, tc.o)
		}
	}
	// A brightness turned down asks for less.
	d := plain(t, dim, simulate.Options{WindowShare: 1})
	if err := d.Set(context.Background(), measure.Brightness, 0); err != nil {
		t.Fatal(err)
	}
	near(t, "turned down", d.Truth(colorimetry.Gray(1)), bare.Truth(colorimetry.Gray(1)).Scale(0.08), 1e-12)
}

// TestDrift: the reference state is that of the start, and later times follow
// the formula.
func TestDrift(t *testing.T) {
	drift := simulate.Drift{Amount: [3]float64{-0.02, -0.03, 0.01}, Time: 20 * time.Minute, Wave: [3]float64{0.004, 0, -0.002}, Period: time.Hour}
	d := plain(t, func(s *simulate.Spec) { s.Drift = drift }, simulate.Options{})
	p, start, signal := d.Spec().Primaries, d.Clock().Now(), colorimetry.Gray(1)
	near(t, "reference", d.Truth(signal), sum(p, [3]float64{1, 1, 1}), 1e-12)
	near(t, "at the start", d.TruthAt(signal, start), d.Truth(signal), 0)
	near(t, "before the start", d.TruthAt(signal, start.Add(-time.Hour)), d.Truth(signal), 0)
	left := 1 - 1/math.E
	near(t, "after 20 min", d.TruthAt(signal, start.Add(20*time.Minute)), sum(p, [3]float64{
		1 - 0.02*left + 0.004*math.Sqrt(3)/2, 1 - 0.03*left, 1 + 0.01*left - 0.002*math.Sqrt(3)/2}), 1e-12)
	// Smooth: from second to second never more than its steepest slope.
	steepest := 0.03/1200 + 0.004*2*math.Pi/3600
	for s := range 7200 {
		a, b := d.TruthAt(signal, start.Add(time.Duration(s)*time.Second)).Y, d.TruthAt(signal, start.Add(time.Duration(s+1)*time.Second)).Y
		if math.Abs(b/a-1) > 1.05*steepest {
			t.Fatalf("after %d s luminance jumps by %g", s, b/a-1)
		}
	}
}

// TestFlicker: an integration of a square wave, against a sum over a fine
// comb; whole periods read steady.
func TestFlicker(t *testing.T) {
	f := simulate.Flicker{Hz: 59.94, Depth: 0.8, Duty: 0.35}
	d := plain(t, func(s *simulate.Spec) { s.Flicker = f }, simulate.Options{})
	signal := colorimetry.Gray(1)
	show(t, d, signal)
	start := d.Clock().Now()
	worst := 0.0
	for k := range 12 {
		begin := d.Clock().Now().Sub(start).Seconds()
		s := read(t, d.Spectroradiometer(), k, 0)
		const teeth = 2_000_000
		mean := 0.0
		for n := range teeth {
			phase := (begin + s.Duration.Seconds()*(float64(n)+0.5)/teeth) * f.Hz
			if phase-math.Floor(phase) < f.Duty {
				mean += 1 + f.Depth*(1/f.Duty-1)
			} else {
				mean += 1 - f.Depth
			}
		}
		mean /= teeth
		got := s.XYZ.Y / d.Truth(signal).Y
		if math.Abs(got-mean) > 2e-5 {
			t.Errorf("integration %d reads %.6f of the mean, the comb %.6f", k, got, mean)
		}
		worst = math.Max(worst, math.Abs(got-1))
		if err := d.Clock().Sleep(context.Background(), 137*time.Millisecond); err != nil {
			t.Fatal(err)
		}
	}
	// At most what is left of one period in 2 s × 59.94 Hz.
	t.Logf("flicker moves readings by up to %.3f %%", 100*worst)
	if most := f.Depth * (1 - f.Duty) / (2 * f.Hz); worst > most || worst < most/10 {
		t.Errorf("flicker moves readings by up to %g; a part of a period can do %g", worst, most)
	}
}

// TestSettling: a step up and a step down, part of the way after as many time
// constants as went by to the middle of the integration; a patch that stays
// does not move.
func TestSettling(t *testing.T) {
	d := plain(t, func(s *simulate.Spec) { s.Settling = simulate.Settling{Rise: 2 * time.Second, Fall: 4 * time.Second} }, simulate.Options{})
	i, p := d.Spectroradiometer(), d.Spec().Primaries
	rest := func(name string, wait time.Duration, full, before [3]float64, slow float64) {
		t.Helper()
		if err := d.Clock().Sleep(context.Background(), wait); err != nil {
			t.Fatal(err)
		}
		s := read(t, i, 0, 0)
		left := math.Exp(-(wait.Seconds() + s.Duration.Seconds()/2) / slow)
		var a [3]float64
		for c := range a {
			a[c] = full[c] + (before[c]-full[c])*left
		}
		near(t, name, s.XYZ, sum(p, a), 1e-9)
	}
	show(t, d, colorimetry.RGB{R: 1})
	rest("from darkness", 0, [3]float64{1, 0, 0}, [3]float64{}, 2)
	show(t, d, colorimetry.RGB{R: 1, G: 1})
	rest("up", time.Second, [3]float64{1, 1, 0}, [3]float64{1, 0, 0}, 2)
	show(t, d, colorimetry.RGB{R: 1, G: 1})
	rest("the same", 0, [3]float64{1, 1, 0}, [3]float64{1, 1, 0}, 2)
	show(t, d, colorimetry.RGB{R: 1})
	rest("down", 0, [3]float64{1, 0, 0}, [3]float64{1, 1, 0}, 4)
	near(t, "truth is settled", d.Truth(colorimetry.RGB{R: 1}), sum(p, [3]float64{1, 0, 0}), 1e-12)
}

// TestField: the corners, the edges and the centre by the formula; places off
// the screen are refused.
func TestField(t *testing.T) {
	f := simulate.Field{Fall: [3]float64{0.1, 0.2, 0}, Across: [3]float64{0.05, 0, 0}, Down: [3]float64{0, 0, -0.04}}
	d := plain(t, func(s *simulate.Spec) { s.Field = f }, simulate.Options{Place: simulate.Place{X: 0.5}})
	p, signal := d.Spec().Primaries, colorimetry.Gray(1)
	near(t, "right edge", d.Truth(signal), sum(p, [3]float64{1 - 0.05 + 0.05, 0.9, 1}), 1e-12)
	for _, tc := range []struct {
		at   simulate.Place
		want [3]float64
	}{
		{simulate.Place{}, [3]float64{1, 1, 1}},
		{simulate.Place{X: -0.5, Y: 0.5}, [3]float64{1 - 0.1 - 0.05, 0.8, 0.96}},
		{simulate.Place{X: 0.25, Y: -0.5}, [3]float64{1 - 0.1*0.625 + 0.025, 1 - 0.2*0.625, 1.04}},
	} {
		if err := d.MoveTo(tc.at); err != nil {
			t.Fatal(err)
		}
		show(t, d, signal)
		near(t, "truth", d.Truth(signal), sum(p, tc.want), 1e-12)
		near(t, "read", read(t, d.Spectroradiometer(), 0, 0).XYZ, sum(p, tc.want), 1e-12)
	}
	for _, off := range []simulate.Place{{X: 0.6}, {Y: -1}, {X: math.NaN()}} {
		if err := d.MoveTo(off); err == nil {
			t.Errorf("the place %v was taken", off)
		}
	}
}

// TestRoom: a screen that reflects the share ρ of E lx in all directions alike
// shows ρE/π cd/m² on top, in the colour of the room's light.
func TestRoom(t *testing.T) {
	a := spectrum.IlluminantA()
	d := plain(t, func(s *simulate.Spec) { s.Reflectance = 0.02 }, simulate.Options{RoomLux: 300, RoomLight: a})
	dark := plain(t, nil, simulate.Options{})
	w := spectrum.CIE1931().Emission(a)
	flare := w.Scale(0.02 * 300 / math.Pi / w.Y)
	for _, signal := range []colorimetry.RGB{{}, {R: 1, G: 0.5}} {
		near(t, "with the room", d.Truth(signal), dark.Truth(signal).Add(flare), 1e-12)
		show(t, d, signal)
		near(t, "read", read(t, d.Spectroradiometer(), 0, 0).XYZ, d.Truth(signal), 1e-12)
	}
	near(t, "the room alone", d.Room(), flare, 1e-12)
}

// TestModes: a mode that emulates an encoding shows its primaries' and white's
// chromaticities, and its curve, on a display that holds them all.
func TestModes(t *testing.T) {
	wide := spectrum.PanelSources()[3].Primaries
	s := simulate.Spec{Name: "bench", Primaries: wide}
	for c := range s.Tones {
		s.Tones[c] = tone.Stretch(tone.Power{Gamma: 2.4}, 1e-5)
	}
	space := rgb.SRGB()
	toXYZ, err := space.Matrix()
	if err != nil {
		t.Fatal(err)
	}
	m, err := s.Emulate(space)
	if err != nil {
		t.Fatal(err)
	}
	s.Modes = []simulate.Mode{m}
	own, err := simulate.New(s, simulate.Options{Bits: 16})
	if err != nil {
		t.Fatal(err)
	}
	d, err := simulate.New(s, simulate.Options{Bits: 16, Mode: space.Name})
	if err != nil {
		t.Fatal(err)
	}
	if d.Screen().Mode != space.Name || own.Screen().Mode != "native" {
		t.Errorf("modes %q and %q", d.Screen().Mode, own.Screen().Mode)
	}
	black := d.Truth(colorimetry.RGB{})
	for _, signal := range []colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1, B: 1}, {R: 1, B: 1}} {
		got := d.Truth(signal).Sub(black).Chromaticity()
		want := toXYZ.FromLinear(signal).Chromaticity()
		if math.Hypot(got.X-want.X, got.Y-want.Y) > 2e-4 {
			t.Errorf("%v is at %v, wanted %v", signal, got, want)
		}
	}
	half := d.Truth(colorimetry.Gray(0.5)).Sub(black).Y / d.Truth(colorimetry.Gray(1)).Sub(black).Y
	if want := (tone.SRGB{}).Light(0.5); math.Abs(half-want) > 1e-4 {
		t.Errorf("half signal gives %g of white, wanted %g", half, want)
	}
	if _, err := simulate.New(s, simulate.Options{Mode: "cinema"}); err == nil {
		t.Error("a mode that the display lacks was switched on")
	}
}

func TestNuisanceRefusals(t *testing.T) {
	nan := math.NaN()
	mode := simulate.Mode{Name: "a", Tone: tone.SRGB{}, Mix: colorimetry.Identity()}
	for name, change := range map[string]func(*simulate.Spec){
		"dimming from":      func(s *simulate.Spec) { s.Dimming = simulate.Dimming{From: 2, Exponent: 1} },
		"dimming exponent":  func(s *simulate.Spec) { s.Dimming = simulate.Dimming{From: 0.5} },
		"dimming NaN":       func(s *simulate.Spec) { s.Dimming = simulate.Dimming{From: nan, Exponent: 1} },
		"drift":             func(s *simulate.Spec) { s.Drift = simulate.Drift{Amount: [3]float64{-1}, Time: 1} },
		"drift NaN":         func(s *simulate.Spec) { s.Drift = simulate.Drift{Amount: [3]float64{nan}, Time: 1} },
		"drift in no time":  func(s *simulate.Spec) { s.Drift.Amount[0] = 0.1 },
		"swing in no time":  func(s *simulate.Spec) { s.Drift.Wave[0] = 0.1 },
		"field":             func(s *simulate.Spec) { s.Field.Fall[2] = 1 },
		"field NaN":         func(s *simulate.Spec) { s.Field.Down[2] = nan },
		"flicker":           func(s *simulate.Spec) { s.Flicker = simulate.Flicker{Hz: 60, Depth: 1, Duty: 1} },
		"flicker's rate":    func(s *simulate.Spec) { s.Flicker = simulate.Flicker{Hz: 1e9, Depth: 1, Duty: 0.5} },
		"flicker NaN":       func(s *simulate.Spec) { s.Flicker = simulate.Flicker{Hz: nan, Depth: 1, Duty: 0.5} },
		"settling":          func(s *simulate.Spec) { s.Settling.Fall = -1 },
		"reflectance":       func(s *simulate.Spec) { s.Reflectance = 1.1 },
		"nameless mode":     func(s *simulate.Spec) { s.Modes = []simulate.Mode{{Tone: tone.SRGB{}}} },
		"mode without tone": func(s *simulate.Spec) { s.Modes = []simulate.Mode{{Name: "a"}} },
		"mode twice":        func(s *simulate.Spec) { s.Modes = []simulate.Mode{mode, mode} },
		"mode's tone":       func(s *simulate.Spec) { s.Modes = []simulate.Mode{{Name: "a", Tone: half{}}} },
		"mode's mix": func(s *simulate.Spec) {
			s.Modes = []simulate.Mode{{Name: "a", Tone: tone.SRGB{}, Mix: colorimetry.Diagonal(9, 1, nan)}}
		},
	} {
		s := simulate.CRT.Spec()
		change(&s)
		if _, err := simulate.New(s, simulate.Options{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	for name, o := range map[string]simulate.Options{
		"window": {WindowShare: 1.5}, "window NaN": {WindowShare: nan}, "surround": {Surround: -0.1}, "place": {Place: simulate.Place{X: 1}},
		"room": {RoomLux: -1}, "room NaN": {RoomLux: nan}, "room's light": {RoomLux: 1, RoomLight: spectrum.IlluminantA().Scale(0)},
	} {
		if _, err := simulate.New(simulate.CRT.Spec(), o); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestTroubled: a run of 1,000 patches on a display with every nuisance on, in
// which white loses 3 % and 0.003 in u'v'. The readings lie several times the
// instrument's noise from the truth; without the drift they lie as far as the
// noise alone puts them, since all else is part of the truth or below it.
func TestTroubled(t *testing.T) {
	for _, drifts := range []bool{true, false} {
		spec := simulate.SaggingPanel.Spec().Troubled()
		if !drifts {
			spec.Drift = simulate.Drift{}
		}
		d, err := simulate.New(spec, simulate.Options{Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		off, most := troubledRun(t, d)
		white := colorimetry.Gray(1)
		lost := 1 - d.TruthAt(white, d.Clock().Now()).Y/d.Truth(white).Y
		t.Logf("drift %v: after %v white lost %.2f %% and up to %.4f in u'v'; readings are off by %.2f of their noise",
			drifts, d.Clock().Now().Sub(simulate.Measured(simulate.CRT, simulate.Options{}).Clock().Now()), 100*lost, most, off)
		switch {
		case drifts && (lost < 0.029 || lost > 0.035 || most < 0.0029 || most > 0.0036 || off < 3):
			t.Errorf("white lost %.4f and %.5f in u'v', readings are off by %.2f", lost, most, off)
		case !drifts && (lost != 0 || math.Abs(off-1) > 0.05): // 3,000 squares: 1 ± 0.013
			t.Errorf("without drift white lost %g, readings are off by %.2f", lost, off)
		}
	}
}

// troubledRun reads 1,000 patches twice each, with a colorimeter that needs no
// correction, and returns their root mean square distance from the truth in
// units of the noise, and how far white strayed in u'v'.
func troubledRun(t *testing.T, d *simulate.Display) (off, most float64) {
	t.Helper()
	ctx := context.Background()
	const averages = 2
	i := filter(t, d, simulate.FilterMeter{Sensitivities: spectrumOfCIE()})
	s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: i, Clock: d.Clock(), Averages: averages})
	if err != nil {
		t.Fatal(err)
	}
	white := colorimetry.Gray(1)
	squares := 0.0
	const n = 1000
	for k := range n {
		signal := colorimetry.RGB{R: float64(k*7%10) / 9, G: float64(k*3%11) / 10, B: float64(k*5%13) / 12}
		r, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StageCharts, Patch: chart.Patch{Signal: signal}})
		if err != nil {
			t.Fatal(err)
		}
		truth := d.Truth(signal)
		inverse, err := i.Instrument().Noise.Covariance(truth, averages).Inverse()
		if err != nil {
			t.Fatal(err)
		}
		e := r.Raw.Sub(truth)
		v := inverse.Apply(e)
		squares += (e.X*v.X + e.Y*v.Y + e.Z*v.Z) / 3
		most = math.Max(most, d.TruthAt(white, d.Clock().Now()).UV().Distance(d.Truth(white).UV()))
	}
	return math.Sqrt(squares / n), most
}
