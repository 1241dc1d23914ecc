package embed

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/icc"
)

// seg returns a marker segment.
func seg(marker byte, data string) string {
	n := len(data) + 2
	return string([]byte{0xff, marker, byte(n >> 8), byte(n)}) + data
}

// Parts of JPEGs that no decoder sees: a frame of n components, and a scan with
// stuffed zeros, TEM and restart markers, which have no length
// (ISO/IEC 10918-1, B.1.1.2 to B.1.1.5, table B.1).
const (
	soi  = "\xff\xd8"
	eoi  = "\xff\xd9"
	data = "\x12\xff\x00\x34\xff\x01\xff\xd0\xff\x00\xff\xd7\x56"
)

func frame(marker byte, n int) string {
	return seg(marker, "\x08\x00\x01\x00\x01"+string(rune(n))+strings.Repeat("\x01\x11\x00", n))
}

func scan(n int) string {
	return seg(markSOS, string(rune(n))+strings.Repeat("\x01\x00", n)+"\x00\x3f\x00") + data
}

// piece returns segment number of count of a profile.
func piece(number, count int, b string) string {
	return seg(markAPP2, profileMark+string([]byte{byte(number), byte(count)})+b)
}

// Frames of every coding, several scans with tables and applications between
// them: new segments come behind JFIF, Exif and XMP, old ones go wherever they
// are, the rest keeps its bytes.
func TestJPEGSegments(t *testing.T) {
	p := rgbProfile(t)
	fresh := piece(1, 1, string(p))
	app := seg(markAPP0, "JFIF\x00") + "\xff\xff" + seg(markAPP1, "Exif\x00\x00") // with fill bytes
	for marker := byte(markSOF0); marker < markRST0; marker++ {
		if marker == markDHT || marker == markJPG || marker == markDAC {
			continue
		}
		body := []string{
			seg(0xee, "Adobe") + seg(markAPP2, "other") + seg(markAPP2, "") + seg(markDHT, "t"), frame(marker, 3) + seg(0xdb, "q") + scan(3),
			seg(0xdc, "\x00\x01") + seg(markAPP1, "late") + seg(0xfe, "comment") + scan(1), seg(0xf0, "JPG0") + scan(1) + seg(0xdf, "EXP") + eoi,
		}
		clean := soi + app + strings.Join(body, "")
		late := "\xff\xff\xff" + piece(2, 2, "old") // whose fill bytes go too
		old := soi + piece(1, 2, "old") + app + late + strings.Join(body, late)
		want := soi + app + fresh + strings.Join(body, "")
		for name, file := range map[string]string{"clean": clean, "old": old} {
			if got := string(mustInsert(t, []byte(file), p, Options{})); got != want {
				t.Errorf("SOF%d, %s:\n got %q\nwant %q", marker&15, name, got, want)
			}
			if got := string(mustRemove(t, []byte(file), Options{})); got != clean {
				t.Errorf("SOF%d, %s, removed:\n got %q\nwant %q", marker&15, name, got, clean)
			}
		}
	}
}

// Fill bytes go with the segment that they precede: left behind before stray
// bytes, they would make a marker of them. Found by FuzzInsert.
func TestJPEGFill(t *testing.T) {
	head, tail := soi+seg(markAPP0, "ends in \xff"), "0"+frame(markSOF0, 1)+scan(1)+eoi
	file := head + "\xff\xff" + piece(1, 1, "old") + tail
	p := grayProfile(t)
	with := mustInsert(t, []byte(file), p, Options{})
	if want := head + piece(1, 1, string(p)) + tail; string(with) != want {
		t.Errorf("inserted:\n got %q\nwant %q", with, want)
	}
	if found := mustExtract(t, with); !bytes.Equal(found.Profile, p) {
		t.Error("the profile does not come back")
	}
	if got := string(mustRemove(t, []byte(file), Options{})); got != head+tail {
		t.Errorf("removed:\n got %q\nwant %q", got, head+tail)
	}
}

