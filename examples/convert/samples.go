package main

import (
	"image"
	"image/draw"
)

// samples are the memory of a picture of the kinds that Transform.Convert makes.
type samples struct {
	pix                         []uint8
	stride, size, width, height int // size of a pixel in bytes
}

func samplesOf(m image.Image) samples {
	s := samples{width: m.Bounds().Dx(), height: m.Bounds().Dy()}
	switch m := m.(type) {
	case *image.Gray:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 1
	case *image.Gray16:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 2
	case *image.RGBA:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 4
	case *image.NRGBA:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 4
	case *image.RGBA64:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 8
	case *image.NRGBA64:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 8
	case *image.CMYK:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 4
	case *image.Paletted:
		s.pix, s.stride, s.size = m.Pix, m.Stride, 1
	default:
		panic("convert: a picture that Transform.Convert does not make")
	}
	return s
}

// pixel returns the bytes of a pixel, counted from the upper left corner.
func (s samples) pixel(x, y int) []uint8 {
	return s.pix[y*s.stride+x*s.size:][:s.size]
}

// row returns the bytes of a row.
func (s samples) row(y int) []uint8 {
	return s.pix[y*s.stride:][:s.width*s.size]
}

// of returns the bytes of an opaque pixel of some channels.
func (s samples) of(channels []uint8) []uint8 {
	out := make([]uint8, s.size)
	for i := range out {
		c := i
		if s.size == 8 || s.size == 2 {
			c = i / 2 // twice a byte is the same share of 65535
		}
		if out[i] = 255; c < len(channels) {
			out[i] = channels[c]
		}
	}
	return out
}

// like returns an empty picture of the kind of another.
func like(m image.Image, w, h int) draw.Image {
	r := image.Rect(0, 0, w, h)
	switch m := m.(type) {
	case *image.Gray:
		return image.NewGray(r)
	case *image.Gray16:
		return image.NewGray16(r)
	case *image.RGBA:
		return image.NewRGBA(r)
	case *image.NRGBA:
		return image.NewNRGBA(r)
	case *image.RGBA64:
		return image.NewRGBA64(r)
	case *image.NRGBA64:
		return image.NewNRGBA64(r)
	case *image.CMYK:
		return image.NewCMYK(r)
	case *image.Paletted:
		return image.NewPaletted(r, m.Palette)
	}
	panic("convert: a picture that Transform.Convert does not make")
}
