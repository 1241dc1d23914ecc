package chart_test

import (
	"math"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// TestPaceByHand: 2 s to settle, 1 s to read, slower below 4 cd/m² up to 12 s,
// on a display of 0.1 to 100 cd/m². Gamma 2.2 makes a grey of luminance share y
// at signal y^(1/2.2).
func TestPaceByHand(t *testing.T) {
	p := chart.Pace{SettleS: 2, IntegrateS: 1, SlowBelowCdM2: 4, LongestS: 12, WhiteCdM2: 100, BlackCdM2: 0.1}
	grey := func(cdM2 float64) colorimetry.RGB {
		return colorimetry.Gray(math.Pow((cdM2-0.1)/99.9, 1/2.2))
	}
	for cdM2, want := range map[float64]float64{100: 3, 50: 3, 4.001: 3, 2: 4, 1: 6, 0.5: 10, 0.3334: 14, 0.2: 14, 0.1: 14} {
		if got := p.Seconds(grey(cdM2)); math.Abs(got-want) > 0.005 {
			t.Errorf("%g cd/m² takes %.3f s, want %g", cdM2, got, want)
		}
	}
	if got := p.Duration(chart.Set{{Signal: grey(50)}, {Signal: grey(1)}, {Signal: grey(0.1)}}); (got - 23*time.Second).Abs() > time.Millisecond {
		t.Errorf("3 + 6 + 14 s are %v", got)
	}
	if got := p.Duration(nil); got != 0 {
		t.Errorf("no patch takes %v", got)
	}
}

func TestPaceDefaultsAndExtremes(t *testing.T) {
	var zero chart.Pace
	if w, k := zero.Seconds(colorimetry.Gray(1)), zero.Seconds(colorimetry.Gray(0)); math.Abs(w-1.4) > 1e-12 || math.Abs(k-10.4) > 1e-12 {
		t.Errorf("white takes %g s, black %g s; documented are 1.4 and 10.4", w, k)
	}
	none := chart.Pace{SettleS: -1, IntegrateS: -1, SlowBelowCdM2: -1}
	if got := none.Seconds(colorimetry.Gray(0)); got != 0 {
		t.Errorf("without any delay black takes %g s", got)
	}
	endless := chart.Pace{SettleS: 1e300}
	if got := endless.Duration(chart.Lattice(2)); got != math.MaxInt64 {
		t.Errorf("an endless run takes %v", got)
	}
	if got := endless.Patches(time.Hour, chart.Options{}); got != 0 {
		t.Errorf("%d patches fit into an hour", got)
	}
}

// TestPatchesFit measures the answer with a watch of its own: the set fits, one
// patch more does not.
func TestPatchesFit(t *testing.T) {
	t.Parallel()
	o := chart.Options{Bits: 8}
	p := chart.Pace{SettleS: 3, LongestS: 20}
	last := 0
	for _, minutes := range []float64{0, 2, 15} {
		available := time.Duration(minutes * float64(time.Minute))
		n := p.Patches(available, o)
		takes := func(n int) (sum float64) {
			for _, patch := range chart.Order(chart.Default(n, o), chart.OrderOptions{}) {
				s := patch.Signal
				// Y of the primaries and gamma of the nominal display (Display P3).
				y := 0.2289746*math.Pow(s.R, 2.2) + 0.6917385*math.Pow(s.G, 2.2) + 0.0792869*math.Pow(s.B, 2.2)
				sum += 3 + math.Min(20, math.Max(1, 2/math.Max(100*y, 1e-9)))
			}
			return sum / 60
		}
		t.Logf("%g minutes: %d patches take %.2f", minutes, n, takes(n))
		if n > 0 && takes(n) > minutes+1e-4 || takes(n+1) <= minutes-1e-4 || n < last {
			t.Errorf("%g minutes: %d patches take %.3f minutes, one more %.3f", minutes, n, takes(n), takes(n+1))
		}
		last = n
	}
	set := chart.Order(chart.Default(2048, o), chart.OrderOptions{})
	want := 2048 * 1000 / p.Duration(set).Hours()
	if n := p.Patches(1000*time.Hour, o); math.Abs(float64(n)-want) > 1 {
		t.Errorf("%d patches fit into 1,000 hours, want %.0f", n, want)
	}
	if n := p.Patches(time.Hour, chart.Options{Bits: 1}); n != 8 {
		t.Errorf("a path of one bit has %d patches for an hour, want 8", n)
	}
}
