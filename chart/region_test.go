package chart_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

func countIn(set chart.Set, in chart.Region) int {
	n := 0
	for _, p := range set {
		n += btoi(in(p.Signal))
	}
	return n
}

func someRegions() map[string]chart.Region {
	light, green := chart.LightnessSlab(60, 90), chart.HueSector(100, 170, 10)
	return map[string]chart.Region{
		"skin, a ball":      chart.Ball(colorimetry.Lab{L: 65, A: 20, B: 25}, 25),
		"the dark":          chart.LightnessSlab(0, 25),
		"reds around hue 0": chart.HueSector(330, 30, 20),
		"bright red lights": func(s colorimetry.RGB) bool { return s.R > 0.9 },
		"the gamut's top":   func(s colorimetry.RGB) bool { return s.Max() == 1 },
		"light and green":   func(s colorimetry.RGB) bool { return light(s) && green(s) },
	}
}

// TestDensify: the old patches first and unchanged, the region as many times
// denser as asked for, the rest as it was, and new patches apart.
func TestDensify(t *testing.T) {
	t.Parallel()
	for _, o := range []chart.Options{{Seed: 3}, {Bits: 8, Narrow: true, Space: chart.CAM16UCS}} {
		set := chart.Default(175, o)
		for name, in := range someRegions() {
			before := countIn(set, in)
			for _, factor := range []float64{1, 1.5, 3} {
				got := chart.Densify(set, in, factor, o)
				want := before + int(math.Round((factor-1)*float64(before)))
				if diff := cmp.Diff(set, got[:len(set)]); diff != "" {
					t.Fatalf("%s: old patches changed:\n%s", name, diff)
				}
				if n := countIn(got, in); n != want || len(got)-len(set) != want-before {
					t.Errorf("%s by %g: %d patches became %d in the region and %d to %d in all; want %d in it", name, factor, before, n, len(set), len(got), want)
				}
				if len(signals(got)) != len(got) {
					t.Errorf("%s by %g: %d patches, %d different", name, factor, len(got), len(signals(got)))
				}
				checkOnPath(t, name, got[len(set):], o)
			}
		}
	}
}

// TestDensifyKeepsDistance compares with patches by lot in the same region,
// medians of 9 seeds (3 in a short run).
func TestDensifyKeepsDistance(t *testing.T) {
	t.Parallel()
	seeds := uint64(9)
	if testing.Short() {
		seeds = 3
	}
	set := chart.Default(175, chart.Options{})
	nearest := func(old, added chart.Set) float64 {
		d := math.Inf(1)
		for i, p := range added {
			d = math.Min(d, math.Min(closest(p.Signal, old), closest(p.Signal, added[:i])))
		}
		return d
	}
	for name, in := range someRegions() {
		if name == "the gamut's top" {
			continue // patches by lot never fall on it
		}
		var own, lot []float64
		for seed := range seeds {
			got := chart.Densify(set, in, 4, chart.Options{Seed: seed})
			own = append(own, nearest(set, got[len(set):]))
			var random chart.Set
			for next := lottery(seed); len(random) < len(got)-len(set); {
				if s := (colorimetry.RGB{R: next(), G: next(), B: next()}); in(s) {
					random = append(random, chart.Patch{Signal: s})
				}
			}
			lot = append(lot, nearest(set, random))
		}
		t.Logf("%s: new patches at least %.2f from others, by lot %.2f", name, median(own), median(lot))
		if median(own) < 3*median(lot) {
			t.Errorf("%s: new patches come as near as %.2f to others, by lot %.2f", name, median(own), median(lot))
		}
	}
}

