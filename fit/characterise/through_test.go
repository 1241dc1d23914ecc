package characterise

import (
	"math"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// flatCurves returns curves of a power each, with a flat beginning, that end at top.
func flatCurves(t *testing.T, power, top float64) tone.Channels {
	t.Helper()
	var c []float64
	for i := range 1024 {
		c = append(c, top*math.Pow(math.Max(0, float64(i)-40)/983, power))
	}
	out, err := tone.NewChannels(c, c, c)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Readings come to the signals that make the same signals behind other curves;
// behind the same curves they stay where they are, on their flat part too.
func TestThroughOtherCurves(t *testing.T) {
	was, now := flatCurves(t, 1.1, 0.95), flatCurves(t, 0.9, 0.9)
	var readings []measure.Reading
	for _, p := range chart.Number(chart.Lattice(6), "t") {
		readings = append(readings, measure.Reading{Patch: p})
	}
	readings = append(readings, measure.Reading{Patch: chart.Patch{Signal: colorimetry.Gray(0.02)}})
	for i, r := range through(readings, was, was) {
		if s, w := r.Patch.Signal, readings[i].Patch.Signal; math.Abs(s.R-w.R)+math.Abs(s.G-w.G)+math.Abs(s.B-w.B) > 1e-4 {
			t.Errorf("signal %v became %v behind the same curves", w, s)
		}
	}
	got := through(readings, was, now)
	left, reached := map[string]colorimetry.RGB{}, 0
	for _, r := range readings {
		left[r.Patch.ID] = r.Patch.Signal
		if was.Apply(r.Patch.Signal).Max() <= 0.9 {
			reached++
		}
	}
	if len(got) != reached || reached == len(readings) {
		t.Errorf("%d readings of %d; the other curves reach %d", len(got), len(readings), reached)
	}
	for _, r := range got {
		a, b := was.Apply(left[r.Patch.ID]), now.Apply(r.Patch.Signal)
		if math.Abs(a.R-b.R)+math.Abs(a.G-b.G)+math.Abs(a.B-b.B) > 1e-4 {
			t.Errorf("patch %s: %v behind the curves was %v", r.Patch.ID, b, a)
		}
		if r.Curves != now.Digest() {
			t.Errorf("patch %s says curves %s", r.Patch.ID, r.Curves)
		}
	}
}
