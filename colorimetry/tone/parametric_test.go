package tone_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/tone"
)

// testdata/parametric.csv names its source: 32-bit floats, hence 1e-6.
func TestParametricAgainstLittleCMS(t *testing.T) {
	rows := worked.Read(t, "parametric.csv")
	if len(rows) != 168 {
		t.Fatalf("%d rows, want 168", len(rows))
	}
	columns := []string{"g", "a", "b", "c", "d", "e", "f"}
	for i, row := range rows {
		form := int(row.Num(t, "icc_function_type"))
		var p []float64
		for _, name := range columns[:[]int{1, 3, 4, 5, 7}[form]] {
			p = append(p, row.Num(t, name))
		}
		c := parametric(t, form, p...)
		x, y := row.Num(t, "x"), row.Num(t, "y")
		if got := c.Light(x); math.Abs(got-y) > 1e-6 {
			t.Errorf("row %d, %s at %g: got %.9g, want %.9g", i+1, c, x, got, y)
		}
		// Where the slope is small, the 32 bits of y leave the signal open.
		want, tol := row.Num(t, "y_inverse_of_y"), 1e-6+1e-7*y/math.Max(c.Slope(x), 1e-6)
		if got := c.Signal(y); math.Abs(got-want) > tol {
			t.Errorf("row %d, %s: signal of %g is %.9g, want %.9g", i+1, c, y, got, want)
		}
	}
}

// Forms 1, 2, 3 at the places where they change from one law to the other.
func TestParametricForms(t *testing.T) {
	for _, k := range []struct {
		c       tone.Parametric
		x, want float64
	}{
		{parametric(t, 1, 2, 1.25, -0.25), 0.1, 0},
		{parametric(t, 1, 2, 1.25, -0.25), 0.2, 0},
		{parametric(t, 1, 2, 1.25, -0.25), 0.6, 0.25},
		{parametric(t, 2, 2, 1.25, -0.25, 0.125), 0.1, 0.125},
		{parametric(t, 2, 2, 1.25, -0.25, 0.125), 0.6, 0.375},
		{parametric(t, 3, 2, 1, 0, 0.25, 0.25), 0.125, 0.03125},
		{parametric(t, 3, 2, 1, 0, 0.25, 0.25), 0.5, 0.25},
		{parametric(t, 4, 2, 1, 0, 0.25, 0.25, 0.5, 0.0625), 0.125, 0.09375},
		{parametric(t, 4, 2, 1, 0, 0.25, 0.25, 0.5, 0.0625), 0.5, 0.75},
		{parametric(t, 4, 2, 1, 0, 0.25, 0.25, 0.5, 0.0625), 1, 1.5}, // not clipped
	} {
		if got := k.c.Light(k.x); math.Abs(got-k.want) > 1e-15 {
			t.Errorf("%s at %g: %g, want %g", k.c, k.x, got, k.want)
		}
	}
	// The gap of the jump at 0.25, from 0.125 to 0.5625, has its signal.
	if got := parametric(t, 4, 2, 1, 0, 0.25, 0.25, 0.5, 0.0625).Signal(0.3); got != 0.25 {
		t.Errorf("light in the gap has signal %g, want 0.25", got)
	}
	var none tone.Parametric
	if !math.IsNaN(none.Light(0.5)) || !math.IsNaN(none.Signal(0.5)) || !math.IsNaN(none.Slope(0.5)) {
		t.Error("the zero Parametric answers a number")
	}
}

func TestParametricRefuses(t *testing.T) {
	for _, k := range []struct {
		form int
		p    []float64
		says string
	}{
		{5, []float64{1}, "no parametric form 5"},
		{-1, nil, "no parametric form -1"},
		{0, nil, "takes 1 numbers, not 0"},
		{3, []float64{2.4, 1, 0, 0.1}, "takes 5 numbers, not 4"},
		{0, []float64{math.Inf(1)}, "must be finite"},
		{0, []float64{-1}, "exponent"},
		{0, []float64{0}, "exponent"},
		{1, []float64{2, 0, 1}, "a other than 0"},
		{1, []float64{2, -1, 1}, "does not rise"},
		{3, []float64{2, 1, 0, -1, 0.2}, "line of the parametric curve falls"},
		{3, []float64{2, 1, 0, 1, 0.5}, "falls at X"},
		{3, []float64{2, 1, -0.5, 0.1, 0.2}, "does not rise"},
		{0, []float64{500}, "exponent"},
		{1, []float64{100, 1e6, 0}, "not finite"},
	} {
		_, err := tone.NewParametric(k.form, k.p...)
		if err == nil || !strings.Contains(err.Error(), k.says) || strings.Count(err.Error(), "tone:") != 1 {
			t.Errorf("form %d %v: error %v, want one saying %q", k.form, k.p, err, k.says)
		}
	}
}
