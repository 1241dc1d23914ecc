package transform

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"

	"example.org/primaries/icc"
)

// sink returns the way to write a picture's pixels, which are opaque where solid is
// true.
func (t *Transform) sink(m draw.Image, solid bool) (pixels, error) {
	have, want := t.To(), space(m)
	switch {
	case have != icc.SpaceGray && have != icc.SpaceRGB && have != icc.SpaceCMYK:
		return pixels{}, noPicture(have)
	case want == 0:
		return pixels{}, fmt.Errorf("transform: a picture of opacity alone (%T) holds no colours; give another kind", m)
	case have != want && !(have == icc.SpaceGray && want == icc.SpaceRGB):
		return pixels{}, fmt.Errorf("transform: the picture holds %v and the transform gives %v; give a picture of that, or leave the kind to Convert", want, have)
	}
	mem, err := memoryOf(m)
	if err != nil {
		return pixels{}, err
	}
	p := pixels{shared: true, layout: layoutOf(m, solid)}
	spread := have != want
	switch m.(type) {
	case *image.RGBA, *image.NRGBA, *image.CMYK, *image.Gray:
		p.bytes.own = mem.row
		if spread {
			p.bytes = access[uint8]{copy: func(row []uint8, y int) { spreadBytes(mem.row(y), row) }}
		}
	case *image.RGBA64, *image.NRGBA64, *image.Gray16:
		p.words.copy = func(row []uint16, y int) { pairs(mem.row(y), row) }
		if spread {
			p.words.copy = func(row []uint16, y int) { spreadPairs(mem.row(y), row) }
		}
	default:
		p = anySink(m, have)
	}
	p.step = p.layout.place(channels(have)).step
	return p, nil
}

// spreadBytes writes gray and opacity as RGB and opacity.
func spreadBytes(dst, src []uint8) {
	for i := range len(src) / 2 {
		v := src[2*i]
		d := dst[4*i : 4*i+4 : 4*i+4]
		d[0], d[1], d[2], d[3] = v, v, v, src[2*i+1]
	}
}

// spreadPairs is spreadBytes in 16 bits.
func spreadPairs(dst []uint8, src []uint16) {
	for i := range len(src) / 2 {
		v, a := src[2*i], src[2*i+1]
		pairs(dst[8*i:], []uint16{v, v, v, a})
	}
}

// anySink writes a picture through Set, in 8 bits where its model has no more: models
// cut what they do not hold, and do not round.
func anySink(m draw.Image, have icc.Signature) pixels {
	r := m.Bounds()
	if have == icc.SpaceCMYK {
		return pixels{bytes: access[uint8]{copy: func(row []uint8, y int) {
			for x := range r.Dx() {
				m.Set(r.Min.X+x, r.Min.Y+y, color.CMYK{C: row[4*x], M: row[4*x+1], Y: row[4*x+2], K: row[4*x+3]})
			}
		}}}
	}
	p := pixels{layout: Alpha16}
	set := func(x, y int, red, green, blue, a uint16) {
		m.Set(x, y, color.NRGBA64{R: red, G: green, B: blue, A: a})
	}
	if m, ok := m.(draw.RGBA64Image); ok {
		p.layout.Premultiplied = true
		set = func(x, y int, red, green, blue, a uint16) {
			m.SetRGBA64(x, y, color.RGBA64{R: red, G: green, B: blue, A: a})
		}
	}
	if space(m) == icc.SpaceGray { // would take opacity for a black background
		p.layout = Plain16
	}
	channels, alpha := channels(have), p.layout.Alpha != NoAlpha
	if deep(m) {
		p.words.copy = setter[uint16](r, channels, alpha, 1, set)
		return p
	}
	p.layout.Depth = Depth8
	p.bytes.copy = setter[uint8](r, channels, alpha, 0x101, set)
	return p
}

// setter returns what writes a row of one channel or three, with opacity or without, by
// a function for one pixel, each sample times unit.
func setter[T uint8 | uint16](r image.Rectangle, channels int, alpha bool, unit uint16, set func(x, y int, red, green, blue, a uint16)) func(row []T, y int) {
	step := channels
	if alpha {
		step++
	}
	return func(row []T, y int) {
		for x := range r.Dx() {
			s := row[x*step : (x+1)*step]
			red, green, blue, a := s[0], s[0], s[0], uint16(0xffff)
			if channels == 3 {
				green, blue = s[1], s[2]
			}
			if alpha {
				a = uint16(s[channels]) * unit
			}
			set(r.Min.X+x, r.Min.Y+y, uint16(red)*unit, uint16(green)*unit, uint16(blue)*unit, a)
		}
	}
}
