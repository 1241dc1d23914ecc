package embed

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"testing"

	"example.org/primaries/icc"
)

// field is one entry of a TIFF that rawTIFF writes: value is the word in the
// entry, left-justified where it is one SHORT or LONG.
type field struct {
	tag, kind    uint16
	count, value uint64
}

// tiffKind is one of the four kinds of TIFF.
type tiffKind struct {
	name  string
	order byteOrder
	big   bool
}

var tiffKinds = []tiffKind{
	{"little", binary.LittleEndian, false}, {"big", binary.BigEndian, false},
	{"little, BigTIFF", binary.LittleEndian, true}, {"big, BigTIFF", binary.BigEndian, true},
}

func (k tiffKind) word(b []byte, v uint64) []byte {
	if k.big {
		return k.order.AppendUint64(b, v)
	}
	return k.order.AppendUint32(b, uint32(v))
}

func (k tiffKind) header(first uint64) []byte {
	mark, version := "MM", uint16(42)
	if k.order == byteOrder(binary.LittleEndian) {
		mark = "II"
	}
	if !k.big {
		return k.word(k.order.AppendUint16([]byte(mark), version), first)
	}
	b := k.order.AppendUint16([]byte(mark), 43)
	return k.word(k.order.AppendUint16(k.order.AppendUint16(b, 8), 0), first)
}

func (k tiffKind) directory(next uint64, fields ...field) []byte {
	var b []byte
	if k.big {
		b = k.order.AppendUint64(b, uint64(len(fields)))
	} else {
		b = k.order.AppendUint16(b, uint16(len(fields)))
	}
	for _, f := range fields {
		b = k.word(k.order.AppendUint16(k.order.AppendUint16(b, f.tag), f.kind), f.count)
		value := k.word(nil, f.value)
		switch {
		case f.kind == typeShort:
			value = make([]byte, len(value))
			k.order.PutUint16(value, uint16(f.value))
		case f.kind == typeLong && f.count == 1:
			value = make([]byte, len(value))
			k.order.PutUint32(value, uint32(f.value))
		}
		b = append(b, value...)
	}
	return k.word(b, next)
}

// file puts pages, each a directory, one behind the other; link[i] is the
// number of the page that page i points to, −1 for none.
func (k tiffKind) file(link []int, pages ...[]field) []byte {
	at := make([]uint64, len(pages))
	end := uint64(len(k.header(0)))
	for i, p := range pages {
		at[i] = end
		end += uint64(len(k.directory(0, p...)))
	}
	b := k.header(at[0])
	for i, p := range pages {
		next := uint64(0)
		if link[i] >= 0 {
			next = at[link[i]]
		}
		b = append(b, k.directory(next, p...)...)
	}
	return b
}

func short(tag uint16, v uint64) field { return field{tag, typeShort, 1, v} }

// rgbPage is a directory of an RGB image without its pixels.
var rgbPage = []field{short(256, 1), short(257, 1), short(tagPhotometric, 2), short(tagSamples, 3), {700, 1, 900, 8}}

// read returns all directories of a file by another way than the package's
// own: the entries as they are, and what the links say.
func (k tiffKind) read(t *testing.T, b []byte) (pages [][]string) {
	t.Helper()
	get := func(at uint64) uint64 {
		if k.big {
			return k.order.Uint64(b[at:])
		}
		return uint64(k.order.Uint32(b[at:]))
	}
	head, count, entry, word := uint64(4), uint64(2), uint64(12), uint64(4)
	if k.big {
		head, count, entry, word = 8, 8, 20, 8
	}
	froms := map[uint64]bool{}
	for at := get(head); at != 0; {
		if at%2 != 0 {
			t.Errorf("a directory at the odd byte %d", at)
		}
		n := uint64(k.order.Uint16(b[at:]))
		if k.big {
			n = k.order.Uint64(b[at:])
		}
		var page []string
		for i := range n {
			e := b[at+count+i*entry:]
			line := fmt.Sprintf("%d:%d:%d", k.order.Uint16(e), k.order.Uint16(e[2:]), get(at+count+i*entry+4))
			if k.order.Uint16(e) == tagProfile {
				if froms[get(at+count+i*entry+4+word)] {
					t.Error("two directories share a profile")
				}
				froms[get(at+count+i*entry+4+word)] = true
				from := get(at + count + i*entry + 4 + word)
				size := get(at + count + i*entry + 4)
				if from%2 != 0 {
					t.Errorf("a profile at the odd byte %d", from)
				}
				line += fmt.Sprintf(" %x", b[from : from+size][16:20])
			}
			page = append(page, line)
		}
		pages = append(pages, page)
		at = get(at + count + n*entry)
	}
	return pages
}

