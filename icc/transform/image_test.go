package transform_test

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/color/palette"
	"image/draw"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// Pictures of noise become what the chain makes of each pixel in float64: all kinds
// into all kinds, from a part of a picture into a part of another. The limits are
// those that the package promises, and half a code of rounding: 1 of 8 bits (2
// through tables), 12 of 16 bits (100 through tables); where opacity is products,
// rounding is all that dividing a pixel of few codes leaves, in units of those.
func TestImageKinds(t *testing.T) {
	whole, part := image.Rect(-3, 5, 38, 30), image.Rect(2, 7, 33, 26)
	elsewhere := image.Rect(7, -20, 38, -1)
	type kind struct {
		name string
		make func(r image.Rectangle) image.Image
	}
	sub := func(m interface {
		SubImage(image.Rectangle) image.Image
	}) image.Image {
		return m.SubImage(part)
	}
	sources := map[icc.Signature][]kind{
		icc.SpaceRGB: {
			{"RGBA", func(r image.Rectangle) image.Image { return fill(image.NewRGBA(r), 1) }},
			{"NRGBA", func(r image.Rectangle) image.Image { return fill(image.NewNRGBA(r), 2) }},
			{"RGBA64", func(r image.Rectangle) image.Image { return fill(image.NewRGBA64(r), 3) }},
			{"NRGBA64", func(r image.Rectangle) image.Image { return fill(image.NewNRGBA64(r), 4) }},
			{"Paletted", func(r image.Rectangle) image.Image { return fill(image.NewPaletted(r, palette.Plan9), 5) }},
			{"YCbCr 4:4:4", func(r image.Rectangle) image.Image {
				return fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio444), 6)
			}},
			{"YCbCr 4:2:0", func(r image.Rectangle) image.Image {
				return fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio420), 7)
			}},
			{"YCbCr 4:2:2", func(r image.Rectangle) image.Image {
				return fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio422), 7)
			}},
			{"YCbCr 4:4:0", func(r image.Rectangle) image.Image {
				return fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio440), 8)
			}},
			{"YCbCr 4:1:0", func(r image.Rectangle) image.Image {
				return fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio410), 9)
			}},
			{"NYCbCrA", func(r image.Rectangle) image.Image {
				return fill(image.NewNYCbCrA(r, image.YCbCrSubsampleRatio420), 10)
			}},
			{"Gray", func(r image.Rectangle) image.Image { return fill(image.NewGray(r), 11) }},
			{"Gray16", func(r image.Rectangle) image.Image { return fill(image.NewGray16(r), 12) }},
			{"another", func(r image.Rectangle) image.Image { return fill(other{image.NewRGBA(r)}, 13) }},
			{"another with At alone", func(r image.Rectangle) image.Image { return fill(nrgbaOther{image.NewNRGBA64(r)}, 14) }},
			{"another gray", func(r image.Rectangle) image.Image { return fill(grayOther{image.NewGray16(r)}, 14) }},
		},
		icc.SpaceGray: {
			{"Gray", func(r image.Rectangle) image.Image { return fill(image.NewGray(r), 15) }},
			{"Gray16", func(r image.Rectangle) image.Image { return fill(image.NewGray16(r), 16) }},
			{"another gray", func(r image.Rectangle) image.Image { return fill(grayOther{image.NewGray16(r)}, 14) }},
		},
		icc.SpaceCMYK: {
			{"CMYK", func(r image.Rectangle) image.Image { return fill(image.NewCMYK(r), 17) }},
			{"another CMYK", func(r image.Rectangle) image.Image { return fill(cmykOther{image.NewCMYK(r)}, 18) }},
		},
	}
	sinks := map[icc.Signature][]func() draw.Image{
		icc.SpaceRGB: {
			func() draw.Image { return image.NewRGBA(elsewhere) },
			func() draw.Image { return image.NewNRGBA(elsewhere) },
			func() draw.Image { return image.NewRGBA64(elsewhere) },
			func() draw.Image { return image.NewNRGBA64(elsewhere) },
			func() draw.Image { return other{image.NewRGBA(elsewhere)} },
			func() draw.Image { return nrgbaOther{image.NewNRGBA64(elsewhere)} },
		},
		icc.SpaceGray: {
			func() draw.Image { return image.NewGray(elsewhere) },
			func() draw.Image { return image.NewGray16(elsewhere) },
			func() draw.Image { return image.NewNRGBA(elsewhere) },
			func() draw.Image { return image.NewRGBA64(elsewhere) },
			func() draw.Image { return other{image.NewRGBA(elsewhere)} },
			func() draw.Image { return grayOther{image.NewGray16(elsewhere)} },
		},
		icc.SpaceCMYK: {
			func() draw.Image { return image.NewCMYK(elsewhere) },
			func() draw.Image { return cmykOther{image.NewCMYK(elsewhere)} },
		},
	}
	profiles := map[icc.Signature][2]*icc.Profile{
		icc.SpaceRGB: {narrow(t), wide(t)}, icc.SpaceGray: {grays(t), grays(t)}, icc.SpaceCMYK: {press(t), press(t)},
	}
	for from, kinds := range sources {
		for to, targets := range sinks {
			tr := way(t, transform.Options{Intent: icc.Relative}, profiles[from][0], profiles[to][1])
			limits := map[bool]float64{false: 1.5, true: 12.5}
			if from == icc.SpaceCMYK || to == icc.SpaceCMYK {
				limits = map[bool]float64{false: 2.5, true: 100.5}
			}
			for _, k := range kinds {
				m := k.make(whole)
				if s, ok := m.(interface {
					SubImage(image.Rectangle) image.Image
				}); ok {
					m = sub(s)
				} else {
					m = k.make(part)
				}
				for _, target := range targets {
					dst := target()
					name := fmt.Sprintf("%v %s to %v %T", from, k.name, to, dst)
					if err := tr.Image(t.Context(), dst, m); err != nil {
						t.Errorf("%s: %v", name, err)
						continue
					}
					_, _, top, _ := numbers(dst.At(elsewhere.Min.X, elsewhere.Min.Y))
					if d := far(t, tr.Chain(), dst, m); d > limits[top > 255] {
						t.Errorf("%s: %.2f codes from the chain", name, d)
					}
				}
			}
		}
	}
}

