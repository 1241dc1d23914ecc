package fit_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// The simulator knows the true colour of each primary at each drive: that of the
// drifting display moves, that of an additive one stays.
func TestStability(t *testing.T) {
	t.Parallel()
	drifting := truth(simulate.Invented(simulate.DriftingLCD, simulate.Options{Bits: 16}).Truth)
	for _, c := range []struct {
		name   string
		show   truth
		drifts bool
	}{{"drifting", drifting, true}, {"smooth", smooth.xyz, false}, {"leaking", leaking.xyz, false}} {
		if testing.Short() && c.name == "leaking" {
			continue // one that stays is enough
		}
		r := c.show.readings(chart.Default(175, chart.Options{Bits: 10}), 4, 3)
		_, ev, err := fit.Best(r, fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		s := ev.Stability
		if s == nil {
			t.Fatalf("%s: no figures", c.name)
		}
		black := c.show(colorimetry.RGB{})
		for k, at := range [3]colorimetry.RGB{{R: s.Signal[0]}, {G: s.Signal[1]}, {B: s.Signal[2]}} {
			full := [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}}[k]
			want := c.show(at).Sub(black).UV().Distance(c.show(full).Sub(black).UV())
			t.Logf("%s, channel %d: %.4f ± %.4f at %.2f, truly %.4f", c.name, k, s.Shift[k], s.Error[k], s.Signal[k], want)
			if math.Abs(s.Shift[k]-want) > 4*s.Error[k] {
				t.Errorf("%s, channel %d: moved by %.4f ± %.4f at %.2f, truly %.4f", c.name, k, s.Shift[k], s.Error[k], s.Signal[k], want)
			}
		}
		if told := strings.Contains(strings.Join(ev.Warnings, " "), "depends on the drive"); told != c.drifts {
			t.Errorf("%s: warnings %q", c.name, ev.Warnings)
		}
	}
	// Without black there is no figure.
	var some []measure.Reading
	for _, x := range truth(smooth.xyz).readings(chart.Default(60, chart.Options{}), 0, 0) {
		if x.Patch.Signal != (colorimetry.RGB{}) {
			some = append(some, x)
		}
	}
	if _, ev, err := fit.Best(some, fit.Options{}); err != nil || ev.Stability != nil {
		t.Errorf("without black: %v, %+v", err, ev.Stability)
	}
}
