package simulate_test

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

func request(reading int) measure.Request { return measure.Request{Reading: reading} }

// TestFaultySamples: what each kind makes of a sample of white, at its reading
// and not at the next.
func TestFaultySamples(t *testing.T) {
	ctx := context.Background()
	d := plain(t, nil, simulate.Options{})
	show(t, d, colorimetry.Gray(1))
	for _, tc := range []struct {
		fault simulate.Fault
		want  func(got, light colorimetry.XYZ) bool
	}{
		{simulate.Fault{Kind: simulate.Slips}, func(g, w colorimetry.XYZ) bool { return g == w.Scale(0.6) }},
		{simulate.Fault{Kind: simulate.Slips, Share: 0.9}, func(g, w colorimetry.XYZ) bool { return g == w.Scale(0.9) }},
		{simulate.Fault{Kind: simulate.Saturates, CdM2: 90}, func(g, w colorimetry.XYZ) bool { return g == colorimetry.XYZ{X: 90, Y: 90, Z: 90} }},
		{simulate.Fault{Kind: simulate.Saturates, CdM2: 1e4}, func(g, w colorimetry.XYZ) bool { return g == w }},
		{simulate.Fault{Kind: simulate.NotANumber}, func(g, _ colorimetry.XYZ) bool { return math.IsNaN(g.X) && math.IsNaN(g.Y) && math.IsNaN(g.Z) }},
		{simulate.Fault{Kind: simulate.Infinite}, func(g, _ colorimetry.XYZ) bool { return math.IsInf(g.Y, 1) }},
		{simulate.Fault{Kind: simulate.Negative}, func(g, w colorimetry.XYZ) bool { return g == w.Scale(-1) }},
		// One foot-lambert is 3.426 cd/m² (ANSI/IES: candela per square foot over π).
		{simulate.Fault{Kind: simulate.WrongUnit}, func(g, w colorimetry.XYZ) bool { return math.Abs(w.Y/g.Y-3.42626) < 1e-5 }},
	} {
		tc.fault.Reading = 2
		for name, i := range map[string]measure.Instrument{"colours": d.Spectroradiometer(), "spectra": spectral(t, d, simulate.SpectralMeter{Noise: &simulate.SpectralNoise{}})} {
			f := simulate.Faulty(i, tc.fault)
			if f.Instrument() != i.Instrument() {
				t.Errorf("%s: it states its fault", tc.fault.Kind)
			}
			for reading := range 4 {
				clean := read(t, i, reading, 0)
				s, err := f.Measure(ctx, request(reading))
				if err != nil {
					t.Fatal(err)
				}
				if spoilt := reading == 2; spoilt && !tc.want(s.XYZ, clean.XYZ) || !spoilt && s.XYZ != clean.XYZ {
					t.Errorf("%s, %s, reading %d: %v, true %v", tc.fault.Kind, name, reading, s.XYZ, clean.XYZ)
				}
				if e := s.XYZ.Y; s.Spectrum.Len() > 0 && math.Abs(e-683*s.Spectrum.Integral(spectrumOfCIE()[1])) > 1e-3*math.Abs(e) {
					t.Errorf("%s, reading %d: the spectrum does not go with %v", tc.fault.Kind, reading, s.XYZ)
				}
			}
		}
	}
}

// TestFaultyWhen: some readings, all to come, and the first attempts alone.
func TestFaultyWhen(t *testing.T) {
	ctx := context.Background()
	d := plain(t, nil, simulate.Options{})
	show(t, d, colorimetry.Gray(1))
	f := simulate.Faulty(d.Colorimeter(), simulate.Fault{Kind: simulate.Drops, Reading: 1, Readings: 2, Attempts: 2}, simulate.Fault{Kind: simulate.Drops, Reading: 5, Readings: -1})
	for reading, fails := range []int{0, 2, 2, 0, 0, 9, 9} {
		for try := range 9 {
			_, err := f.Measure(ctx, request(reading))
			if got := err != nil; got != (try < fails) {
				t.Errorf("reading %d, attempt %d: %v", reading, try, err)
			}
			if err != nil && !errors.Is(err, measure.ErrTransient) {
				t.Errorf("reading %d: %v is not passing trouble", reading, err)
			}
		}
	}
}