// Gray takes 1 component, RGB and Lab 3, CMYK 4; whether they are stored as
// YCbCr or YCCK, which APP14 tells, makes no difference.
func TestJPEGComponents(t *testing.T) {
	all := []string{"GRAY", "2CLR", "RGB ", "Lab ", "CMY ", "3CLR", "CMYK", "4CLR", "5CLR", "FCLR", "1CLR", "0CLR", "nmcl"}
	for n, fitting := range map[int][]string{
		1: {"GRAY"}, 2: {"2CLR"}, 3: {"RGB ", "Lab ", "CMY ", "3CLR"}, 4: {"CMYK", "4CLR"}, 5: {"5CLR"}, 15: {"FCLR"},
	} {
		for _, adobe := range []string{"", seg(0xee, "Adobe\x00\x64\x00\x00\x00\x00\x02")} {
			file := []byte(soi + adobe + frame(markSOF0, n) + scan(1) + eoi)
			for _, space := range all {
				_, err := insert(file, fakeProfile("scnr", space, 140), Options{})
				if !slices.Contains(fitting, space) {
					wantFormatError(t, err, JPEG, int64(2+len(adobe)), ErrMisfit)
				} else if err != nil {
					t.Errorf("%d components, %s: %v", n, space, err)
				}
			}
		}
	}
}

// 65519 bytes go into a segment and 255 segments into a file. Source: ICC.1:2022,
// annex B: a length field of two bytes that counts itself, 12 bytes of mark, and
// one byte each for number and count; 16,707,345 bytes in all.
func TestJPEGSplit(t *testing.T) {
	file := []byte(soi + frame(markSOF0, 3) + scan(3) + eoi)
	for n, count := range map[int]int{
		140: 1, 65519: 1, 65520: 2, 2 * 65519: 2, 2*65519 + 1: 3, 254*65519 + 1: 255, 16707345: 255,
	} {
		p := fakeProfile("mntr", "RGB ", n)
		with := mustInsert(t, file, p, Options{})
		if len(with) != len(file)+n+18*count {
			t.Errorf("%d bytes: the file grew by %d, want %d and 18 for each of %d segments", n, len(with)-len(file), n, count)
		}
		if found := mustExtract(t, with); !bytes.Equal(found.Profile, p) {
			t.Errorf("%d bytes came back as %d others", n, len(found.Profile))
		}
	}
	out, err := insert(file, fakeProfile("mntr", "RGB ", 16707346), Options{})
	if !errors.Is(err, icc.ErrUnsupported) || len(out) > 0 {
		t.Errorf("256 segments: %v", err)
	}
}

// Segments may come in any order; the pieces found before the first scan are
// enough if they are complete.
func TestJPEGOrder(t *testing.T) {
	tail := frame(markSOF0, 3) + scan(3)
	for name, file := range map[string]string{
		"in order":      soi + piece(1, 3, "one") + piece(2, 3, "two") + piece(3, 3, "three") + tail + eoi,
		"mixed":         soi + piece(3, 3, "three") + seg(markAPP1, "x") + piece(1, 3, "one") + tail[:19] + piece(2, 3, "two") + tail[19:],
		"between scans": soi + piece(3, 3, "three") + tail + piece(2, 3, "two") + scan(1) + piece(1, 3, "one") + eoi,
		"empty piece":   soi + piece(1, 4, "one") + piece(2, 4, "two") + piece(4, 4, "three") + piece(3, 4, "") + tail,
		"cut later":     soi + piece(1, 1, "onetwothree") + tail + "\xff\xe2\x00",
	} {
		if found, err := extract([]byte(file)); err != nil || string(found.Profile) != "onetwothree" {
			t.Errorf("%s: %q, %v", name, found.Profile, err)
		}
	}
}

