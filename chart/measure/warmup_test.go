package measure

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// driftingDisplay follows a course of its own: luminance and a blue share as
// functions of the minutes since the start.
type driftingDisplay struct {
	*fakeDisplay
	course func(minutes float64) colorimetry.XYZ
}

func (d driftingDisplay) Instrument() InstrumentInfo {
	return InstrumentInfo{Name: "drift", Noise: usualNoise}
}

func (d driftingDisplay) Measure(_ context.Context, want Request) (Sample, error) {
	d.clock.now = d.clock.now.Add(time.Second)
	rng := newRand(want)
	return Sample{XYZ: noisy(rng, d.course(d.clock.now.Sub(d.start).Minutes()), usualNoise)}, nil
}

func runWarmUp(t *testing.T, course func(float64) colorimetry.XYZ, seed int, o WarmUpOptions) WarmUpResult {
	t.Helper()
	r := newRig()
	d := driftingDisplay{r.display, func(m float64) colorimetry.XYZ { return course(m) }}
	setup := r.setup()
	setup.Screen, setup.Instrument, setup.Reference, setup.Controls = d.fakeDisplay, seeded{d, seed}, nil, nil
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	w, err := WarmUp(context.Background(), s, o)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func d65(y float64) colorimetry.XYZ { return colorimetry.D65().Scale(y) }

// A display that gains 4 % with a time constant of 5 minutes moves by less than
// 0.5 % in 10 minutes once 4·(exp(−t/5) − exp(−(t+10)/5)) < 0.5, after 9.7
// minutes; no verdict may rest on less than 10 minutes of readings.
func TestWarmUpSettles(t *testing.T) {
	stable := 0
	for seed := range 20 {
		w := runWarmUp(t, func(m float64) colorimetry.XYZ { return d65(120 * (1 - 0.04*math.Exp(-m/5))) }, seed, WarmUpOptions{})
		if w.Stable {
			stable++
			if w.Took < 12*time.Minute {
				t.Errorf("seed %d: called stable after %v", seed, w.Took)
			}
			if math.Abs(w.Luminance)+w.LuminanceHalf >= 0.005 || w.UV+w.UVHalf >= 0.0005 || w.Window < 10*time.Minute {
				t.Errorf("seed %d: %+v", seed, w.Reason)
			}
		}
		if seed < 3 {
			t.Log(w.Reason, len(w.Readings))
		}
	}
	if stable < 19 {
		t.Errorf("%d of 20 warm-ups end as stable", stable)
	}
}

// The time to the decision is shown, and about right: from the first minutes on,
// a level display is called stable within a few minutes of the time told.
func TestWarmUpTellsTimeToDecision(t *testing.T) {
	for seed := range 5 {
		r := newRig()
		d := driftingDisplay{r.display, func(float64) colorimetry.XYZ { return d65(120) }}
		setup := r.setup()
		setup.Screen, setup.Instrument, setup.Reference, setup.Controls = d.fakeDisplay, seeded{d, seed}, nil, nil
		type told struct{ at, left time.Duration }
		var all []told
		setup.Progress = func(p Progress) {
			all = append(all, told{d.clock.now.Sub(d.start), p.Left})
			if p.Left > 0 && !strings.Contains(p.Text, "a decision takes about") {
				t.Errorf("left %v, and the text says %q", p.Left, p.Text)
			}
		}
		s, err := Open(context.Background(), setup)
		if err != nil {
			t.Fatal(err)
		}
		w, err := WarmUp(context.Background(), s, WarmUpOptions{})
		if err != nil || !w.Stable || w.Decision != 0 {
			t.Fatalf("%+v, %v", w.Reason, err)
		}
		end := all[len(all)-1].at
		worst, sum := time.Duration(0), time.Duration(0)
		for _, a := range all[:len(all)-1] {
			off := (end - a.at - a.left).Abs()
			worst, sum = max(worst, off), sum+off
		}
		mean := sum / time.Duration(len(all)-1)
		t.Logf("decided after %v; told wrongly by %v on average, up to %v", end.Round(time.Second), mean.Round(time.Second), worst.Round(time.Second))
		if mean > 4*time.Minute || worst > end {
			t.Errorf("seed %d: the time told was wrong by %v on average, up to %v, of %v", seed, mean, worst, end)
		}
	}
}

// What drifts beyond a limit for ever must not be called stable.
func TestWarmUpNeverStable(t *testing.T) {
	t.Parallel()
	for name, course := range map[string]func(float64) colorimetry.XYZ{
		"luminance, 0.8 % in 10 minutes": func(m float64) colorimetry.XYZ { return d65(120 * (1 - 0.0008*m)) },
		"white, 0.0008 in 10 minutes": func(m float64) colorimetry.XYZ {
			uv := colorimetry.D65().UV()
			uv.V += 0.00008 * m
			return uv.Chromaticity().XYZ(120)
		},
		"up and down in half an hour": func(m float64) colorimetry.XYZ { return d65(120 * (1 + 0.03*math.Sin(m*2*math.Pi/30))) },
	} {
		for seed := range 10 {
			w := runWarmUp(t, course, seed, WarmUpOptions{})
			if w.Stable || !strings.HasPrefix(w.Reason, "not stable") || w.Took < time.Hour {
				t.Errorf("%s, seed %d: %s", name, seed, w.Reason)
			}
		}
	}
}

// Limits that the noise cannot decide on with four integrations make it take
// more.
func TestWarmUpTakesMoreAverages(t *testing.T) {
	w := runWarmUp(t, func(float64) colorimetry.XYZ { return d65(120) }, 1, WarmUpOptions{Averages: 1})
	if got := len(w.Readings[len(w.Readings)-1].Repeats); got < 4 {
		t.Errorf("the last reading has %d integrations", got)
	}
	if !w.Stable {
		t.Error(w.Reason)
	}
}

func TestWarmUpWithoutLight(t *testing.T) {
	r := newRig()
	s := r.open(t)
	w, err := WarmUp(context.Background(), s, WarmUpOptions{})
	if err != nil || w.Readings[0].Patch.Signal != colorimetry.Gray(1) {
		t.Fatalf("%v", err)
	}
	setup := newRig().setup()
	setup.Instrument = darkInstrument{}
	if s, err = Open(context.Background(), setup); err != nil {
		t.Fatal(err)
	}
	if _, err := WarmUp(context.Background(), s, WarmUpOptions{}); err == nil || !strings.Contains(err.Error(), "check that the display is on") {
		t.Errorf("%v", err)
	}
	for _, o := range []WarmUpOptions{{Luminance: -1}, {UV: math.NaN()}, {Max: time.Minute}, {Interval: -1}} {
		if _, err := WarmUp(context.Background(), s, o); err == nil {
			t.Errorf("%+v was taken", o)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := WarmUp(ctx, s, WarmUpOptions{Patch: chart.Patch{Signal: colorimetry.Gray(0.5)}}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
