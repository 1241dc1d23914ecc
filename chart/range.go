package chart

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// CodeRange says which codes of a digital path a signal may take, and what they
// mean.
//
// In the full range code 0 is signal 0 and the highest code, 2^Bits − 1, is
// signal 1. In the narrow range, that of video, signal 0 is the black code
// 16·2^(Bits−8) and signal 1 the white code 235·2^(Bits−8): 16 and 235 at 8
// bits, 64 and 940 at 10, 256 and 3760 at 12. A signal is thus always the share
// of the way from black to white, whatever the range. The narrow range's codes
// beyond black and white stand for signals outside [0, 1]; no set uses them.
//
// The zero value is of no use: Bits is 1 to 16, and 8 to 16 in the narrow
// range. The methods panic on another.
//
// Source: ITU-R BT.2100-2 (2018), table 9, for 10 and 12 bits, and ITU-R BT.709-6
// (2015) for 8 and 10 bits in the narrow range, as others cite them (neither was
// opened); their formula is carried on to other depths.
type CodeRange struct {
	Bits   int
	Narrow bool
}

// The codes of the narrow range at 8 bits, of which other depths are multiples.
const (
	narrowBits  = 8
	narrowBlack = 16
	narrowWhite = 235
)

// check panics where the range has no codes.
func (r CodeRange) check() {
	switch {
	case r.Narrow && r.Bits < narrowBits:
		panic(fmt.Sprintf("chart: a narrow range of %d bits; 8 to 16 are possible", r.Bits))
	case r.Bits < 1 || r.Bits > 16:
		panic(fmt.Sprintf("chart: a path of %d bits; 1 to 16 are possible", r.Bits))
	}
}

// Black returns the code of signal 0.
func (r CodeRange) Black() int {
	r.check()
	if r.Narrow {
		return narrowBlack << (r.Bits - narrowBits)
	}
	return 0
}

// White returns the code of signal 1.
func (r CodeRange) White() int {
	r.check()
	if r.Narrow {
		return narrowWhite << (r.Bits - narrowBits)
	}
	return 1<<r.Bits - 1
}

// Codes returns the number of codes from black to white, both counted: the
// number of levels that a channel can take.
func (r CodeRange) Codes() int { return r.White() - r.Black() + 1 }

// Code returns the code nearest to signal v of one channel, halves upward. v is
// clamped to [0, 1]; NaN counts as 0.
func (r CodeRange) Code(v float64) int {
	black, white := r.Black(), r.White()
	if !(v > 0) {
		return black
	}
	return black + int(math.Floor(math.Min(v, 1)*float64(white-black)+0.5))
}

// Signal returns the signal that a code stands for: 0 at the black code and 1 at
// the white code, less than 0 and more than 1 beyond them.
func (r CodeRange) Signal(code int) float64 {
	return float64(code-r.Black()) / float64(r.White()-r.Black())
}

// Quantise returns a copy of set with every signal on the nearest code between
// black and white. It keeps repeats; follow it by [Union] to drop patches that
// have become equal.
func (r CodeRange) Quantise(set Set) Set {
	out := make(Set, len(set))
	for i, p := range set {
		out[i] = Patch{ID: p.ID, Signal: r.nearest(p.Signal)}
	}
	return out
}

// nearest returns the signal of the codes nearest to s.
func (r CodeRange) nearest(s colorimetry.RGB) colorimetry.RGB {
	if !r.Narrow {
		r.check()
		return s.Quantise(r.Bits)
	}
	return colorimetry.RGB{R: r.Signal(r.Code(s.R)), G: r.Signal(r.Code(s.G)), B: r.Signal(r.Code(s.B))}
}

// path returns the path that o names; o.Bits is not 0.
func (o Options) path() CodeRange { return CodeRange{Bits: o.Bits, Narrow: o.Narrow} }

// onPath returns s, on the nearest codes where o names a path.
func (o Options) onPath(s colorimetry.RGB) colorimetry.RGB {
	if o.Bits == 0 {
		return s
	}
	return o.path().nearest(s)
}