// One page of three, or all: entries are sorted, links kept, sizes even, all
// else in its place. Source: TIFF 6.0, section 2.
func TestTIFFPages(t *testing.T) {
	unsorted := []field{short(tagSamples, 3), {40000, 3, 1, 7}, short(tagPhotometric, 2), {40000, 3, 1, 8}, {700, 1, 3, 0}}
	for _, k := range tiffKinds {
		t.Run(k.name, func(t *testing.T) {
			for odd := range 4 {
				file := k.file([]int{1, 2, -1}, rgbPage, unsorted, rgbPage[:3])
				file = append(file, make([]byte, odd)...)
				p := fakeProfile("mntr", "RGB ", 201)
				page := []string{"256:3:1", "257:3:1", "262:3:1", "277:3:1", "700:1:900"}
				own := "34675:7:201 52474220" // RGB in hexadecimal
				second := []string{"277:3:1", "40000:3:1", "262:3:1", "40000:3:1", "700:1:3"}
				sorted := []string{"262:3:1", "277:3:1", "700:1:3", own, "40000:3:1", "40000:3:1"}

				one := mustInsert(t, file, p, Options{})
				want := [][]string{append(page[:5:5], own), second, page[:3]}
				if got := k.read(t, one); fmt.Sprint(got) != fmt.Sprint(want) {
					t.Errorf("first page:\n got %v\nwant %v", got, want)
				}
				all := mustInsert(t, one, p, Options{AllPages: true})
				want = [][]string{append(page[:5:5], own), sorted, append(page[:3:3], own)}
				if got := k.read(t, all); fmt.Sprint(got) != fmt.Sprint(want) {
					t.Errorf("all pages:\n got %v\nwant %v", got, want)
				}
				none := mustRemove(t, all, Options{AllPages: true})
				want = [][]string{page, append(sorted[:3:3], sorted[4:]...), page[:3]}
				if got := k.read(t, none); fmt.Sprint(got) != fmt.Sprint(want) {
					t.Errorf("removed:\n got %v\nwant %v", got, want)
				}
				head := len(k.header(0))
				for _, out := range [][]byte{one, all, none} {
					if !bytes.Equal(out[head:len(file)], file[head:]) {
						t.Error("bytes moved")
					}
				}
				if found := mustExtract(t, all); !bytes.Equal(found.Profile, p) {
					t.Error("the profile does not come back")
				}
			}
		})
	}
}