func TestJPEGDamage(t *testing.T) {
	tail := frame(markSOF0, 3) + scan(3) + eoi
	one := piece(1, 2, "one")
	second := int64(2 + len(one))
	for _, c := range []struct {
		name string
		file string
		off  int64
		kind error
	}{
		{"nothing", soi, 2, io.ErrUnexpectedEOF},
		{"half a marker", soi + "\xff", 3, io.ErrUnexpectedEOF},
		{"half a length", soi + "\xff\xe2\x00", 2, io.ErrUnexpectedEOF},
		{"length 0", soi + "\xff\xe2\x00\x00" + tail, 2, nil},
		{"length 1", soi + "\xff\xe2\x00\x01" + tail, 2, nil},
		{"cut segment", soi + "\xff\xe2\xff\xff" + tail, 2, io.ErrUnexpectedEOF},
		{"number 0", soi + piece(0, 1, "x") + tail, 2, nil},
		{"count 0", soi + piece(1, 0, "x") + tail, 2, nil},
		{"number and count 0", soi + piece(0, 0, "x") + tail, 2, nil},
		{"number above count", soi + piece(3, 2, "x") + tail, 2, nil},
		{"missing second", soi + one + tail, 2, nil},
		{"missing first", soi + piece(2, 2, "two") + tail, 2, nil},
		{"twice", soi + one + one + tail, second, nil},
		{"other count", soi + one + piece(2, 3, "x") + tail, second, nil},
		{"no number", soi + seg(markAPP2, profileMark) + tail, 2, nil},
		{"no count", soi + seg(markAPP2, profileMark+"\x01") + tail, 2, nil},
		{"no bytes", soi + piece(1, 1, "") + tail, 2, nil},
		{"image in image", soi + soi + tail, 2, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := extract([]byte(c.file))
			wantFormatError(t, err, JPEG, c.off, c.kind)
		})
	}
	for name, file := range map[string]string{
		"no frame":        soi + seg(0xfe, "c") + eoi,
		"scan first":      soi + scan(3) + frame(markSOF0, 3) + eoi,
		"frame too short": soi + seg(markSOF0, "\x08\x00\x01\x00\x01") + scan(3) + eoi,
		"no scan":         soi + frame(markSOF0, 3),
	} {
		out, err := insert([]byte(file), rgbProfile(t), Options{})
		if err == nil || len(out) > 0 {
			t.Errorf("%s: %v", name, err)
		}
	}
	file := []byte(soi + one + piece(2, 2, "two") + tail)
	_, err := Extract(bytes.NewReader(file), int64(len(file)), Limits{Profile: 5})
	wantFormatError(t, err, JPEG, 2, ErrLimit)
	// Damaged profiles are replaced or removed without a question.
	file = []byte(soi + one + one + seg(markAPP2, profileMark) + tail)
	if got := mustRemove(t, file, Options{}); string(got) != soi+tail {
		t.Error("a damaged profile is not removed")
	}
}

// Every place of a marker around the borders of the window.
func TestJPEGWindow(t *testing.T) {
	p := rgbProfile(t)
	for _, border := range []int{windowSize / 2, windowSize, 3 * windowSize / 2, 2 * windowSize} {
		for shift := -6; shift <= 6; shift++ {
			head := soi + frame(markSOF0, 3) + seg(markSOS, "\x01\x01\x00\x00\x3f\x00")
			file := head + strings.Repeat("\x11", border+shift-len(head)) + piece(1, 1, "old") + "\xff\x00" + eoi + "tail"
			want := soi + piece(1, 1, string(p)) + file[2:border+shift] + "\xff\x00" + eoi + "tail"
			if got := string(mustInsert(t, []byte(file), p, Options{})); got != want {
				t.Errorf("a marker at byte %d is missed", border+shift)
			}
		}
	}
}

