package pictures_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/pictures"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"github.com/google/go-cmp/cmp"
	"golang.org/x/image/tiff"
)

// scene is a picture of ours: a large even sky with a little texture, and a
// coat of saturated red on one pixel in two hundred.
func scene(w, h int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{R: uint8(120 + x*20/w), G: uint8(170 + y*20/h), B: 230, A: 255}
			if x < w/10 && y < h/20 {
				c = color.NRGBA{R: 220, G: 10, B: 20, A: 255}
			}
			m.SetNRGBA(x, y, c)
		}
	}
	return m
}

func near(a, b colorimetry.RGB) float64 {
	return math.Abs(a.R-b.R) + math.Abs(a.G-b.G) + math.Abs(a.B-b.B)
}

func TestTheSkyDoesNotDrownTheCoat(t *testing.T) {
	source, err := pictures.Encoded(rgb.SRGB())
	if err != nil {
		t.Fatal(err)
	}
	picks, err := pictures.Patches([]pictures.Picture{{Name: "coat", Image: scene(800, 600)}}, 8,
		pictures.Options{Source: source, Target: rgb.SRGB()})
	if err != nil {
		t.Fatal(err)
	}
	red := colorimetry.RGB{R: 220.0 / 255, G: 10.0 / 255, B: 20.0 / 255}
	found, share := false, 0.0
	for _, p := range picks {
		share += p.Share
		if near(p.Signal, red) < 0.01 {
			found = true
			if math.Abs(p.Share-0.005) > 0.001 {
				t.Errorf("the coat has a share of %.4f, want 0.005", p.Share)
			}
		}
	}
	if !found {
		t.Errorf("no patch is the coat's red: %+v", picks)
	}
	if math.Abs(share-1) > 1e-12 {
		t.Errorf("shares add up to %g", share)
	}
}

func TestEachPatchNamesItsPicture(t *testing.T) {
	flat := func(c color.Color) image.Image {
		m := image.NewNRGBA(image.Rect(0, 0, 40, 30))
		for i := range 40 * 30 {
			m.Set(i%40, i/40, c)
		}
		return m
	}
	in := []pictures.Picture{{Name: "green", Image: flat(color.NRGBA{G: 200, A: 255})}, {Name: "grey", Image: flat(color.Gray{Y: 90})}}
	// Equal shares stand in the order of lightness, the darker first.
	picks, err := pictures.Patches(in, 5, pictures.Options{Bits: 8})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, p := range picks {
		got = append(got, p.ID+" "+p.Picture)
		if p.Signal != p.Signal.Quantise(8) {
			t.Errorf("%v is on no code of 8 bits", p.Signal)
		}
	}
	if diff := cmp.Diff([]string{"picture1 grey", "picture2 green"}, got); diff != "" {
		t.Errorf("two flat pictures give (-want +got)\n%s", diff)
	}
	again, err := pictures.Patches(in, 5, pictures.Options{Bits: 8})
	if err != nil || cmp.Diff(picks, again) != "" {
		t.Errorf("the same input gives another choice: %v", err)
	}
}

// sRGB red in Display P3: 0.9175, 0.2003, 0.1386 (CSS Color 4, sample
// conversions, from memory; the matrices themselves are tested in
// colorimetry/rgb).
func TestSignalsAreTheDisplays(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 4, 4))
	for i := range 16 {
		m.Set(i%4, i/4, color.NRGBA{R: 255, A: 255})
	}
	picks, err := pictures.Patches([]pictures.Picture{{Name: "red", Image: m}}, 1, pictures.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if want := (colorimetry.RGB{R: 0.9175, G: 0.2003, B: 0.1386}); near(picks[0].Signal, want) > 5e-4 {
		t.Errorf("sRGB red is %v on the display, want %v", picks[0].Signal, want)
	}
}

func TestTransparentPixelsArePassedOver(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 10, 10))
	for i := range 100 {
		m.SetNRGBA(i%10, i/10, color.NRGBA{R: 255})
	}
	if _, err := pictures.Patches([]pictures.Picture{{Name: "glass", Image: m}}, 3, pictures.Options{}); err == nil {
		t.Error("a transparent picture gives patches")
	}
	m.SetNRGBA(5, 5, color.NRGBA{B: 255, A: 200})
	picks, err := pictures.Patches([]pictures.Picture{{Name: "glass", Image: m}}, 3, pictures.Options{Target: rgb.SRGB()})
	if err != nil || len(picks) != 1 || near(picks[0].Signal, colorimetry.RGB{B: 1}) > 0.01 {
		t.Errorf("one blue pixel behind glass gives %v, %v", picks, err)
	}
}

func encoded(t testing.TB, m image.Image) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for name, write := range map[string]func(*bytes.Buffer) error{
		"png":  func(b *bytes.Buffer) error { return png.Encode(b, m) },
		"jpeg": func(b *bytes.Buffer) error { return jpeg.Encode(b, m, &jpeg.Options{Quality: 95}) },
		"tiff": func(b *bytes.Buffer) error { return tiff.Encode(b, m, &tiff.Options{Compression: tiff.Deflate}) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		out[name] = b.Bytes()
	}
	return out
}

