package fit_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
)

// aged is an invented display as it was and as it is a year later: its channels
// lost 3, 1.5 and 6 % of their light, and the powers of their tones moved by
// about a hundredth (invented figures).
func aged(t testing.TB, e simulate.Example) (before, after truth) {
	t.Helper()
	spec := e.Spec()
	d, err := simulate.New(spec, simulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for c, kept := range [3]float64{0.97, 0.985, 0.94} {
		spec.Primaries[c] = spec.Primaries[c].Scale(kept)
	}
	spec.White.Light = spec.White.Light.Scale(0.97)
	for c, by := range [3]float64{1.004, 0.997, 1.005} {
		spec.Tones[c] = bentTone{spec.Tones[c], by}
	}
	old, err := simulate.New(spec, simulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return d.Truth, old.Truth
}

// bentTone is a tone of which the light is raised to a power.
type bentTone struct {
	tone.Curve
	by float64
}

func (b bentTone) Light(signal float64) float64 { return math.Pow(b.Curve.Light(signal), b.by) }

// With the earlier run's readings, 32 of now reach what 64 alone do not.
func TestCarrySavesReadings(t *testing.T) {
	t.Parallel()
	for _, e := range []simulate.Example{simulate.CoupledLCD, simulate.FourSubpixels} {
		before, after := aged(t, e)
		earlier := before.readings(chart.Farthest(300, chart.Options{Bits: 10, Ramps: 9}), 4, 7)
		a := fit.Adaptive{Chart: chart.Options{Bits: 10}, LeastGain: -1}
		plain, _ := after.follow(t, a, 1, 96)
		a.Earlier = earlier
		now, _ := after.follow(t, a, 1, 32)
		carried, err := fit.Carry(earlier, now, measure.Noise{}, fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		old, _, _ := after.judge(residual(t, earlier))
		with, _, _ := after.judge(residual(t, append(carried, now...)))
		alone, _, _ := after.judge(residual(t, plain[:64]))
		longer, _, _ := after.judge(residual(t, plain[:96]))
		t.Logf("%s: mean %.3f ΔE00 by the earlier run as it is, %.3f with %d readings of now; %.3f by 64 of now alone, %.3f by 96",
			e, old, with, len(now), alone, longer)
		if with > alone || with > old/2 {
			t.Errorf("%s: %.3f ΔE00 with the earlier run, %.3f by it as it is, %.3f by 64 readings of now alone", e, with, old, alone)
		}
	}
}

// Where all channels lost light and nothing else happened, readings without
// noise are carried to what they are now.
func TestCarryFindsTheChange(t *testing.T) {
	t.Parallel()
	after := func(s colorimetry.RGB) colorimetry.XYZ { return smooth.xyz(s).Scale(0.9) }
	set := chart.Default(100, chart.Options{})
	earlier := truth(smooth.xyz).readings(set, 0, 0)
	before := slices.Clone(earlier)
	now := truth(after).readings(chart.Farthest(16, chart.Options{}), 0, 0)
	got, err := fit.Carry(earlier, now, measure.Noise{}, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.EqualFunc(before, earlier, func(a, b measure.Reading) bool { return a.XYZ == b.XYZ && a.Covariance == b.Covariance }) {
		t.Error("the earlier readings changed")
	}
	for i, r := range got {
		want := after(r.Patch.Signal)
		for _, d := range []float64{r.XYZ.X - want.X, r.XYZ.Y - want.Y, r.XYZ.Z - want.Z} {
			if math.Abs(d) > 1e-3*want.Y+1e-3 {
				t.Errorf("%v: carried to %v, want %v", r.Patch.Signal, r.XYZ, want)
				break
			}
		}
		if !(r.Covariance[1][1] > earlier[i].Covariance[1][1]) {
			t.Errorf("%v: variance %g after %g", r.Patch.Signal, r.Covariance[1][1], earlier[i].Covariance[1][1])
		}
	}
}

// Readings of quite another display are carried with nearly the uncertainty that
// they then have: rather less, since its tones are no smooth change of the other's
// in the dark, and far from their own.
func TestCarryDoubtsAnotherDisplay(t *testing.T) {
	t.Parallel()
	set := chart.Default(100, chart.Options{})
	earlier := truth(smooth.xyz).readings(set, 4, 1)
	now := truth(crystal.xyz).readings(chart.Farthest(32, chart.Options{}), 4, 1)
	got, err := fit.Carry(earlier, now, measure.Noise{}, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	misses := func(list []measure.Reading) float64 {
		var sum float64
		for _, r := range list {
			d := r.XYZ.Y - crystal.xyz(r.Patch.Signal).Y
			sum += d * d / r.Covariance[1][1]
		}
		return math.Sqrt(sum / float64(len(list)))
	}
	before, after := misses(earlier), misses(got)
	t.Logf("readings miss the other display by %.0f of their standard deviations, carried by %.1f", before, after)
	if after > 3 || before < 30 {
		t.Errorf("readings miss the other display by %.1f of their standard deviations, carried by %.1f", before, after)
	}
}

func TestCarryRefuses(t *testing.T) {
	t.Parallel()
	earlier := truth(smooth.xyz).readings(chart.Default(60, chart.Options{}), 4, 1)
	now := truth(smooth.xyz).readings(chart.Farthest(16, chart.Options{}), 4, 1)
	bad := slices.Clone(now)
	bad[3].XYZ.X = math.Inf(1)
	for _, c := range []struct {
		name         string
		earlier, now []measure.Reading
		say          string
	}{
		{"few", earlier, now[:5], "5 readings of now"},
		{"no model", earlier[:5], now, "earlier run"},
		{"bad", earlier, bad, "reading 3 of now"},
	} {
		if _, err := fit.Carry(c.earlier, c.now, measure.Noise{}, fit.Options{}); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.say)
		}
	}
}
