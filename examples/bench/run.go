package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit"
)

// choice is the name of the automatic choice among all kinds of model.
const choice = "choice"

// job is one cell and seed of a run.
type job struct {
	ground   func() (*ground, error)
	readings int
	seed     uint64
}

// trial is what a job gave.
type trial struct {
	patches int
	models  []attempt // in the order of bench.models
	chosen  string    // the kind that the choice took
}

// attempt is a model of a trial, or why there is none.
type attempt struct {
	regions [regions]figures
	failed  error
}

// bench is a run: what is tried, and how.
type bench struct {
	spend   spender
	models  []string // kinds, and choice
	seeds   int
	workers int
	// progress is called one at a time.
	progress func(done, total int, left time.Duration)
}

// cell is a display and a number of readings.
type cell struct {
	kind
	readings int
}

// run returns the result of every cell, in their order. Results do not depend on
// the number of workers.
func (b *bench) run(ctx context.Context, cells []cell) ([]result, error) {
	grounds := map[string]func() (*ground, error){}
	var jobs []job
	for _, c := range cells {
		if grounds[c.key] == nil {
			grounds[c.key] = sync.OnceValues(func() (*ground, error) { return survey(c.kind) })
		}
		for seed := range b.seeds {
			jobs = append(jobs, job{grounds[c.key], c.readings, uint64(1 + seed)})
		}
	}
	trials := make([]trial, len(jobs))
	if err := b.work(ctx, jobs, trials); err != nil {
		return nil, err
	}
	var out []result
	for i, c := range cells {
		g, err := grounds[c.key]()
		if err != nil {
			return nil, err
		}
		out = append(out, b.result(g, c.readings, trials[i*b.seeds:(i+1)*b.seeds]))
	}
	return out, nil
}

