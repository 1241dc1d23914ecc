package chart_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

func TestThin(t *testing.T) {
	set := chart.Number(randomSet(800, 3), "r")
	set = append(set, chart.Number(chart.Lattice(2), "corner")...)
	set = append(set, chart.Patch{ID: "again", Signal: set[5].Signal})
	for _, in := range []chart.Space{chart.CIELAB, chart.CAM16UCS} {
		thin := chart.Thin(set, 100, in)
		if len(thin) != 100 || len(signals(thin)) != 100 {
			t.Fatalf("%d patches, %d different, want 100", len(thin), len(signals(thin)))
		}
		for s := range signals(chart.Lattice(2)) {
			if !signals(thin)[s] {
				t.Errorf("%v: anchor %v is missing", in, s)
			}
		}
		// A subset in order, names and all.
		i := 0
		for _, p := range set {
			if i < len(thin) && thin[i] == p {
				i++
			}
		}
		if i != len(thin) {
			t.Errorf("%v: patch %v is not in the set, or not in its order", in, thin[i])
		}
		if diff := cmp.Diff(thin, chart.Thin(set, 100, in)); diff != "" {
			t.Error(diff)
		}
	}
}

// TestThinKeepsDistance compares with the first 100 patches, which are by lot,
// and with the bound of the greedy choice (see TestMaximinSpreads).
func TestThinKeepsDistance(t *testing.T) {
	t.Parallel()
	var ratio []float64
	for seed := range uint64(20) {
		set := chart.Union(chart.Lattice(2), randomSet(800, seed))
		thin := chart.Thin(set, 100, chart.CIELAB)
		between, cover := nearestTwo(thin), 0.0
		for _, p := range set {
			cover = math.Max(cover, closest(p.Signal, thin))
		}
		if cover > 1.15*between {
			t.Errorf("seed %d: a patch left out is %.1f from the next; those kept are %.1f apart", seed, cover, between)
		}
		ratio = append(ratio, between/nearestTwo(set[:100]))
	}
	t.Logf("nearest two patches %.1f times as far apart as without choosing (median)", median(ratio))
	if median(ratio) < 4 {
		t.Errorf("nearest two patches %.1f times as far apart as without choosing", median(ratio))
	}
}

func TestThinAtItsEnds(t *testing.T) {
	set := chart.Union(chart.Neutral(9), chart.Ramp(colorimetry.RGB{R: 1}, 9))
	for n, want := range map[int]int{-1: 0, 0: 0, 1: 1, 2: 2, 17: 17, 99: 17} {
		if got := len(chart.Thin(set, n, chart.CIELAB)); got != want {
			t.Errorf("Thin to %d leaves %d, want %d", n, got, want)
		}
	}
	if got := chart.Thin(set, 2, chart.CIELAB); !signals(got)[colorimetry.Gray(1)] || !signals(got)[colorimetry.Gray(0)] {
		t.Errorf("the two that remain are %v, want white and black", got)
	}
	if diff := cmp.Diff(set, chart.Thin(set, 99, chart.CIELAB)); diff != "" {
		t.Error(diff)
	}
	if got := chart.Thin(nil, 5, chart.CIELAB); len(got) != 0 {
		t.Errorf("of nothing remains %v", got)
	}
}

func TestDistinct(t *testing.T) {
	set := chart.Union(chart.Lattice(3), randomSet(400, 2))
	for _, deltaE := range []float64{0, 3, 10, 1000} {
		got := chart.Distinct(set, deltaE, chart.CIELAB)
		if got[0] != set[0] {
			t.Errorf("%g: the first does not win: %v", deltaE, got[0])
		}
		if d := nearestTwo(got); len(got) > 1 && d <= deltaE {
			t.Errorf("%g: two are %g apart", deltaE, d)
		}
		kept := signals(got)
		for _, p := range set {
			if d := closest(p.Signal, got); !kept[p.Signal] && d > deltaE {
				t.Errorf("%g: %v is dropped and %g from the next", deltaE, p.Signal, d)
			}
		}
		t.Logf("%g: %d of %d remain", deltaE, len(got), len(set))
	}
	twice := append(chart.Number(chart.Lattice(3), "a"), chart.Number(chart.Lattice(3), "b")...)
	if diff := cmp.Diff(twice[:27], chart.Distinct(twice, 0, chart.CAM16UCS)); diff != "" {
		t.Error(diff)
	}
	if got := len(chart.Distinct(twice, -1, chart.CIELAB)); got != 54 {
		t.Errorf("below 0 %d of 54 remain", got)
	}
	if got := len(chart.Distinct(twice, math.NaN(), chart.CIELAB)); got != 54 {
		t.Errorf("with NaN %d of 54 remain", got)
	}
}
