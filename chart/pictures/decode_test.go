package pictures_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/pictures"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/icc"
	"example.org/primaries/icc/embed"
	"github.com/google/go-cmp/cmp"
	"golang.org/x/image/tiff"
)

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
		if p.Profile != nil || p.Name != name || p.Image.Bounds() != deep.Bounds() {
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

// The profile that a file carries comes with the picture, and makes its meaning:
// white is the white of the connection space, D50 (ICC.1:2022, 7.2.16).
func TestProfileIsSeen(t *testing.T) {
	power := &icc.ParametricCurve{G: 2.2}
	profile, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: "Somewhat like BT.709",
		Colorants:   [3]colorimetry.XYZ{{X: 0.4360, Y: 0.2225, Z: 0.0139}, {X: 0.3851, Y: 0.7169, Z: 0.0971}, {X: 0.1431, Y: 0.0606, Z: 0.7139}},
		Parametric:  [3]*icc.ParametricCurve{power, power, power},
	})
	if err != nil {
		t.Fatal(err)
	}
	want, err := profile.Encode()
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range encoded(t, scene(16, 16)) {
		var with bytes.Buffer
		if err := embed.Insert(&with, bytes.NewReader(b), int64(len(b)), want, embed.Options{}); err != nil {
			t.Fatal(err)
		}
		p, err := pictures.Decode(&with, name, pictures.Limits{})
		if err != nil || !bytes.Equal(p.Profile, want) {
			t.Fatalf("%s: profile of %d bytes, error %v", name, len(p.Profile), err)
		}
		own, err := icc.Decode(p.Profile)
		if err != nil {
			t.Fatal(err)
		}
		e, err := icc.NewEvaluator(own, icc.Relative)
		if err != nil {
			t.Fatal(err)
		}
		m := pictures.Profiled(e)
		if w := m.XYZ(colorimetry.Gray(1)); m.White != colorimetry.D50() || math.Abs(w.X-0.9642) > 2e-5 || math.Abs(w.Z-0.8249) > 2e-5 {
			t.Errorf("%s: white %v", name, w)
		}
	}
	// Nobody could say what the numbers mean where the profile is damaged.
	plain := encoded(t, scene(16, 16))["png"]
	chunk := append([]byte("iCCP"), "x\x00\x00body"...)
	damaged := bytes.Join([][]byte{plain[:33], binary.BigEndian.AppendUint32(nil, uint32(len(chunk)-4)), chunk, binary.BigEndian.AppendUint32(nil, crc32.ChecksumIEEE(chunk)), plain[33:]}, nil)
	if _, err := pictures.Decode(bytes.NewReader(damaged), "png", pictures.Limits{}); err == nil || !strings.Contains(err.Error(), "unpack") {
		t.Errorf("a damaged profile: %v", err)
	}
}

