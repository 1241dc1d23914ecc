package transform_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// must returns what cannot go wrong in a profile of these tests.
func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// matrixOf returns a profile of matrix and curves whose white is at x = 0.3127,
// y = 0.3290.
func matrixOf(description string, red, green, blue colorimetry.Chromaticity, curve icc.ParametricCurve) *icc.Profile {
	white := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}.XYZ(1)
	m := colorimetry.Columns(red.XYZ(1), green.XYZ(1), blue.XYZ(1))
	s := must(m.Inverse()).Apply(white)
	chad := must(colorimetry.Bradford(white, colorimetry.D50()))
	m = chad.Mul(m.Mul(colorimetry.Diagonal(s.X, s.Y, s.Z)))
	return must(icc.MatrixProfile(icc.MatrixSpec{
		Description: description,
		Colorants:   [3]colorimetry.XYZ{m.Column(0), m.Column(1), m.Column(2)},
		Parametric:  [3]*icc.ParametricCurve{&curve, &curve, &curve},
		Chad:        chad,
	}))
}

// The profiles that the engine is measured on. Curve and primaries of sRGB: IEC
// 61966-2-1; primaries of P3: SMPTE EG 432-1 (both from memory).
var (
	srgb = sync.OnceValue(func() *icc.Profile {
		return matrixOf("sRGB", colorimetry.Chromaticity{X: 0.64, Y: 0.33}, colorimetry.Chromaticity{X: 0.30, Y: 0.60}, colorimetry.Chromaticity{X: 0.15, Y: 0.06},
			icc.ParametricCurve{Function: 3, G: 2.4, A: 1 / 1.055, B: 0.055 / 1.055, C: 1 / 12.92, D: 0.04045})
	})
	p3 = sync.OnceValue(func() *icc.Profile {
		return matrixOf("P3 by an exponent of 2.2", colorimetry.Chromaticity{X: 0.68, Y: 0.32}, colorimetry.Chromaticity{X: 0.265, Y: 0.69}, colorimetry.Chromaticity{X: 0.15, Y: 0.06},
			icc.ParametricCurve{G: 2.2})
	})
	// clut33 and lut33 have the colours of p3 in tables of 33 points a channel.
	clut33 = sync.OnceValue(func() *icc.Profile { return tabled(icc.V4) })
	lut33  = sync.OnceValue(func() *icc.Profile { return tabled(icc.V2) })
)

// bare returns a profile without any way to compute colours.
func bare(version icc.Version, class, space, pcs icc.Signature) *icc.Profile {
	p := &icc.Profile{Header: icc.Header{Version: version, Class: class, Space: space, PCS: pcs, Illuminant: colorimetry.D50()}}
	if version.Major() == 2 {
		p.Set(icc.TagDescription, icc.TextDescription{ASCII: "Invented"})
		p.Set(icc.TagCopyright, icc.Text("None"))
	} else {
		p.Set(icc.TagDescription, icc.LocalizedText{{Language: "en", Country: "US", Text: "Invented"}})
		p.Set(icc.TagCopyright, icc.LocalizedText{{Language: "en", Country: "US", Text: "None"}})
	}
	p.Set(icc.TagMediaWhite, icc.XYZArray{colorimetry.D50()})
	return p
}

