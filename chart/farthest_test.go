package chart_test

import (
	"math"
	"testing"

	"example.org/primaries/chart"
)

// Patches begin as those of Maximin do and keep more than twice the distance of
// as many from the same sequence, all inside the cube.
func TestFarthest(t *testing.T) {
	t.Parallel()
	for _, space := range []chart.Space{chart.CIELAB, chart.CAM16UCS} {
		const n = 120
		o := chart.Options{Seed: 4, Space: space, Ramps: 6}
		set := chart.Farthest(n, o)
		start := chart.Union(chart.Ramps(6), chart.Lattice(2))
		if len(signals(set)) != n {
			t.Fatalf("%v: %d different patches, want %d", space, len(signals(set)), n)
		}
		for _, p := range start {
			if !signals(set)[p.Signal] {
				t.Errorf("%v: %v is missing", space, p.Signal)
			}
		}
		fill := set[len(start):]
		for _, p := range fill {
			if p.Signal.Min() == 0 || p.Signal.Max() == 1 {
				t.Errorf("%v: %v lies on the surface", space, p.Signal)
			}
		}
		apart, sequence := nearestTwo(fill), nearestTwo(chart.Sobol(len(fill), o))
		t.Logf("%v: the nearest two are %.1f apart, of the sequence %.1f", space, apart, sequence)
		if apart < 2*sequence {
			t.Errorf("%v: the nearest two are %.1f apart, of the sequence %.1f", space, apart, sequence)
		}
		// Every colour of the gamut is near a patch.
		var far float64
		for _, p := range chart.Sobol(500, chart.Options{Seed: 99, Space: space}) {
			far = math.Max(far, closest(p.Signal, set))
		}
		t.Logf("%v: the farthest colour is %.1f from a patch", space, far)
		if far > 2.5*apart {
			t.Errorf("%v: a colour is %.1f from the nearest patch; patches are %.1f apart", space, far, apart)
		}
	}
}

func TestFarthestSmallShallowAndSeeded(t *testing.T) {
	for _, n := range []int{-1, 0, 1, 7, 8, 9, 40} {
		if got := len(chart.Farthest(n, chart.Options{Ramps: 6})); got != max(n, 0) {
			t.Errorf("Farthest(%d) has %d patches", n, got)
		}
	}
	shallow := chart.Farthest(60, chart.Options{Bits: 4})
	if len(signals(shallow)) != 60 {
		t.Errorf("%d different patches of 4 bits, want 60", len(signals(shallow)))
	}
	for _, p := range shallow {
		if p.Signal != p.Signal.Quantise(4) {
			t.Errorf("%v is on no code of 4 bits", p.Signal)
		}
	}
	a, b, c := chart.Farthest(30, chart.Options{Seed: 1}), chart.Farthest(30, chart.Options{Seed: 1}), chart.Farthest(30, chart.Options{Seed: 2})
	if !same(a, b) || same(a, c) {
		t.Error("the seed must decide the set")
	}
}

func same(a, b chart.Set) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return len(a) == len(b)
}
