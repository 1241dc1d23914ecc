package simulate_test

import (
	"context"
	"math"
	"sync"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

func TestQuantisation(t *testing.T) {
	d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Bits: 8})
	at := func(code float64) colorimetry.XYZ { return d.Truth(colorimetry.Gray(code / 255)) }
	if at(127.4) != at(127) || at(127.6) != at(128) || at(127) == at(128) {
		t.Error("an 8-bit path must round to the nearest of 256 codes")
	}
	if d.Truth(colorimetry.Gray(-1)) != at(0) || d.Truth(colorimetry.Gray(7)) != at(255) {
		t.Error("signals beyond 0 to 1 must show the end codes")
	}
	// Codes of 10 bits, counted through the display.
	d = simulate.Measured(simulate.WideGamutLCD, simulate.Options{})
	if got := d.Screen().Bits; got != 10 {
		t.Errorf("default depth %d, want 10", got)
	}
	seen := map[colorimetry.XYZ]bool{}
	for i := range 8192 {
		seen[d.Truth(colorimetry.Gray(float64(i)/8191))] = true
	}
	if len(seen) != 1024 {
		t.Errorf("%d colours of grey in a 10-bit path, want 1024", len(seen))
	}
}

// TestCurves: a signal passes the curves between the two roundings, worked out
// here by hand.
func TestCurves(t *testing.T) {
	ctx := context.Background()
	d := simulate.Measured(simulate.CRT, simulate.Options{Bits: 8})
	var up, same []float64
	for i := range 17 {
		s := float64(i) / 16
		up, same = append(up, s*s), append(same, s)
	}
	curves, err := tone.NewChannels(up, same, same)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.LoadCurves(ctx, curves); err != nil {
		t.Fatal(err)
	}
	if d.Curves().Digest() != curves.Digest() {
		t.Error("the curves in force are not those loaded")
	}
	// Code 100.2 enters as 100; between the entries at 6/16 and 7/16 the
	// squared curve gives 0.15460 there, that is code 39.42, which leaves as 39.
	got := d.Truth(colorimetry.RGB{R: 100.2 / 255})
	if err := d.LoadCurves(ctx, tone.Channels{}); err != nil {
		t.Fatal(err)
	}
	if want := d.Truth(colorimetry.RGB{R: 39.0 / 255}); got != want || got == d.Truth(colorimetry.RGB{R: 40.0 / 255}) {
		t.Errorf("red 100.2/255 through the curve is %v, want %v", got, want)
	}
}

// TestFactoryAndControls: at the factory setting the display is as measured;
// brightness scales all light, a gain its channel's light above black.
func TestFactoryAndControls(t *testing.T) {
	ctx := context.Background()
	d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{})
	want := []measure.Control{
		{Name: measure.Brightness, Max: 100, Now: 100}, {Name: measure.RedGain, Max: 100, Now: 100},
		{Name: measure.GreenGain, Max: 100, Now: 100}, {Name: measure.BlueGain, Max: 100, Now: 100},
	}
	for i, c := range d.Controls() {
		if c != want[i] {
			t.Errorf("control %d is %+v, want %+v", i, c, want[i])
		}
	}
	white, black, red := d.Truth(colorimetry.Gray(1)), d.Truth(colorimetry.RGB{}), d.Truth(colorimetry.RGB{R: 1})
	set := func(name string, step int) {
		t.Helper()
		if err := d.Set(ctx, name, step); err != nil {
			t.Fatal(err)
		}
	}
	last, uneven := white.Y, false
	var firstStep float64
	for step := 99; step >= 0; step-- {
		set(measure.Brightness, step)
		w, k := d.Truth(colorimetry.Gray(1)), d.Truth(colorimetry.RGB{})
		if w.Y >= last {
			t.Fatalf("brightness %d gives %g cd/m², %d gives %g", step, w.Y, step+1, last)
		}
		if firstStep == 0 {
			firstStep = last - w.Y
		}
		uneven = uneven || math.Abs((last-w.Y)/firstStep-1) > 0.2
		last = w.Y
		if f := w.Y / white.Y; math.Abs(k.Z/black.Z-f) > 1e-12 || math.Abs(w.X/white.X-f) > 1e-12 {
			t.Fatalf("brightness %d: white %g, black %g of the factory's", step, f, k.Z/black.Z)
		}
	}
	if !uneven {
		t.Error("the steps of brightness are even; a real control's are not")
	}
	set(measure.Brightness, 100)
	for step := 100; step > 60; step-- {
		a := d.Truth(colorimetry.RGB{B: 1}).Sub(black).Z
		set(measure.BlueGain, step-1)
		b := d.Truth(colorimetry.RGB{B: 1}).Sub(black).Z
		if share := 1 - b/a; share < 0.003 || share > 0.006 {
			t.Fatalf("blue gain %d to %d takes %.2f %% of its light, want 0.3 to 0.6", step, step-1, 100*share)
		}
	}
	if d.Truth(colorimetry.RGB{}) != black || d.Truth(colorimetry.RGB{R: 1}) != red {
		t.Error("blue gain changed black or red")
	}
	if now := d.Controls()[3].Now; now != 60 {
		t.Errorf("blue gain now at %d, want 60", now)
	}
}

