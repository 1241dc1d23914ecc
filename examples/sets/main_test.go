package main

import (
	"context"
	"encoding/csv"
	"errors"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
)

func call(args ...string) (out, errs string, status int) {
	return clitest.Call(run, "", args...)
}

// On both displays a set whose patches keep their distance inside the gamut beats
// random ones and those of the Halton sequence, in signals and in CAM16-UCS, in
// mean and at 95 %, as medians of 12 seeds. With few seeds only
// the mean, against the plain ones, is sure enough.
func TestFarthestBeatsRandomAndHalton(t *testing.T) {
	s := settings{averages: 4, colours: 800, levels: 8, seeds: 12, size: 96, workers: 2}
	rivals := []string{"random signals", "halton signals", "random", "halton"}
	if testing.Short() {
		s.seeds, s.colours, rivals = 4, 300, rivals[:2]
	}
	var list []kind
	for _, k := range kinds {
		if slices.Contains(rivals, k.name) || k.name == "farthest" {
			list = append(list, k)
		}
	}
	for _, d := range displays {
		rows, err := s.compare(t.Context(), d, list)
		if err != nil {
			t.Fatal(err)
		}
		best := rows[len(rows)-1]
		if len(rows) != 1+len(rivals) || best.set != "farthest" {
			t.Fatalf("rows: %+v", rows)
		}
		for _, r := range rows {
			t.Logf("%s, %s: mean %.4f, 95 %% %.4f, max %.3f ΔE00", d, r.set, r.mean, r.p95, r.most)
			if r != best && (best.mean >= r.mean || !testing.Short() && best.p95 >= r.p95) {
				t.Errorf("%s, %s is better than farthest", d, r.set)
			}
		}
	}
}

// All sets have the size asked for and the same start, and differ after it; equal
// seeds give equal sets.
func TestKinds(t *testing.T) {
	s := settings{levels: 5, size: 60}
	start := s.start()
	for _, k := range kinds {
		for seed := range uint64(3) {
			o := chart.Options{Seed: seed + 1, Space: chart.CAM16UCS, Ramps: s.levels}
			set, again := k.make(s, o), k.make(s, o)
			if len(set) != s.size || len(chart.Union(set)) != s.size {
				t.Errorf("%s: %d patches, %d different, want %d", k.name, len(set), len(chart.Union(set)), s.size)
			}
			for i := range set {
				if i < len(start) && set[i].Signal != start[i].Signal {
					t.Errorf("%s: patch %d is %v, want %v", k.name, i, set[i].Signal, start[i].Signal)
				}
				if set[i] != again[i] || set[i].Signal != set[i].Signal.Clamp() {
					t.Errorf("%s: patch %d is %v, then %v", k.name, i, set[i].Signal, again[i].Signal)
				}
			}
		}
	}
}

// The table has a line for each set and display, whatever the number of workers.
func TestTable(t *testing.T) {
	args := []string{"-colours", "20", "-levels", "4", "-seeds", "1", "-size", "36", "-workers"}
	out, errs, status := call(append(args, "1")...)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if status != cli.Done || err != nil || len(rows) != 1+len(displays)*len(kinds) {
		t.Fatalf("status %d, %v, %d rows, %s", status, err, len(rows), errs)
	}
	for _, r := range rows[1:] {
		var v [3]float64
		for i := range v {
			v[i], err = strconv.ParseFloat(r[3+i], 64)
			if err != nil || !(v[i] > 0) {
				t.Errorf("%q: %v", r, err)
			}
		}
		if r[2] != "36" || v[0] > v[1] || v[1] > v[2] {
			t.Errorf("%q", r)
		}
	}
	if strings.Count(errs, "the smallest mean is that of") != len(displays) {
		t.Errorf("%s", errs)
	}
	if again, _, _ := call(append(args, "3")...); again != out {
		t.Error("the number of workers changes the table")
	}
}

func TestBadUse(t *testing.T) {
	for args, says := range map[string]string{
		"-size 30":             "32 patches already",
		"-seeds 0":             "1 to 1000",
		"-colours x":           "-colours",
		"file.csv":             "file.csv",
		"-levels 40 -size 150": "160 patches already",
	} {
		_, errs, status := call(strings.Fields(args)...)
		if status != cli.BadInput || !strings.Contains(errs, says) {
			t.Errorf("%q: status %d, %q", args, status, errs)
		}
	}
}

func TestInterrupt(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	s := settings{averages: 1, colours: 20, levels: 4, seeds: 2, size: 36, workers: 2}
	if _, err := s.compare(ctx, displays[0], kinds); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}
