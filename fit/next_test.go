package fit_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
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

// follow reads what a asks for, four integrations each, until it asks no more or
// there are most readings.
func (f truth) follow(t testing.TB, a fit.Adaptive, seed uint64, most int) ([]measure.Reading, string) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 3))
	var out []measure.Reading
	for {
		set, why, err := a.Next(context.Background(), out)
		if err != nil {
			t.Fatal(err)
		}
		if len(set) == 0 || len(out) >= most {
			return out, why
		}
		for _, p := range set {
			r := f.readings(chart.Set{p}, 4, rng.Uint64())[0]
			r.Index = len(out)
			out = append(out, r)
		}
	}
}

var coupled = truth(simulate.Invented(simulate.CoupledLCD, simulate.Options{}).Truth)

func TestPlanIsAFunctionOfReadings(t *testing.T) {
	t.Parallel()
	r := coupled.readings(chart.Farthest(64, chart.Options{Bits: 10, Ramps: 9}), 4, 1)
	before := slices.Clone(r)
	a := fit.Adaptive{Chart: chart.Options{Bits: 10}}
	first, err := a.Plan(r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := a.Plan(r)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(first, again) {
		t.Errorf("the same readings gave %+v and %+v", first, again)
	}
	if !reflect.DeepEqual(before, r) {
		t.Error("planning changed the readings")
	}
	if len(first.Patches) != 16 || !(first.After < first.Expected) || first.Why != "" {
		t.Errorf("planned %d patches from %g to %g: %q", len(first.Patches), first.Expected, first.After, first.Why)
	}
}

// Patches fall on the codes of the path, with and without readings.
func TestPlanStaysOnThePath(t *testing.T) {
	t.Parallel()
	path := chart.CodeRange{Bits: 8, Narrow: true}
	a := fit.Adaptive{Chart: chart.Options{Bits: path.Bits, Narrow: path.Narrow}, First: 24, Batch: 8, LeastGain: -1}
	r, _ := truth(starved).follow(t, a, 1, 40) // two batches
	for _, x := range r {
		for _, v := range [3]float64{x.Patch.Signal.R, x.Patch.Signal.G, x.Patch.Signal.B} {
			if v < 0 || v > 1 || path.Signal(path.Code(v)) != v {
				t.Errorf("patch %q is the signal %v, no code of the path", x.Patch.ID, x.Patch.Signal)
			}
		}
	}
	seen := map[string]bool{}
	for _, x := range r {
		if seen[x.Patch.ID] {
			t.Errorf("two patches are named %q", x.Patch.ID)
		}
		seen[x.Patch.ID] = true
	}
}

func TestPlanStops(t *testing.T) {
	t.Parallel()
	r := coupled.readings(chart.Farthest(64, chart.Options{Bits: 10, Ramps: 9}), 4, 1)
	for _, c := range []struct {
		name string
		a    fit.Adaptive
		why  string
	}{
		{"aim", fit.Adaptive{Aim: 5}, "was the aim."},
		{"gain", fit.Adaptive{LeastGain: 0.9}, "by less than 90 %."},
		{"most", fit.Adaptive{Most: 64}, "64 readings were taken, as many as were allowed"},
	} {
		p, err := c.a.Plan(r)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Patches) != 0 || !strings.Contains(p.Why, c.why) {
			t.Errorf("%s: %d patches, %q", c.name, len(p.Patches), p.Why)
		}
	}
	p, err := fit.Adaptive{Most: 70}.Plan(r)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Patches) != 6 {
		t.Errorf("%d patches after 64 of at most 70", len(p.Patches))
	}
}

func TestPlanRefuses(t *testing.T) {
	t.Parallel()
	good := coupled.readings(chart.Farthest(64, chart.Options{Bits: 10, Ramps: 9}), 4, 1)
	bad := slices.Clone(good)
	bad[5].XYZ.Y = math.NaN()
	for _, c := range []struct {
		name string
		a    fit.Adaptive
		r    []measure.Reading
		say  string
	}{
		{"few readings", fit.Adaptive{}, good[:3], "needs at least 8"},
		{"bad reading", fit.Adaptive{}, bad, "reading 5"},
		{"batch", fit.Adaptive{Batch: -1}, good, "batches of -1"},
		{"first", fit.Adaptive{First: 5}, nil, "5 first patches"},
		{"most below first", fit.Adaptive{First: 40, Most: 30}, nil, "at most 30"},
		{"most", fit.Adaptive{Most: 1e6}, nil, "at most 1000000 readings"},
		{"aim", fit.Adaptive{Aim: math.NaN()}, good, "mean error of NaN"},
		{"gain", fit.Adaptive{LeastGain: 1}, good, "least gain of 1"},
		{"bits", fit.Adaptive{Chart: chart.Options{Bits: 17}}, nil, "17 bits"},
		{"narrow", fit.Adaptive{Chart: chart.Options{Bits: 6, Narrow: true}}, nil, "6 bits"},
		{"kind", fit.Adaptive{Kind: "guess"}, good, `no model "guess"`},
		{"target", fit.Adaptive{Targets: []colorimetry.RGB{{R: 2}}}, nil, "target 0"},
		{"no target", fit.Adaptive{Targets: []colorimetry.RGB{{R: math.NaN()}}}, nil, "target 0"},
		{"targets", fit.Adaptive{Targets: make([]colorimetry.RGB, 501)}, nil, "501 targets"},
		{"earlier", fit.Adaptive{Earlier: good[:4]}, good, "earlier run"},
	} {
		if _, err := c.a.Plan(c.r); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.say)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := (fit.Adaptive{}).Next(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// Where most of the error is that of a few colours, such as those of a user's
// pictures, they draw patches to themselves.
func TestPlanHeedsTargets(t *testing.T) {
	t.Parallel()
	r := truth(starved).readings(chart.Farthest(64, chart.Options{Bits: 10, Ramps: 9}), 4, 1)
	skin := colorimetry.RGB{R: 0.85, G: 0.62, B: 0.53}
	near := func(a fit.Adaptive) (n int) {
		p, err := a.Plan(r)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range p.Patches {
			d := q.Signal
			if math.Abs(d.R-skin.R) < 0.15 && math.Abs(d.G-skin.G) < 0.15 && math.Abs(d.B-skin.B) < 0.15 {
				n++
			}
		}
		return n
	}
	without, with := near(fit.Adaptive{LeastGain: -1}), near(fit.Adaptive{LeastGain: -1, Targets: []colorimetry.RGB{skin}})
	if with <= without {
		t.Errorf("%d patches near the target, %d without it", with, without)
	}
}

// A batch chosen at once is about as good as patches chosen a few at a time,
// with a look at the readings between: the covariance hardly depends on them.
func TestPlanInBatches(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a comparison of errors, and TestPlanStaysOnThePath plans in batches, too")
	}
	reach := func(batch int) float64 {
		a := fit.Adaptive{Chart: chart.Options{Bits: 10}, Most: 88, LeastGain: -1, Batch: batch}
		r, _ := coupled.follow(t, a, 1, 88)
		e, _, _ := coupled.judge(residual(t, r))
		return e
	}
	whole, few := reach(16), reach(8)
	t.Logf("88 readings: mean %.3f ΔE00 in batches of 16, %.3f in batches of 8", whole, few)
	if whole > 1.25*few {
		t.Errorf("88 readings in batches of 16 reach a mean of %.3f ΔE00, in batches of 8 %.3f", whole, few)
	}
}
