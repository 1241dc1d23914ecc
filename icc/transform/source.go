package transform

import (
	"fmt"
	"image"
	"image/color"

	"example.org/primaries/icc"
)

// source returns the way to read a picture's pixels.
func (t *Transform) source(m image.Image) (pixels, error) {
	want, have := t.From(), space(m)
	switch {
	case want != icc.SpaceGray && want != icc.SpaceRGB && want != icc.SpaceCMYK:
		return pixels{}, noPicture(want)
	case have == 0:
		return pixels{}, fmt.Errorf("transform: a picture of opacity alone (%T) has no colours", m)
	case have != want && !(have == icc.SpaceGray && want == icc.SpaceRGB):
		return pixels{}, fmt.Errorf("transform: the picture's pixels are %v and the transform takes %v; begin it with the profile that the picture was made for", have, want)
	}
	mem, err := memoryOf(m)
	if err != nil {
		return pixels{}, err
	}
	var p pixels
	switch m := m.(type) {
	case *image.RGBA, *image.NRGBA, *image.CMYK:
		p.bytes.own = mem.row
	case *image.RGBA64, *image.NRGBA64:
		p.words.copy = func(row []uint16, y int) { words(row, mem.row(y)) }
	case *image.Gray:
		p.bytes.own = mem.row
		if want == icc.SpaceRGB {
			p.bytes = access[uint8]{copy: func(row []uint8, y int) { triple(row, mem.row(y)) }}
		}
	case *image.Gray16:
		p.words.copy = func(row []uint16, y int) { words(row, mem.row(y)) }
		if want == icc.SpaceRGB {
			p.words.copy = func(row []uint16, y int) { tripleWords(row, mem.row(y)) }
		}
	case *image.YCbCr:
		if p.bytes.copy, err = fromYCbCr(m, nil); err != nil {
			return p, err
		}
	case *image.NYCbCrA:
		if p.bytes.copy, err = fromYCbCr(&m.YCbCr, m); err != nil {
			return p, err
		}
	default:
		return t.anySource(m, want), nil
	}
	p.shared = true
	p.layout = layoutOf(m, opaque(m))
	p.step = p.layout.place(channels(want)).step
	return p, nil
}

// layoutOf returns the layout of pixels of the kinds that are read or written without
// At and Set.
func layoutOf(m image.Image, solid bool) Layout {
	var l Layout
	switch m.(type) {
	case *image.RGBA64, *image.NRGBA64, *image.Gray16:
		l.Depth = Depth16
	}
	switch m.(type) {
	case *image.RGBA, *image.RGBA64:
		l.Alpha, l.Premultiplied = AlphaLast, !solid
	case *image.NRGBA, *image.NRGBA64, *image.NYCbCrA:
		l.Alpha = AlphaLast
	}
	return l
}

func tripleWords(dst []uint16, src []uint8) {
	for i := range len(src) / 2 {
		v := uint16(src[2*i])<<8 | uint16(src[2*i+1])
		dst[3*i], dst[3*i+1], dst[3*i+2] = v, v, v
	}
}

// anySource reads a picture through At.
func (t *Transform) anySource(m image.Image, want icc.Signature) pixels {
	r := m.Bounds()
	if want == icc.SpaceCMYK {
		return pixels{step: 4, bytes: access[uint8]{copy: func(row []uint8, y int) {
			for x := range r.Dx() {
				c := color.CMYKModel.Convert(m.At(r.Min.X+x, r.Min.Y+y)).(color.CMYK)
				row[4*x], row[4*x+1], row[4*x+2], row[4*x+3] = c.C, c.M, c.Y, c.K
			}
		}}}
	}
	at := func(x, y int) color.RGBA64 {
		cr, cg, cb, ca := m.At(x, y).RGBA()
		return color.RGBA64{R: uint16(cr), G: uint16(cg), B: uint16(cb), A: uint16(ca)}
	}
	if m, ok := m.(image.RGBA64Image); ok {
		at = m.RGBA64At
	}
	if want == icc.SpaceGray { // a model of gray has no opacity
		return pixels{step: 1, layout: Plain16, words: access[uint16]{copy: func(row []uint16, y int) {
			for x := range r.Dx() {
				row[x] = at(r.Min.X+x, r.Min.Y+y).R
			}
		}}}
	}
	l := Alpha16
	if model := m.ColorModel(); model == color.NRGBAModel || model == color.NRGBA64Model {
		at = func(x, y int) color.RGBA64 { return straightAt(m, x, y) }
	} else {
		l.Premultiplied = !opaque(m)
	}
	return pixels{step: 4, layout: l, words: access[uint16]{copy: func(row []uint16, y int) {
		for x := range r.Dx() {
			c := at(r.Min.X+x, r.Min.Y+y)
			row[4*x], row[4*x+1], row[4*x+2], row[4*x+3] = c.R, c.G, c.B, c.A
		}
	}}}
}

