package chart_test

import (
	"math"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// ends reports how many channels of s are at an end: 1 on a face, 2 on an
// edge, 3 in a corner.
func ends(s colorimetry.RGB) int {
	n := 0
	for _, v := range []float64{s.R, s.G, s.B} {
		n += btoi(v == 0 || v == 1)
	}
	return n
}

func TestSurface(t *testing.T) {
	for _, o := range []chart.Options{{Seed: 2}, {Bits: 10, Space: chart.CAM16UCS}} {
		// A cube whose faces carry m by m squares has 6m² + 2 nodes: 8 corners,
		// 12(m − 1) on edges, 6(m − 1)² on faces. Here m = 2 and 6.
		for n, onEdges := range map[int]int{26: 12, 218: 60} {
			var count [4]int
			set := chart.Surface(n, o)
			for _, p := range set {
				count[ends(p.Signal)]++
			}
			if want := [4]int{0, n - 8 - onEdges, onEdges, 8}; count != want {
				t.Errorf("Surface(%d, %+v): inside, face, edge, corner %v, want %v", n, o, count, want)
			}
		}
	}
}

// TestSurfaceIsEven looks at every edge and face, and compares how far colours
// of the surface are from a patch with patches by lot on the surface.
func TestSurfaceIsEven(t *testing.T) {
	const n = 218
	set := chart.Surface(n, chart.Options{Seed: 1})
	perFace := map[string]int{}
	for _, p := range set {
		for name, on := range map[string]bool{"R=0": p.Signal.R == 0, "R=1": p.Signal.R == 1, "G=0": p.Signal.G == 0, "G=1": p.Signal.G == 1, "B=0": p.Signal.B == 0, "B=1": p.Signal.B == 1} {
			perFace[name] += btoi(on)
		}
	}
	for name, count := range perFace {
		if count < 12 {
			t.Errorf("face %s carries %d patches", name, count)
		}
	}
	next := lottery(5)
	random := make(chart.Set, n)
	for i := range random {
		v := [3]float64{next(), next(), next()}
		v[int(3*next())] = float64(int(2 * next()))
		random[i].Signal = colorimetry.RGB{R: v[0], G: v[1], B: v[2]}
	}
	own, lot := 0.0, 0.0
	for _, p := range chart.Lattice(12) {
		if ends(p.Signal) > 0 {
			own, lot = math.Max(own, closest(p.Signal, set)), math.Max(lot, closest(p.Signal, random))
		}
	}
	t.Logf("a colour of the surface is up to %.1f from a patch, by lot %.1f; nearest two %.1f and %.1f; faces %v", own, lot, nearestTwo(set), nearestTwo(random), perFace)
	if own > 0.6*lot || nearestTwo(set) < 10*nearestTwo(random) {
		t.Errorf("farthest colour %.1f (by lot %.1f), nearest two %.1f (by lot %.1f)", own, lot, nearestTwo(set), nearestTwo(random))
	}
}
