package main

import (
	"math"
	"math/rand/v2"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// kind is a way to make a set: size patches, of which those of start come first.
type kind struct {
	name string
	make func(s settings, o chart.Options) chart.Set
}

// kinds are all that are compared.
var kinds = []kind{
	{"random signals", filling(randomSignals)},
	{"halton signals", filling(haltonSignals)},
	{"random", filling(random)},
	{"halton", filling(chart.Halton)},
	{"sobol", filling(chart.Sobol)},
	{"maximin", func(s settings, o chart.Options) chart.Set { return chart.Maximin(s.size, o) }},
	{"farthest", func(s settings, o chart.Options) chart.Set { return chart.Farthest(s.size, o) }},
}

// start returns what every set begins with: what chart.Maximin and
// chart.Farthest begin with.
func (s settings) start() chart.Set {
	return chart.Union(chart.Ramps(s.levels), chart.Lattice(2))
}

// filling makes a set of the start and of what fill gives for the rest.
func filling(fill func(n int, o chart.Options) chart.Set) func(settings, chart.Options) chart.Set {
	return func(s settings, o chart.Options) chart.Set {
		start := s.start()
		// A sequence may meet a patch of the start, as those that begin with black.
		set := chart.Union(start, fill(s.size-len(start)+1, o))
		return set[:s.size]
	}
}

// randomSignals returns n signals by lot.
func randomSignals(n int, o chart.Options) chart.Set {
	rng := rand.New(rand.NewPCG(o.Seed, 1))
	set := make(chart.Set, n)
	for i := range set {
		set[i].Signal = colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}
	}
	return set
}

// haltonSignals returns the Halton sequence of bases 2, 3 and 5 as signals,
// shifted as a whole by the seed.
func haltonSignals(n int, o chart.Options) chart.Set {
	rng := rand.New(rand.NewPCG(o.Seed, 2))
	shift := [3]float64{rng.Float64(), rng.Float64(), rng.Float64()}
	set := make(chart.Set, n)
	for i := range set {
		var u [3]float64
		for c, base := range [3]int{2, 3, 5} {
			f := 1.0
			for rest := i + 1; rest > 0; rest /= base {
				f /= float64(base)
				u[c] += f * float64(rest%base)
			}
			u[c] = math.Mod(u[c]+shift[c], 1)
		}
		set[i].Signal = colorimetry.RGB{R: u[0], G: u[1], B: u[2]}
	}
	return set
}

// random returns n patches by lot, even in o.Space: a draw from very many that
// are.
func random(n int, o chart.Options) chart.Set {
	many := chart.Sobol(64*n, o)
	rng := rand.New(rand.NewPCG(o.Seed, 3))
	set := make(chart.Set, n)
	for i, k := range rng.Perm(len(many))[:n] {
		set[i] = many[k]
	}
	return set
}
