package embed

import (
	"bytes"
	"errors"
	"image"
	"testing"
)

// seeds adds files of every kind, with and without profile, and odd ones.
func seeds(f *testing.F, add func([]byte)) {
	small := image.Rect(0, 0, 3, 2)
	gray, rgb := picture(image.NewGray(small)), opaque(image.NewNRGBA(small))
	p := fakeProfile("mntr", "RGB ", 150)
	files := [][]byte{
		encodePNG(f, gray), encodePNG(f, rgb), encodeTIFF(f, gray, nil), encodeTIFF(f, rgb, nil),
		[]byte(soi + seg(markAPP0, "JFIF\x00") + frame(markSOF0, 1) + scan(1) + eoi + "tail"),
		[]byte(soi + seg(markAPP2, imagesMark+"II*\x00") + frame(markSOF0+2, 3) + scan(3) + seg(0xdc, "\x00\x01") + scan(1)),
		rawPNG("IHDR", "", "sRGB", "\x00", "PLTE", "abc", "iCCP", packed(f, "p", p), "IDAT", "x", "IEND", "", "tail", ""),
	}
	for _, k := range tiffKinds {
		files = append(files, k.file([]int{1, -1}, rgbPage, rgbPage), k.file([]int{1, 0}, rgbPage, []field{{tagProfile, 7, 3, 8}}))
	}
	for _, b := range files {
		add(b)
		for _, space := range []string{"GRAY", "RGB "} {
			with, err := insert(b, fakeProfile("mntr", space, 150), Options{})
			if err == nil {
				add(with)
			}
		}
	}
	list, _ := multi(f, tiffKinds[1].order, "MM\x00*")
	add(list)
	add([]byte(soi + piece(2, 2, "b") + piece(1, 2, "a") + frame(markSOF0, 3) + scan(3) + eoi))
}

// FuzzExtract reads whatever comes, under a small limit, and holds errors and
// memory to what the documentation says.
func FuzzExtract(f *testing.F) {
	seeds(f, func(b []byte) { f.Add(b) })
	const limit = 4096
	f.Fuzz(func(t *testing.T, b []byte) {
		before := bytes.Clone(b)
		found, err := Extract(bytes.NewReader(b), int64(len(b)), Limits{Profile: limit})
		if !bytes.Equal(b, before) {
			t.Fatal("the caller's bytes changed")
		}
		var e *FormatError
		switch {
		case err != nil && (!errors.As(err, &e) || e.Problem == "" || e.Remedy == "" || e.Offset < 0):
			t.Fatalf("%#v", err)
		case err != nil && (found.Profile != nil || found.CICP != nil):
			t.Fatal("a result beside an error")
		case err != nil:
		case found.Format == "" || found.Profile != nil && len(found.Profile) == 0 || len(found.Profile) > limit:
			t.Fatalf("%v with a profile of %d bytes", found.Format, len(found.Profile))
		case found.Profile == nil && found.Name != "":
			t.Fatal("a name without profile")
		}
	})
}

// FuzzInsert puts a profile of the space that fits into whatever comes: it
// comes back, and when it is removed again all else is as it was.
func FuzzInsert(f *testing.F) {
	seeds(f, func(b []byte) {
		f.Add(b, uint16(8), false)
		f.Add(b, uint16(300), true)
	})
	f.Fuzz(func(t *testing.T, b []byte, extra uint16, all bool) {
		o := Options{AllPages: all}
		var with, p []byte
		var err error
		for _, space := range []string{"RGB ", "GRAY", "CMYK", "Lab ", "2CLR"} {
			p = fakeProfile("spac", space, leastProfile+int(extra))
			if with, err = insert(b, p, o); !errors.Is(err, ErrMisfit) {
				break
			}
		}
		bare, bareErr := remove(b, o)
		if err != nil {
			var e *FormatError
			if !errors.As(err, &e) || len(with) > 0 {
				t.Fatalf("%v, %d bytes written", err, len(with))
			}
			if bareErr != nil && len(bare) > 0 {
				t.Fatalf("%v, %d bytes written", bareErr, len(bare))
			}
			return
		}
		if bareErr != nil {
			t.Fatalf("a profile can be put in but not removed: %v", bareErr)
		}
		checkInserted(t, b, with, bare, p, o)
	})
}

// checkInserted holds a file with profile, and one without, to the file b that
// they were made from.
func checkInserted(t *testing.T, b, with, bare, p []byte, o Options) {
	t.Helper()
	found, err := extract(with)
	if err != nil || !bytes.Equal(found.Profile, p) {
		t.Fatalf("the profile did not come back: %v", err)
	}
	again, err := remove(with, o)
	if err != nil {
		t.Fatal(err)
	}
	if found, err := extract(again); err != nil || found.Profile != nil {
		t.Fatalf("the profile is still there: %v", err)
	}
	switch found.Format {
	case PNG: // but for what Insert drops
		want, err := dropChunks(bare, "cICP", "sRGB")
		if err != nil || !bytes.Equal(again, want) {
			t.Fatalf("all else is not as it was: %v", err)
		}
	case JPEG:
		if !bytes.Equal(again, bare) {
			t.Fatal("all else is not as it was")
		}
	case TIFF: // all but the header's pointer in its place
		head := 8
		if b[2]+b[3] == 43 {
			head = 16
		}
		if !bytes.Equal(again[head:len(b)], b[head:]) || !bytes.Equal(with[head:len(b)], b[head:]) {
			t.Fatal("bytes of the TIFF changed")
		}
		if !bytes.Equal(with[:4], b[:4]) {
			t.Fatal("the TIFF became one of another kind")
		}
	}
	// A second profile leaves no trace of the first but in a TIFF.
	q := fakeProfile("spac", string(p[16:20]), 144)
	twice, err := insert(with, q, o)
	if err != nil {
		t.Fatal(err)
	}
	once, err := insert(b, q, o)
	if err != nil {
		t.Fatal(err)
	}
	if found.Format != TIFF && !bytes.Equal(twice, once) {
		t.Fatal("a second profile is not as if it were the first")
	}
}

// dropChunks returns a PNG without some kinds of chunks.
func dropChunks(b []byte, kinds ...string) ([]byte, error) {
	f, err := open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return nil, err
	}
	var edits []edit
	err = f.chunks(func(c chunk) (bool, error) {
		for _, k := range kinds {
			if c.kind == k {
				edits = append(edits, edit{off: c.off, end: c.end()})
			}
		}
		return false, nil
	})
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = f.write(&out, edits)
	return out.Bytes(), err
}