// straightAt returns the numbers of a pixel without multiplying them by its opacity, for
// what the product rounds away does not come back.
func straightAt(m image.Image, x, y int) color.RGBA64 {
	switch c := m.At(x, y).(type) {
	case color.NRGBA:
		return color.RGBA64{R: uint16(c.R) * 0x101, G: uint16(c.G) * 0x101, B: uint16(c.B) * 0x101, A: uint16(c.A) * 0x101}
	default:
		return color.RGBA64(color.NRGBA64Model.Convert(c).(color.NRGBA64))
	}
}

// fromYCbCr returns what reads a row of Y'CbCr as RGB, with the opacity of a where
// that is not nil. Source of the matrix: ITU-T T.871, as image/color has it.
func fromYCbCr(m *image.YCbCr, a *image.NYCbCrA) (func(row []uint8, y int), error) {
	div := 1 // columns of luma that share their chroma
	switch m.SubsampleRatio {
	case image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420:
		div = 2
	case image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410:
		div = 4
	}
	r := m.Rect
	step := 3
	if a != nil {
		step = 4
	}
	if r.Dx() > 0 && r.Dy() > 0 {
		// The last pixel has the largest offsets, the first the smallest.
		first, last := r.Min, r.Max.Sub(image.Pt(1, 1))
		most := m.COffset(last.X, last.Y)
		if m.YOffset(first.X, first.Y) < 0 || m.COffset(first.X, first.Y) < 0 || m.YStride < r.Dx() || m.CStride < 0 ||
			m.YOffset(last.X, last.Y) >= len(m.Y) || most >= len(m.Cb) || most >= len(m.Cr) ||
			a != nil && (a.AStride < r.Dx() || a.AOffset(last.X, last.Y) >= len(a.A)) {
			return nil, fmt.Errorf("transform: the memory of a Y'CbCr picture does not hold its bounds %v", r)
		}
	}
	column := make([]int, r.Dx()) // of chroma, counted from that of the first
	for x := range column {
		column[x] = (r.Min.X+x)/div - r.Min.X/div
	}
	return func(row []uint8, y int) {
		y += r.Min.Y
		luma := m.Y[m.YOffset(r.Min.X, y):]
		chroma := m.COffset(r.Min.X, y)
		toRGB(row, step, luma, m.Cb[chroma:], m.Cr[chroma:], column)
		if a == nil {
			return
		}
		alpha := a.A[a.AOffset(r.Min.X, y):]
		for x := range column {
			row[4*x+3] = alpha[x]
		}
	}, nil
}

// toRGB is color.YCbCrToRGB for a row, bit by bit, without branches.
func toRGB(row []uint8, step int, luma, cb, cr []uint8, column []int) {
	luma = luma[:len(column)]
	for x, c := range column {
		y, b, r := int32(luma[x])*0x10101, int32(cb[c])-128, int32(cr[c])-128
		d := row[step*x : step*x+3 : step*x+3]
		d[0] = uint8(min(max((y+91881*r)>>16, 0), 255))
		d[1] = uint8(min(max((y-22554*b-46802*r)>>16, 0), 255))
		d[2] = uint8(min(max((y+116130*b)>>16, 0), 255))
	}
}
