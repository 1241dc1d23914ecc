package embed

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"example.org/primaries/icc"
)

// Source of this file: ISO/IEC 10918-1 (ITU-T T.81), B.1.1 markers and
// segments, B.2 sequential, progressive and lossless images, table B.1 for the
// codes; ICC.1:2022, annex B, for profiles in APP2.

// Codes of markers, and 'ICC_PROFILE', which tells a segment of a profile.
const (
	markTEM  = 0x01
	markSOF0 = 0xc0
	markDHT  = 0xc4
	markJPG  = 0xc8
	markDAC  = 0xcc
	markRST0 = 0xd0
	markRST7 = 0xd7
	markSOI  = 0xd8
	markEOI  = 0xd9
	markSOS  = 0xda
	markAPP0 = 0xe0
	markAPP1 = 0xe1
	markAPP2 = 0xe2

	profileMark = "ICC_PROFILE\x00"
	profileHead = len(profileMark) + 2        // with number and count
	mostSegment = 1<<16 - 1 - 2 - profileHead // 65519 bytes of profile
	mostJPEG    = mostSegment * mostPieces    // 16,707,345 bytes
	mostPieces  = 255
)

// segment is a marker with its parameters.
type segment struct {
	start  int64 // of the fill bytes, which belong to the marker behind them
	off    int64 // of the 0xFF right before its code
	marker byte
	n      int64 // length of the parameters without the length field; 0 with EOI
}

func (s segment) data() int64 { return s.off + 4 }

func (s segment) end() int64 {
	if s.marker == markEOI {
		return s.off + 2
	}
	return s.data() + s.n
}

// isFrame tells the headers of a frame, SOF0 to SOF15, by their code.
func (s segment) isFrame() bool {
	return s.marker >= markSOF0 && s.marker < markRST0 && s.marker != markDHT && s.marker != markJPG && s.marker != markDAC
}

// segments calls visit for each marker segment of the first image, SOI left
// out and EOI included, until visit has seen enough. An image without EOI ends
// with the file if a scan has begun.
func (f *file) segments(visit func(segment) (enough bool, err error)) error {
	scanned := false
	for off := int64(2); ; {
		s, ok, err := f.segment(off)
		switch {
		case err != nil:
			return err
		case !ok && scanned:
			return nil
		case !ok:
			return f.need(f.size, 2)
		case s.marker == markSOI:
			return f.damaged(s.off, "a second image begins inside the first")
		}
		enough, err := visit(s)
		if err != nil || enough || s.marker == markEOI {
			return err
		}
		scanned = scanned || s.marker == markSOS
		off = s.end()
	}
}

// segment returns the first marker segment at or after off; there is none if
// ok is false. What stands between segments is passed over: fill bytes,
// entropy-coded data with its stuffed zeros and restart markers, and stray
// bytes, which common readers pass over too.
func (f *file) segment(off int64) (s segment, ok bool, err error) {
	start := int64(-1) // of the run of fill bytes that ends at off
	for off < f.size-1 {
		b, err := f.at(off, int(min(f.size-off, windowSize/2)))
		if err != nil {
			return s, false, err
		}
		i := bytes.IndexByte(b, 0xff)
		if i < 0 {
			i = len(b)
		}
		if i > 0 {
			off, start = off+int64(i), -1
			continue
		}
		if start < 0 {
			start = off
		}
		switch c := b[1]; {
		case c == 0xff:
			off++
		case c == 0 || c == markTEM || c >= markRST0 && c <= markRST7:
			off, start = off+2, -1
		default:
			s, err = f.parameters(off, c)
			s.start = start
			return s, err == nil, err
		}
	}
	return s, false, nil
}

// parameters returns the segment of marker c at off.
func (f *file) parameters(off int64, c byte) (segment, error) {
	if c == markEOI || c == markSOI {
		return segment{off: off, marker: c}, nil
	}
	b, err := f.at(off, 4)
	if err != nil {
		return segment{}, err
	}
	n := int64(binary.BigEndian.Uint16(b[2:]))
	if n < 2 {
		return segment{}, f.damaged(off, "the segment of marker %#02x states %d bytes; its length field alone takes 2", c, n)
	}
	return segment{off: off, marker: c, n: n - 2}, f.need(off, 2+n)
}

