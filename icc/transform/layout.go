package transform

import (
	"fmt"

	"example.org/primaries/icc"
)

// Sample is the number that holds one channel of one pixel.
type Sample interface {
	uint8 | uint16 | float32 | float64
}

// Depth is the kind of number that holds a channel.
type Depth uint8

// Integers count to their largest value: 255 or 65535 is 1 of a device's channel.
// In L*a*b* that is 100 of L* and 127 of a* and b*, 0 being −128, and in XYZ, of
// which there are 16 bits only, 32768 is 1 (ICC.1:2022, 6.3.4). Floats run from 0
// to 1 for a device's channel; L*a*b* and XYZ have their own units.
const (
	Depth8 Depth = iota
	Depth16
	Float32
	Float64
)

// String returns the kind of number in Go.
func (d Depth) String() string {
	switch d {
	case Depth8:
		return "uint8"
	case Depth16:
		return "uint16"
	case Float32:
		return "float32"
	case Float64:
		return "float64"
	}
	return fmt.Sprintf("Depth(%d)", uint8(d))
}

// top is what 1 of a device's channel is.
func (d Depth) top() float64 {
	switch d {
	case Depth8:
		return 255
	case Depth16:
		return 65535
	}
	return 1
}

// Alpha is where a pixel has its opacity.
type Alpha uint8

const (
	NoAlpha    Alpha = iota
	AlphaLast        // after the channels, as in RGBA
	AlphaFirst       // before the channels, as in ARGB
)

// Layout says how pixels lie in memory, one after the other: their channels in the
// order of the colour space, L*, a*, b* or X, Y, Z for the connection space. The
// zero value is 8 bits without opacity.
type Layout struct {
	Depth Depth
	// Reversed has the channels the other way round, as in BGR. Opacity stays where
	// Alpha says.
	Reversed bool
	Alpha    Alpha
	// Premultiplied says that the channels were multiplied by the opacity, as the
	// standard library's image.RGBA has them. Connection spaces have no such pixels.
	Premultiplied bool
}

// Usual layouts.
var (
	Plain8   = Layout{}
	Plain16  = Layout{Depth: Depth16}
	Plain32F = Layout{Depth: Float32}
	Plain64F = Layout{Depth: Float64}
	Alpha8   = Layout{Alpha: AlphaLast}
	Alpha16  = Layout{Depth: Depth16, Alpha: AlphaLast}
	Alpha32F = Layout{Depth: Float32, Alpha: AlphaLast}
)

// check returns what is wrong with the layout for colours of a space.
func (l Layout) check(space icc.Signature) error {
	pcs := space == icc.SpaceLab || space == icc.SpaceXYZ
	switch {
	case l.Depth > Float64:
		return fmt.Errorf("depth %d; Depth8, Depth16, Float32 and Float64 are defined", l.Depth)
	case l.Alpha > AlphaFirst:
		return fmt.Errorf("opacity %d; NoAlpha, AlphaLast and AlphaFirst are defined", l.Alpha)
	case l.Premultiplied && l.Alpha == NoAlpha:
		return fmt.Errorf("channels multiplied by an opacity that the pixels do not have; say where it is")
	case l.Premultiplied && pcs:
		return fmt.Errorf("colours of %v multiplied by an opacity; give them straight", space)
	case l.Depth == Depth8 && space == icc.SpaceXYZ:
		return fmt.Errorf("ICC.1 has no XYZ of 8 bits; take 16 or floats")
	}
	return nil
}

// place says where the parts of a pixel lie.
type place struct {
	channels, step int // step from pixel to pixel
	at             [maxChannels]int
	alpha          int // -1 for none
}

// maxChannels is the most channels of a device that ICC.1 knows.
const maxChannels = 16

func (l Layout) place(channels int) place {
	p := place{channels: channels, step: channels, alpha: -1}
	first := 0
	switch l.Alpha {
	case AlphaLast:
		p.alpha, p.step = channels, channels+1
	case AlphaFirst:
		p.alpha, p.step, first = 0, channels+1, 1
	}
	for c := range channels {
		p.at[c] = first + c
		if l.Reversed {
			p.at[c] = first + channels - 1 - c
		}
	}
	return p
}

// order returns the channel of a pixel's first, second or third sample, and the sample
// of a channel.
func (l Layout) order(sample int) int {
	if l.Reversed {
		return 2 - sample
	}
	return sample
}

// A unit is what a sample means: value = sample·scale + offset.
type unit struct{ scale, offset float64 }

// units returns the unit of each channel.
func (l Layout) units(space icc.Signature, channels int) []unit {
	out := make([]unit, channels)
	for c := range out {
		out[c] = unit{scale: 1 / l.Depth.top()}
		if l.Depth >= Float32 {
			continue
		}
		switch {
		case space == icc.SpaceLab && c == 0:
			out[c].scale *= 100
		case space == icc.SpaceLab:
			out[c] = unit{255 / l.Depth.top(), -128}
		case space == icc.SpaceXYZ:
			out[c].scale = 1.0 / 32768
		}
	}
	return out
}

// round returns the sample nearest to v, clamped; NaN counts as 0.
func round[D Sample](v float64) D {
	var zero D
	switch any(zero).(type) {
	case uint8:
		return D(whole(v, 255))
	case uint16:
		return D(whole(v, 65535))
	}
	return D(v)
}

func whole(v, top float64) float64 {
	if !(v > 0) {
		return 0
	}
	return float64(int(min(v, top) + 0.5))
}
