package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"
	"io"

	"example.org/primaries/chart/keep"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc/embed"
)

// format is a kind of file that is written.
type format struct {
	name   string
	encode func(w io.Writer, m image.Image, quality int) error
}

// formats are the formats by the ends of names.
var formats = map[string]format{
	".png": {"PNG", writePNG}, ".jpg": {"JPEG", writeJPEG}, ".jpeg": {"JPEG", writeJPEG}, ".tif": {"TIFF", writeTIFF}, ".tiff": {"TIFF", writeTIFF},
}

func writePNG(w io.Writer, m image.Image, _ int) error {
	return png.Encode(w, m)
}

func writeJPEG(w io.Writer, m image.Image, quality int) error {
	if !opaque(m) {
		return errors.New("JPEG has no opacity, and the picture has; write it as PNG or TIFF")
	}
	return jpeg.Encode(w, rounded(m), &jpeg.Options{Quality: quality})
}

// rounded returns an opaque picture in 8 bits, for the encoder cuts and does not round.
func rounded(m image.Image) image.Image {
	var out draw.Image
	switch m.(type) {
	case *image.Gray16:
		out = image.NewGray(image.Rectangle{Max: m.Bounds().Size()})
	case *image.RGBA64, *image.NRGBA64:
		out = image.NewRGBA(image.Rectangle{Max: m.Bounds().Size()})
	default:
		return m
	}
	from, to := samplesOf(m), samplesOf(out)
	for y := range to.height {
		src, dst := from.row(y), to.row(y)
		for i := range dst {
			dst[i] = uint8((uint32(binary.BigEndian.Uint16(src[2*i:])) + 128) / 257)
		}
	}
	return out
}

func opaque(m image.Image) bool {
	o, ok := m.(interface{ Opaque() bool })
	return ok && o.Opaque()
}

// loses says which bits of a source are lost in what it became, once written.
func (f format) loses(source, m image.Image) string {
	switch source.(type) {
	case *image.Gray16, *image.RGBA64, *image.NRGBA64:
		if _, inks := m.(*image.CMYK); inks {
			return "CMYK is written in 8 bits; the picture's 16 are rounded"
		}
		if f.name == "JPEG" {
			return "JPEG has 8 bits; the picture's 16 are rounded"
		}
	}
	return ""
}

// save writes a picture with a profile, whole or not at all.
func (f format) save(path string, m image.Image, profile []byte, quality int) error {
	var b bytes.Buffer
	if err := f.encode(&b, m, quality); err != nil {
		return cli.Bad("%s: %w", path, err)
	}
	misfit := false
	err := keep.ReplaceFile(path, func(w io.Writer) error {
		err := embed.Insert(w, bytes.NewReader(b.Bytes()), int64(b.Len()), profile, embed.Options{})
		misfit = errors.Is(err, embed.ErrMisfit)
		return err
	})
	if misfit {
		return cli.Bad("%s: a gray profile for a picture with opacity, which %s holds as RGB; convert to an RGB profile: %w", path, f.name, err)
	}
	if err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing %s: %w", path, err))
	}
	return nil
}
