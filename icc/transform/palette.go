package transform

import (
	"context"
	"image"
	"image/color"
	"slices"
)

// mostColours is how many a palette's 8-bit numbers can mean.
const mostColours = 256

// deepPalette says that a palette has colours that 8 bits do not hold.
func deepPalette(p color.Palette) bool {
	return slices.ContainsFunc(p, func(c color.Color) bool {
		r, g, b, a := c.RGBA()
		switch c := c.(type) {
		case color.NRGBA:
			return false
		case color.NRGBA64:
			r, g, b, a = uint32(c.R), uint32(c.G), uint32(c.B), uint32(c.A)
		}
		return r%0x101+g%0x101+b%0x101+a%0x101 > 0
	})
}

// paletteRow returns the colours of a palette as a picture of one row, straight, of 8 bits
// where they hold them.
func paletteRow(p color.Palette) image.Image {
	p = p[:min(len(p), mostColours)]
	r := image.Rect(0, 0, len(p), 1)
	if !deepPalette(p) {
		m := image.NewNRGBA(r)
		for i, c := range p {
			m.SetNRGBA(i, 0, color.NRGBAModel.Convert(c).(color.NRGBA))
		}
		return m
	}
	m := image.NewNRGBA64(r)
	for i, c := range p {
		m.SetNRGBA64(i, 0, color.NRGBA64Model.Convert(c).(color.NRGBA64))
	}
	return m
}

// paletted returns what a picture with a palette becomes: another with its pixels.
func (t *Transform) paletted(ctx context.Context, m *image.Paletted) (image.Image, error) {
	if _, err := memoryOf(m); err != nil {
		return nil, err
	}
	colours, err := t.Convert(ctx, paletteRow(m.Palette))
	if err != nil {
		return nil, err
	}
	out := image.NewPaletted(m.Rect, make(color.Palette, min(len(m.Palette), mostColours)))
	for i := range out.Palette {
		out.Palette[i] = colours.At(i, 0)
	}
	for y := range m.Rect.Dy() {
		copy(out.Pix[y*out.Stride:][:m.Rect.Dx()], m.Pix[y*m.Stride:])
	}
	return out, nil
}

// looked returns the pixels of a picture with a palette as the transform makes them in
// a layout: the palette is computed once. A number beyond the palette means no colour,
// all channels 0.
func (t *Transform) looked(ctx context.Context, m *image.Paletted, to Layout) (pixels, error) {
	mem, err := memoryOf(m)
	if err != nil {
		return pixels{}, err
	}
	row := paletteRow(m.Palette)
	from, err := t.source(row)
	if err != nil {
		return pixels{}, err
	}
	k, err := t.Between(from.layout, to)
	if err != nil {
		return pixels{}, err
	}
	p := pixels{layout: to, step: k.out.step, shared: true}
	if to.Depth == Depth16 {
		table := make([]uint16, mostColours*p.step)
		into := pixels{step: p.step, words: access[uint16]{own: func(int) []uint16 { return table }}}
		err = transfer(ctx, t, into, from, row.Bounds().Size(), k)
		p.words.copy = func(row []uint16, y int) { look(row, mem.row(y), table, p.step) }
		return p, err
	}
	table := make([]uint8, mostColours*p.step)
	into := pixels{step: p.step, bytes: access[uint8]{own: func(int) []uint8 { return table }}}
	err = transfer(ctx, t, into, from, row.Bounds().Size(), k)
	p.bytes.copy = func(row []uint8, y int) { look(row, mem.row(y), table, p.step) }
	return p, err
}

// look writes the entries of a table of pixels.
func look[T Sample](dst []T, src []uint8, table []T, step int) {
	for i, v := range src {
		copy(dst[i*step:(i+1)*step], table[int(v)*step:])
	}
}
