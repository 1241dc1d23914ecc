package embed

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/color/palette"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"testing"
	"time"

	"golang.org/x/image/tiff"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// rgbProfile returns a display profile: primaries and white of ITU-R BT.709-6,
// adapted to D50, and an exponent of 2.2.
func rgbProfile(t testing.TB) []byte {
	t.Helper()
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	power := &icc.ParametricCurve{G: 2.2}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: "made for a test",
		Copyright:   "none",
		Colorants: [3]colorimetry.XYZ{
			chad.Apply(colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}),
			chad.Apply(colorimetry.XYZ{X: 0.3576, Y: 0.7152, Z: 0.1192}),
			chad.Apply(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}),
		},
		Parametric: [3]*icc.ParametricCurve{power, power, power},
		Chad:       chad,
		Created:    time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC),
	})
	if err != nil {
		t.Fatal(err)
	}
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// grayProfile returns a gray display profile with an exponent of 2.2.
func grayProfile(t testing.TB) []byte {
	t.Helper()
	p := icc.Profile{Header: icc.Header{
		Version: icc.V4, Class: icc.ClassDisplay, Space: icc.SpaceGray, PCS: icc.SpaceXYZ, Illuminant: colorimetry.D50(),
	}}
	p.Set(icc.TagDescription, icc.LocalizedText{{Language: "en", Country: "US", Text: "gray for a test"}})
	p.Set(icc.TagCopyright, icc.LocalizedText{{Language: "en", Country: "US", Text: "none"}})
	p.Set(icc.TagMediaWhite, icc.XYZArray{colorimetry.D50()})
	p.Set(icc.TagGrayCurve, icc.ParametricCurve{G: 2.2})
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// fakeProfile returns n bytes that embedding takes for a profile: a header of
// the given class and space, and bytes that do not pack.
func fakeProfile(class, space string, n int) []byte {
	b := make([]byte, n)
	random := rand.New(rand.NewPCG(1, uint64(n)))
	for i := 0; i < n; i += 8 {
		copy(b[i:], binary.LittleEndian.AppendUint64(nil, random.Uint64()))
	}
	binary.BigEndian.PutUint32(b, uint32(n))
	copy(b[8:], "\x04\x30\x00\x00")
	copy(b[12:], class)
	copy(b[16:], space)
	copy(b[36:], "acsp")
	clear(b[128:132]) // no tags
	if n >= 160 {     // one, private, that holds the rest
		copy(b[128:], "\x00\x00\x00\x01priv\x00\x00\x00\x90")
		binary.BigEndian.PutUint32(b[140:], uint32(n-144))
	}
	return b
}

// picture paints a gradient, with a little noise for the entropy coders.
func picture(m interface {
	image.Image
	Set(x, y int, c color.Color)
}) image.Image {
	random := rand.New(rand.NewPCG(7, 7))
	r := m.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			m.Set(x, y, color.NRGBA64{uint16(x * 1500), uint16(y * 1800), uint16(random.Uint32()), uint16(60000 + x)})
		}
	}
	return m
}

var area = image.Rect(0, 0, 37, 29) // odd on purpose

func encodePNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func encodeJPEG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 90}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func encodeTIFF(t testing.TB, m image.Image, o *tiff.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := tiff.Encode(&b, m, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// sample is an image file and the space of the profiles that fit it.
type sample struct {
	name  string
	bytes []byte
	space string
}

// samples returns files of Go's encoders, of every kind of pixel they know.
func samples(t testing.TB) []sample {
	gray, rgba := picture(image.NewGray(area)), picture(image.NewNRGBA(area))
	deep := &tiff.Options{Compression: tiff.Deflate, Predictor: true}
	return []sample{
		{"gray.png", encodePNG(t, gray), "GRAY"},
		{"rgb.png", encodePNG(t, opaque(image.NewNRGBA(area))), "RGB "},
		{"gray16.png", encodePNG(t, picture(image.NewGray16(area))), "GRAY"},
		{"rgba.png", encodePNG(t, rgba), "RGB "},
		{"rgba64.png", encodePNG(t, picture(image.NewNRGBA64(area))), "RGB "},
		{"palette.png", encodePNG(t, picture(image.NewPaletted(area, palette.Plan9))), "RGB "},
		{"gray.jpg", encodeJPEG(t, gray), "GRAY"},
		{"rgb.jpg", encodeJPEG(t, rgba), "RGB "},
		{"gray.tif", encodeTIFF(t, gray, nil), "GRAY"},
		{"rgba.tif", encodeTIFF(t, rgba, nil), "RGB "},
		{"rgba64.tif", encodeTIFF(t, picture(image.NewRGBA64(area)), deep), "RGB "},
		{"palette.tif", encodeTIFF(t, picture(image.NewPaletted(area, palette.Plan9)), deep), "RGB "},
	}
}

// profileFor returns a profile of the space, real where this package's
// neighbour can make one.
func profileFor(t testing.TB, space string) []byte {
	switch space {
	case "RGB ":
		return rgbProfile(t)
	case "GRAY":
		return grayProfile(t)
	}
	return fakeProfile("prtr", space, 3001)
}

func extract(b []byte) (Found, error) {
	return Extract(bytes.NewReader(b), int64(len(b)), Limits{})
}

func insert(b, profile []byte, o Options) ([]byte, error) {
	var out bytes.Buffer
	err := Insert(&out, bytes.NewReader(b), int64(len(b)), profile, o)
	return out.Bytes(), err
}

func remove(b []byte, o Options) ([]byte, error) {
	var out bytes.Buffer
	err := Remove(&out, bytes.NewReader(b), int64(len(b)), o)
	return out.Bytes(), err
}

func mustInsert(t testing.TB, b, profile []byte, o Options) []byte {
	t.Helper()
	out, err := insert(b, profile, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func mustRemove(t testing.TB, b []byte, o Options) []byte {
	t.Helper()
	out, err := remove(b, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func mustExtract(t testing.TB, b []byte) Found {
	t.Helper()
	found, err := extract(b)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

// wantFormatError checks kind, format and offset of an error, and that it
// names problem and remedy. kind may be nil.
func wantFormatError(t testing.TB, err error, format Format, off int64, kind error) {
	t.Helper()
	var e *FormatError
	switch {
	case !errors.As(err, &e):
		t.Errorf("got %v, want a *FormatError", err)
	case e.Format != format || e.Offset != off || e.Problem == "" || e.Remedy == "":
		t.Errorf("got %v, want one about %s at byte %d", err, format, off)
	case kind != nil && !errors.Is(err, kind):
		t.Errorf("got %v, want one that is %q", err, kind)
	}
}

// opaque paints a picture without transparency, which encoders store as RGB.
func opaque(m *image.NRGBA) image.Image {
	picture(m)
	for i := 3; i < len(m.Pix); i += 4 {
		m.Pix[i] = 0xff
	}
	return m
}

// cicpFor returns code points (Display P3) for a PNG and nil for other names.
func cicpFor(name string) *icc.CICP {
	if len(name) < 4 || name[len(name)-4:] != ".png" {
		return nil
	}
	return &icc.CICP{Primaries: 12, Transfer: 13, FullRange: 1}
}
