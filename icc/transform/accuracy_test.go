package transform_test

import (
	"math"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// A figure says how far samples may be from those of the chain, in the samples'
// own units, the chain's being rounded where samples are whole.
type figure struct{ mean, max float64 }

// apart sends colours of a space, given in its own units, through a kernel and
// through a chain and returns how far apart they are.
func apart[D, S transform.Sample](t *testing.T, k *transform.Kernel, chain *icc.Chain, in [][]float64) (f figure) {
	t.Helper()
	from, to := k.Layouts()
	units, back := unitsOf(from.Depth, chain.From()), unitsOf(to.Depth, chain.To())
	n, m := chain.Inputs(), chain.Outputs()
	src, dst := make([]S, 0, n*len(in)), make([]D, m*len(in))
	for _, c := range in {
		for i := range n {
			src = append(src, units[i].sample(c[i], S(0)).(S))
		}
	}
	if err := transform.Row(k, dst, src, len(in)); err != nil {
		t.Fatal(err)
	}
	v := make([]float64, 16)
	for p := range in {
		for i := range n {
			v[i] = units[i].value(float64(src[p*n+i]))
		}
		chain.Eval(v, v)
		for i := range m {
			want := float64(back[i].sample(v[i], D(0)).(D))
			d := math.Abs(float64(dst[p*m+i]) - want)
			f.mean += d / float64(m*len(in))
			if !(d <= f.max) {
				f.max = d
			}
		}
	}
	return f
}

// unitOf is what a sample means, by ICC.1:2022, 6.3.4 and 10.12: value =
// sample/top·span + start.
type unitOf struct{ top, span, start float64 }

func unitsOf(d transform.Depth, space icc.Signature) [16]unitOf {
	top := map[transform.Depth]float64{transform.Depth8: 255, transform.Depth16: 65535}[d]
	var u [16]unitOf
	for c := range u {
		switch u[c] = (unitOf{top, 1, 0}); {
		case top == 0:
			u[c].top = 1
		case space == icc.SpaceLab && c == 0:
			u[c].span = 100
		case space == icc.SpaceLab:
			u[c].span, u[c].start = 255, -128
		case space == icc.SpaceXYZ:
			u[c].top = 32768
		}
	}
	return u
}

func (u unitOf) value(sample float64) float64 { return sample/u.top*u.span + u.start }

// sample returns the sample of a value, of the kind that like has.
func (u unitOf) sample(value float64, like any) any {
	v := (value - u.start) / u.span * u.top
	switch like.(type) {
	case uint8:
		return uint8(math.Round(min(max(v, 0), 255)))
	case uint16:
		return uint16(math.Round(min(max(v, 0), 65535)))
	case float32:
		return float32(v)
	}
	return v
}

// accuracyColours is how many colours each figure is taken over.
func accuracyColours() int {
	if testing.Short() {
		return 5000
	}
	return 40000
}

// noiseColours returns the picture that the engine is measured on.
func noiseColours(n int) [][]float64 {
	noise, out := whiteNoise(n), make([][]float64, n)
	for i := range out {
		out[i] = []float64{float64(noise[3*i]) / 65535, float64(noise[3*i+1]) / 65535, float64(noise[3*i+2]) / 65535}
	}
	return out
}

// The figures of the cases that the engine is measured on, over the same noise and
// over colours that are more often dark, grey or on the faces of the cube. All are
// those that it was asked to have. Noise alone counts for the mean, as the figures
// it was compared with were taken so.
func TestAccuracy(t *testing.T) {
	matrix8, table8 := figure{0.005, 1}, figure{0.05, 2}
	matrix16, table16 := figure{12, 12}, figure{5, 100}
	matrixF, tableF, lab := figure{5e-5, 5e-5}, figure{5e-4, 5e-4}, figure{0.005, 0.005}
	p8, p16, p32, p64 := transform.Plain8, transform.Plain16, transform.Plain32F, transform.Plain64F
	accuracy[uint8, uint8](t, "1_rgb8_matrix", p8, p8, matrix8, srgb(), p3())
	accuracy[uint8, uint8](t, "1_rgb8_matrix back", p8, p8, matrix8, p3(), srgb())
	accuracy[uint16, uint16](t, "2_rgb16_matrix", p16, p16, matrix16, srgb(), p3())
	accuracy[uint16, uint16](t, "2_rgb16_matrix back", p16, p16, matrix16, p3(), srgb())
	accuracy[float32, float32](t, "3_rgbf32_matrix", p32, p32, matrixF, srgb(), p3())
	accuracy[float32, float32](t, "3_rgbf32_matrix back", p32, p32, matrixF, p3(), srgb())
	accuracy[float64, float64](t, "rgbf64_matrix", p64, p64, matrixF, srgb(), p3())
	accuracy[uint8, uint8](t, "4_rgb8_clut_rel", p8, p8, table8, srgb(), clut33())
	accuracy[uint8, uint8](t, "4_rgb8_clut_rel back", p8, p8, table8, clut33(), srgb())
	accuracy[uint8, uint8](t, "4_rgb8_lut16v2_rel", p8, p8, table8, srgb(), lut33())
	accuracy[uint16, uint16](t, "5_rgb16_clut_rel", p16, p16, table16, srgb(), clut33())
	accuracy[uint16, uint16](t, "5_rgb16_clut_rel back", p16, p16, table16, clut33(), srgb())
	accuracy[uint16, uint16](t, "rgb16_lut16v2_rel", p16, p16, table16, srgb(), lut33())
	accuracy[float32, float32](t, "5x_rgbf32_clut_rel", p32, p32, tableF, srgb(), clut33())
	accuracy[float32, float32](t, "5x_rgbf32_clut_rel back", p32, p32, tableF, clut33(), srgb())
	accuracy[float32, float32](t, "table to table", p32, p32, tableF, lut33(), clut33())
	accuracy[float32, float32](t, "6_rgbf_labf_clut", p32, p32, lab, clut33())
	accuracy[float32, float32](t, "6_rgbf_labf_matrix", p32, p32, lab, p3())
	accuracy[float32, float32](t, "rgbf_labf_matrix sRGB", p32, p32, lab, srgb())
	accuracy[float32, uint8](t, "rgb8_labf_clut", p8, p32, lab, clut33())
	accuracy[uint16, uint16](t, "rgb16_lab16_clut", p16, p16, table16, clut33())

	accuracy[uint8, uint8](t, "inks to display, 8 bits", p8, p8, table8, inks(), srgb())
	accuracy[uint16, uint16](t, "inks to display, 16 bits", p16, p16, table16, inks(), srgb())
	accuracy[float32, float32](t, "inks to display, floats", p32, p32, tableF, inks(), srgb())
	accuracy[uint8, uint8](t, "display to inks, 8 bits", p8, p8, table8, srgb(), inks())
	accuracy[uint16, uint16](t, "display to inks, 16 bits", p16, p16, table16, srgb(), inks())
	accuracy[float32, float32](t, "display to inks, floats", p32, p32, tableF, srgb(), inks())
	accuracy[uint8, uint8](t, "grey to display, 8 bits", p8, p8, matrix8, grey(), srgb())
	accuracy[uint16, uint16](t, "grey to display, 16 bits", p16, p16, matrix16, grey(), srgb())
	accuracy[float32, float32](t, "display to grey, floats", p32, p32, matrixF, srgb(), grey())
	accuracy[uint16, uint16](t, "display to grey, 16 bits", p16, p16, matrix16, srgb(), grey())
	accuracy[uint8, uint8](t, "device link, 8 bits", p8, p8, table8, link())
	accuracy[uint16, uint16](t, "device link, 16 bits", p16, p16, table16, link())
	accuracy[float32, float32](t, "device link, floats", p32, p32, tableF, link())
	accuracy[float32, float32](t, "link to profile, floats", p32, p32, tableF, link(), srgb(), clut33())
	accuracy[float32, float32](t, "abstract, L*a*b*", p32, p32, lab, abstract())
	accuracy[uint8, uint8](t, "abstract between displays, 8 bits", p8, p8, table8, srgb(), abstract(), p3())
	accuracy[uint16, uint16](t, "abstract between displays, 16 bits", p16, p16, table16, srgb(), abstract(), p3())
	accuracy[float32, float32](t, "abstract between displays, floats", p32, p32, tableF, srgb(), abstract(), p3())
	accuracy[uint16, uint16](t, "simulated inks, 16 bits", p16, p16, table16, srgb(), inks(), inks(), p3())
	accuracy[float32, float32](t, "simulated inks, floats", p32, p32, tableF, srgb(), inks(), inks(), p3())
}

func accuracy[D, S transform.Sample](t *testing.T, name string, from, to transform.Layout, limit figure, profiles ...*icc.Profile) {
	t.Run(name, func(t *testing.T) {
		t.Parallel()
		links := make([]icc.Link, len(profiles))
		for i, p := range profiles {
			links[i] = icc.Link{Profile: p, Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}}
		}
		chain, err := icc.JoinLinks(links...)
		if err != nil {
			t.Fatal(err)
		}
		k := kernelOf(t, relative, from, to, profiles...)
		special := apart[D, S](t, k, chain, colours(chain.From(), accuracyColours(), 1))
		usual := special
		if chain.From() == icc.SpaceRGB {
			usual = apart[D, S](t, k, chain, noiseColours(accuracyColours()))
		}
		t.Logf("mean %.3g, at most %.3g; special colours mean %.3g, at most %.3g", usual.mean, usual.max, special.mean, special.max)
		if !(usual.mean <= limit.mean && max(usual.max, special.max) <= limit.max) {
			t.Errorf("mean %.3g, at most %.3g, over more special colours %.3g; %g and %g are the limits", usual.mean, usual.max, special.max, limit.mean, limit.max)
		}
		// Exact is the chain itself, but for the last bit of a float32 of 100.
		o := relative
		o.Precision = transform.Exact
		exact := apart[D, S](t, kernelOf(t, o, from, to, profiles...), chain, colours(chain.From(), 2000, 2))
		if exact.max > 1e-5 {
			t.Errorf("with Exact %g apart", exact.max)
		}
	})
}
