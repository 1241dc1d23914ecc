package pictures

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"math"

	"example.org/primaries/icc/embed"
	"golang.org/x/image/tiff"
)

// Limits bound what Decode accepts. The zero value is the default.
type Limits struct {
	// Bytes of the file; 0 or less means 512 MiB.
	Bytes int64
	// Pixels is width × height; 0 or less means 150 million, more than cameras
	// have today. Those take 1.2 GB at 16 bits with alpha, and 2.3 GB while a
	// progressive JPEG of three full channels is decoded.
	Pixels int
}

// Picture is a decoded image.
type Picture struct {
	Name  string // as patches are named by
	Image image.Image
	// Profile is the ICC profile that the file carried, as it stands there; nil
	// where there is none. The numbers are not sRGB unless it says so.
	Profile []byte
}

// ErrFormat is wrapped where a file is none of the formats that Decode reads.
var ErrFormat = errors.New("it is no PNG, JPEG or TIFF")

// format is one kind of file.
type format struct {
	name   string
	magic  []string
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
	// bound makes the file (b is Decode's own) safe to be looked at, fit says
	// whether it is to be decoded. Both say why not, and are nil where the
	// decoder keeps within bounds by itself.
	bound func(b []byte) error
	fit   func(b []byte, c image.Config, l Limits) error
}

func formats() []format {
	return []format{
		{"PNG", []string{"\x89PNG\r\n\x1a\n"}, png.DecodeConfig, png.Decode, nil, nil},
		{"JPEG", []string{"\xff\xd8"}, jpeg.DecodeConfig, jpeg.Decode, nil, nil},
		{"TIFF", []string{"II*\x00", "MM\x00*"}, tiff.DecodeConfig, tiff.Decode, boundTIFF, fitTIFF},
	}
}

// Decode reads a PNG, JPEG or TIFF of up to 16 bits a channel, all of which are
// kept. name stands in errors and patches. The size is checked before a pixel
// is decoded. A profile that cannot be taken out is an error, since nobody could
// say what the numbers mean. The error says what is wrong and what to do; it wraps ErrFormat
// for other kinds of file. Images in amounts of ink (CMYK) are an error.
func Decode(r io.Reader, name string, l Limits) (Picture, error) {
	if l.Bytes <= 0 {
		l.Bytes = 512 << 20
	}
	if l.Pixels <= 0 {
		l.Pixels = 150e6
	}
	b, err := io.ReadAll(io.LimitReader(r, min(l.Bytes, math.MaxInt64-1)+1))
	if err != nil {
		return Picture{}, fmt.Errorf("pictures: %s: %w", name, err)
	}
	if int64(len(b)) > l.Bytes {
		return Picture{}, fmt.Errorf("pictures: %s: more than %d bytes; make it smaller", name, l.Bytes)
	}
	for _, f := range formats() {
		for _, m := range f.magic {
			if bytes.HasPrefix(b, []byte(m)) {
				return f.read(b, name, l)
			}
		}
	}
	return Picture{}, fmt.Errorf("pictures: %s: %w; save it as one of them", name, ErrFormat)
}

func (f format) read(b []byte, name string, l Limits) (Picture, error) {
	damaged := func(err error) (Picture, error) {
		if kind := tiff.UnsupportedError(""); errors.As(err, &kind) {
			return Picture{}, fmt.Errorf("pictures: %s: a TIFF of a kind that is not read (%s); save it as RGB or gray, 8 or 16 bits", name, string(kind))
		}
		return Picture{}, fmt.Errorf("pictures: %s: damaged or unusual %s: %w; save it anew", name, f.name, err)
	}
	if f.bound != nil {
		if err := f.bound(b); err != nil {
			return damaged(err)
		}
	}
	c, err := f.config(bytes.NewReader(b))
	if err != nil {
		return damaged(err)
	}
	if c.Width <= 0 || c.Height <= 0 || int64(c.Width) > int64(l.Pixels)/int64(c.Height) {
		return Picture{}, fmt.Errorf("pictures: %s: %d × %d pixels, at most %d are read; make it smaller", name, c.Width, c.Height, l.Pixels)
	}
	if c.ColorModel == color.CMYKModel {
		return Picture{}, fmt.Errorf("pictures: %s: %w; save it as RGB", name, errCMYK)
	}
	if f.fit != nil {
		if err := f.fit(b, c, l); err != nil {
			return damaged(err)
		}
	}
	found, err := embed.Extract(bytes.NewReader(b), int64(len(b)), embed.Limits{})
	if err != nil {
		return damaged(err)
	}
	m, err := f.decode(bytes.NewReader(b))
	if err != nil {
		return damaged(err)
	}
	return Picture{Name: name, Image: m, Profile: found.Profile}, nil
}
