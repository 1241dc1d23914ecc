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
	manySteps  = 256
	leastFloat = 1.0 / (1 << octaves)
	// Where more lines than this leave values to a function, a polyline is faster.
	mostLeft = 1.0 / 32
)

// curve is a function of 0 to 1, what lies outside being clamped.
type curve struct {
	shift   uint // of a float32's bits, leading to an index
	base    int  // of the first index
	mask    uint32
	inverse float32 // of the steps of the mantissa that shift drops
	at      []line
}

// leaving is a curve some of whose lines, which rise by no number, leave values to the
// function.
type leaving struct {
	*curve
	by func(float64) float64
}

// line is a straight piece of a curve: the value at its beginning and what it rises
// by to its end.
type line struct{ value, rise float32 }

// newCurve returns the table of a function that bends at some places: as short as
// curveError allows or, where lines are too few even of the longest, as where it leaps,
// with lines that leave values to the function; where many would and the function is a
// polyline, that.
func newCurve(f func(float64) float64, bends []float64, poly bool) function {
	for steps := fewSteps; ; steps *= 2 {
		switch c := tableOf(f, steps); {
		case c.holds(f, bends):
			return c
		case steps < manySteps:
		case c.leave(f, bends) > mostLeft && poly:
			return newPolyline(f, bends)
		default:
			return leaving{c, f}
		}
	}
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
// their ways, and where it bends and beside that.
func (c *curve) holds(f func(float64) float64, bends []float64) bool {
	for i := range len(c.at) - 2 {
		if c.strays(f, i) {
			return false
		}
	}
	for _, x := range bends {
		if c.straysAt(f, float32(x)) {
			return false
		}
	}
	return true
}

// strays reports whether the line behind line i is too far from the function on its
// way.
func (c *curve) strays(f func(float64) float64, i int) bool {
	for _, share := range [2]uint32{1, 2} {
		x := math.Float32frombits(uint32(c.base+i)<<c.shift | share*(c.mask+1)/3)
		if math.Abs(float64(c.of(x))-f(float64(x))) > curveError {
			return true
		}
	}
	return false
}

// straysAt reports whether lines are too far from the function at x, or at the next
// number to either side, where it may leap.
func (c *curve) straysAt(f func(float64) float64, x float32) bool {
	for _, x := range [3]float32{math.Nextafter32(x, 0), x, math.Nextafter32(x, 1)} {
		if math.Abs(float64(c.of(x))-f(float64(x))) > curveError {
			return true
		}
	}
	return false
}

// leave has the lines that stray rise by no number, and returns their share, not
// counted those in the dark.
func (c *curve) leave(f func(float64) float64, bends []float64) (share float64) {
	nan := float32(math.NaN())
	var stray []int
	for i := range len(c.at) - 2 {
		if c.strays(f, i) {
			stray = append(stray, i+1)
		}
	}
	for _, x := range bends {
		if x := float32(x); c.straysAt(f, x) {
			for _, x := range [3]float32{math.Nextafter32(x, 0), x, math.Nextafter32(x, 1)} {
				stray = append(stray, max(int(math.Float32bits(x)>>c.shift)-c.base+1, 0))
			}
		}
	}
	const light = 8 // octaves
	bright := c.at[len(c.at)-light*manySteps:]
	for _, i := range stray {
		c.at[i].rise = nan
	}
	for _, l := range bright {
		if l.rise != l.rise {
			share += 1 / float64(len(bright))
		}
	}
	return share
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

func (c leaving) run(row []float32) {
	for i, x := range row {
		if !(x > 0) {
			x = 0
		} else if x > 1 {
			x = 1
		}
		l, into := &c.at[0], x/leastFloat
		if x >= leastFloat {
			u := math.Float32bits(x)
			l, into = &c.at[int(u>>(c.shift&31))-c.base+1], float32(int32(u&c.mask))*c.inverse
		}
		if row[i] = l.value + l.rise*into; row[i] != row[i] {
			row[i] = float32(c.by(float64(x)))
		}
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

// function replaces values by what it makes of them.
type function interface{ run(row []float32) }

// curves is a pass of one function for each channel.
type curves []function

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
		out[c] = newCurve(func(x float64) float64 { return s.Curve(c, x) }, s.Bends(c), s.Polyline(c))
	}
	return out
}

// tables returns the functions as tables, false where one is none.
func (k curves) tables() ([]*curve, bool) {
	out := make([]*curve, len(k))
	for i := range k {
		var ok bool
		if out[i], ok = k[i].(*curve); !ok {
			return nil, false
		}
	}
	return out, true
}

func (k curves) run(b *block, n int) {
	for c, curve := range k {
		curve.run(b.v[c][:n])
	}
}
