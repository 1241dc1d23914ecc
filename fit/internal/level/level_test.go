package level_test

import (
	"math"
	"testing"

	"example.org/primaries/fit/internal/level"
)

// Levels run from 0 to 1 and on along a line below, and back; the slope is that of
// central differences, and has no step at 0.
func TestScale(t *testing.T) {
	for _, floor := range []float64{1e-4, 1e-3} {
		s := level.New(floor)
		if s.Of(0) != 0 || math.Abs(s.Of(1)-1) > 1e-15 {
			t.Errorf("floor %g: the ends have levels %g and %g", floor, s.Of(0), s.Of(1))
		}
		for _, light := range []float64{-0.1, -1e-5, 0, 1e-9, 1e-5, 0.01, 0.2, 0.7, 1, 1.3} {
			if back := s.Light(s.Of(light)); math.Abs(back-light) > 1e-14 {
				t.Errorf("floor %g: %g comes back as %g", floor, light, back)
			}
			h := 1e-7 * (math.Abs(light) + floor)
			want := (s.Of(light+h) - s.Of(light-h)) / (2 * h)
			if got := s.Slope(light); math.Abs(got/want-1) > 1e-6 {
				t.Errorf("floor %g: slope %g at %g, differences say %g", floor, got, light, want)
			}
		}
	}
}
