package embed

import (
	"bytes"
	"errors"
	"image"
	_ "image/jpeg"
	_ "image/png"
	"io"
	"testing"

	_ "golang.org/x/image/tiff"

	"example.org/primaries/icc"
)

// pixels decodes by Go's packages, which know nothing of this one.
func pixels(t testing.TB, b []byte) image.Image {
	t.Helper()
	m, _, err := image.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func samePixels(t testing.TB, a, b []byte) {
	t.Helper()
	m, n := pixels(t, a), pixels(t, b)
	if m.Bounds() != n.Bounds() {
		t.Fatalf("bounds %v became %v", m.Bounds(), n.Bounds())
	}
	r := m.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			if m.At(x, y) != n.At(x, y) {
				t.Fatalf("pixel %d, %d was %v and is %v", x, y, m.At(x, y), n.At(x, y))
			}
		}
	}
}

// Every format and kind of pixel: the profile comes back, pixels stay, a second
// profile replaces the first, and without it the file is as before.
func TestInsertExtractRemove(t *testing.T) {
	for _, s := range samples(t) {
		t.Run(s.name, func(t *testing.T) {
			if found := mustExtract(t, s.bytes); found.Profile != nil || found.Name != "" || found.CICP != nil {
				t.Fatalf("found %v in a file without profile", found)
			}
			profile := profileFor(t, s.space)
			with := mustInsert(t, s.bytes, profile, Options{})
			if again := mustInsert(t, s.bytes, profile, Options{}); !bytes.Equal(with, again) {
				t.Error("equal input gave different bytes")
			}
			found := mustExtract(t, with)
			if !bytes.Equal(found.Profile, profile) {
				t.Fatalf("%d bytes of profile came back as %d others", len(profile), len(found.Profile))
			}
			if _, err := icc.Decode(found.Profile); err != nil {
				t.Error(err)
			}
			samePixels(t, s.bytes, with)

			other := fakeProfile("prtr", s.space, 70001) // odd, and more than one segment
			replaced := mustInsert(t, with, other, Options{})
			if found := mustExtract(t, replaced); !bytes.Equal(found.Profile, other) {
				t.Error("the second profile did not replace the first")
			}
			samePixels(t, s.bytes, replaced)
			if found.Format != TIFF && len(replaced)-len(s.bytes) > len(other)+200 {
				t.Error("the first profile is still in the file")
			}

			without := mustRemove(t, replaced, Options{})
			if found := mustExtract(t, without); found.Profile != nil {
				t.Error("the profile is still there")
			}
			samePixels(t, s.bytes, without)
			if found.Format != TIFF && !bytes.Equal(without, s.bytes) {
				t.Error("removing did not give the first file back")
			}
			if found.Format == TIFF && !bytes.Equal(without[8:len(s.bytes)], s.bytes[8:]) {
				t.Error("bytes of the TIFF moved")
			}
			if same := mustRemove(t, without, Options{}); !bytes.Equal(same, without) {
				t.Error("removing nothing changed the file")
			}
		})
	}
}

// What comes behind the end of the image stays.
func TestTrailingData(t *testing.T) {
	tail := []byte("\xff\xd8\xff\xe2ICC_PROFILE\x00\x01\x01 behind the image\x00iCCP")
	for _, s := range samples(t) {
		file := append(bytes.Clone(s.bytes), tail...)
		with := mustInsert(t, file, profileFor(t, s.space), Options{})
		if bytes.Count(with, tail) != 1 {
			t.Errorf("%s: the tail is gone", s.name)
		}
		if found := mustExtract(t, with); !bytes.Equal(found.Profile, profileFor(t, s.space)) {
			t.Errorf("%s: the profile is not found", s.name)
		}
	}
}

// A profile of another kind of colour is refused and nothing is written.
// Sources: PNG 3rd edition, 11.3.2.3; TIFF 6.0, section 8; for JPEG the number
// of components (ISO/IEC 10918-1, B.2.2).
func TestMisfit(t *testing.T) {
	for _, s := range samples(t) {
		for _, space := range []string{"GRAY", "RGB ", "CMYK", "Lab ", "6CLR", "\x00\x00\x00\x00"} {
			out, err := insert(s.bytes, fakeProfile("mntr", space, 200), Options{})
			lab := space == "Lab " && s.name == "rgb.jpg" // three components too
			if space == s.space || lab {
				if err != nil {
					t.Errorf("%s: %v", s.name, err)
				}
				continue
			}
			var e *FormatError
			if !errors.Is(err, ErrMisfit) || !errors.As(err, &e) || len(out) > 0 {
				t.Errorf("%s with a profile for %q: %v, %d bytes written", s.name, space, err, len(out))
			}
		}
	}
}

