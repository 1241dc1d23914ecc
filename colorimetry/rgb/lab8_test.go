package rgb_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
)

func lab8(t testing.TB, s rgb.Space, white colorimetry.XYZ) *rgb.Lab8 {
	t.Helper()
	l, err := rgb.NewLab8(s, colorimetry.BradfordAdaptation(), white)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// The quick way is the plain one, within 1e-12 of the scale of L*.
func TestLab8AgainstPlainWay(t *testing.T) {
	for _, s := range []rgb.Space{rgb.SRGB(), rgb.AdobeRGB(), rgb.ROMM(), rgb.BT2020()} {
		for _, white := range []colorimetry.XYZ{s.White.XYZ(1), colorimetry.D50()} {
			quick, plain := lab8(t, s, white), codec(t, s)
			adapt, err := colorimetry.Bradford(s.White.XYZ(1), white)
			if err != nil {
				t.Fatal(err)
			}
			for r := 0; r < 256; r += 15 {
				for g := 0; g < 256; g += 17 {
					for b := 0; b < 256; b += 5 {
						signal := colorimetry.RGB{R: float64(r) / 255, G: float64(g) / 255, B: float64(b) / 255}
						want := adapt.Apply(plain.XYZ(signal)).Lab(white)
						got := quick.Lab(uint8(r), uint8(g), uint8(b))
						if math.Abs(got.L-want.L) > 1e-12 || math.Abs(got.A-want.A) > 2e-12 || math.Abs(got.B-want.B) > 1e-12 {
							t.Fatalf("%s: %d %d %d is %v, want %v", s.Name, r, g, b, got, want)
						}
					}
				}
			}
		}
	}
}

func TestLab8Rows(t *testing.T) {
	l := lab8(t, rgb.SRGB(), colorimetry.D65())
	pix := []byte{10, 20, 30, 255, 200, 100, 0, 9}
	dst := make([]colorimetry.Lab, 2)
	l.Row(dst, pix, 4)
	if dst[0] != l.Lab(10, 20, 30) || dst[1] != l.Lab(200, 100, 0) {
		t.Errorf("by fours: %v", dst)
	}
	l.Row(dst, pix[:6], 3)
	if dst[0] != l.Lab(10, 20, 30) || dst[1] != l.Lab(255, 200, 100) {
		t.Errorf("by threes: %v", dst)
	}
	for _, f := range []func(){
		func() { l.Row(dst, pix, 3) }, func() { l.Row(dst[:1], pix, 4) }, func() { l.Row(dst, pix, 2) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a wrong length is accepted")
				}
			}()
			f()
		}()
	}
}

func TestColors(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for range 500 {
		n := color.NRGBA{R: uint8(random.Uint32()), G: uint8(random.Uint32()), B: uint8(random.Uint32()), A: uint8(random.Uint32())}
		if got := rgb.FromColor(n).NRGBA(); got != n {
			t.Errorf("%v comes back as %v", n, got)
		}
		w := color.NRGBA64{R: uint16(random.Uint32()), G: uint16(random.Uint32()), B: uint16(random.Uint32()), A: uint16(random.Uint32())}
		if got := rgb.FromColor(w).NRGBA64(); got != w {
			t.Errorf("%v comes back as %v", w, got)
		}
		n.A = 255
		r, g, b, a := rgb.FromColor(n).RGBA()
		if wr, wg, wb, wa := n.RGBA(); r != wr || g != wg || b != wb || a != wa {
			t.Errorf("%v is %d %d %d %d", n, r, g, b, a)
		}
	}
	for _, k := range []struct {
		in   color.Color
		want rgb.Color
	}{
		{color.Gray{51}, rgb.Color{Signal: colorimetry.Gray(0.2), Alpha: 1}},
		{color.Gray16{13107}, rgb.Color{Signal: colorimetry.Gray(0.2), Alpha: 1}},
		{color.RGBA{A: 0}, rgb.Color{}},
		{color.RGBA{R: 51, G: 0, B: 102, A: 102}, rgb.Color{Signal: colorimetry.RGB{R: 0.5, B: 1}, Alpha: 0.4}},
		{rgb.Color{Signal: colorimetry.Gray(0.123456), Alpha: 0.5}, rgb.Color{Signal: colorimetry.Gray(0.123456), Alpha: 0.5}},
	} {
		if got := rgb.Model().Convert(k.in); got != k.want {
			t.Errorf("%v is %v, want %v", k.in, got, k.want)
		}
	}
	nan := rgb.Color{Signal: colorimetry.RGB{R: math.NaN(), G: 2, B: -1}, Alpha: 1}
	if got := nan.NRGBA(); got != (color.NRGBA{G: 255, A: 255}) {
		t.Errorf("beyond the range: %v", got)
	}
}

