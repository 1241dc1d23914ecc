package simulate_test

import (
	"context"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// walk takes a session through a warm-up, pairs, a control, curves and a
// chart, on a cold display, and returns the journal it leaves.
func walk(t *testing.T, replay [][]byte) (lines [][]byte, warm measure.WarmUpResult) {
	t.Helper()
	ctx := context.Background()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 5, Cold: true})
	journal := measure.NewMemory(replay)
	s, err := measure.Open(ctx, measure.Setup{
		Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Controls: d, Clock: d.Clock(),
		Journal: journal, Replay: replay, Digest: "test", Seed: 5, Averages: 2,
	})
	must(err)
	warm, err = measure.WarmUp(ctx, s, measure.WarmUpOptions{})
	must(err)
	for _, signal := range primarySignals() {
		for _, reference := range []bool{false, true} {
			_, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StagePairs, Patch: chart.Patch{Signal: signal}, Reference: reference})
			must(err)
		}
	}
	for _, step := range []int{60, 70, 73} {
		must(s.SetControl(ctx, measure.Brightness, step))
		_, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StageControls, Patch: chart.Patch{Signal: colorimetry.Gray(1)}})
		must(err)
	}
	ramp := make([]float64, 33)
	for i := range ramp {
		ramp[i] = 0.9 * float64(i) / 32
	}
	curves, err := tone.NewChannels(ramp, ramp, ramp)
	must(err)
	must(s.LoadCurves(ctx, curves))
	_, err = s.ReadSet(ctx, measure.StageCharts, []chart.Patch{{Signal: colorimetry.Gray(0.25)}, {Signal: colorimetry.RGB{}}, {Signal: colorimetry.RGB{G: 0.7}}}, 3)
	must(err)
	return journal.Lines(), warm
}

// TestSession: a session finds the cold display stable within half an hour,
// and wherever its journal is cut, the resumed run leaves the same journal.
func TestSession(t *testing.T) {
	whole, warm := walk(t, nil)
	t.Logf("%s (%v, %d readings)", warm.Reason, warm.Took, len(warm.Readings))
	if !warm.Stable || warm.Took.Minutes() > 30 {
		t.Errorf("stable: %v after %v", warm.Stable, warm.Took)
	}
	for cut := 1; cut < len(whole); cut += 3 {
		lines, _ := walk(t, whole[:cut])
		// What was begun and not finished at the cut is begun again.
		if again := len(lines) - len(whole); again < 0 || again > 1 {
			t.Fatalf("cut after %d lines: %d lines, straight %d", cut, len(lines), len(whole))
		}
		want, got := measuredIn(t, whole), measuredIn(t, lines)
		if len(got) != len(want) {
			t.Fatalf("cut after %d lines: %d readings, want %d", cut, len(got), len(want))
		}
		for i := range want {
			if want[i].Raw != got[i].Raw || !want[i].Time.Equal(got[i].Time) {
				t.Fatalf("cut after %d lines: reading %d is %v at %v, straight %v at %v", cut, i, got[i].Raw, got[i].Time, want[i].Raw, want[i].Time)
			}
		}
	}
}

func measuredIn(t *testing.T, lines [][]byte) []measure.Reading {
	t.Helper()
	j, err := measure.ReadJournal(lines)
	if err != nil {
		t.Fatal(err)
	}
	return j.Readings
}
