package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"io"

	"example.org/primaries/chart/pictures"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
	"example.org/primaries/icc/embed"
)

// Bounds of what is read, those of package pictures.
const (
	mostMiB   = 512
	maxPixels = 150e6
)

// picture is a picture and what its file says of its numbers.
type picture struct {
	image       image.Image
	profile     []byte    // nil where the file has none
	cicp        *icc.CICP // overrules the profile; nil where there are none
	orientation int       // 1 to 8, as Exif counts
}

// read reads a picture.
func read(path string) (*picture, error) {
	p := &picture{}
	var inputs cli.Inputs
	return p, inputs.Read(path, func(r io.Reader) error {
		b, err := cli.All(r, mostMiB, "make it smaller")
		if err != nil {
			return err
		}
		if p.image, err = decode(b, path); err != nil {
			return err
		}
		found, err := embed.Extract(bytes.NewReader(b), int64(len(b)), embed.Limits{})
		p.profile, p.cicp, p.orientation = found.Profile, found.CICP, orientation(b)
		return err
	})
}

// decode decodes a picture: with package pictures, which has no use for CMYK, or else
// with the standard library.
func decode(b []byte, name string) (image.Image, error) {
	c, err := jpeg.DecodeConfig(bytes.NewReader(b))
	if err != nil || c.ColorModel != color.CMYKModel {
		p, err := pictures.Decode(bytes.NewReader(b), name, pictures.Limits{Bytes: mostMiB << 20, Pixels: maxPixels})
		return p.Image, err
	}
	if int64(c.Width)*int64(c.Height) > maxPixels {
		return nil, fmt.Errorf("%d × %d pixels, at most %.0f are read; make it smaller", c.Width, c.Height, maxPixels)
	}
	m, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, fmt.Errorf("damaged or unusual JPEG: %w; save it anew", err)
	}
	return m, nil
}

// rgbCodes says that code points are of RGB in full range, as PNG has them.
func (p *picture) rgbCodes() bool { return p.cicp.Matrix == 0 && p.cicp.FullRange == 1 }

// expand puts the colours of a palette into the pixels.
func (p *picture) expand() {
	m, ok := p.image.(*image.Paletted)
	if !ok {
		return
	}
	var out draw.Image = image.NewNRGBA(m.Rect)
	for _, c := range m.Palette {
		if r, _, _, _ := c.RGBA(); r%0x101 != 0 { // TIFF has palettes of 16 bits
			out = image.NewNRGBA64(m.Rect)
		}
	}
	for y := m.Rect.Min.Y; y < m.Rect.Max.Y; y++ {
		for x := m.Rect.Min.X; x < m.Rect.Max.X; x++ {
			out.Set(x, y, m.At(x, y))
		}
	}
	p.image = out
}
