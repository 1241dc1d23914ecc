package embed

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"example.org/primaries/icc"
)

// editJPEG drops every segment of a profile in the first image and puts the
// new ones behind the segments that JFIF, Exif and XMP want first.
func (f *file) editJPEG(p *profile) ([]edit, error) {
	fresh, err := freshSegments(p)
	if err != nil {
		return nil, err
	}
	w := jpegWalk{f: f, p: p, at: 2, leading: true}
	if err := f.segments(w.visit); err != nil {
		return nil, err
	}
	if !w.framed {
		return nil, f.damaged(2, "the image has no frame, that is no pixels")
	}
	edits := append([]edit{{off: w.at, end: w.at, with: fresh}}, w.drops...)
	if w.index.off != 0 {
		change := int64(len(fresh))
		var behind int64
		for _, e := range w.drops {
			change -= e.end - e.off
			if e.off > w.index.off {
				behind -= e.end - e.off
			}
		}
		e, ok, err := f.moveImages(w.index, change, behind)
		if err != nil {
			return nil, err
		}
		if ok {
			edits = append(edits, e)
		}
	}
	// Stable, so that what is put in stands before what is dropped there.
	slices.SortStableFunc(edits, func(a, b edit) int { return cmp.Compare(a.off, b.off) })
	return edits, nil
}

// jpegWalk gathers what editJPEG needs to know of the segments.
type jpegWalk struct {
	f       *file
	p       *profile
	at      int64 // where the new segments go
	leading bool  // no segment has come yet that they must precede
	framed  bool
	drops   []edit
	index   segment // of a multi-picture file; offset 0 if there is none
}

func (w *jpegWalk) visit(s segment) (bool, error) {
	is, err := w.f.isProfile(s)
	switch {
	case err != nil:
		return false, err
	case is:
		if n := len(w.drops); n > 0 && w.drops[n-1].end == s.start {
			w.drops[n-1].end = s.end()
		} else {
			w.drops = append(w.drops, edit{off: s.start, end: s.end()})
		}
		return false, nil
	case w.leading && (s.marker == markAPP0 || s.marker == markAPP1):
		w.at = s.end()
		return false, nil
	}
	w.leading = false
	switch {
	case s.isFrame() && !w.framed:
		w.framed = true
		return false, w.f.fitJPEG(s, w.p)
	case s.marker == markSOS && !w.framed:
		return false, w.f.damaged(s.off, "a scan begins before the frame")
	case s.marker == markAPP2 && w.index.off == 0:
		is, err := w.f.begins(s, imagesMark)
		if is {
			w.index = s
		}
		return false, err
	}
	return false, nil
}

// freshSegments returns the segments to be put in, as few as hold the profile.
func freshSegments(p *profile) ([]byte, error) {
	if p == nil {
		return nil, nil
	}
	if len(p.bytes) > mostJPEG {
		return nil, fmt.Errorf("embed: the profile has %d bytes, a JPEG has room for %d: %w; give a smaller one, or save the image as PNG or TIFF", len(p.bytes), mostJPEG, icc.ErrUnsupported)
	}
	count := (len(p.bytes) + mostSegment - 1) / mostSegment
	out := make([]byte, 0, len(p.bytes)+count*(4+profileHead))
	for i, rest := 1, p.bytes; len(rest) > 0; i++ {
		part := rest[:min(len(rest), mostSegment)]
		rest = rest[len(part):]
		n := 2 + profileHead + len(part)
		out = append(out, 0xff, markAPP2, byte(n>>8), byte(n))
		out = append(out, profileMark...)
		out = append(append(out, byte(i), byte(count)), part...)
	}
	return out, nil
}

// imagesMark begins the segment that lists the images of a multi-picture file:
// a small TIFF whose entry 0xB002 holds 16 bytes an image, among them its
// length at 4 and its offset at 8. Offsets count from that TIFF's own header,
// and the first image has offset 0.
//
// Source: CIPA DC-007, multi-picture format, from memory.
const (
	imagesMark  = "MPF\x00"
	imagesEntry = 0xb002
	imageBytes  = 16
)

// moveImages returns the list s with the length of the first image changed by
// change bytes and the offsets of all others by behind, which is what has come
// or gone between the list and them. A list that is not as the standard says is
// left alone: ok is false.
func (f *file) moveImages(s segment, change, behind int64) (e edit, ok bool, err error) {
	if change == 0 && behind == 0 {
		return edit{}, false, nil
	}
	b := make([]byte, s.n-int64(len(imagesMark)))
	from := s.data() + int64(len(imagesMark))
	if err := f.read(b, from); err != nil {
		return edit{}, false, err
	}
	list, order, err := imageList(b)
	if err != nil {
		return edit{}, false, nil
	}
	for i := 0; i+imageBytes <= len(list); i += imageBytes {
		length, offset := list[i+4:], list[i+8:]
		switch at := order.Uint32(offset); {
		case i == 0 && at == 0:
			order.PutUint32(length, uint32(int64(order.Uint32(length))+change))
		case i > 0 && at != 0:
			order.PutUint32(offset, uint32(int64(at)+behind))
		}
	}
	return edit{off: from, end: from + int64(len(b)), with: b}, true, nil
}

var errList = errors.New("no list of images")

// imageList returns the part of b, a small TIFF, that lists images.
func imageList(b []byte) ([]byte, byteOrder, error) {
	order, big, ok := tiffOrder(b)
	if !ok || big || len(b) < 8 {
		return nil, nil, errList
	}
	at := int64(order.Uint32(b[4:]))
	if at < 8 || at > int64(len(b))-2 {
		return nil, nil, errList
	}
	n := int64(order.Uint16(b[at:]))
	end := at + 2 + 12*n
	if end > int64(len(b)) {
		return nil, nil, errList
	}
	for e := b[at+2 : end]; len(e) > 0; e = e[12:] {
		if order.Uint16(e) != imagesEntry {
			continue
		}
		size, from := int64(order.Uint32(e[4:])), int64(order.Uint32(e[8:]))
		apart := from >= end || from >= 8 && from+size <= at // of header and directory
		if apart && size%imageBytes == 0 && from+size <= int64(len(b)) {
			return b[from : from+size], order, nil
		}
		break
	}
	return nil, nil, errList
}
