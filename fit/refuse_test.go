package fit_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// What no model can be made of is refused, by Best and by each kind alone, with
// a word on what is wrong.
func TestRefuses(t *testing.T) {
	t.Parallel()
	good := smooth.readings(60, 4, 1)
	each := func(change func(i int, r *measure.Reading)) []measure.Reading {
		out := slices.Clone(good)
		for i := range out {
			change(i, &out[i])
		}
		return out
	}
	for _, c := range []struct {
		name string
		r    []measure.Reading
		o    fit.Options
		say  string
	}{
		{"few", good[:7], fit.Options{}, "7 readings"},
		{"many", slices.Repeat(good, 51)[:3001], fit.Options{}, "at most 3000"},
		{"one light", each(func(_ int, r *measure.Reading) { r.XYZ = colorimetry.XYZ{X: 95, Y: 100, Z: 109} }), fit.Options{}, "show the patches"},
		{"none", each(func(_ int, r *measure.Reading) { r.XYZ = colorimetry.XYZ{} }), fit.Options{}, "on the display"},
		{"luminance alone", each(func(_ int, r *measure.Reading) { r.XYZ.X, r.XYZ.Z = 0, 0 }), fit.Options{}, "on the display"},
		{"not finite", each(func(i int, r *measure.Reading) {
			if i == 9 {
				r.XYZ.Z = math.NaN()
			}
		}), fit.Options{}, "reading 9"},
		{"negative variance", each(func(i int, r *measure.Reading) { r.Covariance = r.Covariance.Scale(-1) }), fit.Options{}, "a variance of -"},
		{"noise of no number", good, fit.Options{Noise: measure.Noise{Luminance: math.NaN()}}, "standard deviations"},
		{"negative noise", good, fit.Options{Noise: measure.Noise{Luminance: -1}}, "standard deviations"},
		{"one level", each(func(_ int, r *measure.Reading) { r.Patch.Signal.B = 1 }), fit.Options{}, "blue was shown at 1"},
	} {
		if _, _, err := fit.Best(c.r, c.o); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: %v, want %q", c.name, err, c.say)
		}
		for _, k := range fit.Kinds() {
			if _, err := fit.Of(k, c.r, c.o); err == nil || !strings.Contains(err.Error(), c.say) {
				t.Errorf("%s, %s: %v, want %q", c.name, k, err, c.say)
			}
		}
	}
	if _, err := fit.Of("magic", good, fit.Options{}); err == nil || !strings.Contains(err.Error(), "magic") {
		t.Errorf("no such kind: %v", err)
	}
	// More folds than readings are as many as readings.
	if _, ev, err := fit.Best(good, fit.Options{Folds: math.MaxInt32}); err != nil || ev.Folds != len(good) {
		t.Errorf("folds: %v, %d", err, ev.Folds)
	}
	for _, a := range []fit.Adaptive{{Kind: "magic"}, {Kind: fit.AdditiveName, Earlier: good}, {Earlier: good[:5]}} {
		if _, err := a.Plan(nil); err == nil {
			t.Errorf("%+v plans", a)
		}
	}
}

// Readings without a covariance of their own have the assumed one: they raise no
// alarm that the same readings with it do not raise.
func TestAssumedNoiseRaisesNoAlarm(t *testing.T) {
	t.Parallel()
	r := truth(smooth.xyz).readings(chart.Default(60, chart.Options{Bits: 10}), 1, 4)
	for i := range r {
		r[i].Covariance = colorimetry.Matrix{}
	}
	_, ev, err := fit.Best(r, fit.Options{Noise: noise})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range ev.Warnings {
		if strings.Contains(w, "drive") || strings.Contains(w, "disturb") {
			t.Errorf("an additive display: %s", w)
		}
	}
}
