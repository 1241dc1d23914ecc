package transform

import (
	"fmt"
	"image"
	"image/color"

	"example.org/primaries/icc"
)

// access leads to the rows of a picture, counted from 0: to their own memory, or by
// way of a copy, which reads them into row or writes them from there.
type access[T Sample] struct {
	own  func(y int) []T
	copy func(row []T, y int)
}

func (a access[T]) ok() bool { return a.own != nil || a.copy != nil }

// read returns row y: its own memory, or row with a copy.
func (a access[T]) read(row []T, y int) []T {
	if a.own != nil {
		return a.own(y)
	}
	a.copy(row, y)
	return row
}

// pixels are a picture that is read or written: bytes or words lead to its rows.
type pixels struct {
	layout Layout
	step   int  // samples of a pixel
	shared bool // several goroutines may have rows at once
	bytes  access[uint8]
	words  access[uint16]
}

// space returns the colour space that a picture's numbers are in, 0 where it holds
// opacity alone.
func space(m image.Image) icc.Signature {
	switch m.(type) {
	case *image.Gray, *image.Gray16:
		return icc.SpaceGray
	case *image.CMYK:
		return icc.SpaceCMYK
	}
	switch m.ColorModel() {
	case color.GrayModel, color.Gray16Model:
		return icc.SpaceGray
	case color.CMYKModel:
		return icc.SpaceCMYK
	case color.AlphaModel, color.Alpha16Model:
		return 0
	}
	return icc.SpaceRGB
}

// channels is how many a pixel has in a space of pictures.
func channels(space icc.Signature) int { return icc.Channels(space) }

// memory is a picture's own memory: pixels of size bytes.
type memory struct {
	pix          []uint8
	stride, size int
	width        int
}

// row returns the bytes of row y.
func (m memory) row(y int) []uint8 {
	at := y * m.stride
	return m.pix[at : at+m.width*m.size]
}

// memoryOf returns the memory of the kinds that have one, size 0 for others, and
// whether it holds the picture.
func memoryOf(p image.Image) (memory, error) {
	var m memory
	r := p.Bounds()
	switch p := p.(type) {
	case *image.RGBA:
		m = memory{pix: p.Pix, stride: p.Stride, size: 4}
	case *image.NRGBA:
		m = memory{pix: p.Pix, stride: p.Stride, size: 4}
	case *image.CMYK:
		m = memory{pix: p.Pix, stride: p.Stride, size: 4}
	case *image.RGBA64:
		m = memory{pix: p.Pix, stride: p.Stride, size: 8}
	case *image.NRGBA64:
		m = memory{pix: p.Pix, stride: p.Stride, size: 8}
	case *image.Gray:
		m = memory{pix: p.Pix, stride: p.Stride, size: 1}
	case *image.Gray16:
		m = memory{pix: p.Pix, stride: p.Stride, size: 2}
	case *image.Paletted:
		m = memory{pix: p.Pix, stride: p.Stride, size: 1}
	default:
		return m, nil
	}
	m.width = r.Dx()
	samples := Raster[uint8]{Samples: m.pix, Width: r.Dx(), Height: r.Dy(), Stride: m.stride}
	if _, err := samples.rows(m.size); err != nil {
		return m, fmt.Errorf("transform: the memory of a %T does not hold its bounds %v: %w", p, r, err)
	}
	return m, nil
}

// words reads the pairs of bytes, the high one first, in which the standard library
// keeps 16 bits.
func words(dst []uint16, src []uint8) {
	src = src[:2*len(dst)]
	for i := range dst {
		dst[i] = uint16(src[2*i])<<8 | uint16(src[2*i+1])
	}
}

// pairs writes what words reads.
func pairs(dst []uint8, src []uint16) {
	dst = dst[:2*len(src)]
	for i, v := range src {
		dst[2*i], dst[2*i+1] = uint8(v>>8), uint8(v)
	}
}

// triple writes gray pixels as RGB.
func triple[T Sample](dst, src []T) {
	for i, v := range src {
		d := dst[3*i : 3*i+3 : 3*i+3]
		d[0], d[1], d[2] = v, v, v
	}
}
