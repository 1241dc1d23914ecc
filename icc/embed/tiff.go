package embed

import (
	"encoding/binary"
	"fmt"
	"math"

	"example.org/primaries/icc"
)

// Source of this file: TIFF 6.0, section 2 (header, directories, types) and
// section 8 for the fields; ICC.1:2022, annex B, for tag 34675; BigTIFF as
// libtiff reads and writes it, from memory.

// Tags and types of the fields that are looked at.
const (
	tagPhotometric = 262
	tagSamples     = 277
	tagExtra       = 338
	tagProfile     = 34675

	typeByte      = 1
	typeShort     = 3
	typeLong      = 4
	typeUndefined = 7

	// A directory can hold each tag once.
	mostEntries = math.MaxUint16
	// A million pages of twenty entries.
	mostDirectories = 256 << 20
)

type byteOrder interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// tiffOrder reads the first four bytes of a TIFF or BigTIFF.
func tiffOrder(b []byte) (order byteOrder, big, ok bool) {
	if len(b) < 4 {
		return nil, false, false
	}
	switch string(b[:4]) {
	case "II*\x00":
		return binary.LittleEndian, false, true
	case "MM\x00*":
		return binary.BigEndian, false, true
	case "II+\x00":
		return binary.LittleEndian, true, true
	case "MM\x00+":
		return binary.BigEndian, true, true
	}
	return nil, false, false
}

// tiffFile reads the directories of a file. Counts and offsets are words of four
// bytes, in BigTIFF of eight.
type tiffFile struct {
	f     *file
	order byteOrder
	big   bool
	first int64 // offset of the first directory
}

func openTIFF(f *file) (*tiffFile, error) {
	b, err := f.at(0, 8)
	if err != nil {
		return nil, err
	}
	t := &tiffFile{f: f}
	t.order, t.big, _ = tiffOrder(b) // known since open
	if t.big {
		if n, zero := t.order.Uint16(b[4:]), t.order.Uint16(b[6:]); n != 8 || zero != 0 {
			return nil, f.fail(4, icc.ErrUnsupported, fmt.Sprintf("a BigTIFF with offsets of %d bytes; 8 are defined", n), saveAnew)
		}
	} else if f.size > math.MaxUint32 {
		return nil, f.fail(0, icc.ErrUnsupported, fmt.Sprintf("%d bytes, more than the offsets of a TIFF can reach", f.size), "save it as BigTIFF")
	}
	t.first, err = t.offsetAt(t.pointer())
	if err == nil && t.first == 0 {
		err = f.damaged(t.pointer(), "there is no directory, that is no image")
	}
	return t, err
}

// pointer is where the header has the offset of the first directory.
func (t *tiffFile) pointer() int64 {
	if t.big {
		return 8
	}
	return 4
}

// Sizes in bytes of a word, of a directory's count and of one of its entries.
func (t *tiffFile) word() int64 {
	if t.big {
		return 8
	}
	return 4
}

func (t *tiffFile) countSize() int64 {
	if t.big {
		return 8
	}
	return 2
}

func (t *tiffFile) entrySize() int64 { return 4 + 2*t.word() }

// get reads a word; what no int64 holds comes out as its largest, which is
// beyond every file.
func (t *tiffFile) get(b []byte) int64 {
	if t.big {
		return int64(min(t.order.Uint64(b), math.MaxInt64))
	}
	return int64(t.order.Uint32(b))
}

func (t *tiffFile) appendWord(b []byte, v int64) []byte {
	if t.big {
		return t.order.AppendUint64(b, uint64(v))
	}
	return t.order.AppendUint32(b, uint32(v))
}

func (t *tiffFile) offsetAt(off int64) (int64, error) {
	b, err := t.f.at(off, int(t.word()))
	if err != nil {
		return 0, err
	}
	return t.get(b), nil
}

// place is where a directory lies.
type place struct {
	off, entries int64 // of its count and of its first entry
	n            int64 // entries
}

func (t *tiffFile) size(p place) int64 { return t.countSize() + p.n*t.entrySize() + t.word() }

