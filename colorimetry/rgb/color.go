package rgb

import (
	"image/color"
	"math"

	"example.org/primaries/colorimetry"
)

// Color is a signal with its alpha in the terms of package image/color, at
// full precision: alpha is not multiplied in, and no encoding is implied.
// Package image/color leaves the encoding open; by custom it is sRGB.
type Color struct {
	Signal colorimetry.RGB
	Alpha  float64 // 0 transparent to 1 opaque
}

// RGBA implements color.Color: 16 bits a channel, clamped, alpha multiplied
// in.
func (c Color) RGBA() (r, g, b, a uint32) { return c.NRGBA64().RGBA() }

// NRGBA64 returns c rounded to 16 bits a channel, clamped to 0 to 1; NaN
// becomes 0.
func (c Color) NRGBA64() color.NRGBA64 {
	s := c.Signal.Clamp()
	code := func(v float64) uint16 { return uint16(math.Round(v * 65535)) }
	return color.NRGBA64{R: code(s.R), G: code(s.G), B: code(s.B), A: code(colorimetry.Gray(c.Alpha).Clamp().R)}
}

// NRGBA returns c rounded to 8 bits a channel, clamped to 0 to 1; NaN becomes
// 0.
func (c Color) NRGBA() color.NRGBA {
	s := c.Signal.Clamp()
	code := func(v float64) uint8 { return uint8(math.Round(v * 255)) }
	return color.NRGBA{R: code(s.R), G: code(s.G), B: code(s.B), A: code(colorimetry.Gray(c.Alpha).Clamp().R)}
}

// FromColor returns an image's colour as a Color, alpha divided out. Colours
// without alpha multiplied in (color.NRGBA, NRGBA64, Gray, Gray16 and Color
// itself) keep their signal exactly. A fully transparent colour of another
// type has no signal: black.
func FromColor(c color.Color) Color {
	signal := func(r, g, b, a, top float64) Color {
		return Color{colorimetry.RGB{R: r / top, G: g / top, B: b / top}, a / top}
	}
	switch v := c.(type) {
	case Color:
		return v
	case color.NRGBA:
		return signal(float64(v.R), float64(v.G), float64(v.B), float64(v.A), 255)
	case color.NRGBA64:
		return signal(float64(v.R), float64(v.G), float64(v.B), float64(v.A), 65535)
	case color.Gray:
		return signal(float64(v.Y), float64(v.Y), float64(v.Y), 255, 255)
	case color.Gray16:
		return signal(float64(v.Y), float64(v.Y), float64(v.Y), 65535, 65535)
	}
	r, g, b, a := c.RGBA()
	if a == 0 {
		return Color{}
	}
	out := signal(float64(r), float64(g), float64(b), float64(a), float64(a))
	out.Alpha = float64(a) / 65535
	return out
}

// Model returns the color.Model whose colours are [Color]s: [FromColor].
func Model() color.Model {
	return color.ModelFunc(func(c color.Color) color.Color { return FromColor(c) })
}

// Model returns the color.Model that takes colours of the conversion's first
// encoding to [Color]s of its second, alpha kept. What the second cannot show
// is clamped, channel by channel.
func (c Conversion) Model() color.Model {
	return color.ModelFunc(func(in color.Color) color.Color {
		v := FromColor(in)
		out, _ := c.Signal(v.Signal)
		return Color{out.Clamp(), v.Alpha}
	})
}
