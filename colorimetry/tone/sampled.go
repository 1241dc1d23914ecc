package tone

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
)

// maxPoints bounds a sampled curve; 16-bit paths have no more levels.
const maxPoints = 65536

// Sampled is a smooth curve through points that never falls between points
// that do not fall: a piecewise cubic with continuous slope. It passes through
// every point, has no overshoot, and is flat only where two neighbouring
// points have the same light.
//
// Outside the first and last signal it is constant. A Sampled is immutable and
// safe for concurrent use; the zero value holds no points and answers 0. Two
// are equal by == only where one is a copy of the other.
//
// Source: Fritsch and Carlson, SIAM J. Numer. Anal. 17(2) 238-246 (1980), with
// the slopes of Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5(2) 300-304
// (1984), in the form weighted for unequal steps.
type Sampled struct {
	*points // behind a pointer so that a Curve that holds one can be compared
}

type points struct {
	signal, light, slope []float64
}

// NewSampled returns the curve through the points (signal[i], light[i]).
// Signals increase strictly within [0, 1]; light is finite and never falls.
// Light is usually 0 to 1, but is not limited to it. The slices are copied. It
// is an error if the lengths differ or are not in 2 to 65536, or if a value
// breaks these rules.
func NewSampled(signal, light []float64) (Sampled, error) {
	if len(signal) != len(light) {
		return Sampled{}, fmt.Errorf("tone: %d signals but %d light values", len(signal), len(light))
	}
	if len(signal) < 2 || len(signal) > maxPoints {
		return Sampled{}, fmt.Errorf("tone: a sampled curve has %d points; 2 to %d are possible", len(signal), maxPoints)
	}
	for i, s := range signal {
		switch {
		case !(s >= 0 && s <= 1):
			return Sampled{}, fmt.Errorf("tone: signal %d is %g; signals run from 0 to 1", i, s)
		case i > 0 && s <= signal[i-1]:
			return Sampled{}, fmt.Errorf("tone: signal %d is %g, not above the %g before it", i, s, signal[i-1])
		case math.IsNaN(light[i]) || math.IsInf(light[i], 0):
			return Sampled{}, fmt.Errorf("tone: light %d is %g; it must be finite", i, light[i])
		case i > 0 && light[i] < light[i-1]:
			return Sampled{}, fmt.Errorf("tone: light falls at point %d, from %g to %g", i, light[i-1], light[i])
		}
	}
	p := points{signal: slices.Clone(signal), light: slices.Clone(light)}
	p.slope = monotoneSlopes(p.signal, p.light)
	return Sampled{&p}, nil
}

// monotoneSlopes returns the slope at each point: inside, the harmonic mean of
// the chords on both sides, weighted by their lengths; 0 beside a flat chord.
func monotoneSlopes(x, y []float64) []float64 {
	n := len(x)
	h, d := make([]float64, n-1), make([]float64, n-1)
	for i := range h {
		h[i] = x[i+1] - x[i]
		d[i] = (y[i+1] - y[i]) / h[i]
	}
	m := make([]float64, n)
	if n == 2 {
		m[0], m[1] = d[0], d[0]
		return m
	}
	for i := 1; i < n-1; i++ {
		if d[i-1] > 0 && d[i] > 0 {
			w1, w2 := 2*h[i]+h[i-1], h[i]+2*h[i-1]
			m[i] = (w1 + w2) / (w1/d[i-1] + w2/d[i])
		}
	}
	m[0] = endSlope(h[0], h[1], d[0], d[1])
	m[n-1] = endSlope(h[n-2], h[n-3], d[n-2], d[n-3])
	return m
}

// endSlope is the slope at an end of the parabola through the three points
// there, but not below 0. As d1 is not negative, it is at most 2 chords, and up
// to 3 a cubic cannot overshoot.
func endSlope(h0, h1, d0, d1 float64) float64 {
	return math.Max(((2*h0+h1)*d0-h0*d1)/(h0+h1), 0)
}

// Light returns the curve at signal, constant beyond the first and last point.
func (c Sampled) Light(signal float64) float64 {
	if c.points == nil {
		return 0
	}
	i, t, ok := c.find(signal)
	if !ok {
		return c.end(signal)
	}
	return c.value(i, t)
}