// place reads the count of the directory at off and checks that it is whole.
func (t *tiffFile) place(off int64) (place, error) {
	b, err := t.f.at(off, int(t.countSize()))
	if err != nil {
		return place{}, err
	}
	p := place{off: off, entries: off + t.countSize()}
	if t.big {
		p.n = t.get(b)
	} else {
		p.n = int64(t.order.Uint16(b))
	}
	if p.n == 0 || p.n > mostEntries {
		return place{}, t.f.damaged(off, "a directory of %d entries; 1 to %d are possible", p.n, mostEntries)
	}
	return p, t.f.need(off, t.size(p))
}

// chain returns the places of all directories in the chain. Together they are
// no longer than the file, so that following them takes no more than its
// length, whatever they overlap and wherever their chain comes back to.
func (t *tiffFile) chain() ([]place, error) {
	var out []place
	var sum int64
	for off := t.first; off != 0; {
		p, err := t.place(off)
		if err != nil {
			return nil, err
		}
		switch sum += t.size(p); {
		case sum > t.f.size:
			return nil, t.f.damaged(off, "the directories overlap, or their chain comes back to an earlier one")
		case sum > mostDirectories:
			return nil, t.f.fail(off, ErrLimit, fmt.Sprintf("the directories have more than %d bytes", mostDirectories), "split the file")
		}
		out = append(out, p)
		if off, err = t.offsetAt(off + t.size(p) - t.word()); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// entry is one entry of a directory, as it is stored.
type entry []byte

func (t *tiffFile) tag(e entry) uint16  { return t.order.Uint16(e) }
func (t *tiffFile) kind(e entry) uint16 { return t.order.Uint16(e[2:]) }
func (t *tiffFile) count(e entry) int64 { return t.get(e[4:]) }

// value returns the first value of a field of SHORT or LONG that fits its
// entry, 0 of any other.
func (t *tiffFile) value(e entry) int64 {
	b := e[4+t.word():]
	switch kind := t.kind(e); {
	case t.count(e) < 1:
	case kind == typeShort && t.count(e) <= t.word()/2:
		return int64(t.order.Uint16(b))
	case kind == typeLong && t.count(e) <= t.word()/4:
		return int64(t.order.Uint32(b))
	}
	return 0
}

// entries returns the entries of a directory.
func (t *tiffFile) entries(p place) ([]entry, error) {
	b := make([]byte, p.n*t.entrySize())
	if err := t.f.read(b, p.entries); err != nil {
		return nil, err
	}
	out := make([]entry, p.n)
	for i := range out {
		out[i], b = b[:t.entrySize()], b[t.entrySize():]
	}
	return out, nil
}

func (f *file) extractTIFF(limit int64) (Found, error) {
	t, err := openTIFF(f)
	if err != nil {
		return Found{}, err
	}
	p, err := t.place(t.first)
	if err != nil {
		return Found{}, err
	}
	entries, err := t.entries(p)
	if err != nil {
		return Found{}, err
	}
	var found Found
	for i, e := range entries {
		if t.tag(e) != tagProfile {
			continue
		}
		off := p.entries + int64(i)*t.entrySize()
		if found.Profile != nil {
			return Found{}, f.fail(off, nil, "a second profile in one directory", saveAnew)
		}
		if found.Profile, err = t.profile(e, off, limit); err != nil {
			return Found{}, err
		}
	}
	return found, nil
}

// profile returns the bytes of the profile that entry e at off names. Annex B
// wants them UNDEFINED; BYTE says the same.
func (t *tiffFile) profile(e entry, off, limit int64) ([]byte, error) {
	n, kind := t.count(e), t.kind(e)
	switch {
	case kind != typeUndefined && kind != typeByte:
		return nil, t.f.fail(off, nil, fmt.Sprintf("the profile is of type %d; it is 7, UNDEFINED", kind), saveAnew)
	case n == 0:
		return nil, t.f.damaged(off, "the profile has no bytes")
	case n > limit:
		return nil, t.f.fail(off, ErrLimit, fmt.Sprintf("the profile has %d bytes, more than %d", n, limit), "raise Limits.Profile if you trust the file")
	}
	from := off + 4 + t.word()
	if n > t.word() {
		from = t.get(e[4+t.word():])
	}
	if err := t.f.need(from, n); err != nil {
		return nil, err
	}
	out := make([]byte, n)
	return out, t.f.read(out, from)
}
