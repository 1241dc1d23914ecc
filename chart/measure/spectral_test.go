package measure

import (
	"context"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry/spectrum"
)

// spectral is a fakeInstrument whose samples carry a spectrum, at wavelengths
// that nm says.
type spectral struct {
	*fakeInstrument
	nm func(want Request) []float64
}

func (s spectral) Measure(ctx context.Context, want Request) (Sample, error) {
	out, err := s.fakeInstrument.Measure(ctx, want)
	if nm := s.nm(want); err == nil && nm != nil {
		v := make([]float64, len(nm))
		for i, w := range nm {
			v[i] = out.XYZ.Y * (1 + math.Sin(w/37)) / 3e4
		}
		out.Spectrum, err = spectrum.New(nm, v)
	}
	return out, err
}

func even(from, step float64, n int) []float64 {
	nm := make([]float64, n)
	for i := range nm {
		nm[i] = from + float64(i)*step
	}
	return nm
}

// Spectra of both kinds of wavelengths, and none at all, come back from the
// journal as they were read, and are the mean of the repeats to single
// precision.
func TestSpectraAreReplayed(t *testing.T) {
	uneven := even(380.1, 3.37, 118)
	uneven[7] += 0.02
	kinds := [][]float64{even(380, 1, 401), uneven, nil, even(380, 3.3333, 121)}
	run := func(lines [][]byte) (*rig, []Reading) {
		r := newRig()
		setup := r.resume(lines)
		setup.Instrument = spectral{r.instrument, func(want Request) []float64 { return kinds[want.Reading] }}
		s, err := Open(context.Background(), setup)
		if err != nil {
			t.Fatal(err)
		}
		for range kinds {
			ask := grey(1)
			ask.Averages = 3
			if _, err := s.Read(context.Background(), ask); err != nil {
				t.Fatal(err)
			}
		}
		return r, s.Readings()
	}
	r, want := run(nil)
	lines := r.journal.Lines()
	for cut := range lines {
		if _, got := run(lines[:cut]); !reflect.DeepEqual(got, want) {
			t.Fatalf("cut after %d lines: other readings", cut)
		}
	}
	for i, nm := range kinds {
		got, values := want[i].Spectrum.Samples()
		if len(got) != len(nm) || len(nm) > 0 && !reflect.DeepEqual(got, nm) {
			t.Errorf("reading %d: wavelengths %v, want %v", i, got, nm)
		}
		for k, v := range values {
			if mean := want[i].Raw.Y * (1 + math.Sin(nm[k]/37)) / 3e4; math.Abs(v-mean) > 1e-7*mean {
				t.Fatalf("reading %d at %g nm: %g, the mean of the repeats is %g", i, nm[k], v, mean)
			}
		}
	}
	t.Logf("the line of 401 samples has %d bytes", len(lines[2]))
}

// What is no spectrum, and wavelengths that change within a reading, end in an
// error of the instrument; the run goes on from there.
func TestFaultSpectrumIsGarbage(t *testing.T) {
	for name, nm := range map[string]func(Request) []float64{
		"other wavelengths": func(w Request) []float64 { return even(380+float64(w.Repeat), 1, 401) },
		"fewer samples":     func(w Request) []float64 { return even(380, 1, 401-w.Repeat) },
		"none the second time": func(w Request) []float64 {
			if w.Repeat == 1 {
				return nil
			}
			return even(380, 1, 401)
		},
		"too many samples": func(Request) []float64 { return even(380, 0.05, 8001) },
	} {
		r := newRig()
		setup := r.setup()
		setup.Instrument = spectral{r.instrument, nm}
		s, err := Open(context.Background(), setup)
		if err != nil {
			t.Fatal(err)
		}
		ask := grey(1)
		ask.Averages = 2
		_, err = s.Read(context.Background(), ask)
		var de *DeviceError
		if !errors.As(err, &de) || de.Device != "instrument" || len(s.Readings()) != 0 {
			t.Errorf("%s: %v", name, err)
		}
		setup = r.resume(r.journal.Lines())
		if s, err = Open(context.Background(), setup); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Read(context.Background(), ask); err != nil {
			t.Errorf("%s: resumed: %v", name, err)
		}
	}
}

// selfChecking is a screen that says how it is seen.
type selfChecking struct {
	*fakeDisplay
	verdict func() error
}

func (c selfChecking) CheckScreen(context.Context) error { return c.verdict() }

