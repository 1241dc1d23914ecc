package fit_test

import (
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// dusky is a display that the gain-offset-gamma model describes exactly.
var dusky = func() display {
	curve := func(gamma, offset float64) func(float64) float64 {
		return func(d float64) float64 { return math.Pow(math.Max(0, (1-offset)*d+offset), gamma) }
	}
	return display{colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.1}, wide, [3]func(float64) float64{curve(2.4, -0.05), curve(2.3, -0.03), curve(2.5, -0.08)}}
}()

func TestGainOffsetGammaFindsItself(t *testing.T) {
	m, err := fit.GainOffsetGamma(dusky.readings(100, 0, 0), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, _, most := dusky.judge(m); most > 0.005 {
		t.Errorf("without noise the model misses itself by %.4f ΔE00", most)
	}
	const seeds = 6
	var mean float64
	for seed := range uint64(seeds) {
		m, err := fit.GainOffsetGamma(dusky.readings(60, 4, seed), fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		a, _, _ := dusky.judge(m)
		mean += a / seeds
	}
	t.Logf("60 readings with noise: mean %.3f ΔE00", mean)
	if mean > 0.12 {
		t.Errorf("60 readings: mean %.3f ΔE00, want at most 0.12", mean)
	}
}

func TestBestChooses(t *testing.T) {
	t.Parallel()
	seeds := seedsOf(4, 1)
	for _, c := range []struct {
		name  string
		d     display
		want  string
		least uint64 // of the seeds
	}{
		// Where several kinds describe the display, noise decides some cases: by
		// chance a richer one passes by more than a standard error, and is then
		// as good.
		{"dusky", dusky, fit.GainOffsetGammaName, seeds / 2},
		{"crystal", crystal, fit.AdditiveName, max(seeds-1, 1)},
		{"leaking", leaking, fit.AdditiveName, max(seeds-1, 1)},
	} {
		right := uint64(0)
		for seed := range seeds {
			m, ev, err := fit.Best(c.d.readings(175, 4, seed), fit.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if ev.Chosen != m.Name() || len(ev.Candidates) != len(fit.Kinds()) || ev.Reason == "" {
				t.Errorf("%s: %d candidates, %q chosen, %q returned: %q", c.name, len(ev.Candidates), ev.Chosen, m.Name(), ev.Reason)
			}
			if ev.Chosen == c.want {
				right++
			}
			if seed == 0 {
				t.Logf("%s: %s: %s", c.name, ev.Chosen, ev.Reason)
			}
			// Whatever is chosen, the truth must not be far.
			if mean, _, _ := c.d.judge(m); mean > 0.15 {
				t.Errorf("%s: the chosen model's true mean is %.3f ΔE00", c.name, mean)
			}
		}
		if right < c.least {
			t.Errorf("%s: %q was chosen in %d of %d cases", c.name, c.want, right, seeds)
		}
	}
}

// The choice costs little against knowing the truth: in nine cases of ten its
// mean error exceeds that of the best kind by at most a tenth or 0.03 ΔE00.
func TestBestIsNearTheBest(t *testing.T) {
	t.Parallel()
	var cases, lapses int
	seeds := seedsOf(3, 1)
	displays := append(slices.Clone(interacting), struct {
		name string
		show truth
	}{"four sub-pixels", simulate.Invented(simulate.FourSubpixels, simulate.Options{}).Truth})
	if testing.Short() {
		// One on which it does not lapse, as it does on the first: the whole test counts
		// how many do.
		displays = displays[1:2]
	}
	for _, d := range displays {
		for seed := range seeds {
			r := d.show.readings(chart.Default(64, chart.Options{Bits: 10, Seed: seed}), 1, seed)
			m, ev, err := fit.Best(r, fit.Options{})
			if err != nil {
				t.Fatal(err)
			}
			got, _, _ := d.show.judge(m)
			least := got
			for _, k := range fit.Kinds() {
				if k == ev.Chosen {
					continue
				}
				if m, err := fit.Of(k, r, fit.Options{}); err == nil {
					mean, _, _ := d.show.judge(m)
					least = math.Min(least, mean)
				}
			}
			if seed == 0 {
				t.Logf("%s: %s, mean %.3f, the best kind's %.3f ΔE00: %s", d.name, ev.Chosen, got, least, ev.Reason)
			}
			if cases++; got > math.Max(1.1*least, least+0.03) {
				t.Logf("%s, seed %d: %s has %.3f, the best kind %.3f ΔE00", d.name, seed, ev.Chosen, got, least)
				lapses++
			}
		}
	}
	if lapses > cases/10 {
		t.Errorf("the choice lapsed in %d of %d cases", lapses, cases)
	}
}

func TestBestIsDeterministicAndCanBeForced(t *testing.T) {
	r := crystal.readings(100, 4, 5)
	_, a, err := fit.Best(r, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, b, _ := fit.Best(r, fit.Options{})
	if !reflect.DeepEqual(a, b) {
		t.Errorf("two runs differ:\n%+v\n%+v", a, b)
	}
	m, ev, err := fit.Best(r, fit.Options{Force: fit.GainOffsetGammaName})
	if err != nil || m.Name() != fit.GainOffsetGammaName || ev.Chosen != m.Name() || len(ev.Candidates) != len(fit.Kinds()) {
		t.Errorf("forced: %v, %q of %d", err, ev.Chosen, len(ev.Candidates))
	}
	for _, o := range []fit.Options{{Force: "magic"}, {Folds: 1}, {Folds: -3}} {
		if _, _, err := fit.Best(r, o); err == nil {
			t.Errorf("%+v: no error", o)
		}
	}
}

// Additivity is (Y_R + Y_G + Y_B − 2·Y_K)/Y_W: by hand on five readings among
// others.
func TestAdditivity(t *testing.T) {
	r := smooth.readings(60, 0, 0)
	_, ev, err := fit.Best(r, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if a := ev.Additivity; a == nil || math.Abs(a.Luminance-1) > 1e-9 || math.Abs(a.X-1) > 1e-9 || math.Abs(a.Z-1) > 1e-9 {
		t.Errorf("additive display: %+v", a)
	}
	// A white that is a quarter brighter than its parts.
	for i := range r {
		if r[i].Patch.Signal == colorimetry.Gray(1) {
			r[i].XYZ = r[i].XYZ.Scale(1.25)
		}
	}
	_, ev, err = fit.Best(r, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if a := ev.Additivity; a == nil || math.Abs(a.Luminance-0.8) > 1e-9 {
		t.Errorf("bright white: %+v, want 0.8", a)
	}
	if s := strings.Join(ev.Warnings, " "); !strings.Contains(s, "80.0 %") {
		t.Errorf("no warning about it: %q", s)
	}
	// Without the blue primary there is no figure.
	var some []measure.Reading
	for _, x := range r {
		if x.Patch.Signal != (colorimetry.RGB{B: 1}) {
			some = append(some, x)
		}
	}
	if _, ev, err = fit.Best(some, fit.Options{}); err != nil || ev.Additivity != nil {
		t.Errorf("without blue: %v, %+v", err, ev.Additivity)
	}
}

// Sets that hold nothing but corners and greys still give a model.
func TestBestOfOddSets(t *testing.T) {
	var r []measure.Reading
	for _, p := range append(chart.Maximin(8, chart.Options{}), chart.Neutral(12)...) {
		r = append(r, smooth.read(p.Signal, 0, nil))
	}
	m, ev, err := fit.Best(r, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// Without noise nothing but the shape of the curves between twelve greys is
	// left to guess.
	mean, _, most := smooth.judge(m)
	t.Logf("%s: mean %.3f, max %.3f", ev.Chosen, mean, most)
	if mean > 0.05 || most > 0.3 {
		t.Errorf("greys and corners: mean %.3f, max %.3f ΔE00", mean, most)
	}
	if _, _, err = fit.Best(r[:8], fit.Options{}); err == nil || !strings.Contains(err.Error(), "levels") {
		t.Errorf("corners alone say nothing of the curves, yet: %v", err)
	}
}

func BenchmarkBest300(b *testing.B) {
	r := crystal.readings(300, 4, 0)
	for b.Loop() {
		if _, _, err := fit.Best(r, fit.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAdditive175(b *testing.B) {
	r := crystal.readings(175, 4, 0)
	for b.Loop() {
		if _, err := fit.Additive(r, fit.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
