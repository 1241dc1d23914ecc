package transform

import "math"

// curveError is how far a curve's table may be from the curve, of 1, and how far
// its end may be in the dark.
const curveError = 4e-6

// Tables of curves are indexed by the bits of a float32, so that steps are small
// where values are: perOctave steps of a straight line from each power of two to
// the next, down to 2^-octaves, below which one line leads to 0.
const (
	octaves    = 40
	fewSteps   = 32
	manySteps  = 8192
	leastFloat = 1.0 / (1 << octaves)
)

// curve is a function of 0 to 1, what lies outside being clamped.
type curve struct {
	shift   uint // of a float32's bits, leading to an index
	base    int  // of the first index
	mask    uint32
	inverse float32 // of the steps of the mantissa that shift drops
	at      []line
}

// line is a straight piece of a curve: the value at its beginning and what it rises
// by to its end.
type line struct{ value, rise float32 }

// newCurve returns the table of a function that is as long as curveError asks, also
// where it bends, nil where none that is allowed is long enough: the function jumps.
func newCurve(f func(float64) float64, bends []float64) *curve {
	for steps := fewSteps; steps <= manySteps; steps *= 2 {
		if c := tableOf(f, steps); c.holds(f, bends) {
			return c
		}
	}
	return nil
}

func tableOf(f func(float64) float64, steps int) *curve {
	c := &curve{shift: uint(23 - bitsOf(steps))}
	c.base = int(math.Float32bits(leastFloat) >> c.shift)
	c.mask = 1<<c.shift - 1
	c.inverse = 1 / float32(uint32(1)<<c.shift)
	n := octaves*steps + 1
	c.at = make([]line, n+1)
	c.at[0].value = float32(f(0))
	for i := range n {
		c.at[i+1].value = float32(f(float64(math.Float32frombits(uint32(c.base+i) << c.shift))))
		c.at[i].rise = c.at[i+1].value - c.at[i].value
	}
	return c
}

func bitsOf(steps int) (n int) {
	for ; steps > 1; steps >>= 1 {
		n++
	}
	return n
}

// holds reports whether lines are near the function at a third and at two thirds of
// their ways, and where it bends.
func (c *curve) holds(f func(float64) float64, bends []float64) bool {
	for _, x := range bends {
		// As a float32 that is what the table is asked for, and what f is.
		if x := float32(x); math.Abs(float64(c.of(x))-f(float64(x))) > curveError {
			return false
		}
	}
	for i := range len(c.at) - 2 {
		for _, share := range [2]uint32{1, 2} {
			x := math.Float32frombits(uint32(c.base+i)<<c.shift | share*(c.mask+1)/3)
			if math.Abs(float64(c.of(x))-f(float64(x))) > curveError {
				return false
			}
		}
	}
	return true
}

// of returns the value at x, clamped to 0 to 1; NaN counts as 0.
func (c *curve) of(x float32) float32 {
	row := [1]float32{x}
	c.run(row[:])
	return row[0]
}

// run replaces values by what the curve makes of them.
func (c *curve) run(row []float32) {
	at, shift, base, mask, inverse := c.at, c.shift, c.base-1, c.mask, c.inverse
	for i, x := range row {
		if !(x >= leastFloat) {
			if !(x > 0) {
				x = 0
			}
			row[i] = at[0].value + at[0].rise*(x/leastFloat)
			continue
		}
		if x > 1 {
			x = 1
		}
		u := math.Float32bits(x)
		l := &at[int(u>>(shift&31))-base]
		row[i] = l.value + l.rise*(float32(int32(u&mask))*inverse)
	}
}

// scaled returns the curve to codes up to top, a half more than they are, so that
// what is cut off is rounded.
func (c *curve) scaled(top float32) *curve {
	out := *c
	out.at = make([]line, len(c.at))
	for i, l := range c.at {
		out.at[i] = line{l.value*top + 0.5, l.rise * top}
	}
	return &out
}

// curves is a pass of one curve for each channel.
type curves []*curve

func newCurves(s *step) pass {
	if !s.Bounded() {
		return nil
	}
	if w := newWideCurves(s); w != nil {
		return w
	}
	out := make(curves, s.Inputs)
	for c := range out {
		if c > 0 && s.SameCurve(c, c-1) {
			out[c] = out[c-1]
			continue
		}
		if out[c] = newCurve(func(x float64) float64 { return s.Curve(c, x) }, s.Bends(c)); out[c] == nil {
			return curvesByStep{s}
		}
	}
	return out
}

// curvesByStep is a pass of curves that no table holds: each value is computed.
type curvesByStep struct{ *step }

func (k curvesByStep) run(b *block, n int) {
	for c := range k.Inputs {
		row := b.v[c][:n]
		for i, v := range row {
			row[i] = float32(k.Curve(c, float64(v)))
		}
	}
}

func (k curves) run(b *block, n int) {
	for c, curve := range k {
		curve.run(b.v[c][:n])
	}
}
