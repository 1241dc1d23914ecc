package pictures

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"io"

	"golang.org/x/image/tiff"
)

// Limits bound what Decode accepts. The zero value is the default.
type Limits struct {
	Bytes  int64 // of the file; 0 means 512 MiB
	Pixels int   // width × height; 0 means 150 million, about 1.2 GB at 16 bits with alpha
}

// Picture is a decoded image.
type Picture struct {
	Name  string // as patches are named by
	Image image.Image
	// HasProfile says that the file carried an ICC profile: its numbers are not
	// sRGB unless that profile says so.
	HasProfile bool
}

// ErrFormat is wrapped where a file is none of the formats that Decode reads.
var ErrFormat = errors.New("it is no PNG, JPEG or TIFF")

// format is one kind of file.
type format struct {
	name    string
	magic   []string
	config  func(io.Reader) (image.Config, error)
	decode  func(io.Reader) (image.Image, error)
	profile func([]byte) bool
}

func formats() []format {
	return []format{
		{"PNG", []string{"\x89PNG\r\n\x1a\n"}, png.DecodeConfig, png.Decode, profileInPNG},
		{"JPEG", []string{"\xff\xd8"}, jpeg.DecodeConfig, jpeg.Decode, profileInJPEG},
		{"TIFF", []string{"II*\x00", "MM\x00*"}, tiff.DecodeConfig, tiff.Decode, profileInTIFF},
	}
}

// Decode reads a PNG, JPEG or TIFF of 8 or 16 bits a channel. name stands in
// errors and patches. The size is checked before a pixel is decoded. The error
// says what is wrong and what to do; it wraps ErrFormat for other kinds of file.
func Decode(r io.Reader, name string, l Limits) (Picture, error) {
	if l.Bytes == 0 {
		l.Bytes = 512 << 20
	}
	if l.Pixels == 0 {
		l.Pixels = 150e6
	}
	b, err := io.ReadAll(io.LimitReader(r, l.Bytes+1))
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
	c, err := f.config(bytes.NewReader(b))
	if err != nil {
		return Picture{}, fmt.Errorf("pictures: %s: damaged %s: %w; save it anew", name, f.name, err)
	}
	if c.Width <= 0 || c.Height <= 0 || int64(c.Width) > int64(l.Pixels)/int64(c.Height) {
		return Picture{}, fmt.Errorf("pictures: %s: %d × %d pixels, at most %d are read; make it smaller", name, c.Width, c.Height, l.Pixels)
	}
	m, err := f.decode(bytes.NewReader(b))
	if err != nil {
		return Picture{}, fmt.Errorf("pictures: %s: damaged %s: %w; save it anew", name, f.name, err)
	}
	return Picture{Name: name, Image: m, HasProfile: f.profile(b)}, nil
}

// profileInPNG reports whether a PNG has an iCCP chunk before its pixels.
//
// Source: PNG (ISO/IEC 15948), 5.3 chunk layout, 11.3.3.3 iCCP.
func profileInPNG(b []byte) bool {
	for b = b[8:]; len(b) >= 12; {
		size, kind := binary.BigEndian.Uint32(b), string(b[4:8])
		switch {
		case kind == "iCCP":
			return true
		case kind == "IDAT", uint64(size) > uint64(len(b)-12):
			return false
		}
		b = b[12+size:]
	}
	return false
}

// profileInJPEG reports whether a JPEG has an APP2 segment that begins as ICC.1
// says, before its scan.
//
// Source: ICC.1:2022, annex B.4; ISO/IEC 10918-1, B.1.1.
func profileInJPEG(b []byte) bool {
	for b = b[2:]; len(b) >= 4 && b[0] == 0xff; {
		marker := b[1]
		if marker == 0xff { // fill byte
			b = b[1:]
			continue
		}
		size := int(binary.BigEndian.Uint16(b[2:]))
		switch {
		case marker == 0xda, size < 2, size > len(b)-2:
			return false
		case marker == 0xe2 && bytes.HasPrefix(b[4:2+size], []byte("ICC_PROFILE\x00")):
			return true
		}
		b = b[2+size:]
	}
	return false
}

// profileInTIFF reports whether the first directory of a TIFF has tag 34675.
//
// Source: TIFF 6.0, section 2; ICC.1:2022, annex B.3.
func profileInTIFF(b []byte) bool {
	var order binary.ByteOrder = binary.LittleEndian
	if b[0] == 'M' {
		order = binary.BigEndian
	}
	if len(b) < 8 {
		return false
	}
	at := uint64(order.Uint32(b[4:]))
	if at+2 > uint64(len(b)) {
		return false
	}
	n := uint64(order.Uint16(b[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > uint64(len(b)) {
			return false
		}
		if order.Uint16(b[e:]) == 34675 {
			return true
		}
	}
	return false
}