func TestBadPictures(t *testing.T) {
	good := encoded(t, scene(64, 64))
	// PhotometricInterpretation, tag 262, of inks: TIFF 6.0, section 16.
	inks := bytes.Clone(good["tiff"])
	at := bytes.Index(inks, []byte{6, 1, 3, 0, 1, 0, 0, 0})
	if at < 0 {
		t.Fatal("the TIFF has no tag 262")
	}
	inks[at+8] = 5
	for name, c := range map[string]struct {
		b    []byte
		l    pictures.Limits
		says string
	}{
		"empty":       {nil, pictures.Limits{}, "no PNG, JPEG or TIFF"},
		"text":        {[]byte("a picture of a cat"), pictures.Limits{}, "no PNG, JPEG or TIFF"},
		"cut png":     {good["png"][:200], pictures.Limits{}, "damaged or unusual PNG"},
		"cut jpeg":    {good["jpeg"][:300], pictures.Limits{}, "damaged or unusual JPEG"},
		"cut tiff":    {good["tiff"][:40], pictures.Limits{}, "damaged or unusual TIFF"},
		"inks":        {inks, pictures.Limits{}, "save it as RGB"},
		"many pixels": {good["png"], pictures.Limits{Pixels: 4000}, "64 × 64 pixels"},
		"many bytes":  {good["png"], pictures.Limits{Bytes: 100}, "more than 100 bytes"},
	} {
		_, err := pictures.Decode(bytes.NewReader(c.b), name, c.l)
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
	// A JPEG of four components up to its scan (ISO/IEC 10918-1, B.2.2).
	ink := []byte{0xff, 0xd8, 0xff, 0xc0, 0, 20, 8, 0, 16, 0, 16, 4, 1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0, 0xff, 0xda, 0, 2}
	if _, err := pictures.Decode(bytes.NewReader(ink), "ink", pictures.Limits{}); err == nil || !strings.Contains(err.Error(), "CMYK") {
		t.Errorf("a CMYK image gives %v", err)
	}
	if _, err := pictures.Decode(strings.NewReader("x"), "x", pictures.Limits{}); !errors.Is(err, pictures.ErrFormat) {
		t.Errorf("another format gives %v", err)
	}
}

// tiffOf puts a TIFF together from fields of one LONG or, where they have more,
// a LONG array at offset 8, and says where the data goes (TIFF 6.0, section 2).
func tiffOf(data []byte, fields ...[3]uint32) []byte {
	order := binary.LittleEndian
	b := append([]byte("II*\x00"), 0, 0, 0, 0)
	b = append(b, data...)
	order.PutUint32(b[4:], uint32(len(b)))
	b = order.AppendUint16(b, uint16(len(fields)))
	for _, f := range fields { // tag, count, value or offset
		b = order.AppendUint16(order.AppendUint16(b, uint16(f[0])), 4)
		b = order.AppendUint32(order.AppendUint32(b, f[1]), f[2])
	}
	return order.AppendUint32(b, 0)
}

// Small files that would have the decoder work or allocate far beyond their
// size are refused at once.
func TestTIFFBombs(t *testing.T) {
	data := make([]byte, 4096)
	for i := 0; i < len(data); i += 4 {
		binary.LittleEndian.PutUint32(data[i:], 4096)
	}
	gray := func(w, h uint32, more ...[3]uint32) []byte {
		return tiffOf(data, append([][3]uint32{{256, 1, w}, {257, 1, h}, {258, 1, 8}, {259, 1, 1}, {262, 1, 1}}, more...)...)
	}
	for name, c := range map[string]struct {
		b    []byte
		says string
	}{
		"values": {gray(8, 8, [3]uint32{273, 3 << 20, 8}, [3]uint32{279, 3 << 20, 8}), "four million values"},
		"parts":  {gray(8, 1000, [3]uint32{273, 1000, 8}, [3]uint32{278, 1, 1}, [3]uint32{279, 1000, 8}), "far longer than the file"},
		"tiles":  {gray(100_000, 8, [3]uint32{322, 1, 8}, [3]uint32{323, 1, 1_000_000}), "tiles reach far beyond"},
	} {
		_, err := pictures.Decode(bytes.NewReader(c.b), name, pictures.Limits{})
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
	// The largest number of rows a strip is common and means one strip. The
	// caller's bytes stay as they are.
	good := gray(64, 60, [3]uint32{273, 1, 8}, [3]uint32{278, 1, 1<<32 - 1}, [3]uint32{279, 1, 64 * 60})
	before := bytes.Clone(good)
	p, err := pictures.Decode(bytes.NewReader(good), "strip", pictures.Limits{})
	if err != nil || p.Image.Bounds() != image.Rect(0, 0, 64, 60) || p.Image.At(5, 59) != (color.Gray{Y: 0x10}) {
		t.Errorf("one strip without end: %v", err)
	}
	if !bytes.Equal(before, good) {
		t.Error("Decode changed its caller's bytes")
	}
}

// Every kind of image that the formats hold keeps its colours: grey stays grey,
// a palette is looked up, 16 bits are 16 bits.
func TestKindsOfImages(t *testing.T) {
	r := image.Rect(0, 0, 6, 5)
	fill := func(m draw.Image, c color.Color) image.Image {
		draw.Draw(m, r, image.NewUniform(c), image.Point{}, draw.Src)
		return m
	}
	orange := color.NRGBA{R: 255, G: 128, A: 255}
	for name, c := range map[string]struct {
		m    image.Image
		want colorimetry.RGB
	}{
		"grey":    {fill(image.NewGray(r), color.Gray{Y: 100}), colorimetry.Gray(100.0 / 255)},
		"grey16":  {fill(image.NewGray16(r), color.Gray16{Y: 12345}), colorimetry.Gray(12345.0 / 65535)},
		"palette": {fill(image.NewPaletted(r, color.Palette{color.Black, orange}), orange), colorimetry.RGB{R: 1, G: 128.0 / 255}},
		"deep":    {fill(image.NewNRGBA64(r), color.NRGBA64{R: 50001, G: 20003, B: 30007, A: 65535}), colorimetry.RGB{R: 50001.0 / 65535, G: 20003.0 / 65535, B: 30007.0 / 65535}},
	} {
		for format, b := range encoded(t, c.m) {
			p, err := pictures.Decode(bytes.NewReader(b), name, pictures.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			picks, err := pictures.Patches([]pictures.Picture{p}, 3, pictures.Options{Target: rgb.SRGB()})
			if err != nil || len(picks) != 1 {
				t.Fatalf("%s in %s: %v, %v", name, format, picks, err)
			}
			tol := 1e-6 // a sixteenth of a 16-bit code, over three channels
			if format == "jpeg" {
				tol = 0.03 // 8 bits, and the rounding of three YCbCr channels
			}
			if near(picks[0].Signal, c.want) > tol {
				t.Errorf("%s in %s: %v, want %v", name, format, picks[0].Signal, c.want)
			}
		}
	}
}

func FuzzDecode(f *testing.F) {
	for _, b := range encoded(f, scene(9, 7)) {
		f.Add(b)
	}
	f.Add(tiffOf(make([]byte, 64), [3]uint32{256, 1, 8}, [3]uint32{257, 1, 8}, [3]uint32{258, 1, 8}, [3]uint32{262, 1, 1},
		[3]uint32{273, 1, 8}, [3]uint32{278, 1, 1<<32 - 1}, [3]uint32{279, 1, 64}))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := pictures.Decode(bytes.NewReader(b), "fuzz", pictures.Limits{Bytes: 1 << 16, Pixels: 1 << 14})
		if err != nil {
			if !strings.HasPrefix(err.Error(), "pictures: fuzz: ") {
				t.Errorf("error %v does not name the file", err)
			}
			return
		}
		if s := p.Image.Bounds().Size(); s.X*s.Y > 1<<14 {
			t.Errorf("%v pixels were decoded", s)
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