// TestFaultyHang: an instrument and a screen that hang end with their context.
func TestFaultyHang(t *testing.T) {
	d := plain(t, nil, simulate.Options{})
	show(t, d, colorimetry.Gray(1))
	hang := simulate.Fault{Kind: simulate.Hangs}
	for name, call := range map[string]func(context.Context) error{
		"instrument": func(ctx context.Context) error {
			_, err := simulate.Faulty(d.Colorimeter(), hang).Measure(ctx, request(0))
			return err
		},
		"screen": func(ctx context.Context) error {
			return simulate.FaultyScreen(d, hang).Show(ctx, colorimetry.RGB{})
		},
	} {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Millisecond)
		begin := time.Now()
		if err := call(ctx); !errors.Is(err, context.DeadlineExceeded) || time.Since(begin) < 15*time.Millisecond {
			t.Errorf("%s: %v after %v", name, err, time.Since(begin))
		}
		cancel()
	}
}

// TestFaultyDisconnect: gone until it is plugged in again, and then for good.
func TestFaultyDisconnect(t *testing.T) {
	ctx := context.Background()
	d := plain(t, nil, simulate.Options{})
	show(t, d, colorimetry.Gray(1))
	f := simulate.Faulty(d.Colorimeter(), simulate.Fault{Kind: simulate.Disconnects, Reading: 1, Readings: -1})
	try := func(reading int, ok bool) {
		t.Helper()
		if _, err := f.Measure(ctx, request(reading)); (err == nil) != ok || err != nil && !errors.Is(err, simulate.ErrDisconnected) {
			t.Errorf("reading %d: %v", reading, err)
		}
	}
	try(0, true)
	try(1, false)
	try(0, false)
	f.(simulate.Reconnector).Reconnect()
	try(1, true)
	try(2, true)
	s := simulate.FaultyScreen(d, simulate.Fault{Kind: simulate.Disconnects, Reading: 1})
	for n, ok := range []bool{true, false, false} {
		if err := s.Show(ctx, colorimetry.RGB{}); (err == nil) != ok {
			t.Errorf("patch %d: %v", n, err)
		}
	}
	s.(simulate.Reconnector).Reconnect()
	if err := s.Show(ctx, colorimetry.RGB{}); err != nil {
		t.Error(err)
	}
}

// TestFaultyCrash: a crash does what it was given, or panics.
func TestFaultyCrash(t *testing.T) {
	ctx := context.Background()
	d := plain(t, nil, simulate.Options{})
	show(t, d, colorimetry.Gray(1))
	done := 0
	f := simulate.Faulty(d.Colorimeter(), simulate.Fault{Kind: simulate.Crashes, Reading: 3, Do: func() { done++ }}, simulate.Fault{Kind: simulate.Crashes, Reading: 4})
	crashed := func(reading int) (did bool) {
		defer func() { did = recover() != nil }()
		if _, err := f.Measure(ctx, request(reading)); err != nil {
			t.Error(err)
		}
		return false
	}
	for reading, want := range []bool{false, false, false, false, true} {
		if got := crashed(reading); got != want {
			t.Errorf("reading %d: crashed %v", reading, got)
		}
	}
	if done != 1 {
		t.Errorf("the crash was done %d times", done)
	}
}

