package main

import (
	"bytes"
	"encoding/binary"
	"image"
)

// orientation returns how a file says that its pixels are to be turned, 1 to 8 as Exif
// counts, 1 where it says nothing that is understood.
//
// Sources: CIPA DC-008 (Exif), tag 274, which is TIFF 6.0's; the places are JPEG's APP1
// (DC-008), PNG's eXIf (PNG 3rd edition, 11.3.4.6) and a TIFF's own first directory.
func orientation(b []byte) int {
	switch {
	case bytes.HasPrefix(b, []byte("II*\x00")), bytes.HasPrefix(b, []byte("MM\x00*")):
		return tiffOrientation(b)
	case bytes.HasPrefix(b, []byte("\x89PNG")):
		for b = b[min(8, len(b)):]; len(b) >= 12; {
			n := int64(binary.BigEndian.Uint32(b))
			if n > int64(len(b)-12) {
				break
			}
			if string(b[4:8]) == "eXIf" {
				return tiffOrientation(b[8 : 8+n])
			}
			b = b[12+n:]
		}
	case bytes.HasPrefix(b, []byte{0xff, 0xd8}):
		for b = b[2:]; len(b) >= 4 && b[0] == 0xff && b[1] != 0xda; { // up to the scan
			if b[1] == 0xff { // fill
				b = b[1:]
				continue
			}
			n := int(binary.BigEndian.Uint16(b[2:]))
			if n < 2 || n > len(b)-2 {
				break
			}
			if exif, ok := bytes.CutPrefix(b[4:2+n], []byte("Exif\x00\x00")); ok && b[1] == 0xe1 {
				return tiffOrientation(exif)
			}
			b = b[2+n:]
		}
	}
	return 1
}

// tiffOrientation looks into the first directory of a TIFF structure.
func tiffOrientation(b []byte) int {
	if len(b) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.LittleEndian
	if b[0] == 'M' {
		order = binary.BigEndian
	}
	at := uint64(order.Uint32(b[4:]))
	if at+2 > uint64(len(b)) {
		return 1
	}
	entries := b[at+2:]
	for n := order.Uint16(b[at:]); n > 0 && len(entries) >= 12; n-- {
		const tag, short = 274, 3
		if order.Uint16(entries) == tag && order.Uint16(entries[2:]) == short {
			if v := order.Uint16(entries[8:]); v >= 1 && v <= 8 {
				return int(v)
			}
		}
		entries = entries[12:]
	}
	return 1
}

// upright returns a picture turned as an orientation says. The pixel at x, y of the
// result is the one of the picture's that Exif calls by the orientation's two sides:
// 6, for one, has the first row on the right and the first column on top.
func upright(m image.Image, orientation int) image.Image {
	if orientation == 1 {
		return m
	}
	from := samplesOf(m)
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	if orientation > 4 {
		w, h = h, w
	}
	out := like(m, w, h)
	to := samplesOf(out)
	for y := range h {
		for x := range w {
			u, v := x, y
			if orientation > 4 {
				u, v = y, x
			}
			// Where the first row is at the bottom or, turned, on the right, and where
			// the first column is on the right or, turned, at the bottom.
			if right := orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8; right {
				u = from.width - 1 - u
			}
			if bottom := orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7; bottom {
				v = from.height - 1 - v
			}
			copy(to.pixel(x, y), from.pixel(u, v))
		}
	}
	return out
}
