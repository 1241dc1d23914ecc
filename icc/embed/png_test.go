package embed

import (
	"bytes"
	"encoding/binary"
	"image"
	"io"
	"strings"
	"testing"

	"example.org/primaries/icc"
)

// rawPNG puts chunks, given as kind and data in turn, behind the signature;
// "IHDR" alone stands for that of one RGB pixel.
func rawPNG(parts ...string) []byte {
	b := []byte(pngMark)
	for i := 0; i < len(parts); i += 2 {
		kind, data := parts[i], parts[i+1]
		if kind == "IHDR" && data == "" {
			data = "\x00\x00\x00\x01\x00\x00\x00\x01\x08\x02\x00\x00\x00"
		}
		b = appendChunk(b, kind, []byte(data))
	}
	return b
}

// kinds lists the chunks of a PNG.
func kinds(t testing.TB, b []byte) string {
	t.Helper()
	var out []string
	f, err := open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	err = f.chunks(func(c chunk) (bool, error) {
		out = append(out, c.kind)
		return false, f.whole(c)
	})
	if err != nil {
		t.Fatal(err)
	}
	return strings.Join(out, " ")
}

// packed returns the data of an iCCP chunk that holds content.
func packed(t testing.TB, name string, content []byte) string {
	t.Helper()
	b, err := freshChunks(&profile{bytes: content}, Options{Name: name})
	if err != nil {
		t.Fatal(err)
	}
	return string(b[8 : len(b)-4])
}