func TestDensifySmallAndEmptyRegions(t *testing.T) {
	set := chart.Set{{ID: "d1", Signal: colorimetry.Gray(0.5)}, {ID: "white", Signal: colorimetry.Gray(1)}}
	tiny := chart.Ball(chart.Nominal(colorimetry.Gray(0.5)), 0.5)
	got := chart.Densify(set, tiny, 21, chart.Options{})
	if len(got) != 22 || countIn(got, tiny) != 21 {
		t.Errorf("a ball of ΔE 0.5: %d of %d patches are in it, want 21 of 22", countIn(got, tiny), len(got))
	}
	if got[2].ID != "d2" || got[3].ID != "d3" {
		t.Errorf("new patches are named %s, %s; d1 is taken", got[2].ID, got[3].ID)
	}
	// No patch of set is there: taken as one.
	blue := chart.Ball(chart.Nominal(colorimetry.RGB{B: 0.8}), 8)
	if got := chart.Densify(set, blue, 6, chart.Options{}); countIn(got, blue) != 5 || len(got) != 7 {
		t.Errorf("%d new patches in a region without any, want 5", countIn(got, blue))
	}
	never := func(colorimetry.RGB) bool { return false }
	if diff := cmp.Diff(set, chart.Densify(set, never, 10, chart.Options{})); diff != "" {
		t.Error(diff)
	}
	if got := chart.Densify(nil, chart.LightnessSlab(20, 80), 5, chart.Options{}); len(got) != 4 {
		t.Errorf("an empty set gets %d patches, want 4", len(got))
	}
	// A path of one bit: the eight corners are all there is.
	if got := chart.Densify(nil, chart.LightnessSlab(0, 100), 50, chart.Options{Bits: 1}); len(got) != 8 {
		t.Errorf("a path of one bit has %d signals, want 8", len(got))
	}
	for _, factor := range []float64{math.NaN(), math.Inf(1), 0.9, -1, 1001} {
		mustPanic(t, func() { chart.Densify(set, tiny, factor, chart.Options{}) })
	}
	mustPanic(t, func() { chart.Densify(chart.Lattice(4), chart.LightnessSlab(0, 100), 1000, chart.Options{}) })
}

// TestRegions uses colours whose place is known: greys by gamma 2.2, and the
// hues of the primaries, in the order red, green, blue round the circle.
func TestRegions(t *testing.T) {
	red, green, blue := chart.Nominal(colorimetry.RGB{R: 1}).LCh().H, chart.Nominal(colorimetry.RGB{G: 1}).LCh().H, chart.Nominal(colorimetry.RGB{B: 1}).LCh().H
	if !(red < green && green < blue) {
		t.Fatalf("hues %g, %g, %g", red, green, blue)
	}
	for _, c := range []struct {
		name string
		in   chart.Region
		s    colorimetry.RGB
		want bool
	}{
		// L* 53.776: see TestNominal.
		{"below the slab", chart.LightnessSlab(54, 100), colorimetry.Gray(0.5), false},
		{"in the slab", chart.LightnessSlab(53.7, 53.8), colorimetry.Gray(0.5), true},
		{"slab with its ends", chart.LightnessSlab(0, 0), colorimetry.Gray(0), true},
		{"in the ball", chart.Ball(colorimetry.Lab{L: 50}, 3.8), colorimetry.Gray(0.5), true},
		{"outside the ball", chart.Ball(colorimetry.Lab{L: 50}, 3.7), colorimetry.Gray(0.5), false},
		{"from blue over 0 to red", chart.HueSector(blue-1, red+1, 0), colorimetry.RGB{R: 1, B: 1}, true},
		{"from blue over 0 to red", chart.HueSector(blue-1, red+1, 0), colorimetry.RGB{G: 1}, false},
		{"angles less than 0", chart.HueSector(blue-361, red+1-360, 0), colorimetry.RGB{R: 1, B: 1}, true},
		{"from red to blue", chart.HueSector(red, blue, 0), colorimetry.RGB{G: 1}, true},
		{"from red to blue", chart.HueSector(red, blue, 0), colorimetry.RGB{R: 1, B: 1}, false},
		{"the whole circle", chart.HueSector(10, 370, 20), colorimetry.RGB{R: 1}, true},
		{"the whole circle without greys", chart.HueSector(0, 360, 20), colorimetry.Gray(0.7), false},
	} {
		if got := c.in(c.s); got != c.want {
			t.Errorf("%s: %v is in it: %t, want %t", c.name, c.s, got, c.want)
		}
	}
}
