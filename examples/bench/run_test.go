package main

import (
	"context"
	"errors"
	"strings"
	"testing"

	"example.org/primaries/examples/internal/cli"
)

// trials returns trials of one seed each, of kinds and the choice, whose means on
// all colours are given; below 0 is a model that failed.
func trials(means ...[]float64) []trial {
	var out []trial
	for _, of := range means {
		t := trial{chosen: "a"}
		for _, v := range of {
			var a attempt
			if v < 0 {
				a.failed = errors.New("too few")
			}
			for r := range a.regions {
				a.regions[r] = figures{Count: 4, Mean: v, TruthJointly: v}
			}
			t.models = append(t.models, a)
		}
		out = append(out, t)
	}
	return out
}

// The choice lapses by the rule: 10 % or 0.03, from 300 readings on 5 % or 0.02,
// whichever is more.
func TestLapses(t *testing.T) {
	b := &bench{models: []string{"a", "b", choice}}
	for _, c := range []struct {
		readings     int
		a, b, choice float64
		lapses       int
	}{
		{60, 0.10, 0.20, 0.129, 0}, {60, 0.10, 0.20, 0.131, 1},
		{60, 2, 1, 1.09, 0}, {60, 2, 1, 1.11, 1},
		{300, 0.10, 0.20, 0.119, 0}, {300, 0.10, 0.20, 0.121, 1},
		{300, 2, 1, 1.04, 0}, {300, 2, 1, 1.06, 1},
		{60, 0.5, 0.4, 0.3, 0}, {60, -1, 0.4, 0.5, 1}, {60, 0.1, 0.2, -1, 1}, {60, -1, -1, 0.2, 0}, {60, -1, -1, -1, 0},
	} {
		r := b.result(&ground{}, c.readings, trials([]float64{c.a, c.b, c.choice}))
		if r.Lapses == nil || *r.Lapses != c.lapses || len(r.Chosen) != 1 {
			t.Errorf("%+v: %v, %q", c, *r.Lapses, r.Chosen)
		}
	}
	b.models = []string{choice}
	if r := b.result(&ground{}, 60, trials([]float64{0.1})); r.Lapses != nil {
		t.Error("the choice alone has lapses")
	}
	b.models = []string{"a"}
	if r := b.result(&ground{}, 60, trials([]float64{0.1})); r.Lapses != nil || r.Chosen != nil {
		t.Error("without the choice there are lapses")
	}
}

// Errors are medians over the seeds that have a model, shares are means.
func TestTogether(t *testing.T) {
	b := &bench{models: []string{"a", "b"}}
	r := b.result(&ground{}, 60, trials([]float64{0.1, -1}, []float64{0.6, -1}, []float64{0.2, -1}, []float64{-1, -1}))
	m := r.Models[0]
	if f := m.Regions["dark"]; f.Mean != 0.2 || f.TruthJointly < 0.2999 || f.TruthJointly > 0.3001 || m.Failed != 1 || m.Failure != "too few" || f.Count != 4 {
		t.Errorf("%+v", m)
	}
	if m.SeedMeans[3] != nil || *m.SeedMeans[1] != 0.6 {
		t.Errorf("seed by seed: %v", m.SeedMeans)
	}
	if n := r.Models[1]; n.Failed != 4 || len(n.Regions) != 0 {
		t.Errorf("%+v", n)
	}
	var out strings.Builder
	eachModel(&out, []result{r}, func(model) string { return "fitted" })
	if !strings.Contains(out.String(), "fitted") || !strings.Contains(out.String(), "not fitted: too few") {
		t.Errorf("%s", out.String())
	}
}

func TestInterrupt(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	b := &bench{spend: spender{design: designs[0], averages: 1}, models: []string{choice}, seeds: 1, workers: 2}
	if _, err := b.run(ctx, []cell{{displays[0], 60}}); !errors.Is(err, context.Canceled) || cli.Status(err) != cli.Interrupted {
		t.Errorf("got %v", err)
	}
}

// On additive displays 60 readings reach what the targets ask for, whatever the
// choice takes: the medians of few seeds, which are surer in the mean.
func TestTargets(t *testing.T) {
	b := &bench{spend: spender{design: designs[0], averages: 1}, models: []string{choice}, seeds: 3, workers: 2}
	keys := "smooth, measured-oled, measured-lcd, measured-crt"
	if testing.Short() {
		keys = "smooth"
	}
	kinds, err := pickDisplays(keys)
	if err != nil {
		t.Fatal(err)
	}
	var cells []cell
	for _, c := range targetCells(kinds) {
		if c.readings == 60 {
			cells = append(cells, c)
		}
	}
	results, err := b.run(t.Context(), cells)
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	writeTargets(&out, results)
	t.Log(out.String())
	met := strings.Count(out.String(), " met")
	if want := 2*(len(cells)-1) + 3; met != want || strings.Contains(out.String(), "missed") {
		t.Errorf("%d targets are met, want %d", met, want)
	}
	if !strings.Contains(out.String(), "Day, Taplin and Berns") || strings.Contains(out.String(), "Wen and Wu") {
		t.Error("published figures stand where nothing was tried, or not where it was")
	}
}

// Every target speaks of a display that is tried, and of every one it names.
func TestTargetsNameDisplays(t *testing.T) {
	every, err := pickDisplays("all")
	if err != nil {
		t.Fatal(err)
	}
	cells := targetCells(every)
	for _, target := range targets {
		n := 0
		for _, c := range cells {
			if c.readings == target.readings && target.holds(c.kind) {
				n++
			}
		}
		if n == 0 {
			t.Errorf("%s with %d readings has no display", target.what, target.readings)
		}
	}
	for i := 1; i < len(cells); i++ {
		if cells[i].key == cells[i-1].key && cells[i].readings <= cells[i-1].readings {
			t.Errorf("%s with %d readings comes after %d", cells[i].key, cells[i].readings, cells[i-1].readings)
		}
	}
}

func TestPickModels(t *testing.T) {
	got, err := pickModels("GAMMA, choice")
	if err != nil || len(got) != 2 || got[1] != choice {
		t.Errorf("%q, %v", got, err)
	}
	every, err := pickModels("all")
	if err != nil || every[len(every)-1] != choice || len(every) < 3 {
		t.Errorf("%q, %v", every, err)
	}
}

// All cells together: geometric means of errors, sums of lapses.
func TestOverall(t *testing.T) {
	b := &bench{models: []string{"a", "b", choice}}
	var out strings.Builder
	writeOverall(&out, []result{
		b.result(&ground{}, 60, trials([]float64{0.1, -1, 0.9})),
		b.result(&ground{}, 60, trials([]float64{0.4, -1, 0.4})),
	})
	for _, says := range []string{"  0.200 ", padded("b") + " never fitted", "  0.600 ", "lapses in 1 of 2 cells"} {
		if !strings.Contains(out.String(), says) {
			t.Errorf("%q is not said:\n%s", says, out.String())
		}
	}
}
