package transform_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// Profiles of two invented displays: encoding is in image_example_test.go.
func narrow(testing.TB) *icc.Profile { return encoding(rgb.SRGB(), 2.2) }
func wide(testing.TB) *icc.Profile   { return encoding(rgb.DisplayP3(), 1.8) }

// grays returns the profile of an invented gray device.
func grays(t testing.TB) *icc.Profile {
	t.Helper()
	p := &icc.Profile{Header: icc.Header{
		Version: icc.V4, Class: icc.ClassDisplay, Space: icc.SpaceGray, PCS: icc.SpaceXYZ, Illuminant: colorimetry.D50(),
	}}
	p.Set(icc.TagDescription, icc.LocalizedText{{Language: "en", Country: "US", Text: "invented gray"}})
	p.Set(icc.TagCopyright, icc.LocalizedText{{Language: "en", Country: "US", Text: "none"}})
	p.Set(icc.TagMediaWhite, icc.XYZArray{colorimetry.D50()})
	p.Set(icc.TagGrayCurve, icc.ParametricCurve{G: 1.6})
	return p
}

// An invented press: three bands of light, of which each ink passes a part, on a
// yellowish paper that reflects less than all.
var (
	inkPasses = [4][3]float64{{0.08, 0.55, 0.75}, {0.65, 0.10, 0.45}, {0.92, 0.80, 0.07}, {0.03, 0.03, 0.03}}
	paperXYZ  = colorimetry.XYZ{X: 0.80, Y: 0.83, Z: 0.64}
)

// printed returns the light of each band relative to the paper.
func printed(ink [4]float64) (band [3]float64) {
	for b := range band {
		band[b] = 1
		for i, a := range ink {
			band[b] *= 1 - a*(1-inkPasses[i][b])
		}
	}
	return band
}

// inks returns the inks of colour that come nearest to bands of light, without black.
func pressInks(band [3]float64) (ink [4]float64) {
	for range 30 {
		for i := range 3 {
			others := ink
			others[i] = 0
			pass := band[i] / printed(others)[i]
			ink[i] = min(max((1-pass)/(1-inkPasses[i][i]), 0), 1)
		}
	}
	return ink
}

// press returns the profile of the invented press, which nobody changes.
func press(t testing.TB) *icc.Profile {
	t.Helper()
	p, err := thePress()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var thePress = sync.OnceValues(func() (*icc.Profile, error) {
	m, err := rgb.BT2020().Matrix()
	if err != nil {
		return nil, err
	}
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		return nil, err
	}
	m = chad.Mul(m)
	back, err := m.Inverse()
	if err != nil {
		return nil, err
	}
	p := &icc.Profile{Header: icc.Header{
		Version: icc.V4, Class: icc.ClassOutput, Space: icc.SpaceCMYK, PCS: icc.SpaceLab, Illuminant: colorimetry.D50(),
	}}
	p.Set(icc.TagDescription, icc.LocalizedText{{Language: "en", Country: "US", Text: "invented press"}})
	p.Set(icc.TagCopyright, icc.LocalizedText{{Language: "en", Country: "US", Text: "none"}})
	p.Set(icc.TagMediaWhite, icc.XYZArray{paperXYZ})
	word := func(v float64) uint16 { return uint16(math.Round(65535 * min(max(v, 0), 1))) }
	straight := icc.ParametricCurve{G: 1}
	lines := []icc.Curve{straight, straight, straight, straight}
	const n = 9
	there := icc.CLUT{Grid: []int{n, n, n, n}, Outputs: 3}
	for i := range n * n * n * n {
		at := func(d int) float64 { return float64(i/d%n) / (n - 1) }
		b := printed([4]float64{at(n * n * n), at(n * n), at(n), at(1)})
		lab := m.Apply(colorimetry.XYZ{X: b[0], Y: b[1], Z: b[2]}).Lab(colorimetry.D50())
		there.Words = append(there.Words, word(lab.L/100), word((lab.A+128)/255), word((lab.B+128)/255))
	}
	const k = 33
	here := icc.CLUT{Grid: []int{k, k, k}, Outputs: 4}
	for i := range k * k * k {
		at := func(d int) float64 { return float64(i/d%k) / (k - 1) }
		b := back.Apply(colorimetry.Lab{L: 100 * at(k*k), A: 255*at(k) - 128, B: 255*at(1) - 128}.XYZ(colorimetry.D50()))
		for _, v := range pressInks([3]float64{b.X, b.Y, b.Z}) {
			here.Words = append(here.Words, word(v))
		}
	}
	for _, sig := range []icc.Signature{icc.TagAToB0, icc.TagAToB1, icc.TagAToB2} {
		p.Set(sig, icc.LutAToB{A: lines, Table: &there, B: lines[:3]})
	}
	for _, sig := range []icc.Signature{icc.TagBToA0, icc.TagBToA1, icc.TagBToA2} {
		p.Set(sig, icc.LutBToA{B: lines[:3], Table: &here, A: lines})
	}
	return p, nil
})

