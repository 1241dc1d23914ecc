package plug_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"github.com/google/go-cmp/cmp"
)

// devices are all the roles of a program.
type devices struct {
	screen     measure.Screen
	instrument measure.Instrument
	controls   measure.Controls
	clock      measure.Clock
}

func roles(t *testing.T, p *plug.Process) (d devices) {
	t.Helper()
	var errs [4]error
	d.screen, errs[0] = p.Screen()
	d.instrument, errs[1] = p.Instrument()
	d.controls, errs[2] = p.Controls()
	d.clock, errs[3] = p.Clock()
	if err := errors.Join(errs[:3]...); err != nil {
		t.Fatal(err)
	}
	return d
}

func noError(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

var white = measure.Request{Reading: 4, Repeat: 1, Signal: colorimetry.Gray(1)}

// What a program offers arrives whole, and every message reaches it.
func TestProcess(t *testing.T) {
	ctx := context.Background()
	var said []string
	o := fast()
	o.Say = func(s string) { said = append(said, s) }
	p, dir := start(t, "spectrum", o)
	d := roles(t, p)
	wantScreen := measure.ScreenInfo{Name: "Panel", Mode: "native", Bits: 10, WindowShare: 0.04, Surround: 0.2, SettleMS: 1, Limited: true, Simulated: true}
	if got := d.screen.Screen(); got != wantScreen {
		t.Errorf("screen %+v, want %+v", got, wantScreen)
	}
	wantEye := measure.InstrumentInfo{
		Name: "Eye", Serial: "A-17", Spectral: true, LowestCdM2: 0.05, Use: measure.UseContact, WholeRefresh: true,
		Certificate: "C 2026-3", CertificateUV: 0.0005, CertificateLuminance: 0.01,
		Noise: measure.Noise{Chromaticity: 0.001, Luminance: 0.004, FloorCdM2: 0.003},
	}
	if got := d.instrument.Instrument(); got != wantEye {
		t.Errorf("instrument %+v, want %+v", got, wantEye)
	}
	noError(t, d.screen.Show(ctx, colorimetry.RGB{R: 1.0 / 3, G: 0.5, B: 1}))
	noError(t, d.screen.(measure.CurveLoader).LoadCurves(ctx, tone.Identity(3)))
	noError(t, d.screen.(measure.CurveLoader).LoadCurves(ctx, tone.Channels{}))
	noError(t, d.screen.(measure.SelfChecker).CheckScreen(ctx))
	noError(t, d.controls.Set(ctx, "red gain", -2))
	if got := d.controls.Controls()[1].Now; got != -2 {
		t.Errorf("red gain stands at %d", got)
	}
	noError(t, d.clock.Sleep(ctx, 1234567891))
	s, err := d.instrument.Measure(ctx, white)
	noError(t, err)
	third := 1.0 / 3
	if want := (colorimetry.XYZ{X: 95.5, Y: 100 + third, Z: 108.8}); s.XYZ != want || s.Duration != time.Second {
		t.Errorf("%v in %v, want %v to the bit", s.XYZ, s.Duration, want)
	}
	if nm, values := s.Spectrum.Samples(); !slices.Equal(nm, []float64{400, 500, 700}) || !slices.Equal(values, []float64{0.1, 0.2, third}) {
		t.Errorf("spectrum %v %v", nm, values)
	}
	at := time.Date(2026, 1, 5, 9, 0, 2, 234567891, time.UTC)
	if got := d.clock.Now(); !got.Equal(at) {
		t.Errorf("it is %v, want %v", got, at)
	}
	dark := d.instrument.(measure.DarkCalibrator)
	if !dark.DarkCalibration().IsZero() {
		t.Error("a dark calibration is in force before there was one")
	}
	noError(t, dark.CalibrateDark(ctx))
	if got, want := dark.DarkCalibration(), at.Add(time.Hour); !got.Equal(want) {
		t.Errorf("the calibration holds until %v, want %v", got, want)
	}
	if !slices.Equal(said, []string{`Put the cap on.\a`}) {
		t.Errorf("it said %q", said)
	}
	noError(t, d.clock.(measure.Restorer).Restore(ctx, measure.Reading{Index: 9, Time: at.Add(time.Minute)}))
	if got := d.clock.Now(); !got.Equal(at.Add(time.Minute)) {
		t.Errorf("restored to %v", got)
	}
	want := []string{
		`1: {"do":"hello","versions":[1]}`,
		`1: {"do":"show","signal":[0.3333333333333333,0.5,1]}`,
		`1: {"do":"curves","red":[0,32768,65535],"green":[0,32768,65535],"blue":[0,32768,65535]}`,
		`1: {"do":"curves","red":[],"green":[],"blue":[]}`,
		`1: {"do":"check"}`,
		`1: {"do":"set","control":"red gain","step":-2}`,
		`1: {"do":"sleep","for_ns":1234567891}`,
		`1: {"do":"measure","reading":4,"repeat":1,"signal":[1,1,1]}`,
		`1: {"do":"calibrate_dark"}`,
		`1: {"do":"restore","reading":9,"time":"2026-01-05T09:01:02.234567891Z"}`,
	}
	if diff := cmp.Diff(want, heard(t, dir)); diff != "" {
		t.Error(diff)
	}
	if p.Name() != "helper" || p.Restarts() != 0 {
		t.Errorf("%s was started again %d times", p.Name(), p.Restarts())
	}
}

// What a program does not offer is refused by name, and what cannot be asked of
// it never reaches it.
func TestProcessRefuses(t *testing.T) {
	p, dir := start(t, "real", fast())
	if _, err := p.Clock(); err == nil || !strings.Contains(err.Error(), "offers no clock; it offers controls, instrument, screen") {
		t.Errorf("%v", err)
	}
	if _, err := p.Reference(); err == nil {
		t.Error("there is a reference")
	}
	d := roles(t, p)
	for name, step := range map[string]int{"brightness": 101, "sharpness": 0} {
		if err := d.controls.Set(context.Background(), name, step); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s %d: %v", name, step, err)
		}
	}
	if err := d.screen.Show(context.Background(), colorimetry.RGB{R: math.NaN()}); err == nil || !strings.Contains(err.Error(), "cannot be told") {
		t.Errorf("a signal that is no number: %v", err)
	}
	if got := heard(t, dir); len(got) != 1 || p.Restarts() != 0 {
		t.Errorf("it heard %q", got)
	}
}