// What lies around a part of a picture stays as it was.
func TestImageKeepsItsBounds(t *testing.T) {
	tr := way(t, transform.Options{}, narrow(t), wide(t))
	m := fill(image.NewNRGBA64(image.Rect(0, 0, 40, 30)), 1).(*image.NRGBA64)
	before := slices.Clone(m.Pix)
	part := m.SubImage(image.Rect(10, 5, 30, 20)).(*image.NRGBA64)
	if err := tr.Image(t.Context(), part, part); err != nil {
		t.Fatal(err)
	}
	inside := 0
	for y := range 30 {
		for x := range 40 {
			same := slices.Equal(m.Pix[m.PixOffset(x, y):][:8], before[m.PixOffset(x, y):][:8])
			if in := image.Pt(x, y).In(part.Rect); !in && !same {
				t.Fatalf("%d,%d outside of the part has changed", x, y)
			} else if in && !same {
				inside++
			}
		}
	}
	if inside < 250 {
		t.Errorf("%d of 300 pixels changed", inside)
	}
}

// In place and elsewhere, on one core and on several, pictures are the same.
func TestImageIsOneResult(t *testing.T) {
	r := image.Rect(0, 0, 300, 200)
	one := way(t, transform.Options{Intent: icc.Relative, Workers: 1}, narrow(t), wide(t))
	many := way(t, transform.Options{Intent: icc.Relative, Workers: 7}, narrow(t), wide(t))
	for _, m := range []draw.Image{image.NewRGBA(r), image.NewNRGBA(r), image.NewRGBA64(r), image.NewNRGBA64(r)} {
		fill(m, 3)
		first, err := one.Convert(t.Context(), m)
		if err != nil {
			t.Fatal(err)
		}
		if err := many.Image(t.Context(), m, m); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(pix(first), pix(m)) {
			t.Errorf("%T: not the same in place on seven cores", m)
		}
	}
}

func pix(m image.Image) []uint8 {
	switch m := m.(type) {
	case *image.RGBA:
		return m.Pix
	case *image.NRGBA:
		return m.Pix
	case *image.RGBA64:
		return m.Pix
	case *image.NRGBA64:
		return m.Pix
	}
	return nil
}

