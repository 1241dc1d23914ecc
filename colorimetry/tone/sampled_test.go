package tone_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/tone"
)

func sampled(t *testing.T, signal, light []float64) tone.Sampled {
	t.Helper()
	c, err := tone.NewSampled(signal, light)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A straight line is its own monotone cubic, whatever the steps.
func TestSampledLine(t *testing.T) {
	c := sampled(t, []float64{0, 0.07, 0.5, 0.51, 1}, []float64{0.1, 0.1 + 0.07*0.8, 0.5, 0.1 + 0.51*0.8, 0.9})
	for s := 0.0; s <= 1; s += 0.01 {
		if got, want := c.Light(s), 0.1+0.8*s; math.Abs(got-want) > 1e-15 {
			t.Errorf("at %g: %g, want %g", s, got, want)
		}
		if got := c.Slope(s); math.Abs(got-0.8) > 1e-12 {
			t.Errorf("slope at %g: %g", s, got)
		}
	}
}

// Data of Akima, J. ACM 17(4) 589-602 (1970), table 1, the usual test of
// interpolation without overshoot (figures from memory), scaled to 0 to 1:
// flat where it is flat, within the chords' range elsewhere.
func TestSampledAkimaData(t *testing.T) {
	x := []float64{0, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15}
	y := []float64{10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85}
	for i := range x {
		x[i] /= 15
		y[i] /= 85
	}
	c := sampled(t, x, y)
	for i := range x {
		if got := c.Light(x[i]); got != y[i] {
			t.Errorf("point %d: %g, want %g", i, got, y[i])
		}
	}
	piece := 0
	for s := 0.0; s <= 1; s += 1.0 / 3000 {
		for piece < len(x)-2 && s > x[piece+1] {
			piece++
		}
		if got := c.Light(s); got < y[piece] || got > y[piece+1] {
			t.Errorf("at %g: %.17g leaves %g to %g", s, got, y[piece], y[piece+1])
		}
	}
	if got := c.Signal(10.0 / 85); got != 0 {
		t.Errorf("the flat part's lowest signal is %g, want 0", got)
	}
	if got := c.Slope(0.2); got != 0 {
		t.Errorf("the flat part's slope is %g", got)
	}
}

// Through samples of a smooth curve the error falls with the square of the
// step at least: four times less for half the step. The limit at 17 points is
// a tenth of a 10-bit code in the lights, so that samples do not show.
func TestSampledFollowsPower(t *testing.T) {
	worst := map[int]float64{}
	for _, n := range []int{17, 33} {
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) / float64(n-1)
			y[i] = math.Pow(x[i], 2.2)
		}
		c := sampled(t, x, y)
		for s := 0.1; s <= 1; s += 0.001 {
			worst[n] = math.Max(worst[n], math.Abs(c.Light(s)-math.Pow(s, 2.2)))
		}
	}
	t.Logf("worst errors %v", worst)
	if worst[17] > 0.1/1023 || worst[33] > worst[17]/4 {
		t.Errorf("worst errors %v", worst)
	}
}

func TestSampledRandom(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 300 {
		n := 2 + r.IntN(20)
		x, y := make([]float64, n), make([]float64, n)
		for i := 1; i < n; i++ {
			x[i] = x[i-1] + 1e-4 + r.Float64()*r.Float64()
			if r.IntN(4) > 0 {
				y[i] = y[i-1] + math.Pow(r.Float64(), 6)
			} else {
				y[i] = y[i-1]
			}
		}
		for i := range x {
			x[i] /= x[n-1] + 1e-9
		}
		c := sampled(t, x, y)
		before := math.Inf(-1)
		for i := 0; i <= 500; i++ {
			s := float64(i) / 500
			light := c.Light(s)
			if light < before-1e-15*math.Abs(before) {
				t.Fatalf("%v falls at %g: %.17g after %.17g", c, s, light, before)
			}
			before = light
			back := c.Signal(light)
			// The last digit of the light, and that of the signal times the slope.
			tol := 4e-16*math.Max(1, light) + 2.3e-16*c.Slope(back)
			if got := c.Light(back); math.Abs(got-light) > tol {
				t.Fatalf("%v: light %.17g has signal %.17g, whose light is %.17g", c, light, back, got)
			}
		}
		for i, light := range y {
			first := slices.Index(y, light)
			if got := c.Signal(light); got != x[first] {
				t.Fatalf("%v: the lowest signal of light %g is %g, not %g (point %d)", c, light, x[first], got, i)
			}
		}
	}
}

func TestSampledEnds(t *testing.T) {
	c := sampled(t, []float64{0.2, 0.5, 0.8}, []float64{0.1, 0.4, 0.9})
	for _, k := range [][2]float64{{0, 0.1}, {0.2, 0.1}, {0.8, 0.9}, {1, 0.9}, {-7, 0.1}} {
		if got := c.Light(k[0]); got != k[1] {
			t.Errorf("light at %g: %g, want %g", k[0], got, k[1])
		}
	}
	for _, k := range [][2]float64{{0, 0.2}, {0.1, 0.2}, {0.9, 0.8}, {2, 0.8}} {
		if got := c.Signal(k[0]); got != k[1] {
			t.Errorf("signal of %g: %g, want %g", k[0], got, k[1])
		}
	}
	if c.Slope(0.1) != 0 || c.Slope(0.9) != 0 || !(c.Slope(0.2) > 0) || !(c.Slope(0.8) > 0) {
		t.Errorf("slopes at and beyond the ends: %g %g %g %g", c.Slope(0.1), c.Slope(0.2), c.Slope(0.8), c.Slope(0.9))
	}
	var none tone.Sampled
	if x, y := none.Points(); none.Light(0.5) != 0 || none.Signal(0.5) != 0 || none.Slope(0.5) != 0 || x != nil || y != nil || none.String() != "points" {
		t.Error("no points give something else than 0")
	}
	// Comparing interfaces must not panic.
	if a, b := tone.Curve(c), tone.Curve(none); a == b || a != tone.Curve(c) {
		t.Error("curves compare wrongly")
	}
}

func TestSampledIsImmutable(t *testing.T) {
	x, y := []float64{0, 0.5, 1}, []float64{0, 0.2, 1}
	c := sampled(t, x, y)
	x[1], y[1] = 0.9, 0.9
	px, py := c.Points()
	px[1], py[1] = 0.8, 0.8
	if got := c.Light(0.5); got != 0.2 {
		t.Errorf("the curve changed with the caller's slices: %g", got)
	}
}

func TestNewSampledRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, k := range map[string]struct {
		x, y []float64
		says string
	}{
		"lengths":        {[]float64{0, 1}, []float64{0}, "2 signals but 1 light"},
		"one point":      {[]float64{0}, []float64{0}, "1 points"},
		"too many":       {make([]float64, 65537), make([]float64, 65537), "65537 points"},
		"percent":        {[]float64{0, 50, 100}, []float64{0, 0.2, 1}, "from 0 to 1"},
		"NaN signal":     {[]float64{0, nan}, []float64{0, 1}, "signal 1 is NaN"},
		"equal signals":  {[]float64{0, 0.5, 0.5}, []float64{0, 0, 1}, "not above"},
		"NaN light":      {[]float64{0, 1}, []float64{0, nan}, "finite"},
		"infinite light": {[]float64{0, 1}, []float64{0, inf}, "finite"},
		"falling":        {[]float64{0, 0.5, 1}, []float64{0, 0.5, 0.4}, "falls at point 2"},
	} {
		if _, err := tone.NewSampled(k.x, k.y); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%s: error %v, want one saying %q", name, err, k.says)
		}
	}
}