// work fills trials, those of many readings first, since they take longest.
func (b *bench) work(ctx context.Context, jobs []job, trials []trial) error {
	order := make([]int, len(jobs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(jobs[j].readings, jobs[i].readings) })
	failures := make([]error, b.workers)
	var next atomic.Int64
	var mu sync.Mutex
	done, begin := 0, time.Now()
	var wg sync.WaitGroup
	for w := range b.workers {
		wg.Go(func() {
			for failures[w] == nil {
				i := int(next.Add(1)) - 1
				if i >= len(order) {
					return
				}
				j := order[i]
				trials[j], failures[w] = b.try(ctx, jobs[j])
				mu.Lock()
				done++
				if b.progress != nil {
					b.progress(done, len(jobs), time.Since(begin)*time.Duration(len(jobs)-done)/time.Duration(done))
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return cli.Give(cli.RunFailure, errors.Join(failures...))
}

// try reads a set, fits every model and judges it.
func (b *bench) try(ctx context.Context, j job) (trial, error) {
	g, err := j.ground()
	if err != nil {
		return trial{}, err
	}
	d, err := g.on(j.seed)
	if err != nil {
		return trial{}, err
	}
	readings, err := b.spend.read(ctx, d, wish{j.readings, g.bits, j.seed})
	if err != nil {
		return trial{}, fmt.Errorf("%s, seed %d: %w", g.key, j.seed, err)
	}
	fresh, err := g.fresh(ctx, d)
	if err != nil {
		return trial{}, fmt.Errorf("%s, seed %d: %w", g.key, j.seed, err)
	}
	t := trial{patches: len(readings)}
	for _, name := range b.models {
		if err := ctx.Err(); err != nil {
			return trial{}, err
		}
		var m fit.Model
		var a attempt
		if name == choice {
			var e fit.Evidence
			m, e, a.failed = fit.Best(readings, fit.Options{Noise: noise})
			t.chosen = e.Chosen
		} else {
			m, a.failed = fit.Of(name, readings, fit.Options{Noise: noise})
		}
		if a.failed == nil {
			a.regions = g.judge(m, fresh)
			a.failed = unusable(&a.regions)
		}
		t.models = append(t.models, a)
	}
	return t, nil
}

// unusable returns an error if a model predicted what is no colour.
func unusable(list *[regions]figures) error {
	for r := range list {
		for _, v := range list[r].fields() {
			if math.IsNaN(*v) || math.IsInf(*v, 0) {
				return fmt.Errorf("it predicts what is no colour among the %s", regionNames[r])
			}
		}
	}
	return nil
}

// result is a cell's figures.
type result struct {
	Display  string  `json:"display"`
	Readings int     `json:"readings"`
	Patches  int     `json:"patches"`
	Models   []model `json:"models"`
	// Chosen is what the choice took, seed by seed; Lapses in how many seeds it was
	// worse than the best kind by more than is excusable. Both are absent where the
	// choice was not tried, Lapses where no kind was.
	Chosen []string `json:"chosen,omitempty"`
	Lapses *int     `json:"lapses,omitempty"`

	ground *ground
}

// model is the figures of a model over the seeds: errors are medians, shares
// within limits means.
type model struct {
	Name    string             `json:"model"`
	Failed  int                `json:"failed"` // seeds without a model
	Failure string             `json:"failure,omitempty"`
	Regions map[string]figures `json:"regions"`
	// SeedMeans is the mean ΔE00 of region all, seed by seed; null without a model.
	SeedMeans []*float64 `json:"seed_means_dE00"`
}

// result puts the trials of a cell together.
func (b *bench) result(g *ground, readings int, trials []trial) result {
	out := result{Display: g.key, Readings: readings, Patches: trials[0].patches, ground: g}
	for i, name := range b.models {
		m := model{Name: name, Regions: map[string]figures{}}
		var good []attempt
		for _, t := range trials {
			a := t.models[i]
			if a.failed != nil {
				m.Failed++
				m.Failure = cmp.Or(m.Failure, a.failed.Error())
				m.SeedMeans = append(m.SeedMeans, nil)
				continue
			}
			good = append(good, a)
			m.SeedMeans = append(m.SeedMeans, &a.regions[all].Mean)
		}
		if len(good) > 0 {
			for r, name := range regionNames {
				m.Regions[name] = together(good, r)
			}
		}
		out.Models = append(out.Models, m)
	}
	out.judgeChoice(trials)
	return out
}

// fitted reports whether any model was.
func (r result) fitted() bool {
	return slices.ContainsFunc(r.Models, func(m model) bool { return len(m.Regions) > 0 })
}

// together returns the medians of errors and the means of shares.
func together(list []attempt, region int) figures {
	out := figures{Count: list[0].regions[region].Count}
	fields := out.fields()
	for k := range fields {
		v := make([]float64, len(list))
		for i := range list {
			v[i] = *list[i].regions[region].fields()[k]
		}
		if k < errorFields {
			*fields[k] = median(v)
		} else {
			*fields[k], _, _ = summary(v)
		}
	}
	return out
}

// errorFields is how many of a figure's fields are errors.
const errorFields = 6

// median returns the median of v, which it sorts.
func median(v []float64) float64 {
	slices.Sort(v)
	return (v[len(v)/2] + v[(len(v)-1)/2]) / 2
}

// excusable returns by how much ΔE00 the choice may be worse than the best kind,
// whose mean is best.
func excusable(readings int, best float64) float64 {
	if readings >= 300 {
		return math.Max(0.05*best, 0.02)
	}
	return math.Max(0.10*best, 0.03)
}

// judgeChoice counts the seeds in which the choice was worse than the best kind
// that was tried by more than is excusable.
func (r *result) judgeChoice(trials []trial) {
	at := slices.IndexFunc(r.Models, func(m model) bool { return m.Name == choice })
	if at < 0 {
		return
	}
	lapses := 0
	for s, t := range trials {
		r.Chosen = append(r.Chosen, t.chosen)
		best := math.Inf(1)
		for i, m := range r.Models {
			if i != at && m.SeedMeans[s] != nil {
				best = math.Min(best, *m.SeedMeans[s])
			}
		}
		mine := r.Models[at].SeedMeans[s]
		if mine == nil && !math.IsInf(best, 1) || mine != nil && *mine > best+excusable(r.Readings, best) {
			lapses++
		}
	}
	if len(r.Models) > 1 {
		r.Lapses = &lapses
	}
}