// multi returns a multi-picture file of two images, with an old profile on both
// sides of the list, and where its second image begins.
func multi(t testing.TB, order binary.AppendByteOrder, mark string) ([]byte, int) {
	t.Helper()
	first := encodeJPEG(t, opaque(image.NewNRGBA(area)))
	second := encodeJPEG(t, picture(image.NewGray(area)))
	head := soi + seg(markAPP1, "Exif\x00\x00") + piece(1, 2, "o")
	list := func(length, offset int) string {
		b := order.AppendUint32([]byte(mark), 8)
		b = order.AppendUint16(b, 2)
		for _, e := range [][4]uint32{{0xb001, 4, 1, 2}, {0xb002, 7, 32, 38}} {
			b = order.AppendUint16(order.AppendUint16(b, uint16(e[0])), uint16(e[1]))
			b = order.AppendUint32(order.AppendUint32(b, e[2]), e[3])
		}
		b = order.AppendUint32(b, 0)
		for _, v := range []int{0x030000, length, 0, 0, 0, len(second), offset, 0} {
			b = order.AppendUint32(b, uint32(v))
		}
		return seg(markAPP2, imagesMark+string(b))
	}
	rest := piece(2, 2, "ld") + string(first[2:])
	length := len(head) + len(list(0, 0)) + len(rest)
	file := head + list(length, length-len(head)-8) + rest + string(second)
	return []byte(file), length
}

// The list of a multi-picture file keeps pointing at the second image, and
// states the new length of the first (CIPA DC-007, from memory).
func TestMultiPicture(t *testing.T) {
	for mark, order := range map[string]binary.AppendByteOrder{"II*\x00": binary.LittleEndian, "MM\x00*": binary.BigEndian} {
		file, length := multi(t, order, mark)
		second := file[length:]
		for name, out := range map[string][]byte{
			"same":   mustInsert(t, file, fakeProfile("mntr", "RGB ", 140), Options{}),
			"long":   mustInsert(t, file, fakeProfile("mntr", "RGB ", 99999), Options{}),
			"remove": mustRemove(t, file, Options{}),
		} {
			at := bytes.Index(out, []byte(imagesMark)) + len(imagesMark)
			list, got, err := imageList(out[at:])
			if err != nil {
				t.Fatal(err)
			}
			if n := int(got.Uint32(list[4:])); n != len(out)-len(second) {
				t.Errorf("%s, %q: the first image is said to have %d bytes of its %d", name, mark, n, len(out)-len(second))
			}
			if from := at + int(got.Uint32(list[24:])); !bytes.Equal(out[from:], second) {
				t.Errorf("%s, %q: the second image is not at byte %d", name, mark, from)
			}
			if n := int(got.Uint32(list[20:])); n != len(second) {
				t.Errorf("%s, %q: the length of the second image changed", name, mark)
			}
			samePixels(t, file, out)
		}
	}
	// A list that is none stays as it is.
	p := rgbProfile(t)
	for _, list := range []string{"", "II*\x00", "II*\x00\xff\xff\xff\xff", "II*\x00\x08\x00\x00\x00\x01\x00", "II+\x00\x08\x00\x00\x00\x00\x00",
		"II*\x00\x08\x00\x00\x00\x01\x00\x02\xb0\x07\x00\x10\x00\x00\x00\xff\xff\xff\xff", "II*\x00\x08\x00\x00\x00\x01\x00\x02\xb0\x07\x00\xf0\xff\xff\xff\x00\x00\x00\x00"} {
		rest := seg(markAPP2, imagesMark+list) + frame(markSOF0, 3) + scan(3) + eoi
		if got, want := string(mustInsert(t, []byte(soi+rest), p, Options{})), soi+piece(1, 1, string(p))+rest; got != want {
			t.Errorf("list %q changed", list)
		}
	}
}

// Example figures of a segment's head, written out by hand from ICC.1:2022,
// annex B.
func TestJPEGBytes(t *testing.T) {
	p := fakeProfile("mntr", "GRAY", 0x100)
	out := mustInsert(t, []byte(soi+frame(markSOF0, 1)+scan(1)+eoi), p, Options{})
	want := fmt.Sprintf("\xff\xd8\xff\xe2\x01\x10ICC_PROFILE\x00\x01\x01%s\xff\xc0", p)
	if !strings.HasPrefix(string(out), want) {
		t.Errorf("got %q", out[:40])
	}
}
