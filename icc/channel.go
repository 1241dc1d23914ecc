package icc

import (
	"fmt"
	"math"
)

// channel is a curve made ready for evaluation.
type channel struct {
	sampled    bool
	table, up  SampledCurve // two entries or more; up never falls
	falls      bool         // up is the mirror image of table
	parametric segments
	pieces     []piece // of a SegmentedCurve
}

// newChannel prepares a curve, copying what it holds.
func newChannel(c Curve) (channel, error) {
	switch v := c.(type) {
	case ParametricCurve:
		if v.Function < 0 || v.Function > 4 {
			return channel{}, fmt.Errorf("parametric function %d; 0 to 4 are defined", v.Function)
		}
		return channel{parametric: v.segments()}, nil
	case SampledCurve:
		switch len(v) {
		case 0:
			return channel{parametric: ParametricCurve{G: 1}.segments()}, nil
		case 1:
			return channel{parametric: v.power().segments()}, nil
		}
		c := channel{sampled: true, table: append(SampledCurve(nil), v...)}
		c.up, c.falls = c.table.rising()
		return c, nil
	}
	return channel{}, fmt.Errorf("a %T is no curve", c)
}

// newChannels prepares the curves of a table.
func newChannels(curves []Curve) (stage, error) {
	s := stage{op: opCurves, in: len(curves), out: len(curves)}
	for i, c := range curves {
		k, err := newChannel(c)
		if err != nil {
			return s, fmt.Errorf("curve %d: %w", i+1, err)
		}
		s.curves = append(s.curves, k)
	}
	return s, nil
}

func (c *channel) at(x float64) float64 {
	switch {
	case c.pieces != nil:
		return pieceAt(c.pieces, x)
	case c.sampled:
		return c.table.At(x)
	}
	return c.parametric.at(clamp(x))
}

// inverse returns the lowest x at which the curve reaches y. Curves in pieces
// are never asked.
func (c *channel) inverse(y float64) float64 {
	switch {
	case !c.sampled:
		return c.parametric.lowest(y)
	case c.falls:
		return 1 - c.up.lowest(y)
	}
	return c.up.lowest(y)
}

// piece is a Segment made ready for evaluation: up to and with hi.
type piece struct {
	lo, hi   float64
	function int
	p        [5]float64
	samples  []float32 // the value at lo included
}

// newPieces prepares a curve that was checked.
func newPieces(c SegmentedCurve) channel {
	out := channel{pieces: make([]piece, len(c.Segments))}
	lo := math.Inf(-1)
	for i, s := range c.Segments {
		q := &out.pieces[i]
		q.lo, q.hi, q.function = lo, math.Inf(1), s.Function
		if i < len(c.Breaks) {
			q.hi = float64(c.Breaks[i])
		}
		for k, v := range s.Parameters {
			q.p[k] = float64(v)
		}
		if s.Samples != nil {
			q.samples = append([]float32{float32(pieceAt(out.pieces[:i], lo))}, s.Samples...)
		}
		lo = q.hi
	}
	return out
}

// pieceAt returns the value at x of a curve in pieces, bounded.
func pieceAt(pieces []piece, x float64) float64 {
	if x != x {
		x = 0
	}
	lo, hi := 0, len(pieces)-1
	for lo < hi {
		if mid := (lo + hi) / 2; x <= pieces[mid].hi {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	return bound(pieces[lo].at(x))
}

func (q *piece) at(x float64) float64 {
	if q.samples != nil {
		n := len(q.samples) - 1
		p := 1.0
		if q.hi > q.lo {
			p = (x - q.lo) / (q.hi - q.lo)
		}
		p = clamp(p) * float64(n)
		i := min(int(p), n-1)
		a, b := float64(q.samples[i]), float64(q.samples[i+1])
		return a + (b-a)*(p-float64(i))
	}
	p := &q.p
	switch q.function {
	case 0:
		return power(p[1]*x+p[2], p[0]) + p[3]
	case 1:
		if e := p[2]*power(x, p[0]) + p[3]; e > 0 {
			return p[1]*math.Log10(e) + p[4]
		}
		return p[4] // no logarithm exists
	}
	return p[0]*math.Pow(p[1], p[2]*x+p[3]) + p[4]
}

// power is x to the g; a negative base, of which most powers do not exist,
// counts as 0 unless g is 1.
func power(x, g float64) float64 {
	if g == 1 {
		return x
	}
	return math.Pow(math.Max(x, 0), g)
}