// way returns the transform through profiles.
func way(t testing.TB, o transform.Options, profiles ...*icc.Profile) *transform.Transform {
	t.Helper()
	tr, err := transform.New(o, profiles...)
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// fill writes noise into a picture's memory: any numbers, but colours that are
// multiplied by their opacity stay within it.
func fill(m image.Image, seed uint64) image.Image {
	rnd := rand.New(rand.NewPCG(8, seed))
	noise := func(b []uint8) {
		for i := range b {
			b[i] = uint8(rnd.Uint32())
		}
	}
	r := m.Bounds()
	switch m := m.(type) {
	case *image.RGBA:
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				a := rnd.Uint32() % 256
				m.SetRGBA(x, y, color.RGBA{uint8(rnd.Uint32() % (a + 1)), uint8(rnd.Uint32() % (a + 1)), uint8(rnd.Uint32() % (a + 1)), uint8(a)})
			}
		}
	case *image.RGBA64:
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				a := rnd.Uint32() % 65536
				m.SetRGBA64(x, y, color.RGBA64{uint16(rnd.Uint32() % (a + 1)), uint16(rnd.Uint32() % (a + 1)), uint16(rnd.Uint32() % (a + 1)), uint16(a)})
			}
		}
	case *image.NRGBA:
		noise(m.Pix)
	case *image.NRGBA64:
		noise(m.Pix)
	case *image.Gray:
		noise(m.Pix)
	case *image.Gray16:
		noise(m.Pix)
	case *image.CMYK:
		noise(m.Pix)
	case *image.YCbCr:
		noise(m.Y)
		noise(m.Cb)
		noise(m.Cr)
	case *image.NYCbCrA:
		noise(m.Y)
		noise(m.Cb)
		noise(m.Cr)
		noise(m.A)
	case *image.Paletted:
		for i := range m.Pix {
			m.Pix[i] = uint8(rnd.IntN(len(m.Palette)))
		}
	case other:
		fill(m.RGBA, seed)
	case nrgbaOther:
		fill(m.m, seed)
	case cmykOther:
		fill(m.m, seed)
	case grayOther:
		fill(m.m, seed)
	}
	return m
}

// Pictures of kinds that the package does not know.
type (
	other      struct{ *image.RGBA } // has RGBA64At and SetRGBA64
	nrgbaOther struct{ m *image.NRGBA64 }
	cmykOther  struct{ m *image.CMYK }
	grayOther  struct{ m *image.Gray16 }
)