// Convert allocates the kind that fits.
func TestConvertKinds(t *testing.T) {
	r := image.Rect(2, 3, 30, 20)
	solid64 := image.NewNRGBA64(r)
	draw.Draw(solid64, r, image.NewUniform(color.NRGBA64{1000, 40000, 65535, 65535}), image.Point{}, draw.Src)
	gif := image.NewPaletted(r, color.Palette{color.NRGBA{255, 10, 20, 255}, color.NRGBA{3, 200, 100, 128}})
	for i := range gif.Pix {
		gif.Pix[i] = uint8(i & 1)
	}
	deep := image.NewPaletted(r, color.Palette{color.RGBA64{1234, 5, 6, 65535}})
	for _, c := range []struct {
		src  image.Image
		to   *icc.Profile
		want string
	}{
		{fill(image.NewRGBA(r), 1), wide(t), "*image.RGBA"},
		{fill(image.NewNRGBA(r), 1), wide(t), "*image.NRGBA"},
		{fill(image.NewRGBA64(r), 1), wide(t), "*image.RGBA64"},
		{fill(image.NewNRGBA64(r), 1), wide(t), "*image.NRGBA64"},
		{solid64, wide(t), "*image.RGBA64"},
		{solid64, grays(t), "*image.Gray16"},
		{solid64, press(t), "*image.CMYK"},
		{fill(image.NewNRGBA(r), 1), grays(t), "*image.NRGBA"},
		{fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio420), 1), wide(t), "*image.RGBA"},
		{fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio420), 1), press(t), "*image.CMYK"},
		{fill(image.NewNYCbCrA(r, image.YCbCrSubsampleRatio420), 1), wide(t), "*image.NRGBA"},
		{fill(image.NewGray(r), 1), wide(t), "*image.RGBA"},
		{fill(image.NewGray16(r), 1), wide(t), "*image.RGBA64"},
		{gif, wide(t), "*image.Paletted"},
		{deep, wide(t), "*image.Paletted"},
		{deep, grays(t), "*image.Gray16"},
		{fill(image.NewPaletted(r, palette.WebSafe), 1), grays(t), "*image.Gray"},
		{fill(other{image.NewRGBA(r)}, 1), wide(t), "*image.NRGBA"},
		{fill(nrgbaOther{image.NewNRGBA64(r)}, 1), wide(t), "*image.NRGBA64"},
	} {
		tr := way(t, transform.Options{Intent: icc.Relative}, narrow(t), c.to)
		got, err := tr.Convert(t.Context(), c.src)
		if err != nil {
			t.Errorf("%T: %v", c.src, err)
			continue
		}
		if kind := fmt.Sprintf("%T", got); kind != c.want || got.Bounds() != r {
			t.Errorf("%T to %s: %s %v, want %s", c.src, c.to.Description(), kind, got.Bounds(), c.want)
		}
		limit := 1.5
		if _, _, top, _ := numbers(got.At(2, 3)); top > 255 {
			limit = 12.5
		}
		if c.want == "*image.CMYK" {
			limit = 2.5
		}
		if d := far(t, tr.Chain(), got, c.src); d > limit {
			t.Errorf("%T to %s: %.2f codes from the chain", c.src, kindOf(got), d)
		}
	}
}

func kindOf(m image.Image) string { return fmt.Sprintf("%T", m) }

