package measure_test

import (
	"bytes"
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// walk is a short run of all that a session does: warm-up, correction from
// pairs, a control, curves that depend on readings, a ramp.
func walk(ctx context.Context, s *measure.Session) error {
	if _, err := measure.WarmUp(ctx, s, measure.WarmUpOptions{}); err != nil {
		return err
	}
	var own, ref []measure.Reading
	for _, c := range []colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, colorimetry.Gray(1)} {
		for _, reference := range []bool{true, false} {
			r, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StagePairs, Patch: chart.Patch{Signal: c}, Averages: 4, Reference: reference})
			if err != nil {
				return err
			}
			if reference {
				ref = append(ref, r)
			} else {
				own = append(own, r)
			}
		}
	}
	c, err := mismatch.FromPairs(ref, own)
	if err != nil {
		return err
	}
	s.SetCorrection(c.Matrix)
	for step := 90; step > 80; step -= 3 {
		if err := s.SetControl(ctx, measure.Brightness, step); err != nil {
			return err
		}
		r, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StageControls, Patch: chart.Patch{Signal: colorimetry.Gray(1)}})
		if err != nil {
			return err
		}
		bend := []float64{0, 0.5 - r.XYZ.Y/1e4, 1}
		curves, err := tone.NewChannels(bend, bend, bend)
		if err != nil {
			return err
		}
		if err := s.LoadCurves(ctx, curves); err != nil {
			return err
		}
		if _, err := s.ReadSet(ctx, measure.StageCurves, chart.Neutral(5), 2); err != nil {
			return err
		}
	}
	return s.Note("finished", true)
}

// runOn opens the journal file, goes on with what it holds, and walks.
func runOn(t *testing.T, path string) []measure.Reading {
	t.Helper()
	journal, lines, err := keep.OpenJournal(path)
	if err != nil {
		t.Fatal(err)
	}
	defer journal.Close()
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 3, Cold: true})
	s, err := measure.Open(context.Background(), measure.Setup{
		Screen: d, Controls: d, Clock: d.Clock(), Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(),
		Journal: journal, Replay: lines, Digest: "simulated", Seed: 3,
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := walk(context.Background(), s); err != nil {
		t.Fatal(err)
	}
	return s.Readings()
}

// A run on a simulated display with its journal in a file, cut off at random
// bytes, ends in the same readings and in the same file.
func TestFaultFileCutAnywhere(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "journal")
	want := runOn(t, path)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d readings, %d bytes", len(want), len(whole))
	rng := rand.New(rand.NewPCG(8, 9))
	for range 15 {
		at := rng.IntN(len(whole) + 1)
		if err := os.WriteFile(path, whole[:at], 0o600); err != nil {
			t.Fatal(err)
		}
		if got := runOn(t, path); !reflect.DeepEqual(got, want) {
			t.Fatalf("cut at byte %d: %d readings, want %d, or others", at, len(got), len(want))
		}
		again, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		// Only a patch that was announced twice may make a difference.
		if !bytes.Equal(again, whole) && len(again) <= len(whole) {
			t.Fatalf("cut at byte %d: the file has %d bytes and differs from the %d of the whole run", at, len(again), len(whole))
		}
	}
}
