package tone

import "math"

// Lift returns c seen on a display whose black is black, 0 to below 1,
// relative to its white, with a constant added to the signal: Light(s) =
// c.Light(b + (1−b)·s) where b = c.Signal(black). The upper tones stay where c
// has them and the shadows are squeezed. With Power{2.4} it is BT.1886.
//
// A black of 0 or less returns c itself; c should have no light of its own at
// signal 0. A black of NaN, or not below 1, gives a curve that answers NaN.
//
// Source: the construction of ITU-R BT.1886, annex 1, for any curve.
func Lift(c Curve, black float64) Curve {
	if black <= 0 {
		return c
	}
	start := c.Signal(black)
	if !(black < 1) {
		start = math.NaN()
	}
	return lifted{c, black, start}
}

// Stretch returns c with its range scaled to begin at black, 0 to below 1,
// relative to the white: Light(s) = black + (1−black)·c.Light(s). It is what a
// display does whose leaking light simply adds to the picture.
//
// A black of 0 or less returns c itself; c should have no light of its own at
// signal 0, since that would be added. A black of NaN, or not below 1, gives a
// curve that answers NaN. Common practice, no source.
func Stretch(c Curve, black float64) Curve {
	if black <= 0 {
		return c
	}
	if !(black < 1) {
		black = math.NaN()
	}
	return stretched{c, black}
}

type lifted struct {
	base         Curve
	black, start float64 // start is the base curve's signal of black
}

func (l lifted) Light(signal float64) float64 {
	return l.base.Light(l.start + (1-l.start)*math.Max(signal, 0))
}

func (l lifted) Signal(light float64) float64 {
	return math.Max((l.base.Signal(light)-l.start)/(1-l.start), 0)
}

func (l lifted) Slope(signal float64) float64 {
	if signal < 0 {
		return 0
	}
	return (1 - l.start) * l.base.Slope(l.start+(1-l.start)*signal)
}

func (l lifted) String() string { return "lift " + number(l.black) + " " + l.base.String() }

type stretched struct {
	base  Curve
	black float64
}

func (t stretched) Light(signal float64) float64 {
	return t.black + (1-t.black)*t.base.Light(signal)
}

func (t stretched) Signal(light float64) float64 {
	return t.base.Signal((light - t.black) / (1 - t.black))
}

func (t stretched) Slope(signal float64) float64 { return (1 - t.black) * t.base.Slope(signal) }

func (t stretched) String() string { return "stretch " + number(t.black) + " " + t.base.String() }