// A reading that was taken while the page was covered is not kept; the run
// resumes and ends like one that was never disturbed.
func TestFaultPageCoveredWhileRead(t *testing.T) {
	r := newRig()
	setup := r.setup()
	asked := 0
	covered := &ConditionError{Condition: PatchNotShown, Evidence: "the page was covered by another window", Remedy: "bring it back"}
	setup.Screen = selfChecking{r.display, func() error {
		if asked++; asked >= 3 && asked <= 3+maxRetries { // longer than it is tried again
			return covered
		}
		return nil
	}}
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	readings(t, s, 2)
	_, err = s.Read(context.Background(), grey(2.0/16))
	var de *DeviceError
	var ce *ConditionError
	if !errors.As(err, &de) || de.Device != "screen" || !errors.As(err, &ce) || ce.Condition != PatchNotShown {
		t.Fatalf("%v", err)
	}
	if !strings.Contains(err.Error(), "covered") || len(s.Readings()) != 2 {
		t.Errorf("%d readings, %v", len(s.Readings()), err)
	}
	again, err := Open(context.Background(), newRig().resume(r.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	readings(t, again, 4)
	if !reflect.DeepEqual(again.Readings(), untouched(t, 4)) {
		t.Error("the resumed run differs from one that was never disturbed")
	}
	if _, err := s.Read(context.Background(), grey(2.0/16)); err != nil {
		t.Errorf("the same session does not go on: %v", err)
	}
	hung := make(chan struct{})
	defer close(hung)
	setup = newRig().setup()
	setup.Timeout = 20 * time.Millisecond
	setup.Screen = selfChecking{r.display, func() error { <-hung; return nil }}
	if s, err = Open(context.Background(), setup); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Read(context.Background(), grey(1)); !errors.Is(err, ErrTimeout) || len(s.Readings()) != 0 {
		t.Errorf("a screen that does not answer: %v", err)
	}
}

// darkening is an instrument with a dark calibration that holds for an hour.
type darkening struct {
	*fakeInstrument
	until time.Time
	calls int
	fault func() error // nil = none
}

func (d *darkening) DarkCalibration() time.Time { return d.until }

func (d *darkening) CalibrateDark(context.Context) error {
	d.calls++
	if d.fault != nil {
		return d.fault()
	}
	d.until = d.d.clock.now.Add(time.Hour)
	return nil
}

// The dark calibration is taken before the first reading and when it has
// expired, and never on replay.
func TestDarkCalibrationIsRenewed(t *testing.T) {
	r := newRig()
	setup := r.setup()
	dark := &darkening{fakeInstrument: r.instrument}
	setup.Instrument = dark
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 12 { // two and a half hours
		if _, err := s.Read(context.Background(), grey(0.5)); err != nil {
			t.Fatal(err)
		}
		if err := s.Rest(context.Background(), 13*time.Minute); err != nil {
			t.Fatal(err)
		}
		if want := 1 + i/5; dark.calls != want {
			t.Errorf("after reading %d: %d calibrations, want %d", i, dark.calls, want)
		}
	}
	fresh := newRig()
	setup = fresh.resume(r.journal.Lines())
	dark = &darkening{fakeInstrument: fresh.instrument}
	setup.Instrument = dark
	if s, err = Open(context.Background(), setup); err != nil {
		t.Fatal(err)
	}
	for i := range 13 {
		if _, err := s.Read(context.Background(), grey(0.5)); err != nil {
			t.Fatal(err)
		}
		if want := i / 12; dark.calls != want {
			t.Errorf("replayed reading %d: %d calibrations", i, dark.calls)
		}
	}
}

// A dark calibration that fails, hangs or does not take stops the run by name;
// when a person has seen to it, the run goes on.
func TestFaultDarkCalibration(t *testing.T) {
	hung := make(chan struct{})
	defer close(hung)
	for name, fault := range map[string]func() error{
		"fails":         func() error { return errBroken },
		"hangs":         func() error { <-hung; return nil },
		"does not take": func() error { return nil },
	} {
		r := newRig()
		setup := r.setup()
		setup.DarkTimeout = 30 * time.Millisecond
		dark := &darkening{fakeInstrument: r.instrument, until: r.display.start.Add(5 * time.Second)}
		setup.Instrument = dark
		s, err := Open(context.Background(), setup)
		if err != nil {
			t.Fatal(err)
		}
		dark.fault = fault
		n := 0
		for ; err == nil && n < 20; n++ {
			_, err = s.Read(context.Background(), grey(0.5))
		}
		var ce *ConditionError
		if !errors.As(err, &ce) || ce.Condition != DarkExpired || ce.Remedy == "" || n < 2 || n == 20 {
			t.Errorf("%s: after %d readings: %v", name, n, err)
		}
		if name == "fails" && !errors.Is(err, errBroken) || name == "hangs" && !errors.Is(err, ErrTimeout) {
			t.Errorf("%s: the cause is lost: %v", name, err)
		}
		if kept := len(s.Readings()); kept != n-1 {
			t.Errorf("%s: %d readings kept of %d", name, kept, n-1)
		}
		fresh := newRig()
		setup = fresh.resume(r.journal.Lines())
		setup.Instrument = &darkening{fakeInstrument: fresh.instrument}
		if s, err = Open(context.Background(), setup); err != nil {
			t.Fatal(err)
		}
		for range n + 2 {
			if _, err := s.Read(context.Background(), grey(0.5)); err != nil {
				t.Fatalf("%s: resumed: %v", name, err)
			}
		}
	}
}
