package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit"
)

// settings are the command line.
type settings struct {
	averages, colours, levels, seeds, size, workers int
}

// row is a line of the table: medians over the seeds.
type row struct {
	display, set    string
	patches         int
	mean, p95, most float64
}

// unseen is the seed of the colours that models are judged on; no set has it.
const unseen = 1 << 40

// compare returns a row for each kind of set on a display.
func (s settings) compare(ctx context.Context, on simulate.Example, kinds []kind) ([]row, error) {
	colours := chart.Sobol(s.colours, chart.Options{Seed: unseen, Space: chart.CAM16UCS})
	trials := make([]row, len(kinds)*s.seeds)
	failures := make([]error, s.workers)
	var next atomic.Int64
	var wg sync.WaitGroup
	for w := range s.workers {
		wg.Go(func() {
			for failures[w] == nil {
				i := int(next.Add(1)) - 1
				if i >= len(trials) {
					return
				}
				trials[i], failures[w] = s.try(ctx, on, kinds[i/s.seeds], uint64(1+i%s.seeds), colours)
			}
		})
	}
	wg.Wait()
	if err := errors.Join(failures...); err != nil {
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, cli.Give(cli.RunFailure, err)
	}
	var rows []row
	for of := range slices.Chunk(trials, s.seeds) {
		r := of[0]
		r.mean = median(of, func(r row) float64 { return r.mean })
		r.p95 = median(of, func(r row) float64 { return r.p95 })
		r.most = median(of, func(r row) float64 { return r.most })
		rows = append(rows, r)
	}
	return rows, nil
}

// try makes a set, reads it, fits the model and judges it.
func (s settings) try(ctx context.Context, on simulate.Example, k kind, seed uint64, colours chart.Set) (row, error) {
	fail := func(err error) (row, error) {
		return row{}, fmt.Errorf("%s on %v with seed %d: %w", k.name, on, seed, err)
	}
	// The model is to be judged, not the instrument: one without a bias, and a
	// path without steps.
	noise := measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}
	display := simulate.Invented(on, simulate.Options{Seed: seed, Bits: 16, ReferenceNoise: &noise})
	set := k.make(s, chart.Options{Seed: seed, Space: chart.CAM16UCS, Ramps: s.levels})
	readings, err := read(ctx, display, set, seed, s.averages)
	if err != nil {
		return fail(err)
	}
	model, err := fit.Residual(readings, nil, fit.Options{})
	if err != nil {
		return fail(err)
	}
	white := display.Truth(colorimetry.Gray(1))
	misses := make([]float64, len(colours))
	out := row{display: on.String(), set: k.name, patches: len(set)}
	for i, p := range colours {
		misses[i] = difference.CIEDE2000(display.Truth(p.Signal).Lab(white), model.XYZ(p.Signal).Lab(white))
		out.mean += misses[i] / float64(len(colours))
	}
	slices.Sort(misses)
	out.p95, out.most = misses[int(math.Ceil(0.95*float64(len(misses))))-1], misses[len(misses)-1]
	return out, nil
}

// read takes the readings of a set.
func read(ctx context.Context, d *simulate.Display, set chart.Set, seed uint64, averages int) ([]measure.Reading, error) {
	s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock(), Seed: seed, RunID: "sets"})
	if err != nil {
		return nil, err
	}
	var out []measure.Reading
	for _, p := range chart.Number(set, "s") {
		r, err := s.Read(ctx, measure.ReadRequest{Stage: "sets", Patch: p, Averages: averages})
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, s.Close(ctx)
}

// median returns the median of what of gives.
func median(rows []row, of func(row) float64) float64 {
	var v []float64
	for _, r := range rows {
		v = append(v, of(r))
	}
	slices.Sort(v)
	return (v[len(v)/2] + v[(len(v)-1)/2]) / 2
}
