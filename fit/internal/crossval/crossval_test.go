package crossval_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/internal/crossval"
)

func TestCorner(t *testing.T) {
	for _, c := range []struct {
		s    colorimetry.RGB
		want bool
	}{
		{colorimetry.RGB{}, true}, {colorimetry.RGB{R: 1, B: 1}, true}, {colorimetry.Gray(1), true},
		{colorimetry.RGB{G: 0.5}, false}, {colorimetry.RGB{R: 1, G: 1, B: 1e-9}, false}, {colorimetry.Gray(0.25), false},
	} {
		if got := crossval.Corner(c.s); got != c.want {
			t.Errorf("%v: %v", c.s, got)
		}
	}
}

// The standard error of 2, 4, 4, 4, 5, 5, 7 and 9 worked by hand: their squares
// about the mean of 5 add up to 32, and √(32/7/8) = 0.7559.
func TestMean(t *testing.T) {
	if m, s := crossval.Mean([]float64{2, 4, 4, 4, 5, 5, 7, 9}); m != 5 || math.Abs(s-math.Sqrt(32.0/7/8)) > 1e-15 {
		t.Errorf("%g ± %g", m, s)
	}
	if m, s := crossval.Mean([]float64{3}); m != 3 || s != 0 {
		t.Errorf("one: %g ± %g", m, s)
	}
}
