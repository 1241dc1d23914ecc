package main

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"image"
	"io"
	"math"
)

// x/image writes no CMYK, and gives opacity to every RGB picture.

// Fields of a TIFF's directory, in their order, and values of theirs. Source: TIFF 6.0;
// for Deflate the technical notes of 2002-03-22 (from memory).
const (
	tagWidth           = 256
	tagHeight          = 257
	tagBits            = 258
	tagCompression     = 259
	tagMeaning         = 262 // PhotometricInterpretation
	tagStripOffsets    = 273
	tagSamples         = 277
	tagRowsPerStrip    = 278
	tagStripByteCounts = 279
	tagPredictor       = 317
	tagExtraSamples    = 338

	deflate      = 8
	differences  = 2 // predictor: each sample less the one before
	straight     = 2 // extra sample: opacity, colours not multiplied by it
	meansGray    = 1
	meansRGB     = 2
	meansInks    = 5
	typeShort    = 3
	typeLong     = 4
	stripSamples = 1 << 16
)

// writeTIFF writes a picture as a TIFF of one page, its strips packed by Deflate.
func writeTIFF(w io.Writer, m image.Image, _ int) error {
	s := samplesOf(m)
	if s.width == 0 || s.height == 0 {
		return errors.New("a picture without pixels")
	}
	wide, channels, meaning := false, s.size, meansGray
	switch m.(type) {
	case *image.Gray16, *image.RGBA64, *image.NRGBA64:
		wide, channels = true, s.size/2
	}
	solid := opaque(m)
	keep := channels
	switch {
	case channels == 4 && isCMYK(m):
		meaning = meansInks
	case channels == 4:
		meaning = meansRGB
		if solid {
			keep = 3
		}
	}
	var out bytes.Buffer
	out.WriteString("MM\x00*\x00\x00\x00\x00")
	rows := max(1, stripSamples/(s.width*keep))
	var offsets, counts []uint32
	line := make([]uint16, s.width*keep)
	divide := !solid && isMultiplied(m)
	for y := 0; y < s.height; y += rows {
		offsets = append(offsets, uint32(out.Len()))
		z, err := zlib.NewWriterLevel(&out, zlib.BestSpeed) // of differences, others save little
		if err != nil {
			return err
		}
		for v := y; v < min(y+rows, s.height); v++ {
			unpack(line, s.row(v), wide, channels, keep)
			if divide {
				divideOut(line, wide)
			}
			if _, err := z.Write(packed(line, wide, keep)); err != nil {
				return err
			}
		}
		if err := z.Close(); err != nil {
			return err
		}
		if out.Len() > math.MaxInt32 {
			return errors.New("the picture is larger than a TIFF is here; write it as PNG")
		}
		counts = append(counts, uint32(out.Len())-offsets[len(offsets)-1])
	}
	bits := uint32(8)
	if wide {
		bits = 16
	}
	fields := []field{
		{tagWidth, typeLong, []uint32{uint32(s.width)}}, {tagHeight, typeLong, []uint32{uint32(s.height)}},
		{tagBits, typeShort, []uint32{bits, bits, bits, bits}[:keep]}, {tagCompression, typeShort, []uint32{deflate}},
		{tagMeaning, typeShort, []uint32{uint32(meaning)}}, {tagStripOffsets, typeLong, offsets},
		{tagSamples, typeShort, []uint32{uint32(keep)}}, {tagRowsPerStrip, typeLong, []uint32{uint32(rows)}},
		{tagStripByteCounts, typeLong, counts}, {tagPredictor, typeShort, []uint32{differences}},
	}
	if meaning == meansRGB && keep == 4 {
		fields = append(fields, field{tagExtraSamples, typeShort, []uint32{straight}})
	}
	directory(&out, fields)
	_, err := out.WriteTo(w)
	return err
}

func isCMYK(m image.Image) bool {
	_, ok := m.(*image.CMYK)
	return ok
}

func isMultiplied(m image.Image) bool {
	switch m.(type) {
	case *image.RGBA, *image.RGBA64:
		return true
	}
	return false
}

// unpack reads the first channels of each pixel.
func unpack(line []uint16, row []uint8, wide bool, channels, keep int) {
	at := 0
	for i := range len(line) / keep {
		for c := range keep {
			if v := i*channels + c; wide {
				line[at] = binary.BigEndian.Uint16(row[2*v:])
			} else {
				line[at] = uint16(row[v])
			}
			at++
		}
	}
}

// divideOut takes opacity out of the colours.
func divideOut(line []uint16, wide bool) {
	top := uint32(255)
	if wide {
		top = 65535
	}
	for i := 0; i < len(line); i += 4 {
		if a := uint32(line[i+3]); a > 0 {
			for c := range 3 {
				line[i+c] = uint16(min((uint32(line[i+c])*top+a/2)/a, top))
			}
		}
	}
}

// packed returns the bytes of a row of differences.
func packed(line []uint16, wide bool, keep int) []uint8 {
	for i := len(line) - 1; i >= keep; i-- {
		line[i] -= line[i-keep]
	}
	var out []uint8
	for _, v := range line {
		if wide {
			out = append(out, uint8(v>>8))
		}
		out = append(out, uint8(v))
	}
	return out
}

// field is an entry of a directory.
type field struct {
	tag, kind uint16
	values    []uint32
}

// directory appends a directory, and points the header to it.
func directory(out *bytes.Buffer, fields []field) {
	be := binary.BigEndian
	entries := be.AppendUint16(nil, uint16(len(fields)))
	for _, f := range fields {
		var values []uint8
		for _, v := range f.values {
			if f.kind == typeShort {
				values = be.AppendUint16(values, uint16(v))
			} else {
				values = be.AppendUint32(values, v)
			}
		}
		if len(values) > 4 {
			if out.Len()%2 == 1 {
				out.WriteByte(0)
			}
			at := out.Len()
			out.Write(values)
			values = be.AppendUint32(nil, uint32(at))
		}
		entries = be.AppendUint32(be.AppendUint16(be.AppendUint16(entries, f.tag), f.kind), uint32(len(f.values)))
		entries = append(append(entries, values...), make([]uint8, 4-len(values))...)
	}
	if out.Len()%2 == 1 {
		out.WriteByte(0)
	}
	be.PutUint32(out.Bytes()[4:], uint32(out.Len()))
	out.Write(append(entries, 0, 0, 0, 0))
}
