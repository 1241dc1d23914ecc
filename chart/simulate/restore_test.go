package simulate_test

import (
	"context"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// troubledWalk reads thirty patches with two instruments, on a display with
// everything that this package can do to it, and returns the journal.
func troubledWalk(t *testing.T, replay [][]byte) [][]byte {
	t.Helper()
	ctx := context.Background()
	s := simulate.FourSubpixels.Spec().Troubled()
	s.Coupling, s.Supply.Sag = simulate.CoupledLCD.Spec().Coupling, 0.1
	d, err := simulate.New(s, simulate.Options{Seed: 3, Cold: true, RoomLux: 100, WindowShare: 0.4, Surround: 0.5, Place: simulate.Place{X: 0.2},
		Mishaps: []simulate.Mishap{
			{Kind: simulate.Late, Reading: 4, Readings: 3},
			{Kind: simulate.NightWarmed, At: 30 * time.Second, Fade: time.Minute},
			{Kind: simulate.Slipped, At: 50 * time.Second, For: 20 * time.Second},
			{Kind: simulate.Clipped, Reading: 12, Readings: 4},
			{Kind: simulate.Asleep, Reading: 20, Readings: 2},
		}})
	if err != nil {
		t.Fatal(err)
	}
	traits := simulate.Traits{Outliers: simulate.Outliers{Probability: 0.2}, WholeRefresh: true, Dark: simulate.Dark{Valid: 45 * time.Second, CdM2PerHour: 10}}
	journal := measure.NewMemory(replay)
	run, err := measure.Open(ctx, measure.Setup{
		Screen: d, Instrument: filter(t, d, simulate.FilterMeter{Traits: simulate.Traits{Outliers: traits.Outliers}, QuantumCdM2: 0.01}),
		Reference: spectral(t, d, simulate.SpectralMeter{Traits: traits}), Controls: d, Clock: d.Clock(),
		Journal: journal, Replay: replay, Digest: "test", Seed: 3, Averages: 2,
	})
	if err != nil {
		t.Fatal(err)
	}
	for k := range 30 {
		if k == 9 {
			if err := run.SetControl(ctx, measure.BlueGain, 80); err != nil {
				t.Fatal(err)
			}
		}
		signal := colorimetry.RGB{R: float64(k%7) / 6, G: float64(k%5) / 4, B: float64(k%3) / 2}
		if _, err := run.Read(ctx, measure.ReadRequest{Stage: measure.StageCharts, Patch: chart.Patch{Signal: signal}, Reference: k%4 == 3}); err != nil {
			t.Fatal(err)
		}
	}
	return journal.Lines()
}

// TestRestoreTroubled: wherever the run is cut, what a new process makes of
// the rest is the same to the bit, with every nuisance and mishap at work.
func TestRestoreTroubled(t *testing.T) {
	whole := troubledWalk(t, nil)
	want := measuredIn(t, whole)
	for cut := 1; cut < len(whole); cut += 3 {
		got := measuredIn(t, troubledWalk(t, whole[:cut]))
		if len(got) != len(want) {
			t.Fatalf("cut after %d lines: %d readings, straight %d", cut, len(got), len(want))
		}
		for i := range want {
			if want[i].Raw != got[i].Raw || !want[i].Time.Equal(got[i].Time) {
				t.Fatalf("cut after %d lines: reading %d is %v at %v, straight %v at %v", cut, i, got[i].Raw, got[i].Time, want[i].Raw, want[i].Time)
			}
		}
	}
}
