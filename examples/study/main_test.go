package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
)

func call(args ...string) (out, errs string, status int) {
	return clitest.Call(run, "", args...)
}

// figures reads what standard error says.
func figures(t *testing.T, errs string) (v [6]float64) {
	t.Helper()
	if _, err := fmt.Sscanf(errs, "one integration: %g ± %g in x and y, %g ± %g %% of Y, and %g ± %g cd/m²", &v[0], &v[1], &v[2], &v[3], &v[4], &v[5]); err != nil {
		t.Fatalf("%v: %s", err, errs)
	}
	return v
}

// The simulated colorimeter states 0.001 in x and y, 0.5 % of Y and 0.005 cd/m²;
// the study finds them within four of its own standard deviations.
func TestSimulated(t *testing.T) {
	for seed := range 5 {
		out, errs, status := call("-seed", fmt.Sprint(seed))
		rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
		if status != 0 || err != nil || len(rows) != 13 || len(rows[0]) != 16 {
			t.Fatalf("status %d, %v, %d rows, %s", status, err, len(rows), errs)
		}
		v := figures(t, errs)
		for i, want := range []float64{0.001, 0.5, 0.005} {
			if math.Abs(v[2*i]-want) > 4*v[2*i+1] {
				t.Errorf("seed %d: %g ± %g, stated %g", seed, v[2*i], v[2*i+1], want)
			}
		}
	}
}

// A journal gives the same as the readings that it keeps.
func TestJournal(t *testing.T) {
	ctx, start := context.Background(), time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	display := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Start: start})
	memory := measure.NewMemory(nil)
	s, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Colorimeter(), Clock: display.Clock(), Journal: memory, Start: start, RunID: "x"})
	if err != nil {
		t.Fatal(err)
	}
	for range 3 {
		for _, p := range chart.Ramp(colorimetry.Gray(1), 8) {
			if _, err := s.Read(ctx, measure.ReadRequest{Stage: "study", Patch: p, Averages: 4}); err != nil {
				t.Fatal(err)
			}
		}
	}
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	if err := os.WriteFile(path, append(bytes.Join(memory.Lines(), []byte("\n")), '\n'), 0o600); err != nil {
		t.Fatal(err)
	}
	out, errs, status := call(path)
	if status != 0 || strings.Count(out, "\n") != 9 {
		t.Fatalf("status %d, %s\n%s", status, errs, out)
	}
	if v := figures(t, errs); math.Abs(v[2]-0.5) > 4*v[3] {
		t.Errorf("%s", errs)
	}
}

func TestBadUse(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "broken.jsonl")
	if err := os.WriteFile(broken, []byte("{}\n{}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"missing.jsonl"}, {broken}, {"a", "b"}, {"-levels", "2"}, {"-integrations", "1"}} {
		if _, errs, status := call(args...); status != cli.BadInput || errs == "" {
			t.Errorf("%v: status %d, %s", args, status, errs)
		}
	}
}
