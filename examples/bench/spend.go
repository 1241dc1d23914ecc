package main

import (
	"context"
	"math"
	"sync"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
)

// design is a way to spend readings: which patches.
type design struct {
	name string
	make func(n int, o chart.Options) chart.Set
}

// designs are all ways, by name.
var designs = []design{
	{"default", chart.Default},
	{"farthest", func(n int, o chart.Options) chart.Set { return chart.Farthest(n, ramped(n, o)) }},
	{"lattice", lattice},
	{"maximin", func(n int, o chart.Options) chart.Set { return chart.Maximin(n, ramped(n, o)) }},
	{"mixed", func(n int, o chart.Options) chart.Set {
		return chart.Union(chart.Default(n*3/5, o), chart.Sobol(n, o))
	}},
	{"sobol", func(n int, o chart.Options) chart.Set {
		o = ramped(n, o)
		return chart.Union(chart.Ramps(o.Ramps), chart.Lattice(2), chart.Sobol(n, o))
	}},
}

// ramped returns o with ramps that take about two fifths of n patches, of at
// most 33 levels.
func ramped(n int, o chart.Options) chart.Options {
	o.Ramps = min(max(n/10, 3), 33)
	return o
}

// lattice returns the largest lattice of at most n patches and, for the rest of
// n, what chart.Sobol gives.
func lattice(n int, o chart.Options) chart.Set {
	side := int(math.Cbrt(float64(n) + 0.5))
	return chart.Union(chart.Lattice(side), chart.Sobol(n, o))
}

// spender makes sets and remembers them, since displays share them. It is safe
// for concurrent use.
type spender struct {
	design
	averages int
	mu       sync.Mutex
	made     map[wish]func() chart.Set
}

type wish struct {
	readings, bits int
	seed           uint64
}

// set returns the patches that readings are spent on: one for so many averages,
// on the codes of the path, at most as many as there are.
func (s *spender) set(w wish) chart.Set {
	s.mu.Lock()
	if s.made == nil {
		s.made = map[wish]func() chart.Set{}
	}
	if s.made[w] == nil {
		s.made[w] = sync.OnceValue(func() chart.Set {
			n := max(w.readings/s.averages, 1)
			o := chart.Options{Seed: w.seed, Bits: w.bits, Space: chart.CAM16UCS}
			set := chart.Union(chart.Quantise(s.design.make(n, o), w.bits))
			return chart.Number(set[:min(n, len(set))], "b")
		})
	}
	f := s.made[w]
	s.mu.Unlock()
	return f()
}

// read spends exactly w.readings integrations on a set: as many on each patch,
// and one more on the first ones where they do not go up.
func (s *spender) read(ctx context.Context, d *simulate.Display, w wish) ([]measure.Reading, error) {
	set := s.set(w)
	e := look(ctx, d, 0)
	out := make([]measure.Reading, len(set))
	for i, p := range set {
		n := w.readings / len(set)
		if i < w.readings%len(set) {
			n++
		}
		repeats, err := e.at(p.Signal, n)
		if err != nil {
			return nil, err
		}
		r := measure.Reading{Index: i, Patch: p, Repeats: repeats}
		for _, x := range repeats {
			r.XYZ = r.XYZ.Add(x.Scale(1 / float64(n)))
		}
		r.Raw, r.Covariance = r.XYZ, noise.Covariance(r.XYZ, n)
		out[i] = r
	}
	return out, nil
}