// No ink is paper, and full ink is dark: the standard library's CMYK runs as ICC's.
func TestCMYKRunsAsInk(t *testing.T) {
	tr := way(t, transform.Options{Intent: icc.Relative}, press(t), narrow(t))
	m := image.NewCMYK(image.Rect(0, 0, 2, 1))
	m.SetCMYK(1, 0, color.CMYK{255, 255, 255, 255})
	got, err := tr.Convert(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	paper, ink := got.At(0, 0).(color.RGBA), got.At(1, 0).(color.RGBA)
	if min(paper.R, paper.G, paper.B) < 253 || max(ink.R, ink.G, ink.B) > 30 {
		t.Errorf("paper %v, full ink %v", paper, ink)
	}
}

// What cannot be done is an error that says what to do.
func TestImageRefuses(t *testing.T) {
	r := image.Rect(0, 0, 4, 3)
	rgba, cmyk := image.NewRGBA(r), image.NewCMYK(r)
	toLab := way(t, transform.Options{}, narrow(t))
	toCMYK, fromCMYK := way(t, transform.Options{}, narrow(t), press(t)), way(t, transform.Options{}, press(t), narrow(t))
	toRGB, fromGray := way(t, transform.Options{}, narrow(t), wide(t)), way(t, transform.Options{}, grays(t), wide(t))
	cut := image.NewRGBA(r)
	cut.Pix = cut.Pix[:40]
	luma := image.NewYCbCr(r, image.YCbCrSubsampleRatio420)
	luma.Cr = luma.Cr[:1]
	for _, c := range []struct {
		tr       *transform.Transform
		dst      draw.Image
		src      image.Image
		mentions string
	}{
		{toRGB, image.NewRGBA(image.Rect(0, 0, 3, 4)), rgba, "4 × 3"},
		{toLab, rgba, rgba, "Apply"},
		{toCMYK, rgba, rgba, "Convert"},
		{fromCMYK, rgba, rgba, "profile that the picture was made for"},
		{toRGB, rgba, cmyk, "profile that the picture was made for"},
		{toRGB, image.NewGray(r), rgba, "Convert"},
		{toRGB, image.NewAlpha(r), rgba, "opacity alone"},
		{toRGB, rgba, image.NewAlpha(r), "opacity alone"},
		{fromGray, rgba, rgba, "profile that the picture was made for"},
		{toRGB, rgba, cut, "memory"},
		{toRGB, cut, rgba, "memory"},
		{toRGB, rgba, luma, "memory"},
	} {
		if err := c.tr.Image(t.Context(), c.dst, c.src); err == nil || !strings.Contains(err.Error(), c.mentions) {
			t.Errorf("%T to %T: error %v, want one with %q", c.src, c.dst, err, c.mentions)
		}
	}
	for _, c := range []struct {
		tr       *transform.Transform
		src      image.Image
		mentions string
	}{
		{toLab, rgba, "Apply"},
		{toCMYK, image.NewNRGBA(r), "background"},
		{toRGB, image.NewUniform(color.White), "pixels"},
		{toRGB, cut, "memory"},
		{toRGB, cmyk, "profile"},
	} {
		if _, err := c.tr.Convert(t.Context(), c.src); err == nil || !strings.Contains(err.Error(), c.mentions) {
			t.Errorf("%T: error %v, want one with %q", c.src, err, c.mentions)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, m := range []image.Image{rgba, other{rgba}, image.NewRGBA(image.Rectangle{})} {
		if _, err := toRGB.Convert(ctx, m); !errors.Is(err, context.Canceled) {
			t.Errorf("%T, cancelled: %v", m, err)
		}
	}
	if _, err := toRGB.Convert(t.Context(), image.NewRGBA(image.Rectangle{})); err != nil {
		t.Errorf("no pixels: %v", err)
	}
}

// Y'CbCr is read as image/color has it, bit by bit: of every luma with every third
// chroma the picture becomes what the same colours as RGBA become.
func TestYCbCrIsImageColors(t *testing.T) {
	const n = 86
	r := image.Rect(0, 0, 256, n*n)
	m, same := image.NewYCbCr(r, image.YCbCrSubsampleRatio444), image.NewRGBA(r)
	for y := range n * n {
		for x := range 256 {
			i := m.YOffset(x, y)
			m.Y[i], m.Cb[i], m.Cr[i] = uint8(x), uint8(3*(y%n)), uint8(3*(y/n))
			red, green, blue := color.YCbCrToRGB(m.Y[i], m.Cb[i], m.Cr[i])
			same.SetRGBA(x, y, color.RGBA{red, green, blue, 255})
		}
	}
	tr := way(t, transform.Options{Intent: icc.Relative}, wide(t), narrow(t))
	got, err := tr.Convert(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	want, err := tr.Convert(t.Context(), same)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(pix(got), pix(want)) {
		t.Error("Y'CbCr and the same colours as RGBA become different")
	}
}