// begins reports whether the parameters of s begin with mark.
func (f *file) begins(s segment, mark string) (bool, error) {
	if s.n < int64(len(mark)) {
		return false, nil
	}
	b, err := f.at(s.data(), len(mark))
	return string(b) == mark, err
}

// isProfile reports whether s holds a piece of a profile.
func (f *file) isProfile(s segment) (bool, error) {
	if s.marker != markAPP2 {
		return false, nil
	}
	return f.begins(s, profileMark)
}

// pieces collects the segments of a profile, which may come in any order.
type pieces struct {
	at    [mostPieces + 1]segment // by number; none has offset 0
	count int                     // how many there should be, 0 before the first
	found int
	bytes int64
	first int64 // offset of the first to be found
}

// add reads number and count of a segment.
func (p *pieces) add(f *file, s segment) error {
	if s.n < int64(profileHead) {
		return f.damaged(s.off, "a segment of the profile lacks its number")
	}
	b, err := f.at(s.data()+int64(len(profileMark)), 2)
	if err != nil {
		return err
	}
	number, count := int(b[0]), int(b[1])
	switch {
	case number == 0 || number > count:
		return f.damaged(s.off, "segment %d of %d of the profile; they count from 1", number, count)
	case p.count != 0 && count != p.count:
		return f.damaged(s.off, "a segment says that the profile has %d, an earlier one %d", count, p.count)
	case p.at[number].off != 0:
		return f.damaged(s.off, "segment %d of the profile is there twice", number)
	}
	if p.count == 0 {
		p.first = s.off
	}
	p.count, p.at[number] = count, s
	p.found++
	p.bytes += s.n - int64(profileHead)
	return nil
}

func (p *pieces) complete() bool { return p.found == p.count }

// join returns the profile, nil if there is none.
func (p *pieces) join(f *file, limit int64) ([]byte, error) {
	if p.count == 0 {
		return nil, nil
	}
	for i, s := range p.at[1 : p.count+1] {
		if s.off == 0 {
			return nil, f.damaged(p.first, "segment %d of the profile's %d is missing", i+1, p.count)
		}
	}
	switch {
	case p.bytes == 0:
		return nil, f.damaged(p.first, "the profile has no bytes")
	case p.bytes > limit:
		return nil, f.fail(p.first, ErrLimit, fmt.Sprintf("the profile has %d bytes, more than %d", p.bytes, limit), "raise Limits.Profile if you trust the file")
	}
	out := make([]byte, p.bytes)
	rest := out
	for _, s := range p.at[1 : p.count+1] {
		n := s.n - int64(profileHead)
		if err := f.read(rest[:n], s.data()+int64(profileHead)); err != nil {
			return nil, err
		}
		rest = rest[n:]
	}
	return out, nil
}

func (f *file) extractJPEG(limit int64) (Found, error) {
	var p pieces
	err := f.segments(func(s segment) (bool, error) {
		if s.marker == markSOS && p.complete() {
			return true, nil
		}
		is, err := f.isProfile(s)
		if err != nil || !is {
			return false, err
		}
		return false, p.add(f, s)
	})
	if err != nil {
		return Found{}, err
	}
	b, err := p.join(f, limit)
	return Found{Profile: b}, err
}

// fitJPEG checks the profile against the number of components that the header
// of a frame states: gray has 1, RGB (stored as such or as YCbCr) and Lab 3,
// CMYK (stored as such or as YCCK) 4.
//
// Source: ISO/IEC 10918-1, B.2.2: Nf is the sixth byte of the parameters.
func (f *file) fitJPEG(s segment, p *profile) error {
	if s.n < 6 {
		return f.damaged(s.off, "the header of the frame is too short")
	}
	b, err := f.at(s.data()+5, 1)
	if err != nil || p == nil || icc.Channels(p.space) == int(b[0]) {
		return err
	}
	return f.misfit(s.off, p, fmt.Sprintf("one of %d components", b[0]), componentsName(int(b[0])))
}

func componentsName(n int) string {
	switch n {
	case icc.Channels(icc.SpaceGray):
		return "gray"
	case icc.Channels(icc.SpaceRGB):
		return "RGB"
	case icc.Channels(icc.SpaceCMYK):
		return "CMYK"
	}
	return fmt.Sprintf("%d channels", n)
}
