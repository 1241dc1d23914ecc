package embed

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"image"
	"io"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"
	"time"

	"example.org/primaries/icc"
)

// allocated returns how many bytes use allocates in all.
func allocated(use func()) int64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	use()
	runtime.ReadMemStats(&after)
	return int64(after.TotalAlloc - before.TotalAlloc)
}

// bomb returns an iCCP chunk's data that unpacks to n zeros.
func bomb(t testing.TB, n int) string {
	t.Helper()
	var b bytes.Buffer
	b.WriteString("p\x00\x00")
	z := zlib.NewWriter(&b)
	if _, err := io.CopyN(z, zeros{}, int64(n)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

type zeros struct{}

func (zeros) Read(b []byte) (int, error) {
	clear(b)
	return len(b), nil
}

// A profile that unpacks to more than the limit is an error, found without
// unpacking more than the limit; at the limit it is none.
func TestBomb(t *testing.T) {
	file := rawPNG("IHDR", "", "iCCP", bomb(t, 66<<20), "IDAT", "x", "IEND", "") // some 66 kB
	for _, limit := range []int{1, 1000, 1 << 20, 0} {
		var err error
		used := allocated(func() {
			_, err = Extract(bytes.NewReader(file), int64(len(file)), Limits{Profile: limit})
		})
		wantFormatError(t, err, PNG, 33, ErrLimit)
		if bound := 4*(Limits{Profile: limit}).profile() + 1<<20; used > bound {
			t.Errorf("limit %d: %d bytes were allocated, at most %d should be", limit, used, bound)
		}
	}
	found, err := Extract(bytes.NewReader(file), int64(len(file)), Limits{Profile: 66 << 20})
	if err != nil || len(found.Profile) != 66<<20 {
		t.Errorf("at the limit: %d bytes, %v", len(found.Profile), err)
	}
	if found, err = Extract(bytes.NewReader(file), int64(len(file)), Limits{Profile: 66<<20 - 1}); !errors.Is(err, ErrLimit) {
		t.Errorf("a byte over the limit: %d bytes, %v", len(found.Profile), err)
	}
}

// Lying counts cost nothing: memory stays within the input, a window and what
// errors take.
func TestMemory(t *testing.T) {
	const slack = 256 << 10
	lies := map[string][]byte{
		"PNG chunk":     append(rawPNG("IHDR", ""), "\x7f\xff\xff\xffiCCPp\x00\x00"...),
		"JPEG segments": []byte(soi + piece(1, 255, "x") + piece(255, 255, "x") + frame(markSOF0, 3) + scan(3)),
	}
	for _, k := range tiffKinds {
		lies["profile, "+k.name] = k.file([]int{-1}, []field{{tagProfile, 7, 60 << 20, 8}})
		lies["entries, "+k.name] = append(k.header(uint64(len(k.header(0)))), "\xff\xff\xff\xff\xff\xff\xff\xff"...)
	}
	for name, file := range lies {
		var err error
		used := allocated(func() { _, err = extract(file) })
		if err == nil || used > slack {
			t.Errorf("%s: %d bytes allocated, %v", name, used, err)
		}
	}
}

// The heaviest directories that a file can have: pages of one entry each, and
// pages of all entries in a chain that overlaps.
func TestManyPages(t *testing.T) {
	for _, k := range tiffKinds {
		const pages = 20000
		link, list := make([]int, pages), make([][]field, pages)
		for i := range link {
			link[i], list[i] = i+1, rgbPage[:1]
		}
		link[pages-1] = -1
		file := k.file(link, list...)
		p := fakeProfile("mntr", "RGB ", 1000)
		all := Options{AllPages: true, Limits: Limits{Pages: pages}}
		if _, err := insert(file, p, Options{AllPages: true}); !errors.Is(err, ErrLimit) {
			t.Errorf("%s: more pages than anybody has: %v", k.name, err)
		}
		used := allocated(func() {
			if err := Insert(io.Discard, bytes.NewReader(file), int64(len(file)), p, all); err != nil {
				t.Error(err)
			}
		})
		if bound := 24 * int64(len(file)); used > bound {
			t.Errorf("%s: %d bytes allocated for a file of %d", k.name, used, len(file))
		}
		if got := k.read(t, mustInsert(t, file, p, all)); len(got) != pages || len(got[pages-1]) != 2 {
			t.Errorf("%s: %d pages came out", k.name, len(got))
		}
		// Each page has its own copy, which a small file may not drive beyond 4 GiB.
		kind := icc.ErrUnsupported
		if k.big {
			kind = ErrLimit
		}
		out, err := insert(file, fakeProfile("mntr", "RGB ", 300000), all)
		if !errors.Is(err, kind) || len(out) > 0 {
			t.Errorf("%s: %v", k.name, err)
		}
	}
	// Directories of 65535 entries, each two bytes behind the one before: all
	// links would be followed through gigabytes.
	k := tiffKinds[0]
	file := append(k.header(8), bytes.Repeat([]byte{0xff, 0xff}, 600000)...)
	for at := 8; at+2+12*65535+4 < len(file); at += 2 {
		binary.LittleEndian.PutUint32(file[at+2+12*65535:], uint32(at+2))
	}
	start := time.Now()
	if _, err := insert(file, fakeProfile("mntr", "RGB ", 1000), Options{AllPages: true}); err == nil {
		t.Error("overlapping directories are accepted")
	}
	if d := time.Since(start); d > 2*time.Second {
		t.Errorf("they took %v", d)
	}
}

// Time is linear where a file is all markers, all stuffed zeros or all chunks,
// which a reader of small parts would take a call for each.
func TestLinear(t *testing.T) {
	const n = 4 << 20
	for name, file := range map[string]string{
		"zeros":    soi + frame(markSOF0, 3) + seg(markSOS, "") + strings.Repeat("\xff\x00", n/2),
		"fill":     soi + frame(markSOF0, 3) + seg(markSOS, "") + strings.Repeat("\xff", n),
		"segments": soi + frame(markSOF0, 3) + strings.Repeat("\xff\xe2\x00\x02", n/4) + seg(markSOS, ""),
		"profiles": soi + frame(markSOF0, 3) + strings.Repeat(piece(1, 1, "")+"\xff\xfe\x00\x02", n/22) + seg(markSOS, ""),
		"chunks":   string(rawPNG("IHDR", "")) + strings.Repeat("\x00\x00\x00\x00iCCP\x00\x00\x00\x00\x00\x00\x00\x00prVt\x00\x00\x00\x00", n/24) + string(rawPNG("IEND", "")[8:]),
	} {
		calls := &countingReader{r: strings.NewReader(file)}
		start := time.Now()
		if err := Remove(io.Discard, calls, int64(len(file)), Options{}); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if d := time.Since(start); d > 10*time.Second { // some hundredths of a second, on an idle machine
			t.Errorf("%s: %v for %d bytes", name, d, len(file))
		}
		if most := 3*len(file)/windowSize + 8; calls.n > most {
			t.Errorf("%s: %d calls for %d bytes, at most %d should be", name, calls.n, len(file), most)
		}
	}
}

type countingReader struct {
	r io.ReaderAt
	n int
}

func (c *countingReader) ReadAt(b []byte, off int64) (int, error) {
	c.n++
	return c.r.ReadAt(b, off)
}

// Every byte of small files changed to every of some values, and random
// changes of several: a typed error or a sound result, never a panic.
func TestEveryByte(t *testing.T) {
	small := image.Rect(0, 0, 2, 2)
	p := fakeProfile("mntr", "RGB ", 140)
	files := [][]byte{
		mustInsert(t, encodePNG(t, opaque(image.NewNRGBA(small))), p, Options{CICP: cicpFor("a.png")}),
		mustInsert(t, []byte(soi+frame(markSOF0, 3)+scan(3)+eoi), p, Options{}),
	}
	for _, k := range tiffKinds {
		files = append(files, mustInsert(t, k.file([]int{1, -1}, rgbPage, rgbPage), p, Options{AllPages: true}))
	}
	random := rand.New(rand.NewPCG(3, 5))
	cases := 0
	try := func(b []byte) {
		cases++
		var e *FormatError
		if found, err := extract(b); err != nil && !errors.As(err, &e) || err == nil && found.Format == "" {
			t.Fatalf("%q: %v", b, err)
		}
		for _, o := range []Options{{}, {AllPages: true}} {
			out, err := insert(b, p, o)
			if err != nil {
				if !errors.As(err, &e) || len(out) > 0 {
					t.Fatalf("%q: %v", b, err)
				}
				continue
			}
			if found, err := extract(out); err != nil || !bytes.Equal(found.Profile, p) {
				t.Fatalf("%q: the profile does not come back: %v", b, err)
			}
		}
	}
	for _, file := range files {
		for i := range file {
			for _, v := range []byte{0, 1, 2, 0x7f, 0x80, 0xfe, 0xff, file[i] ^ 1, file[i] + 8} {
				b := bytes.Clone(file)
				b[i] = v
				try(b)
			}
		}
		for range 2000 {
			b := bytes.Clone(file)
			for range 1 + random.IntN(4) {
				b[random.IntN(len(b))] = byte(random.Uint32())
			}
			try(b[:len(b)-random.IntN(4)])
		}
	}
	t.Logf("%d files", cases)
}