// TestGainsReachD65: from every display's white, gains that go down from the
// factory setting come within 0.001 in u'v' of D65 at full signal.
func TestGainsReachD65(t *testing.T) {
	ctx := context.Background()
	aim := colorimetry.D65().UV()
	for _, e := range embedded {
		d := simulate.Measured(e.panel, simulate.Options{})
		off := func() float64 { return d.Truth(colorimetry.Gray(1)).UV().Distance(aim) }
		found := off()
		for improved := true; improved; {
			improved = false
			for _, c := range d.Controls()[1:4] {
				for _, step := range []int{c.Now - 1, c.Now + 1} {
					before := off()
					if step < c.Min || step > c.Max {
						continue
					}
					if err := d.Set(ctx, c.Name, step); err != nil {
						t.Fatal(err)
					}
					if off() < before {
						improved = true
						break
					}
					if err := d.Set(ctx, c.Name, c.Now); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
		t.Logf("%v: %.4f as found, %.4f at %v, %.1f cd/m²", e.panel, found, off(), d.Controls(), d.Truth(colorimetry.Gray(1)).Y)
		if off() > 0.001 {
			t.Errorf("%v: gains come within %.4f of D65, want 0.001", e.panel, off())
		}
	}
}

// TestHold: where a menu has more steps than the electronics, some steps do
// nothing.
func TestHold(t *testing.T) {
	d := plain(t, func(s *simulate.Spec) { s.Gain = simulate.Response{Lowest: 0.4, Exponent: 1, Hold: 4} }, simulate.Options{})
	for _, step := range []int{100, 99, 98, 97, 96, 95, 50, 3, 0} {
		if err := d.Set(context.Background(), measure.RedGain, step); err != nil {
			t.Fatal(err)
		}
		works := map[int]float64{100: 100, 99: 96, 98: 96, 97: 96, 96: 96, 95: 92, 50: 48, 3: 0, 0: 0}[step]
		near(t, "red", d.Truth(colorimetry.RGB{R: 1}), sum(d.Spec().Primaries, [3]float64{0.4 + 0.6*works/100}), 1e-12)
	}
}

func TestNoControls(t *testing.T) {
	d := simulate.Measured(simulate.CRT, simulate.Options{NoControls: true})
	if d.Controls() != nil {
		t.Errorf("controls %v, want none", d.Controls())
	}
	if err := d.Set(context.Background(), measure.Brightness, 50); err == nil {
		t.Error("a display without controls let one be set")
	}
}

func TestRefusals(t *testing.T) {
	ctx := context.Background()
	done, cancel := context.WithCancel(ctx)
	cancel()
	d := simulate.Measured(simulate.CRT, simulate.Options{})
	if _, err := d.Colorimeter().Measure(ctx, measure.Request{}); err == nil {
		t.Error("measured although nothing is shown")
	}
	for name, err := range map[string]error{
		"NaN":          d.Show(ctx, colorimetry.RGB{G: math.NaN()}),
		"no control":   d.Set(ctx, "contrast", 5),
		"step 101":     d.Set(ctx, measure.RedGain, 101),
		"step -1":      d.Set(ctx, measure.RedGain, -1),
		"show done":    d.Show(done, colorimetry.RGB{}),
		"set done":     d.Set(done, measure.RedGain, 5),
		"curves done":  d.LoadCurves(done, tone.Channels{}),
		"sleep done":   d.Clock().Sleep(done, time.Hour),
		"earlier time": d.Clock().Restore(ctx, measure.Reading{Time: d.Clock().Now().Add(-time.Second)}),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	start := d.Clock().Now()
	if err := d.Show(ctx, colorimetry.Gray(1)); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Spectroradiometer().Measure(done, measure.Request{}); err == nil {
		t.Error("measured although the context is done")
	}
	if !d.Clock().Now().Equal(start) {
		t.Error("refused work took time")
	}
	good := simulate.CRT.Spec()
	for name, change := range map[string]func(*simulate.Spec, *simulate.Options){
		"bits":       func(_ *simulate.Spec, o *simulate.Options) { o.Bits = 17 },
		"name":       func(s *simulate.Spec, _ *simulate.Options) { s.Name = "" },
		"no tone":    func(s *simulate.Spec, _ *simulate.Options) { s.Tones[1] = nil },
		"no primary": func(s *simulate.Spec, _ *simulate.Options) { s.Primaries[2] = s.Primaries[2].Scale(0) },
		"missing": func(s *simulate.Spec, _ *simulate.Options) {
			s.WarmUp = simulate.WarmUp{Missing: [3]float64{1}, Decay: 1}
		},
		"decay":    func(s *simulate.Spec, _ *simulate.Options) { s.WarmUp = simulate.WarmUp{Missing: [3]float64{0.1}} },
		"exponent": func(s *simulate.Spec, _ *simulate.Options) { s.Gain = simulate.Response{Lowest: 0.5} },
		"hold": func(s *simulate.Spec, _ *simulate.Options) {
			s.Gain = simulate.Response{Lowest: 0.5, Exponent: 1, Hold: 101}
		},
		"half light": func(s *simulate.Spec, _ *simulate.Options) { s.Tones[0] = half{} },
	} {
		s, o := good, simulate.Options{}
		change(&s, &o)
		if _, err := simulate.New(s, o); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// half is a tone that ends at half the light.
type half struct{ tone.Power }

func (half) Light(s float64) float64 { return s / 2 }

// TestConcurrentUse: a call that a session gave up waiting for may still be at
// work when the next begins. The race detector judges this test.
func TestConcurrentUse(t *testing.T) {
	ctx := context.Background()
	d := simulate.Measured(simulate.CRT, simulate.Options{Cold: true})
	show(t, d, colorimetry.RGB{})
	start := d.Clock().Now()
	var all sync.WaitGroup
	for k := range 4 {
		all.Go(func() {
			for n := range 50 {
				for _, err := range []error{
					d.Show(ctx, colorimetry.Gray(float64(n)/50)), d.Set(ctx, measure.RedGain, n),
					d.LoadCurves(ctx, tone.Channels{}), d.Clock().Sleep(ctx, time.Second),
				} {
					if err != nil {
						t.Error(err)
					}
				}
				if _, err := d.Colorimeter().Measure(ctx, measure.Request{Reading: k, Repeat: n}); err != nil {
					t.Error(err)
				}
				d.Truth(colorimetry.Gray(1))
				d.Controls()
			}
		})
	}
	all.Wait()
	if took := d.Clock().Now().Sub(start); took < 400*time.Second {
		t.Errorf("200 s of sleep and 200 readings took %v", took)
	}
}

// TestConcurrentInstruments: the same for the instruments that remember
// something, and for faults.
func TestConcurrentInstruments(t *testing.T) {
	ctx := context.Background()
	d := plain(t, nil, simulate.Options{Mishaps: []simulate.Mishap{{Kind: simulate.Late, Reading: 2}}})
	show(t, d, colorimetry.RGB{})
	traits := simulate.Traits{Dark: simulate.Dark{Valid: time.Minute}, Outliers: simulate.Outliers{Probability: 0.1}}
	meters := []measure.Instrument{
		filter(t, d, simulate.FilterMeter{Traits: traits}), spectral(t, d, simulate.SpectralMeter{Traits: traits, FromNM: 400, ToNM: 700, StepNM: 10}),
		simulate.Faulty(filter(t, d, simulate.FilterMeter{Traits: traits}), simulate.Fault{Kind: simulate.Slips, Reading: 1, Readings: -1}),
	}
	screen := simulate.FaultyScreen(d, simulate.Fault{Kind: simulate.Ignores, Reading: 3})
	var all sync.WaitGroup
	for k := range 4 {
		all.Go(func() {
			for n := range 25 {
				errs := []error{screen.Show(ctx, colorimetry.Gray(float64(n)/25)), d.MoveTo(simulate.Place{X: float64(n) / 50})}
				for _, m := range meters {
					_, err := m.Measure(ctx, measure.Request{Reading: k, Repeat: n})
					errs = append(errs, err, m.(measure.DarkCalibrator).CalibrateDark(ctx))
					m.(measure.DarkCalibrator).DarkCalibration()
				}
				for _, err := range errs {
					if err != nil {
						t.Error(err)
					}
				}
			}
		})
	}
	all.Wait()
}

// TestWarmUp: a cold display lacks a few per cent of luminance and a little
// colour, settles within half an hour, and Truth is what it settles to.
func TestWarmUp(t *testing.T) {
	for _, e := range embedded {
		d := simulate.Measured(e.panel, simulate.Options{Cold: true})
		start, white := d.Clock().Now(), colorimetry.Gray(1)
		settled := d.Truth(white)
		before := 1.0
		for m := 0; m <= 60; m += 5 {
			now := d.TruthAt(white, start.Add(time.Duration(m)*time.Minute))
			lacks, colour := 1-now.Y/settled.Y, now.UV().Distance(settled.UV())
			t.Logf("%v after %2d min: luminance -%.3f %%, white %.5f in u'v'", e.panel, m, 100*lacks, colour)
			if lacks >= before {
				t.Errorf("%v: no progress at %d min", e.panel, m)
			}
			before = lacks
			switch {
			case m == 0 && (lacks < 0.02 || lacks > 0.05 || colour < 0.0005 || colour > 0.003):
				t.Errorf("%v lacks %.4f and %.5f at switch-on; want 2 to 5 %% and 0.0005 to 0.003", e.panel, lacks, colour)
			case m == 15 && (lacks > 0.0015 || colour > 1e-4):
				t.Errorf("%v lacks %.4f and %.5f after 15 min", e.panel, lacks, colour)
			case m == 60 && (lacks > 1e-6 || colour > 1e-6):
				t.Errorf("%v lacks %g and %g after an hour", e.panel, lacks, colour)
			}
		}
		// A reading is of the light in the middle of its integration.
		quiet := simulate.Measured(e.panel, simulate.Options{Cold: true, ReferenceNoise: &measure.Noise{}})
		show(t, quiet, white)
		if err := quiet.Clock().Sleep(context.Background(), 90*time.Second); err != nil {
			t.Fatal(err)
		}
		got, want := read(t, quiet.Spectroradiometer(), 0, 0).XYZ, d.TruthAt(white, start.Add(91*time.Second))
		if math.Abs(got.Y/want.Y-1) > 1e-12 {
			t.Errorf("%v reads %v in the warm-up, where %v is shown", e.panel, got, want)
		}
		warm := simulate.Measured(e.panel, simulate.Options{})
		if warm.TruthAt(white, warm.Clock().Now()) != settled {
			t.Errorf("%v: a display that was on long before is not settled", e.panel)
		}
	}
}