// tabled returns p3 as tables: lutAToB in version 4, lut16 in version 2.
func tabled(version icc.Version) *icc.Profile {
	o := icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}
	to, from := must(icc.ToPCS(p3(), o)), must(icc.FromPCS(p3(), o))
	scale := [2]float64{100, 255} // of what a table holds as 1, ICC.1:2022, 10.12 and 6.3.4
	if version.Major() == 2 {
		scale = [2]float64{100 * 65535.0 / 65280, 65535.0 / 256}
	}
	atob := tableOf(even(3, 33), 3, func(out, in []float64) {
		to.Eval(out, in)
		out[0], out[1], out[2] = out[0]/scale[0], (out[1]+128)/scale[1], (out[2]+128)/scale[1]
	})
	btoa := tableOf(even(3, 33), 3, func(out, in []float64) {
		from.Eval(out, []float64{in[0] * scale[0], in[1]*scale[1] - 128, in[2]*scale[1] - 128})
	})
	var a, b icc.Value = icc.LutAToB{A: straight(3), Table: &atob, B: straight(3)}, icc.LutBToA{A: straight(3), Table: &btoa, B: straight(3)}
	if version.Major() == 2 {
		ends := [][]uint16{{0, 65535}, {0, 65535}, {0, 65535}}
		a = icc.Lut16{Matrix: colorimetry.Identity(), Input: ends, Table: atob, Output: ends}
		b = icc.Lut16{Matrix: colorimetry.Identity(), Input: ends, Table: btoa, Output: ends}
	}
	p := bare(version, icc.ClassDisplay, icc.SpaceRGB, icc.SpaceLab)
	setAll(p, a, b)
	return p
}

// setAll gives every intent the same tables.
func setAll(p *icc.Profile, atob, btoa icc.Value) {
	for i := range 3 {
		p.Set([]icc.Signature{icc.TagAToB0, icc.TagAToB1, icc.TagAToB2}[i], atob)
		if btoa != nil {
			p.Set([]icc.Signature{icc.TagBToA0, icc.TagBToA1, icc.TagBToA2}[i], btoa)
		}
	}
}

// even returns a grid of as many points in each channel.
func even(channels, points int) []int {
	g := make([]int, channels)
	for i := range g {
		g[i] = points
	}
	return g
}

// straight returns identity curves as formulas.
func straight(n int) []icc.Curve {
	out := make([]icc.Curve, n)
	for i := range out {
		out[i] = icc.ParametricCurve{G: 1}
	}
	return out
}

// bent returns curves of so many samples.
func bent(n, samples int) []icc.Curve {
	out := make([]icc.Curve, n)
	for i := range out {
		out[i] = sampled(samples, func(x float64) float64 { return math.Pow(x, 0.8+0.1*float64(i%5)) })
	}
	return out
}

// sampled returns a curve of samples of f.
func sampled(n int, f func(float64) float64) icc.SampledCurve {
	c := make(icc.SampledCurve, n)
	for i := range c {
		c[i] = uint16(65535*min(max(f(float64(i)/float64(n-1)), 0), 1) + 0.5)
	}
	return c
}

// tableOf fills a table with f of the places of its nodes.
func tableOf(grid []int, outputs int, f func(out, in []float64)) icc.CLUT {
	t := icc.CLUT{Grid: grid, Outputs: outputs}
	at, place, out := make([]int, len(grid)), make([]float64, len(grid)), make([]float64, 16)
	for {
		for i := range at {
			place[i] = float64(at[i]) / float64(max(1, grid[i]-1))
		}
		f(out, place)
		for _, v := range out[:outputs] {
			t.Words = append(t.Words, uint16(65535*min(max(v, 0), 1)+0.5))
		}
		i := len(grid) - 1
		for ; i >= 0; i-- {
			if at[i]++; at[i] < grid[i] {
				break
			}
			at[i] = 0
		}
		if i < 0 {
			return t
		}
	}
}

// smooth is some table without a meaning, every output depending on two inputs.
func smooth(outputs int) func(out, in []float64) {
	return func(out, in []float64) {
		for i := range outputs {
			out[i] = 0.1 + 0.8*in[i%len(in)]*(0.4+0.6*in[(i+1)%len(in)])
		}
	}
}