func TestWrongProfiles(t *testing.T) {
	good := rgbProfile(t)
	file := samples(t)[2].bytes
	long := append(bytes.Clone(good), 0, 0, 0, 0)
	noMark := bytes.Clone(good)
	noMark[36] = 'x'
	for _, c := range []struct {
		name    string
		profile []byte
		off     int64
	}{
		{"none", nil, 0},
		{"cut header", good[:131], 131},
		{"cut", good[:len(good)-1], 0},
		{"longer than stated", long, 0},
		{"no acsp", noMark, 36},
		{"device link", fakeProfile("link", "RGB ", 200), 12},
		{"abstract", fakeProfile("abst", "RGB ", 200), 12},
	} {
		out, err := insert(file, c.profile, Options{})
		var e *icc.FormatError
		if !errors.As(err, &e) || e.Offset != c.off || len(out) > 0 {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if _, err := insert(file, good, Options{Limits: Limits{Profile: len(good) - 1}}); !errors.Is(err, ErrLimit) {
		t.Errorf("over the limit: %v", err)
	}
}

func TestUnknownFormat(t *testing.T) {
	for _, b := range []string{"", "\x89", "\x89PNG\r\n\x1a", "GIF89a", "BM", "\xff", "II", "II\x00*", "MM*\x00"} {
		_, err := extract([]byte(b))
		wantFormatError(t, err, "", 0, ErrFormat)
	}
}

// A size that does not agree with the bytes, and readers and writers that fail.
func TestBrokenStreams(t *testing.T) {
	fault := errors.New("unplugged")
	for _, s := range samples(t) {
		profile := profileFor(t, s.space)
		err := Insert(io.Discard, bytes.NewReader(s.bytes), int64(len(s.bytes))+1, profile, Options{})
		if !errors.Is(err, io.ErrUnexpectedEOF) {
			t.Errorf("%s, stated too long: %v", s.name, err)
		}
		if err := Insert(io.Discard, bytes.NewReader(s.bytes), -1, profile, Options{}); err == nil {
			t.Errorf("%s: a negative size is accepted", s.name)
		}
		if err := Insert(io.Discard, brokenReader{fault}, int64(len(s.bytes)), profile, Options{}); !errors.Is(err, fault) {
			t.Errorf("%s: %v", s.name, err)
		}
		for n := range 3 {
			if err := Insert(&brokenWriter{n, fault}, bytes.NewReader(s.bytes), int64(len(s.bytes)), profile, Options{}); !errors.Is(err, fault) {
				t.Errorf("%s, write %d: %v", s.name, n, err)
			}
		}
	}
}

type brokenReader struct{ err error }

func (r brokenReader) ReadAt([]byte, int64) (int, error) { return 0, r.err }

// brokenWriter fails after some calls.
type brokenWriter struct {
	calls int
	err   error
}

func (w *brokenWriter) Write(b []byte) (int, error) {
	if w.calls == 0 {
		return 0, w.err
	}
	w.calls--
	return len(b), nil
}

// Every beginning of a file with a profile ends in a typed error or a sound
// result, never in a part of a profile.
func TestEveryPrefix(t *testing.T) {
	for _, s := range samples(t) {
		profile := profileFor(t, s.space)
		file := mustInsert(t, s.bytes, profile, Options{CICP: cicpFor(s.name)})
		for n := range file {
			found, err := extract(file[:n])
			var e *FormatError
			if err != nil && !errors.As(err, &e) {
				t.Fatalf("%s, %d bytes: %v", s.name, n, err)
			}
			if err == nil && found.Profile != nil && !bytes.Equal(found.Profile, profile) {
				t.Fatalf("%s, %d bytes: a part of the profile came out", s.name, n)
			}
			out, err := insert(file[:n], profile, Options{})
			switch {
			case err != nil && (!errors.As(err, &e) || len(out) > 0):
				t.Fatalf("%s, %d bytes: %v, %d bytes written", s.name, n, err, len(out))
			case err == nil && found.Format != JPEG:
				t.Fatalf("%s: a profile was put into the first %d of %d bytes", s.name, n, len(file))
			}
		}
	}
}
