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

// With the earlier run's readings, 32 of now reach what 64 alone do not, or, where
// they do, come near.
func TestSinceSavesReadings(t *testing.T) {
	t.Parallel()
	displays := []simulate.Example{simulate.CoupledLCD, simulate.SaggingPanel}
	if testing.Short() {
		displays = displays[:1]
	}
	for _, e := range displays {
		before, after := aged(t, e)
		earlier := before.readings(chart.Farthest(300, chart.Options{Bits: 10, Ramps: 9}), 4, 7)
		take := func(n int) []measure.Reading {
			return after.readings(chart.Farthest(n, chart.Options{Bits: 10, Ramps: 5}), 4, 3)
		}
		m, err := fit.Since(earlier, take(32), fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		old, _, _ := after.judge(residual(t, earlier))
		with, _, _ := after.judge(m)
		short, _, _ := after.judge(residual(t, take(32)))
		alone, _, _ := after.judge(residual(t, take(64)))
		t.Logf("%s: mean %.3f ΔE00 by the earlier run as it is, %.3f with 32 readings of now; %.3f by 32 of now alone, %.3f by 64", e, old, with, short, alone)
		if with > 1.05*alone || with > old/2 || with > 0.8*short {
			t.Errorf("%s: %.3f ΔE00 with the earlier run, %.3f by it as it is, %.3f by 32 and %.3f by 64 readings of now alone", e, with, old, short, alone)
		}
		if m.Under() != nil {
			t.Errorf("%s: a model of two runs lies over %v", e, m.Under())
		}
	}
}

// Where all channels lost light and nothing else happened, few readings without
// noise find it.
func TestSinceFindsTheChange(t *testing.T) {
	t.Parallel()
	after := func(s colorimetry.RGB) colorimetry.XYZ { return smooth.xyz(s).Scale(0.9) }
	earlier := truth(smooth.xyz).readings(chart.Default(100, chart.Options{}), 0, 0)
	before := slices.Clone(earlier)
	m, err := fit.Since(earlier, truth(after).readings(chart.Farthest(16, chart.Options{}), 0, 0), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.EqualFunc(before, earlier, func(a, b measure.Reading) bool { return a.XYZ == b.XYZ && a.Covariance == b.Covariance }) {
		t.Error("the earlier readings changed")
	}
	if mean, _, most := truth(after).judge(m); mean > 0.02 || most > 0.2 {
		t.Errorf("mean %.4f, max %.4f ΔE00", mean, most)
	}
	// Central differences hold its Jacobian, which is that of the map as well.
	const h = 1e-5
	for _, s := range unseen()[:30] {
		if s.Min() < 2*h || s.Max() > 1-2*h {
			continue
		}
		j := m.Jacobian(s)
		up, down := s, s
		up.G, down.G = s.G+h, s.G-h
		d := m.XYZ(up).Sub(m.XYZ(down)).Scale(1 / (2 * h))
		if math.Abs(d.Y-j[1][1]) > 1e-3*math.Max(1, math.Abs(d.Y)) {
			t.Errorf("%v: ∂Y/∂G is %.5f, differences say %.5f", s, j[1][1], d.Y)
		}
	}
}

func TestSinceRefuses(t *testing.T) {
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
		{"no white", earlier, truth(smooth.xyz).readings(chart.Neutral(12)[:11], 4, 1), "no reading of now has the signal"},
	} {
		if _, err := fit.Since(c.earlier, c.now, fit.Options{}); err == nil || !strings.Contains(err.Error(), c.say) {
			t.Errorf("%s: error %v, want one that says %q", c.name, err, c.say)
		}
	}
}