// An image's pixels through the model are those through the conversion.
func TestConversionModel(t *testing.T) {
	conv, err := rgb.NewConversion(rgb.SRGB(), rgb.DisplayP3(), colorimetry.BradfordAdaptation())
	if err != nil {
		t.Fatal(err)
	}
	img := image.NewNRGBA(image.Rect(0, 0, 3, 1))
	img.Pix = []byte{255, 0, 0, 255, 10, 200, 30, 128, 7, 7, 7, 0}
	for x := range 3 {
		in := rgb.FromColor(img.At(x, 0))
		want, _ := conv.Signal(in.Signal)
		if got := conv.Model().Convert(img.At(x, 0)); got != (rgb.Color{Signal: want, Alpha: in.Alpha}) {
			t.Errorf("pixel %d is %v, want %v", x, got, want)
		}
	}
	back, err := rgb.NewConversion(rgb.DisplayP3(), rgb.SRGB(), colorimetry.BradfordAdaptation())
	if err != nil {
		t.Fatal(err)
	}
	got, ok := back.Model().Convert(color.NRGBA{G: 255, A: 255}).(rgb.Color)
	if !ok || got.Signal.Min() < 0 || got.Signal.Max() > 1 {
		t.Errorf("the green of P3 becomes %v, outside 0 to 1", got)
	}
}

func TestNoAllocation(t *testing.T) {
	c, l := codec(t, rgb.ROMM()), lab8(t, rgb.SRGB(), colorimetry.D65())
	conv, err := rgb.NewConversion(rgb.SRGB(), rgb.BT2100HLG(), colorimetry.CAT16())
	if err != nil {
		t.Fatal(err)
	}
	s, dst := colorimetry.RGB{R: 0.2, G: 0.3, B: 0.9}, make([]colorimetry.Lab, 2)
	var sink float64
	for name, f := range map[string]func(){
		"codec":      func() { v, _ := c.Signal(c.XYZ(s)); sink += v.R },
		"conversion": func() { v, _ := conv.Signal(s); sink += v.R },
		"Lab8":       func() { sink += l.Lab(1, 2, 3).L; l.Row(dst, []byte{1, 2, 3, 4, 5, 6}, 3) },
		"color":      func() { sink += float64(rgb.Color{Signal: s, Alpha: 1}.NRGBA().R) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
	if math.IsNaN(sink) {
		t.Error("a conversion answers NaN")
	}
}

func BenchmarkLab8(b *testing.B) {
	l, random := lab8(b, rgb.SRGB(), colorimetry.D50()), rand.New(rand.NewPCG(7, 8))
	pix, dst := make([]byte, 3*4096), make([]colorimetry.Lab, 4096)
	for i := range pix {
		pix[i] = uint8(random.Uint32())
	}
	b.ReportAllocs()
	for b.Loop() {
		l.Row(dst, pix, 3)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/4096, "ns/colour")
}

func BenchmarkConversion(b *testing.B) {
	c, err := rgb.NewConversion(rgb.Space{Name: "display", R: rgb.DisplayP3().R, G: rgb.DisplayP3().G, B: rgb.DisplayP3().B, White: rgb.DisplayP3().White, Curve: tone.Power{Gamma: 2.2}}, rgb.SRGB(), colorimetry.BradfordAdaptation())
	if err != nil {
		b.Fatal(err)
	}
	random, row := rand.New(rand.NewPCG(7, 8)), make([]colorimetry.RGB, 1024)
	for i := range row {
		row[i] = colorimetry.RGB{R: random.Float64(), G: random.Float64(), B: random.Float64()}
	}
	out := make([]colorimetry.RGB, len(row))
	b.ReportAllocs()
	for b.Loop() {
		c.Row(out, row)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1024, "ns/colour")
}