// Sources: TIFF 6.0, sections 8, 16, 18, 23. The offset is that of the directory.
func TestTIFFFit(t *testing.T) {
	for _, k := range tiffKinds {
		for _, c := range []struct {
			fields []field
			fits   []string
		}{
			{[]field{short(262, 0)}, []string{"GRAY"}},
			{[]field{short(262, 1), short(277, 2), {338, 3, 1, 0}}, []string{"GRAY"}},
			{[]field{short(262, 2), short(277, 3)}, []string{"RGB "}},
			{[]field{short(262, 3)}, []string{"RGB "}},
			{[]field{short(262, 6)}, []string{"RGB "}},
			{[]field{short(262, 5), short(277, 4)}, []string{"CMYK", "4CLR"}},
			{[]field{short(262, 5), short(277, 5), {338, 3, 1, 0}}, []string{"CMYK", "4CLR"}},
			{[]field{short(262, 5), short(277, 6)}, []string{"6CLR"}},
			{[]field{short(262, 5), {277, 4, 1, 3}}, []string{"RGB ", "Lab ", "CMY "}}, // three inks and no more is known
			{[]field{short(262, 5), short(277, 4), {338, 3, math.MaxUint32, 0}}, nil},
			{[]field{short(262, 8)}, []string{"Lab "}},
			{[]field{short(262, 9)}, []string{"Lab "}},
			{[]field{short(262, 10)}, []string{"Lab "}},
			{[]field{short(262, 32803)}, []string{"GRAY", "RGB ", "Lab ", "CMY ", "CMYK", "4CLR", "6CLR"}},
			{[]field{{262, 2, 1, 2}}, []string{"GRAY", "RGB ", "Lab ", "CMY ", "CMYK", "4CLR", "6CLR"}},
			{[]field{short(256, 9)}, []string{"GRAY", "RGB ", "Lab ", "CMY ", "CMYK", "4CLR", "6CLR"}},
		} {
			fits := 0
			for _, space := range []string{"GRAY", "RGB ", "Lab ", "CMY ", "CMYK", "4CLR", "6CLR"} {
				_, err := insert(k.file([]int{-1}, c.fields), fakeProfile("prtr", space, 140), Options{})
				if fits < len(c.fits) && c.fits[fits] == space {
					fits++
					if err != nil {
						t.Errorf("%s: %v with %s: %v", k.name, c.fields, space, err)
					}
					continue
				}
				wantFormatError(t, err, TIFF, int64(len(k.header(0))), ErrMisfit)
			}
		}
	}
}

func TestTIFFDamage(t *testing.T) {
	p := rgbProfile(t)
	for _, k := range tiffKinds {
		head := int64(len(k.header(0)))
		entry, word := int64(12), uint64(4)
		count := int64(2)
		if k.big {
			entry, word, count = 20, 8, 8
		}
		page := func(f ...field) []byte { return k.file([]int{-1}, f) }
		far := uint64(math.MaxUint32)
		if k.big {
			far = math.MaxUint64
		}
		for _, c := range []struct {
			name string
			file []byte
			off  int64
			kind error
		}{
			{"header cut", k.header(8)[:head-1], -1, io.ErrUnexpectedEOF},
			{"no directory", k.header(0), head - int64(word), nil},
			{"directory beyond the end", k.header(uint64(head)), head, io.ErrUnexpectedEOF},
			{"directory far beyond the end", k.header(far), int64(min(far, math.MaxInt64)), io.ErrUnexpectedEOF},
			{"empty directory", page(), head, nil},
			{"directory cut", page(rgbPage...)[:head+50], head, io.ErrUnexpectedEOF},
			{"type", page(field{tagProfile, 2, 4, 0}), head + count, nil},
			{"no bytes", page(field{tagProfile, 7, 0, 0}), head + count, nil},
			{"over the limit", page(short(256, 1), field{tagProfile, 7, defaultProfile + 1, 8}), head + count + entry, ErrLimit},
			{"beyond the end", page(field{tagProfile, 7, 100, far}), int64(min(far, math.MaxInt64)), io.ErrUnexpectedEOF},
			{"cut", page(field{tagProfile, 7, 100, 8}), 8, io.ErrUnexpectedEOF},
			{"two", page(field{tagProfile, 7, 1, 0}, field{tagProfile, 7, 1, 0}), head + count + entry, nil},
		} {
			t.Run(k.name+", "+c.name, func(t *testing.T) {
				_, err := extract(c.file)
				if c.off < 0 { // the header's cut part begins in it
					c.off = int64(len(c.file)) + 1 - int64(word)
					if !k.big {
						c.off = 0
					}
				}
				wantFormatError(t, err, TIFF, c.off, c.kind)
			})
		}
		for name, file := range map[string][]byte{
			"loop of one":   k.file([]int{0}, rgbPage),
			"loop of two":   k.file([]int{1, 0}, rgbPage, rgbPage),
			"loop behind":   k.file([]int{1, 2, 1}, rgbPage, rgbPage, rgbPage),
			"next is cut":   k.file([]int{1, -1}, rgbPage, rgbPage)[:head+130],
			"only profiles": page(field{tagProfile, 7, 1, 0}, field{tagProfile, 7, 1, 0}),
		} {
			out, err := insert(file, p, Options{AllPages: true})
			var e *FormatError
			if !errors.As(err, &e) || errors.Is(err, ErrLimit) || len(out) > 0 {
				t.Errorf("%s, %s: %v", k.name, name, err)
			}
			if out, err = remove(file, Options{}); err == nil || len(out) > 0 {
				t.Errorf("%s, %s: removed", k.name, name)
			}
		}
		// A damaged profile is replaced without a question.
		damaged := page(append(rgbPage, field{tagProfile, 2, far, far}, field{tagProfile, 9, 0, 0})...)
		if found := mustExtract(t, mustInsert(t, damaged, p, Options{})); !bytes.Equal(found.Profile, p) {
			t.Errorf("%s: a damaged profile is not replaced", k.name)
		}
		// Up to a word stands in the entry itself; BYTE is as good as UNDEFINED.
		for _, kind := range []uint16{1, 7} {
			value := k.word(nil, 0x31323334)
			found := mustExtract(t, page(field{tagProfile, kind, word, 0x31323334}))
			if !bytes.Equal(found.Profile, value) {
				t.Errorf("%s: %q in the entry, found %q", k.name, value, found.Profile)
			}
		}
	}
	file := tiffKinds[2].file([]int{-1}, rgbPage)
	file[4] = 4 // offsets of 4 bytes
	_, err := extract(file)
	wantFormatError(t, err, TIFF, 4, icc.ErrUnsupported)
}

