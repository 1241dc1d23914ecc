package hardware

import (
	"fmt"
	"math"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// Range says which codes of a path are black and white.
type Range int

const (
	// Full is from the lowest code to the highest: 0 to 1023 at 10 bits.
	Full Range = iota
	// Limited is the narrow range of video: 64 to 940 at 10 bits, 16 to 235
	// at 8, the same times 4 and 256 at 12 and 16. Source: see [chart.CodeRange].
	Limited
)

// String returns "full" or "limited".
func (r Range) String() string {
	switch r {
	case Full:
		return "full"
	case Limited:
		return "limited"
	}
	return fmt.Sprintf("Range(%d)", int(r))
}

func (r Range) known() bool { return r == Full || r == Limited }

// Codes returns the codes of black and white at a depth of 8 to 16 bits.
func (r Range) Codes(bits int) (black, white int) {
	c := chart.CodeRange{Bits: bits, Narrow: r == Limited}
	return c.Black(), c.White()
}

// round returns the signal of the code that lies nearest to s, which is limited
// to black and white.
func (r Range) round(s colorimetry.RGB, bits int) colorimetry.RGB {
	c := chart.CodeRange{Bits: bits, Narrow: r == Limited}
	s = s.Clamp()
	return colorimetry.RGB{R: c.Signal(c.Code(s.R)), G: c.Signal(c.Code(s.G)), B: c.Signal(c.Code(s.B))}
}

// depth says whether tables have so many bits: those of Common LUT Format.
func depth(bits int) bool { return bits == 8 || bits == 10 || bits == 12 || bits == 16 }

// window says where on the scale of entries and nodes, 0 to 1, black and white
// lie.
type window struct{ black, white float64 }

func newWindow(whole bool, bits int) window {
	if !whole {
		return window{0, 1}
	}
	black, white := Limited.Codes(bits)
	top := float64(uint(1)<<bits) - 1
	return window{float64(black) / top, float64(white) / top}
}

// share returns where on the scale a signal lies, and signal what lies there.
func (w window) share(signal float64) float64 { return w.black + signal*(w.white-w.black) }
func (w window) signal(share float64) float64 { return (share - w.black) / (w.white - w.black) }

// inside returns the last of n nodes that does not lie above black, and the first
// that does not lie below white.
func (w window) inside(n int) (first, last int) {
	edge := float64(n - 1)
	return int(math.Floor(w.black*edge + 1e-9)), int(math.Ceil(w.white*edge - 1e-9))
}