// What is put in, what is dropped and what stays, in order. Source: PNG 3rd
// edition, 5.6 (order of chunks), 11.3.2.3 and 11.3.2.5 (no sRGB beside iCCP),
// and the table of precedence (cICP overrules iCCP, which overrules the rest).
func TestPNGChunks(t *testing.T) {
	p := rgbProfile(t)
	old := packed(t, "old", p)
	file := rawPNG("IHDR", "", "gAMA", "\x00\x00\xb1\x8f", "sRGB", "\x00", "cICP", "\x09\x10\x00\x01", "iCCP", old, "cHRM", strings.Repeat("\x00", 32),
		"acTL", "12345678", "prVt", "private", "PLTE", "abc", "tRNS", "\x00", "IDAT", "x", "IDAT", "y", "iCCP", old, "fdAT", "z", "eXIf", "II", "IEND", "")
	const rest = "acTL prVt PLTE tRNS IDAT IDAT fdAT eXIf IEND"
	points := &icc.CICP{Primaries: 12, Transfer: 13, FullRange: 1}
	for _, c := range []struct {
		name string
		got  []byte
		want string
	}{
		{"insert", mustInsert(t, file, p, Options{}), "IHDR iCCP gAMA cHRM " + rest},
		{"insert with code points", mustInsert(t, file, p, Options{CICP: points}), "IHDR cICP iCCP gAMA cHRM " + rest},
		{"remove", mustRemove(t, file, Options{}), "IHDR gAMA sRGB cICP cHRM " + rest},
		{"remove, code points instead", mustRemove(t, file, Options{CICP: points}), "IHDR cICP gAMA sRGB cHRM " + rest},
	} {
		if got := kinds(t, c.got); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
	with := mustInsert(t, file, p, Options{CICP: points, Name: "Größe 1"})
	if found := mustExtract(t, with); *found.CICP != *points || found.Name != "Größe 1" || !bytes.Equal(found.Profile, p) {
		t.Errorf("got %v and name %q", found.CICP, found.Name)
	}
}

// The four bytes of cICP are those of the standard's own examples. Source: PNG
// 3rd edition, 11.3.2.6: BT.2100 PQ is 9 16 0 1, Display P3 is 12 13 0 1.
func TestPNGCodePoints(t *testing.T) {
	file := encodePNG(t, opaque(image.NewNRGBA(area)))
	for bytesOf, want := range map[string]icc.CICP{
		"\x00\x00\x00\x04cICP\x09\x10\x00\x01": {Primaries: 9, Transfer: 16, FullRange: 1},
		"\x00\x00\x00\x04cICP\x0c\x0d\x00\x01": {Primaries: 12, Transfer: 13, FullRange: 1},
	} {
		out := mustRemove(t, file, Options{CICP: &want})
		if !bytes.Contains(out, []byte(bytesOf)) {
			t.Errorf("%v is not written as %q", want, bytesOf)
		}
		if found := mustExtract(t, out); found.CICP == nil || *found.CICP != want || found.Profile != nil {
			t.Errorf("got %v, want %v", found.CICP, want)
		}
		samePixels(t, file, out)
	}
	for _, bad := range []icc.CICP{{Primaries: 1, Transfer: 1, Matrix: 1}, {Primaries: 1, Transfer: 1, FullRange: 2}} {
		if out, err := remove(file, Options{CICP: &bad}); err == nil || len(out) > 0 {
			t.Errorf("%v is accepted", bad)
		}
	}
}

// Source: PNG 3rd edition, 11.3.2.3.
func TestPNGNames(t *testing.T) {
	file, p := encodePNG(t, opaque(image.NewNRGBA(area))), rgbProfile(t)
	for _, name := range []string{"x", "a b", "\u00a1\u00ff", strings.Repeat("n", 79), "«Ä» d'or"} {
		if found := mustExtract(t, mustInsert(t, file, p, Options{Name: name})); found.Name != name {
			t.Errorf("%q came back as %q", name, found.Name)
		}
	}
	if found := mustExtract(t, mustInsert(t, file, p, Options{})); found.Name != "ICC profile" {
		t.Errorf("default name %q", found.Name)
	}
	for _, name := range []string{" ", " a", "a ", "a  b", "a\tb", "a\x00", "\u0080", "\u00a0", "œ", "\xff", strings.Repeat("n", 80)} {
		if out, err := insert(file, p, Options{Name: name}); err == nil || len(out) > 0 {
			t.Errorf("name %q is accepted", name)
		}
	}
}

func TestPNGDamage(t *testing.T) {
	p := rgbProfile(t)
	good := packed(t, "p", p)
	flip := func(b []byte, i int) []byte {
		b[i] ^= 1
		return b
	}
	const at = 33 // of the chunk behind IHDR
	for _, c := range []struct {
		name string
		file []byte
		off  int64
		kind error
	}{
		{"nothing behind the signature", rawPNG(), 8, io.ErrUnexpectedEOF},
		{"no IHDR", rawPNG("IDAT", ""), 8, nil},
		{"two IHDR", rawPNG("IHDR", "", "IHDR", ""), at, nil},
		{"cut chunk", rawPNG("IHDR", "", "iCCP", good)[:200], at, io.ErrUnexpectedEOF},
		{"giant chunk", append(rawPNG("IHDR", ""), "\xff\xff\xff\xffiCCP"...), at, nil},
		{"check sum of iCCP", flip(rawPNG("IHDR", "", "iCCP", good, "IEND", ""), 60), at, nil},
		{"check sum of cICP", flip(rawPNG("IHDR", "", "cICP", "1234", "IEND", ""), 42), at, nil},
		{"cICP of 5 bytes", rawPNG("IHDR", "", "cICP", "12345", "IEND", ""), at, nil},
		{"two cICP", rawPNG("IHDR", "", "cICP", "1234", "cICP", "1234", "IEND", ""), at + 16, nil},
		{"two iCCP", rawPNG("IHDR", "", "iCCP", good, "iCCP", good, "IEND", ""), at + 12 + int64(len(good)), nil},
		{"iCCP behind PLTE", rawPNG("IHDR", "", "PLTE", "abc", "iCCP", good, "IEND", ""), at + 15, nil},
		{"no name", rawPNG("IHDR", "", "iCCP", good[1:], "IEND", ""), at, nil},
		{"name of 80 bytes", rawPNG("IHDR", "", "iCCP", strings.Repeat("n", 79)+good, "IEND", ""), at, nil},
		{"name and NUL alone", rawPNG("IHDR", "", "iCCP", strings.Repeat("n", 79)+"\x00", "IEND", ""), at, nil},
		{"name alone", rawPNG("IHDR", "", "iCCP", "p\x00", "IEND", ""), at, nil},
		{"empty", rawPNG("IHDR", "", "iCCP", "", "IEND", ""), at, nil},
		{"method 1", rawPNG("IHDR", "", "iCCP", "p\x00\x01"+good[3:], "IEND", ""), at, icc.ErrUnsupported},
		{"no zlib", rawPNG("IHDR", "", "iCCP", "p\x00\x00nonsense", "IEND", ""), at, nil},
		{"zlib cut", rawPNG("IHDR", "", "iCCP", good[:len(good)-9], "IEND", ""), at, io.ErrUnexpectedEOF},
		{"Adler check sum", rawPNG("IHDR", "", "iCCP", good[:len(good)-1]+"x", "IEND", ""), at, nil},
		{"profile of no bytes", rawPNG("IHDR", "", "iCCP", packed(t, "p", nil), "IEND", ""), at, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := extract(c.file)
			wantFormatError(t, err, PNG, c.off, c.kind)
		})
	}
	for _, c := range []struct {
		name string
		file []byte
		off  int64
	}{
		{"check sum of IHDR", flip(rawPNG("IHDR", "", "IEND", ""), 20), 8},
		{"short IHDR", rawPNG("IHDR", "123", "IEND", ""), 8},
		{"colour type", rawPNG("IHDR", "\x00\x00\x00\x01\x00\x00\x00\x01\x08\x05\x00\x00\x00", "IEND", ""), 8},
		{"no end", rawPNG("IHDR", "", "IDAT", "x"), 46},
	} {
		t.Run("insert, "+c.name, func(t *testing.T) {
			out, err := insert(c.file, p, Options{})
			wantFormatError(t, err, PNG, c.off, nil)
			if len(out) > 0 {
				t.Error("something was written")
			}
		})
	}
	// A damaged profile is replaced or removed without a question.
	broken := rawPNG("IHDR", "", "iCCP", "p\x00\x07", "iCCP", "", "IDAT", "x", "IEND", "")
	clean := rawPNG("IHDR", "", "IDAT", "x", "IEND", "")
	if got := mustRemove(t, broken, Options{}); !bytes.Equal(got, clean) {
		t.Error("a damaged profile is not removed")
	}
	if found := mustExtract(t, mustInsert(t, broken, p, Options{})); !bytes.Equal(found.Profile, p) {
		t.Error("a damaged profile is not replaced")
	}
}

// The largest PNG chunk states 2 GiB less a byte; the length alone may not cost
// memory, and neither may its sum with an offset overflow.
func TestPNGLengths(t *testing.T) {
	for _, n := range []uint32{0x7fffffff, 0x7ffffff3, 0x80000000, 0xfffffff4, 0xffffffff} {
		b := binary.BigEndian.AppendUint32(rawPNG("IHDR", ""), n)
		b = append(b, "iCCPp\x00\x00"...)
		if _, err := extract(b); err == nil {
			t.Errorf("length %#x is accepted", n)
		}
		if n > 1<<31-1 { // even where the file is long enough
			_, err := Extract(giant(b), 1<<40, Limits{})
			wantFormatError(t, err, PNG, 33, nil)
		}
	}
}
