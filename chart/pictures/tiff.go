package pictures

import (
	"encoding/binary"
	"errors"
	"image"
)

// Tags of a TIFF directory that are looked at here. Source: TIFF 6.0, part 1
// and sections 8 and 15; for the profile ICC.1:2022, annex B.3.
const (
	tagHeight      = 257
	tagStripRows   = 278
	tagStripCounts = 279
	tagTileWidth   = 322
	tagTileLength  = 323
	tagTileCounts  = 325
	tagBaselineEnd = 532 // the last tag of TIFF 6.0 that describes pixels
)

// field is one entry of a directory.
type field struct {
	tag, kind uint16
	count     uint32
	data      []byte // its values; nil where they lie outside the file
	order     binary.ByteOrder
}

// value returns value i of a field of BYTE, SHORT or LONG, 0 where there is
// none.
func (f field) value(i int) int64 {
	switch {
	case f.kind == 1 && i < len(f.data):
		return int64(f.data[i])
	case f.kind == 3 && 2*i+2 <= len(f.data):
		return int64(f.order.Uint16(f.data[2*i:]))
	case f.kind == 4 && 4*i+4 <= len(f.data):
		return int64(f.order.Uint32(f.data[4*i:]))
	}
	return 0
}

// set puts v into value 0 of a field of SHORT or LONG, where it has room because
// the present value is above it.
func (f field) set(v int64) {
	switch {
	case f.kind == 3 && len(f.data) >= 2:
		f.order.PutUint16(f.data, uint16(v))
	case f.kind == 4 && len(f.data) >= 4:
		f.order.PutUint32(f.data, uint32(v))
	}
}

// directory returns the entries of a TIFF's first directory, those before the
// end of the file if it is cut.
func directory(b []byte) []field {
	if len(b) < 8 {
		return nil
	}
	var order binary.ByteOrder = binary.LittleEndian
	if b[0] == 'M' {
		order = binary.BigEndian
	}
	at := uint64(order.Uint32(b[4:]))
	if at+2 > uint64(len(b)) {
		return nil
	}
	var out []field
	entries := b[at+2:]
	for n := order.Uint16(b[at:]); n > 0 && len(entries) >= 12; n-- {
		e := entries[:12]
		entries = entries[12:]
		f := field{tag: order.Uint16(e), kind: order.Uint16(e[2:]), count: order.Uint32(e[4:]), data: e[8:12], order: order}
		size := uint64(f.count) * map[uint16]uint64{1: 1, 3: 2, 4: 4}[f.kind]
		if size > 4 {
			from := uint64(order.Uint32(e[8:]))
			f.data = nil
			if from+size <= uint64(len(b)) {
				f.data = b[from : from+size]
			}
		}
		out = append(out, f)
	}
	return out
}

// boundTIFF refuses directories that would take far more memory than the file:
// the decoder keeps each value of those that it knows in a word of its own, and
// entries may share their bytes.
//
// In b it cuts the rows of a strip to the height, which says the same: writers
// state the largest number there for a single strip, and the decoder would let
// a strip unpack to as many rows. Everything is read again afterwards, so that
// a directory whose entries overlap gains nothing by it.
func boundTIFF(b []byte) error {
	const most = 4 << 20 // strips of one row, or tiles of 16 × 16, of 150 megapixels need less
	var values uint64
	var height int64
	var rows field
	for _, f := range directory(b) {
		if f.tag <= tagBaselineEnd && (f.kind == 1 || f.kind == 3 || f.kind == 4) {
			values += uint64(f.count)
		}
		switch f.tag {
		case tagHeight:
			height = f.value(0)
		case tagStripRows:
			rows = f
		}
	}
	if values > most {
		return errors.New("its directory holds more than four million values")
	}
	if rows.value(0) > height {
		rows.set(height)
	}
	return nil
}

// fitTIFF refuses files whose decoding would unpack or copy far more than the
// image and the file hold.
func fitTIFF(b []byte, c image.Config, l Limits) error {
	var tileW, tileH, packed int64
	for _, f := range directory(b) {
		switch f.tag {
		case tagStripRows:
			if f.value(0) > int64(c.Height) {
				return errors.New("its strips reach beyond the image")
			}
		case tagTileWidth:
			tileW = f.value(0)
		case tagTileLength:
			tileH = f.value(0)
		case tagStripCounts, tagTileCounts:
			for i := range min(int64(f.count), int64(len(f.data))) {
				packed += f.value(int(i))
			}
		}
	}
	// Equal tiles may share their bytes, but not without end.
	if packed > 16*int64(len(b)) {
		return errors.New("its parts together are far longer than the file")
	}
	if tileW == 0 || tileH == 0 {
		return nil
	}
	w := (int64(c.Width) + tileW - 1) / tileW * tileW
	h := (int64(c.Height) + tileH - 1) / tileH * tileH
	// Small images may stand in one tile of the usual 256 or 512 a side.
	if w > max(2*int64(l.Pixels), 1<<20)/h {
		return errors.New("its tiles reach far beyond the image")
	}
	return nil
}
