package fit_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/fit"
)

// planRun runs a plan on a simulated display, after replay, and returns the
// readings, why they were enough, and the journal. stop ends it after that many
// readings; 0 does not.
func planRun(t *testing.T, replay [][]byte, stop int) ([]measure.Reading, string, [][]byte) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	d := simulate.Invented(simulate.SaggingPanel, simulate.Options{Seed: 5})
	journal := measure.NewMemory(replay)
	s, err := measure.Open(ctx, measure.Setup{
		Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock(), Journal: journal, Replay: replay, Seed: 5, Averages: 2,
		Progress: func(p measure.Progress) {
			if p.Done == stop {
				cancel()
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	a := fit.Adaptive{Chart: chart.Options{Bits: 10}, First: 24, Batch: 8, Most: 32}
	r, why, err := s.ReadFrom(ctx, measure.StageCharts, a, 0)
	if err != nil && !(stop > 0 && errors.Is(err, context.Canceled)) {
		t.Fatal(err)
	}
	return r, why, journal.Lines()
}

// A run that ended in the middle of a batch or between two goes on to the same
// readings: the plan is made again from those that the journal holds.
func TestAdaptiveRunResumes(t *testing.T) {
	t.Parallel()
	whole, why, _ := planRun(t, nil, 0)
	if len(whole) == 0 || why == "" {
		t.Fatalf("%d readings: %q", len(whole), why)
	}
	stops := []int{5, 27}
	if testing.Short() {
		stops = stops[1:]
	}
	for _, stop := range stops {
		_, _, lines := planRun(t, nil, stop)
		again, why2, _ := planRun(t, lines, 0)
		if why2 != why || !slices.EqualFunc(whole, again, func(a, b measure.Reading) bool {
			return a.Raw == b.Raw && a.Patch == b.Patch && a.Covariance == b.Covariance
		}) {
			t.Errorf("stopped after %d: %d readings, %q; straight %d, %q", stop, len(again), why2, len(whole), why)
		}
	}
}

// A run that chooses its patches by what it read, until the model is expected to
// be good enough.
func ExampleAdaptive() {
	ctx := context.Background()
	display := simulate.Invented(simulate.CoupledLCD, simulate.Options{Seed: 1})
	run, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Spectroradiometer(), Clock: display.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	next := fit.Adaptive{Chart: chart.Options{Bits: 10}, Aim: 0.25}
	readings, why, err := run.ReadFrom(ctx, measure.StageCharts, next, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(readings) < 150)
	fmt.Println(why[:26])
	model, err := fit.Residual(readings, nil, fit.Options{})
	fmt.Println(model.Name(), err)
	// Output:
	// true
	// The expected mean error is
	// additive with a smooth interaction <nil>
}

// BenchmarkPlan is the time of planning 16 patches from 300 readings, the fit
// included, beside that of the fit.
func BenchmarkPlan(b *testing.B) {
	r := coupled.readings(chart.Farthest(300, chart.Options{Bits: 10, Ramps: 9}), 4, 1)
	b.Run("fit", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			residual(b, r)
		}
	})
	b.Run("fit and plan", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := (fit.Adaptive{Most: 400, LeastGain: -1}).Plan(r); err != nil {
				b.Fatal(err)
			}
		}
	})
}