func TestDecode(t *testing.T) {
	deep := image.NewNRGBA64(image.Rect(0, 0, 20, 10))
	for i := range 200 {
		deep.SetNRGBA64(i%20, i/20, color.NRGBA64{R: uint16(i * 300), G: 1234, B: 65535, A: 65535})
	}
	for name, b := range encoded(t, deep) {
		p, err := pictures.Decode(bytes.NewReader(b), name, pictures.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if p.HasProfile || p.Name != name || p.Image.Bounds() != deep.Bounds() {
			t.Errorf("%s: %+v", name, p)
		}
		if name == "jpeg" {
			continue // 8 bits only
		}
		if diff := cmp.Diff(deep.At(7, 3), color.NRGBA64Model.Convert(p.Image.At(7, 3))); diff != "" {
			t.Errorf("%s: 16 bits were not kept:\n%s", name, diff)
		}
	}
}

// Files that carry a profile, put together by hand from the parts that ICC.1
// annex B and the formats' own standards name.
func TestProfileIsSeen(t *testing.T) {
	for name, b := range encoded(t, scene(16, 16)) {
		switch name {
		case "png":
			chunk := append([]byte("iCCP"), "x\x00\x00body"...)
			var sum [4]byte
			for i, v := 0, crc32.ChecksumIEEE(chunk); i < 4; i++ {
				sum[i] = byte(v >> (24 - 8*i))
			}
			with := append([]byte{0, 0, 0, byte(len(chunk) - 4)}, chunk...)
			b = bytes.Join([][]byte{b[:33], with, sum[:], b[33:]}, nil) // after the header chunk
		case "jpeg":
			b = bytes.Join([][]byte{b[:2], {0xff, 0xe2, 0, 17}, []byte("ICC_PROFILE\x00\x01\x01!"), b[2:]}, nil)
		case "tiff":
			continue // below
		}
		p, err := pictures.Decode(bytes.NewReader(b), name, pictures.Limits{})
		if err != nil || !p.HasProfile {
			t.Errorf("%s: profile seen %v, error %v", name, p.HasProfile, err)
		}
	}
	// In TIFF a copy of the directory with one more field is hung on.
	b := encoded(t, scene(16, 16))["tiff"]
	order := binary.LittleEndian
	at, end := int(order.Uint32(b[4:])), len(b)
	fields := int(order.Uint16(b[at:]))
	b = append(order.AppendUint16(b, uint16(fields+1)), b[at+2:at+2+12*fields]...)
	b = order.AppendUint16(order.AppendUint16(b, 34675), 7)
	b = order.AppendUint32(order.AppendUint32(order.AppendUint32(b, 4), 0), 0)
	order.PutUint32(b[4:], uint32(end))
	if p, err := pictures.Decode(bytes.NewReader(b), "tiff", pictures.Limits{}); err != nil || !p.HasProfile {
		t.Errorf("tiff: profile seen %v, error %v", p.HasProfile, err)
	}
}

func TestBadPictures(t *testing.T) {
	good := encoded(t, scene(64, 64))
	for name, c := range map[string]struct {
		b    []byte
		l    pictures.Limits
		says string
	}{
		"empty":       {nil, pictures.Limits{}, "no PNG, JPEG or TIFF"},
		"text":        {[]byte("a picture of a cat"), pictures.Limits{}, "no PNG, JPEG or TIFF"},
		"cut png":     {good["png"][:200], pictures.Limits{}, "damaged PNG"},
		"cut jpeg":    {good["jpeg"][:300], pictures.Limits{}, "damaged JPEG"},
		"cut tiff":    {good["tiff"][:40], pictures.Limits{}, "damaged TIFF"},
		"many pixels": {good["png"], pictures.Limits{Pixels: 4000}, "64 × 64 pixels"},
		"many bytes":  {good["png"], pictures.Limits{Bytes: 100}, "more than 100 bytes"},
	} {
		_, err := pictures.Decode(bytes.NewReader(c.b), name, c.l)
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
	if _, err := pictures.Decode(strings.NewReader("x"), "x", pictures.Limits{}); !errors.Is(err, pictures.ErrFormat) {
		t.Errorf("another format gives %v", err)
	}
}

func FuzzDecode(f *testing.F) {
	for _, b := range encoded(f, scene(9, 7)) {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := pictures.Decode(bytes.NewReader(b), "fuzz", pictures.Limits{Bytes: 1 << 16, Pixels: 1 << 14})
		if err != nil {
			return
		}
		picks, err := pictures.Patches([]pictures.Picture{p}, 4, pictures.Options{})
		if err == nil && (len(picks) == 0 || len(picks) > 4) {
			t.Errorf("%d patches", len(picks))
		}
		for _, k := range picks {
			if s := k.Signal; s != s.Clamp() {
				t.Errorf("signal %v", s)
			}
		}
	})
}

// A picture of 24 megapixels takes less than 2 s beyond decoding.
func BenchmarkPatches24Megapixels(b *testing.B) {
	m := scene(6000, 4000)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := pictures.Patches([]pictures.Picture{{Name: "large", Image: m}}, 50, pictures.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