// giant is a file of any size of which the first bytes are given; the rest is
// zero.
type giant []byte

func (g giant) ReadAt(b []byte, off int64) (int, error) {
	clear(b)
	if off < int64(len(g)) {
		copy(b, g[off:])
	}
	return len(b), nil
}

// What offsets of four bytes cannot reach is refused before a byte is written;
// BigTIFF goes on. Source: TIFF 6.0, section 2: offsets are LONGs.
func TestTIFFSize(t *testing.T) {
	p := rgbProfile(t)
	for _, k := range tiffKinds {
		file := giant(k.file([]int{-1}, rgbPage))
		for _, size := range []int64{math.MaxUint32 - int64(len(p)) - 20, math.MaxUint32 - 4, math.MaxUint32, math.MaxUint32 + 1, 1 << 40} {
			w := &brokenWriter{0, io.ErrShortWrite} // gigabytes need not be written
			err := Insert(w, file, size, p, Options{})
			if k.big {
				if !errors.Is(err, io.ErrShortWrite) {
					t.Errorf("%s, %d bytes: %v", k.name, size, err)
				}
				continue
			}
			if !errors.Is(err, icc.ErrUnsupported) {
				t.Errorf("%s, %d bytes: %v", k.name, size, err)
			}
		}
		if err := Insert(&brokenWriter{0, io.ErrShortWrite}, file, math.MaxUint32-int64(len(p))-100, p, Options{}); !errors.Is(err, io.ErrShortWrite) {
			t.Errorf("%s: a file that fits is refused: %v", k.name, err)
		}
	}
}

// A directory that is full takes no profile.
func TestTIFFFullDirectory(t *testing.T) {
	fields := make([]field, mostEntries)
	for i := range fields {
		fields[i] = short(uint16(i), 1)
	}
	fields[tagPhotometric].value = 2
	for _, k := range tiffKinds {
		full := k.file([]int{-1}, fields)
		if found, err := extract(k.file([]int{-1}, fields[:tagProfile])); err != nil || found.Profile != nil {
			t.Errorf("%s: %v", k.name, err)
		}
		if found := mustExtract(t, mustInsert(t, full, rgbProfile(t), Options{})); found.Profile == nil {
			t.Errorf("%s: entry %d is not replaced", k.name, tagProfile)
		}
		fields[tagProfile].tag = math.MaxUint16
		_, err := insert(k.file([]int{-1}, fields), rgbProfile(t), Options{})
		wantFormatError(t, err, TIFF, int64(len(k.header(0))), icc.ErrUnsupported)
		fields[tagProfile].tag = tagProfile
	}
}