// Slope returns the derivative of Light; at the first and last point the slope
// inside, beyond them 0.
func (c Sampled) Slope(signal float64) float64 {
	if c.points == nil {
		return 0
	}
	last := len(c.signal) - 1
	switch signal {
	case c.signal[0]:
		return c.slope[0]
	case c.signal[last]:
		return c.slope[last]
	}
	i, t, ok := c.find(signal)
	if !ok {
		return 0 * signal // NaN for NaN
	}
	return c.derivative(i, t) / (c.signal[i+1] - c.signal[i])
}

// Signal returns the lowest signal whose light is light, the first or last
// signal where the curve does not reach it.
func (c Sampled) Signal(light float64) float64 {
	if c.points == nil {
		return 0
	}
	last := len(c.light) - 1
	switch {
	case math.IsNaN(light):
		return light
	case light <= c.light[0]:
		return c.signal[0]
	case light > c.light[last]:
		return c.signal[last]
	}
	// The first point at or above light ends the piece; the one before it is
	// strictly below.
	i := sort.SearchFloat64s(c.light, light) - 1
	if c.light[i+1] == light {
		return c.signal[i+1]
	}
	return c.signal[i] + c.solve(i, light)*(c.signal[i+1]-c.signal[i])
}

// solve returns the place 0 to 1 within piece i where its light is light:
// Newton steps kept inside a bracket that halves where they leave it.
func (c *points) solve(i int, light float64) float64 {
	lo, hi := 0.0, 1.0
	t := (light - c.light[i]) / (c.light[i+1] - c.light[i])
	for range 100 {
		r := c.value(i, t) - light
		if r == 0 {
			return t
		}
		if r < 0 {
			lo = t
		} else {
			hi = t
		}
		next := t - r/c.derivative(i, t)
		if !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
		}
		if next == t || hi-lo < 1e-16 {
			return next
		}
		t = next
	}
	return t
}

// find returns the piece that holds signal and the place 0 to 1 in it.
func (c *points) find(signal float64) (i int, t float64, ok bool) {
	if !(signal >= c.signal[0] && signal < c.signal[len(c.signal)-1]) {
		return 0, 0, false
	}
	i = sort.SearchFloat64s(c.signal, signal)
	if c.signal[i] != signal {
		i--
	}
	return i, (signal - c.signal[i]) / (c.signal[i+1] - c.signal[i]), true
}

// end is the light at a signal outside the points, NaN for NaN.
func (c *points) end(signal float64) float64 {
	switch {
	case math.IsNaN(signal):
		return signal
	case signal < c.signal[0]:
		return c.light[0]
	}
	return c.light[len(c.light)-1]
}

// value is piece i at place t, as its lower point and a rise, so that rounding
// cannot take it below that point.
func (c *points) value(i int, t float64) float64 {
	h := c.signal[i+1] - c.signal[i]
	rise := c.light[i+1] - c.light[i]
	a, b := c.slope[i]*h, c.slope[i+1]*h
	return c.light[i] + t*(a+t*((3*rise-2*a-b)+t*(a+b-2*rise)))
}

// derivative is the derivative of value by t.
func (c *points) derivative(i int, t float64) float64 {
	h := c.signal[i+1] - c.signal[i]
	rise := c.light[i+1] - c.light[i]
	a, b := c.slope[i]*h, c.slope[i+1]*h
	return math.Max(a+t*(2*(3*rise-2*a-b)+t*3*(a+b-2*rise)), 0)
}

// Points returns copies of the points the curve passes through.
func (c Sampled) Points() (signal, light []float64) {
	if c.points == nil {
		return nil, nil
	}
	return slices.Clone(c.signal), slices.Clone(c.light)
}

// String returns the points as Parse reads them: "points 0,0 0.5,0.2 1,1".
func (c Sampled) String() string {
	var b strings.Builder
	b.WriteString("points")
	signal, light := c.Points()
	for i, s := range signal {
		b.WriteString(" " + number(s) + "," + number(light[i]))
	}
	return b.String()
}