// TestFaultyScreen: a patch that is ignored leaves the one before; curves and
// the count after a resumed run pass through.
func TestFaultyScreen(t *testing.T) {
	ctx := context.Background()
	d := plain(t, nil, simulate.Options{})
	s := simulate.FaultyScreen(d, simulate.Fault{Kind: simulate.Ignores, Reading: 1}, simulate.Fault{Kind: simulate.Ignores, Reading: 8})
	i := d.Spectroradiometer()
	for n, want := range []float64{1, 1, 0} {
		if err := s.Show(ctx, colorimetry.Gray([]float64{1, 0.5, 0}[n])); err != nil {
			t.Fatal(err)
		}
		near(t, "shown", read(t, i, n, 0).XYZ, d.Truth(colorimetry.Gray(want)), 1e-12)
	}
	if err := s.(measure.Restorer).Restore(ctx, measure.Reading{Index: 7}); err != nil {
		t.Fatal(err)
	}
	if err := s.Show(ctx, colorimetry.Gray(1)); err != nil {
		t.Fatal(err)
	}
	near(t, "ignored after resuming", read(t, i, 8, 0).XYZ, d.Truth(colorimetry.RGB{}), 1e-12)
	if _, ok := s.(measure.CurveLoader); !ok || s.Screen() != d.Screen() {
		t.Error("the screen lost its curves or its description")
	}
	if err := s.(measure.SelfChecker).CheckScreen(ctx); err != nil {
		t.Error(err)
	}
	bare := simulate.FaultyScreen(curveless{d})
	if _, ok := bare.(measure.CurveLoader); ok {
		t.Error("a screen without curves was given some")
	}
	dark := filter(t, d, simulate.FilterMeter{Traits: simulate.Traits{Dark: simulate.Dark{Valid: time.Hour}}})
	if c, ok := simulate.Faulty(dark).(measure.DarkCalibrator); !ok || !c.DarkCalibration().After(d.Clock().Now()) {
		t.Error("a faulty instrument lost its dark calibration")
	}
	if _, ok := simulate.Faulty(d.Colorimeter()).(measure.DarkCalibrator); ok {
		t.Error("a faulty instrument was given dark calibrations")
	}
}

// curveless is a screen that holds no curves.
type curveless struct{ d *simulate.Display }

func (c curveless) Show(ctx context.Context, s colorimetry.RGB) error { return c.d.Show(ctx, s) }
func (c curveless) Screen() measure.ScreenInfo                        { return c.d.Screen() }

// TestFaultyPanics: a fault that the device cannot have is the caller's bug.
func TestFaultyPanics(t *testing.T) {
	d := plain(t, nil, simulate.Options{})
	for name, call := range map[string]func(){
		"unknown":    func() { simulate.Faulty(d.Colorimeter(), simulate.Fault{Kind: "moth"}) },
		"screen's":   func() { simulate.Faulty(d.Colorimeter(), simulate.Fault{Kind: simulate.Ignores}) },
		"instrument": func() { simulate.FaultyScreen(d, simulate.Fault{Kind: simulate.Slips}) },
		"index":      func() { simulate.Faulty(d.Colorimeter(), simulate.Fault{Kind: simulate.Slips, Reading: -1}) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			call()
		}()
	}
}

// TestFaultySession: a session meets the faults by name: passing trouble is
// tried again, garbage and a lost cable end the run, which a new session on the
// same journal brings to the readings of an unbroken one.
func TestFaultySession(t *testing.T) {
	ctx := context.Background()
	run := func(lines [][]byte, faults ...simulate.Fault) ([][]byte, error) {
		d := simulate.Measured(simulate.CRT, simulate.Options{Seed: 2, Cold: true})
		journal := measure.NewMemory(lines)
		s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: simulate.Faulty(d.Colorimeter(), faults...), Clock: d.Clock(),
			Journal: journal, Replay: lines, Digest: "test", Averages: 2})
		if err != nil {
			t.Fatal(err)
		}
		for k := range 8 {
			if _, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StageCharts, Patch: chart.Patch{Signal: colorimetry.Gray(float64(k) / 7)}}); err != nil {
				return journal.Lines(), err
			}
		}
		return journal.Lines(), nil
	}
	whole, err := run(nil)
	if err != nil {
		t.Fatal(err)
	}
	want := measuredIn(t, whole)
	for _, kind := range []simulate.FaultKind{simulate.NotANumber, simulate.Infinite, simulate.Disconnects, simulate.Drops} {
		lines, err := run(nil, simulate.Fault{Kind: kind, Reading: 5})
		var device *measure.DeviceError
		if !errors.As(err, &device) {
			t.Fatalf("%s: %v", kind, err)
		}
		t.Log(err)
		if lines, err = run(lines); err != nil {
			t.Fatal(err)
		}
		got := measuredIn(t, lines)
		for i := range want {
			if got[i].Raw != want[i].Raw || !got[i].Time.Equal(want[i].Time) {
				t.Fatalf("%s: reading %d is %v at %v, unbroken %v at %v", kind, i, got[i].Raw, got[i].Time, want[i].Raw, want[i].Time)
			}
		}
	}
	if _, err := run(nil, simulate.Fault{Kind: simulate.Drops, Reading: 5, Attempts: 3}); err != nil {
		t.Errorf("three lost samples ended the run: %v", err)
	}
}