// An invented printer of four inks, a grey display, a link from four inks to RGB
// and an abstract profile.
var (
	inks = sync.OnceValue(func() *icc.Profile {
		p := bare(icc.V4, icc.ClassOutput, icc.SpaceCMYK, icc.SpaceLab)
		atob := tableOf(even(4, 9), 3, func(out, c []float64) {
			k := 1 - 0.95*c[3]
			lab := colorimetry.XYZ{
				X: 0.9642 * k * (1 - 0.8*c[0]) * (1 - 0.5*c[1]) * (1 - 0.1*c[2]),
				Y: k * (1 - 0.6*c[0]) * (1 - 0.75*c[1]) * (1 - 0.08*c[2]),
				Z: 0.8249 * k * (1 - 0.3*c[0]) * (1 - 0.6*c[1]) * (1 - 0.85*c[2]),
			}.Lab(colorimetry.D50())
			out[0], out[1], out[2] = lab.L/100, (lab.A+128)/255, (lab.B+128)/255
		})
		btoa := tableOf(even(3, 17), 4, func(out, c []float64) {
			x := colorimetry.Lab{L: 100 * c[0], A: 255*c[1] - 128, B: 255*c[2] - 128}.XYZ(colorimetry.D50())
			out[0], out[1], out[2] = 1-x.X/0.9642, 1-x.Y, 1-x.Z/0.8249
			out[3] = 1.5*min(max(min(out[0], out[1], out[2]), 0), 1) - 0.5
		})
		setAll(p, icc.LutAToB{A: bent(4, 256), Table: &atob, B: straight(3)}, icc.LutBToA{A: bent(4, 256), Table: &btoa, B: straight(3)})
		p.Set(icc.TagMediaWhite, icc.XYZArray{{X: 0.82, Y: 0.86, Z: 0.68}})
		return p
	})
	grey = sync.OnceValue(func() *icc.Profile {
		p := bare(icc.V4, icc.ClassDisplay, icc.SpaceGray, icc.SpaceXYZ)
		p.Set(icc.TagGrayCurve, icc.ParametricCurve{G: 1.8})
		return p
	})
	link = sync.OnceValue(func() *icc.Profile {
		p := bare(icc.V4, icc.ClassLink, icc.SpaceCMYK, icc.SpaceRGB)
		t := tableOf([]int{5, 6, 7, 4}, 3, smooth(3))
		p.Set(icc.TagAToB0, icc.LutAToB{A: bent(4, 64), Table: &t, B: bent(3, 64)})
		return p
	})
	abstract = sync.OnceValue(func() *icc.Profile {
		p := bare(icc.V4, icc.ClassAbstract, icc.SpaceLab, icc.SpaceLab)
		t := tableOf(even(3, 9), 3, func(out, in []float64) {
			out[0], out[1], out[2] = 0.05+0.9*in[0]*in[0], 0.1+0.8*in[1], 0.1+0.8*in[2]
		})
		p.Set(icc.TagAToB0, icc.LutAToB{A: straight(3), Table: &t, B: straight(3)})
		return p
	})
)

// Decoded profiles are what was encoded, so that the tests' profiles are fit to be
// files.
func TestFixtures(t *testing.T) {
	for _, p := range []*icc.Profile{srgb(), p3(), clut33(), lut33(), inks(), grey(), link(), abstract()} {
		b, err := p.Encode()
		if err != nil {
			t.Fatal(err)
		}
		q, err := icc.Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range q.Check() {
			if f.Severity >= icc.Broken {
				t.Errorf("%s: %v", p.Description(), f)
			}
		}
	}
}

// colours returns n colours of a space in its own units: noise, the dark, greys,
// corners and faces of the cube.
func colours(space icc.Signature, n int, seed uint64) [][]float64 {
	r := rand.New(rand.NewPCG(seed, 8))
	out := make([][]float64, n)
	for i := range out {
		c := make([]float64, icc.Channels(space))
		g := r.Float64()
		for k := range c {
			c[k] = r.Float64()
			switch i % 8 {
			case 4:
				c[k] *= c[k] * c[k] * c[k]
			case 5:
				c[k] = g
			case 6:
				c[k] = math.Round(c[k])
			case 7:
				if r.IntN(2) == 0 {
					c[k] = math.Round(c[k])
				}
			}
		}
		switch space {
		case icc.SpaceLab:
			c[0], c[1], c[2] = 100*c[0], 200*c[1]-100, 200*c[2]-100
		case icc.SpaceXYZ:
			c[0], c[2] = 0.9642*c[0], 0.8249*c[2]
		}
		out[i] = c
	}
	return out
}