func TestClose(t *testing.T) {
	o := fast()
	o.EndTimeout = 200 * time.Millisecond
	p, _ := start(t, "always hangs", o)
	d := roles(t, p)
	failed := make(chan error, 1)
	go func() {
		_, err := d.instrument.Measure(context.Background(), white)
		failed <- err
	}()
	time.Sleep(50 * time.Millisecond)
	noError(t, p.Close())
	if err := <-failed; err == nil || !strings.Contains(err.Error(), "was closed") {
		t.Errorf("the call under way ended with %v", err)
	}
	if err := d.screen.Show(context.Background(), colorimetry.RGB{}); err == nil || !strings.Contains(err.Error(), "was closed") {
		t.Errorf("%v", err)
	}
	noError(t, p.Close())
}

// A call that was interrupted leaves the program in step: its late answer is
// not taken for the next one's.
func TestFaultAnswersAfterInterrupt(t *testing.T) {
	p, dir := start(t, "slow", fast())
	d := roles(t, p)
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Millisecond)
	defer cancel()
	began := time.Now()
	if _, err := d.instrument.Measure(ctx, white); !errors.Is(err, context.DeadlineExceeded) || time.Since(began) > 400*time.Millisecond {
		t.Errorf("interrupted: %v after %v", err, time.Since(began))
	}
	s, err := d.instrument.Measure(context.Background(), measure.Request{Repeat: 3})
	if err != nil || s.XYZ.Y != 101 {
		t.Errorf("then %v, %v: want the answer of repeat 3", s.XYZ, err)
	}
	if n := p.Restarts(); n != 0 {
		t.Errorf("it was started again %d times", n)
	}
	if got := heard(t, dir); len(got) != 3 {
		t.Errorf("it heard %q", got)
	}
}

// One command is one process, however often it is named.
func TestPrograms(t *testing.T) {
	watch(t)
	ctx, a, b := context.Background(), folder(t), folder(t)
	var programs plug.Programs
	first, err := programs.Start(ctx, command(t, "none", a), fast())
	noError(t, err)
	same, err := programs.Start(ctx, command(t, "none", a), fast())
	noError(t, err)
	other, err := programs.Start(ctx, command(t, "none", b), fast())
	noError(t, err)
	if first != same || first == other {
		t.Error("equal commands are not one process, or others are")
	}
	if _, err := programs.Start(ctx, command(t, "exits at start", folder(t)), fast()); err == nil {
		t.Error("a program that did not start is no error")
	}
	noError(t, programs.Close())
	for _, p := range []*plug.Process{first, other} {
		if err := roles(t, p).screen.Show(ctx, colorimetry.RGB{}); err == nil {
			t.Error("a program lives on")
		}
	}
}
