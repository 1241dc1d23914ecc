package fit_test

import (
	"math"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// One wild reading of a channel alone, on the ramp or at its end, neither bends a
// curve nor is blamed on what the channels do to each other: it is named, innocent
// ones are not, and additivity is told without it. Judged on noiseless truth.
func TestWildReadingOfOneChannel(t *testing.T) {
	t.Parallel()
	d := truth(simulate.Invented(simulate.CoupledLCD, simulate.Options{}).Truth)
	set := chart.Default(175, chart.Options{Bits: 10})
	for _, w := range []struct {
		signal colorimetry.RGB // the patch nearest to it is wild
		by     float64
	}{
		{colorimetry.RGB{G: 0.77}, 1.15},
		{colorimetry.RGB{B: 0.31}, 1.30},
		{colorimetry.RGB{G: 1}, 1.30},
	}[:seedsOf(3, 1)] {
		r := d.readings(set, 4, 2)
		wild := 0
		for i := range r {
			if far(r[i].Patch.Signal, w.signal) < far(r[wild].Patch.Signal, w.signal) {
				wild = i
			}
		}
		r[wild].XYZ = r[wild].XYZ.Scale(w.by)
		m, ev, err := fit.Best(r, fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		mean, _, most := d.judge(m)
		t.Logf("%v × %.2f: %s, mean %.3f, max %.2f ΔE00, outliers %v", r[wild].Patch.Signal, w.by, ev.Chosen, mean, most, ev.Outliers)
		if mean > 0.1 || most > 0.5 {
			t.Errorf("%v × %.2f: mean %.3f, max %.2f ΔE00; 0.05 and 0.17 without it", r[wild].Patch.Signal, w.by, mean, most)
		}
		if !slices.Equal(ev.Outliers, []int{wild}) {
			t.Errorf("%v × %.2f: outliers %v, want [%d]", r[wild].Patch.Signal, w.by, ev.Outliers, wild)
		}
		if full := w.signal == (colorimetry.RGB{G: 1}); full != ev.Additivity.Doubted {
			t.Errorf("%v × %.2f: additivity %+v; it is doubted where the wild reading is one of a full primary", r[wild].Patch.Signal, w.by, ev.Additivity)
		}
	}
}

func far(a, b colorimetry.RGB) float64 {
	return math.Hypot(a.R-b.R, math.Hypot(a.G-b.G, a.B-b.B))
}