func (o nrgbaOther) At(x, y int) color.Color     { return o.m.At(x, y) }
func (o nrgbaOther) Set(x, y int, c color.Color) { o.m.Set(x, y, c) }
func (o nrgbaOther) Bounds() image.Rectangle     { return o.m.Rect }
func (o nrgbaOther) ColorModel() color.Model     { return color.NRGBA64Model }
func (o cmykOther) At(x, y int) color.Color      { return o.m.At(x, y) }
func (o cmykOther) Set(x, y int, c color.Color)  { o.m.Set(x, y, c) }
func (o cmykOther) Bounds() image.Rectangle      { return o.m.Rect }
func (o cmykOther) ColorModel() color.Model      { return color.CMYKModel }
func (o grayOther) At(x, y int) color.Color      { return o.m.At(x, y) }
func (o grayOther) Set(x, y int, c color.Color)  { o.m.Set(x, y, c) }
func (o grayOther) Bounds() image.Rectangle      { return o.m.Rect }
func (o grayOther) ColorModel() color.Model      { return color.Gray16Model }

// numbers returns what a pixel holds, from 0 to 1 and not multiplied by its opacity,
// the opacity, what its largest number is, and whether it holds products.
func numbers(c color.Color) (v []float64, alpha, top float64, products bool) {
	straight := func(top, a float64, all ...float64) ([]float64, float64, float64, bool) {
		for i := range all {
			all[i] /= top
		}
		return all, a / top, top, false
	}
	multiplied := func(top, a float64, all ...float64) ([]float64, float64, float64, bool) {
		for i := range all {
			if all[i] /= a; a == 0 {
				all[i] = 0
			}
		}
		return all, a / top, top, true
	}
	switch c := c.(type) {
	case color.RGBA:
		return multiplied(255, float64(c.A), float64(c.R), float64(c.G), float64(c.B))
	case color.RGBA64:
		return multiplied(65535, float64(c.A), float64(c.R), float64(c.G), float64(c.B))
	case color.NRGBA:
		return straight(255, float64(c.A), float64(c.R), float64(c.G), float64(c.B))
	case color.NRGBA64:
		return straight(65535, float64(c.A), float64(c.R), float64(c.G), float64(c.B))
	case color.Gray:
		return straight(255, 255, float64(c.Y))
	case color.Gray16:
		return straight(65535, 65535, float64(c.Y))
	case color.CMYK:
		return straight(255, 255, float64(c.C), float64(c.M), float64(c.Y), float64(c.K))
	case color.YCbCr:
		r, g, b := color.YCbCrToRGB(c.Y, c.Cb, c.Cr)
		return straight(255, 255, float64(r), float64(g), float64(b))
	case color.NYCbCrA:
		r, g, b := color.YCbCrToRGB(c.Y, c.Cb, c.Cr)
		return straight(255, float64(c.A), float64(r), float64(g), float64(b))
	}
	panic(c)
}

// far returns by how many codes of dst a picture's numbers differ most from what the
// chain in float64 makes of each pixel of src.
func far(t testing.TB, chain *icc.Chain, dst, src image.Image) (worst float64) {
	t.Helper()
	r, s := dst.Bounds(), src.Bounds()
	if r.Size() != s.Size() {
		t.Fatalf("%v became %v", s, r)
	}
	var v [8]float64
	for y := range r.Dy() {
		for x := range r.Dx() {
			in, alpha, _, _ := numbers(src.At(s.Min.X+x, s.Min.Y+y))
			if len(in) == 1 && chain.Inputs() == 3 {
				in = []float64{in[0], in[0], in[0]}
			}
			chain.Eval(v[:], in)
			got, gotAlpha, top, products := numbers(dst.At(r.Min.X+x, r.Min.Y+y))
			unit := top
			if products {
				unit *= gotAlpha
			}
			opacity := chain.To() != icc.SpaceCMYK && dst.ColorModel() != color.GrayModel && dst.ColorModel() != color.Gray16Model
			if d := math.Abs(gotAlpha-alpha) * top; opacity && d > 1 {
				t.Fatalf("%d,%d: opacity %g became %g", x, y, alpha, gotAlpha)
			}
			for c := range got {
				want := v[min(c, chain.Outputs()-1)]
				worst = max(worst, math.Abs(got[c]-want)*unit)
			}
		}
	}
	return worst
}
