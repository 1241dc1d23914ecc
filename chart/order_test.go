package chart_test

import (
	"fmt"
	"math"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

func TestOrderKeepsPatches(t *testing.T) {
	set := append(chart.Default(175, chart.Options{}), chart.Patch{ID: "white2", Signal: colorimetry.Gray(0.3)})
	got := chart.Order(set, chart.OrderOptions{})
	// 176 patches are 9 rounds, with a white before each and one at the end.
	if len(got) != 176+10 {
		t.Fatalf("%d patches, want 186", len(got))
	}
	seen := make(map[string]chart.Patch)
	for _, p := range got {
		if _, ok := seen[p.ID]; ok {
			t.Errorf("two patches are called %s", p.ID)
		}
		seen[p.ID] = p
	}
	for _, p := range set {
		if seen[p.ID] != p {
			t.Errorf("patch %v became %v", p, seen[p.ID])
		}
	}
	white := colorimetry.Gray(1)
	if got[0].Signal != white || got[185].Signal != white {
		t.Error("the run does not begin and end with white")
	}
	last := 0
	for i, p := range got {
		if p.Signal == white {
			last = i
		}
		if i-last > 20 {
			t.Fatalf("no white from position %d to %d", last, i)
		}
	}
	if got := chart.Order(set, chart.OrderOptions{AnchorEvery: -1}); len(got) != 176 {
		t.Errorf("without anchors there are %d patches, want 176", len(got))
	}
	if got := chart.Order(nil, chart.OrderOptions{}); len(got) != 1 {
		t.Errorf("an empty set gives %d patches, want the one white", len(got))
	}
}

// TestOrderSpreadsDrift asks how much of a steady drift could be mistaken for
// tone: the correlation of level with time. Order cancels it for lightness; for
// single channels it is left to the lot.
func TestOrderSpreadsDrift(t *testing.T) {
	set := chart.Default(175, chart.Options{})
	for seed := range uint64(20) {
		got := chart.Order(set, chart.OrderOptions{Seed: seed})
		time := make([]float64, len(got))
		for i := range got {
			time[i] = float64(i) / float64(len(got)-1)
		}
		for channel, level := range map[string]func(chart.Patch) float64{
			"lightness": func(p chart.Patch) float64 { return chart.Nominal(p.Signal).L },
			"red":       func(p chart.Patch) float64 { return p.Signal.R },
			"blue":      func(p chart.Patch) float64 { return p.Signal.B },
		} {
			var levels []float64
			for _, p := range got {
				levels = append(levels, level(p))
			}
			limit := 0.05
			if channel != "lightness" {
				limit = 0.3 // left to the lot: 1/√175 is 0.08, 0.3 is four times that
			}
			if r := correlation(time, levels); math.Abs(r) > limit {
				t.Errorf("seed %d: %s correlates with time, r = %.3f", seed, channel, r)
			}
		}
	}
}

func correlation(x, y []float64) float64 {
	n := float64(len(x))
	var sx, sy, sxx, syy, sxy float64
	for i := range x {
		sx, sy = sx+x[i], sy+y[i]
		sxx, syy, sxy = sxx+x[i]*x[i], syy+y[i]*y[i], sxy+x[i]*y[i]
	}
	return (sxy - sx*sy/n) / math.Sqrt((sxx-sx*sx/n)*(syy-sy*sy/n))
}

// TestOrderJumps: no step down is as long as half the scale of lightness,
// where a random order has dozens.
func TestOrderJumps(t *testing.T) {
	worst := 0.0
	set := chart.Default(175, chart.Options{})
	for seed := range uint64(20) {
		got := chart.Order(set, chart.OrderOptions{Seed: seed})
		for i := 1; i < len(got); i++ {
			worst = math.Max(worst, chart.Nominal(got[i-1].Signal).L-chart.Nominal(got[i].Signal).L)
		}
	}
	t.Logf("longest step down in 20 orders: %.1f L*", worst)
	if worst > 40 {
		t.Errorf("a step goes down by %.1f L*", worst)
	}
}

func ExampleOrder() {
	set := chart.Number(chart.Neutral(5), "g")
	for _, p := range chart.Order(set, chart.OrderOptions{Seed: 1}) {
		fmt.Printf("%s %.3f\n", p.ID, p.Signal.G)
	}
	// Output:
	// white1 1.000
	// g4 0.632
	// g3 0.352
	// g1 0.000
	// g2 0.161
	// g5 1.000
	// white2 1.000
}

// Anchors come after each white, in turn, all of them at both ends, and leave the
// rest of the order as it is without them.
func TestOrderAnchors(t *testing.T) {
	set := chart.Default(175, chart.Options{})
	more := chart.Set{{ID: "red", Signal: colorimetry.RGB{R: 1}}, {Signal: colorimetry.Gray(0.5)}}
	plain := chart.Order(set, chart.OrderOptions{Seed: 4})
	got := chart.Order(set, chart.OrderOptions{Seed: 4, Anchors: more})
	if got[1].ID != "red1" || got[2].ID != "anchor1" || got[len(got)-3].ID != "white10" || got[len(got)-1].Signal == got[len(got)-2].Signal {
		t.Errorf("the run begins with %v and ends with %v", got[:3], got[len(got)-3:])
	}
	names := make(map[string]bool)
	for _, p := range set {
		names[p.ID] = true
	}
	var rest chart.Set
	turn := 0
	for i, p := range got {
		if p.Signal == colorimetry.Gray(1) || names[p.ID] {
			rest = append(rest, p)
			continue
		}
		if want := more[turn%2].Signal; p.Signal != want {
			t.Errorf("at position %d comes %v, want %v", i, p.Signal, want)
		}
		turn++
	}
	if fmt.Sprint(rest) != fmt.Sprint(plain) || turn != 2+8+2 {
		t.Errorf("%d further anchors; %d patches of %d are left", turn, len(rest), len(plain))
	}
	all := make(map[string]bool)
	for _, p := range got {
		if all[p.ID] {
			t.Errorf("two patches are called %q", p.ID)
		}
		all[p.ID] = true
	}
	if got := chart.Order(set, chart.OrderOptions{AnchorEvery: -1, Anchors: more}); len(got) != 175 {
		t.Errorf("without anchors there are %d patches, want 175", len(got))
	}
}
