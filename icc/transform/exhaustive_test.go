package transform_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// separable is the way between two profiles of matrix and curves, put together
// from tables of 256 codes: what the chain computes at a fraction of its time, so
// that all colours of 8 bits can be asked.
type separable struct {
	light  [3][256]float64 // of the codes of each channel
	matrix [9]float64      // to the light of the other device
	// start has, for 4096 steps of light, the code to begin the search at, and
	// edge where a code begins: the light whose signal is half a code less.
	start [3][4097]uint8
	edge  [3][257]float64
}

// separableOf takes the steps of a chain apart: limit, curves, matrices, curves, limit.
func separableOf(t *testing.T, chain *icc.Chain) *separable {
	t.Helper()
	s := &separable{matrix: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}}
	var curves []icc.Step
	for _, step := range chain.Steps() {
		switch step.Kind {
		case icc.StepCurves:
			curves = append(curves, step)
		case icc.StepMatrix:
			m := step.Matrix()
			for _, offset := range m[9:] {
				if offset != 0 {
					t.Fatal("a matrix with an offset")
				}
			}
			var product [9]float64
			for i := range 9 {
				for k := range 3 {
					product[i] += m[i/3*3+k] * s.matrix[3*k+i%3]
				}
			}
			s.matrix = product
		case icc.StepClamp:
		default:
			t.Fatalf("a step of kind %d between profiles of matrix and curves", step.Kind)
		}
	}
	if len(curves) != 2 {
		t.Fatalf("curves %d times", len(curves))
	}
	for c := range 3 {
		for i := range s.light[c] {
			s.light[c][i] = curves[0].Curve(c, float64(i)/255)
		}
		s.edge[c][256] = math.Inf(1)
		for code := 1; code < 256; code++ {
			s.edge[c][code] = reach(func(x float64) float64 { return curves[1].Curve(c, x) }, (float64(code)-0.5)/255)
		}
		for i := range s.start[c] {
			s.start[c][i] = s.code(c, float64(i)/4096, 0)
		}
	}
	return s
}

// reach returns the x of 0 to 1 at which a rising function reaches y.
func reach(f func(float64) float64, y float64) float64 {
	lo, hi := 0.0, 1.0
	for range 80 {
		if mid := (lo + hi) / 2; f(mid) < y {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// code returns the code of a channel's light, which is no less than from.
func (s *separable) code(c int, light float64, from uint8) uint8 {
	k := int(from)
	for light >= s.edge[c][k+1] {
		k++
	}
	return uint8(k)
}

// of returns the codes that a colour becomes.
func (s *separable) of(r, g, b uint8) (out [3]uint8) { return s.with(r, g, b, 0) }

// with returns the codes that a colour becomes with a little more light.
func (s *separable) with(r, g, b uint8, more float64) (out [3]uint8) {
	for c := range 3 {
		m := s.matrix[3*c : 3*c+3]
		light := min(max(m[0]*s.light[0][r]+m[1]*s.light[1][g]+m[2]*s.light[2][b]+more, 0), 1)
		out[c] = s.code(c, light, s.start[c][int(light*4096)])
	}
	return out
}

// holds checks the tables against the chain itself.
func (s *separable) holds(t *testing.T, chain *icc.Chain) {
	t.Helper()
	r := rand.New(rand.NewPCG(3, 1))
	for range 50000 {
		var c [3]uint8
		var v [3]float64
		for k := range c {
			if c[k] = uint8(r.Uint32()); r.IntN(4) == 0 {
				c[k] >>= 4
			}
			v[k] = float64(c[k]) / 255
		}
		chain.Eval(v[:], v[:])
		for k, code := range s.of(c[0], c[1], c[2]) {
			// At the edge between two codes either is right.
			if d := math.Abs(v[k]*255 - float64(code)); d > 0.5+1e-9 {
				t.Fatalf("%v, channel %d: the chain has %.12f and the tables %d", c, k, v[k]*255, code)
			}
		}
	}
}

// Every colour of 8 bits is within a code of the chain, and at least 99.5 % of
// them are the chain's own in all three channels. The figures are those that this
// engine was asked to have.
func TestMatrix8Exhaustive(t *testing.T) {
	for _, way := range []struct {
		name     string
		from, to *icc.Profile
	}{{"sRGB to P3", srgb(), p3()}, {"P3 to sRGB", p3(), srgb()}} {
		t.Run(way.name, func(t *testing.T) {
			t.Parallel()
			k := kernelOf(t, relative, transform.Plain8, transform.Plain8, way.from, way.to)
			chain, err := icc.Join(icc.Options{Intent: icc.Relative}, way.from, way.to)
			if err != nil {
				t.Fatal(err)
			}
			s := separableOf(t, chain)
			s.holds(t, chain)
			step := 1
			if testing.Short() {
				step = 15 // 0 and 255 are among these
			}
			src, dst := make([]uint8, 3<<16), make([]uint8, 3<<16)
			for i := range 1 << 16 {
				src[3*i+1], src[3*i+2] = uint8(i>>8), uint8(i)
			}
			all, exact, most := 0, 0, 0
			for red := 0; red < 256; red += step {
				for i := range 1 << 16 {
					src[3*i] = uint8(red)
				}
				if err := transform.Row(k, dst, src, 1<<16); err != nil {
					t.Fatal(err)
				}
				for i := range 1 << 16 {
					got, want := [3]uint8(dst[3*i:]), s.of(uint8(red), uint8(i>>8), uint8(i))
					if all++; got == want {
						exact++
						continue
					}
					for c := range 3 {
						d := int(got[c]) - int(want[c])
						if most = max(most, d, -d); d > 1 || d < -1 {
							t.Fatalf("%d, %d, %d becomes %v, by the chain %v", red, i>>8, i&255, got, want)
						}
					}
				}
			}
			share := float64(exact) / float64(all)
			t.Logf("%d colours, %.4f %% exact, at most %d apart", all, 100*share, most)
			if share < 0.995 {
				t.Errorf("%.4f %% of colours are exact, less than 99.5", 100*share)
			}
		})
	}
}

// Matrices and curves that are harder: primaries far outside the other gamut, no
// curve on one side, which makes the dark steep, curves of samples, and another
// curve in each channel. 8-bit kernels are asked for less than 1 % of other codes,
// by one at most, or by as many as a millionth of light more or less makes: the
// samples of a dark curve are all zero at first, and its codes jump from there.
func TestMatrix8Others(t *testing.T) {
	// Primaries AP0 of SMPTE ST 2065-1 (from memory), which lie outside all colours.
	wide := matrixOf("Wide", colorimetry.Chromaticity{X: 0.7347, Y: 0.2653}, colorimetry.Chromaticity{X: 0, Y: 1}, colorimetry.Chromaticity{X: 0.0001, Y: -0.077}, icc.ParametricCurve{G: 1.8})
	linear := withCurves(srgb(), icc.ParametricCurve{G: 1}, icc.ParametricCurve{G: 1}, icc.ParametricCurve{G: 1})
	mixed := withCurves(p3(), icc.ParametricCurve{G: 1.8}, sampled(1024, func(x float64) float64 { return math.Pow(x, 2.4) }), icc.SampledCurve{563})
	for _, way := range []struct {
		name     string
		from, to *icc.Profile
	}{
		{"wide to sRGB", wide, srgb()}, {"sRGB to wide", srgb(), wide},
		{"light to sRGB", linear, srgb()}, {"sRGB to light", srgb(), linear}, {"light to wide", linear, wide},
		{"mixed to sRGB", mixed, srgb()}, {"sRGB to mixed", srgb(), mixed},
	} {
		t.Run(way.name, func(t *testing.T) {
			chain, err := icc.Join(icc.Options{Intent: icc.Relative}, way.from, way.to)
			if err != nil {
				t.Fatal(err)
			}
			s := separableOf(t, chain)
			const n = 100000
			src := make([]uint8, 0, 3*n)
			for _, c := range colours(icc.SpaceRGB, n, 3) {
				for _, v := range c {
					src = append(src, uint8(math.Round(255*v)))
				}
			}
			out := row[uint8](t, kernelOf(t, relative, transform.Plain8, transform.Plain8, way.from, way.to), 3, src, n)
			others, most := 0, 0
			for i := range n {
				got, want := [3]uint8(out[3*i:]), s.of(src[3*i], src[3*i+1], src[3*i+2])
				if got == want {
					continue
				}
				others++
				less, more := s.with(src[3*i], src[3*i+1], src[3*i+2], -1e-6), s.with(src[3*i], src[3*i+1], src[3*i+2], 1e-6)
				for c := range 3 {
					most = max(most, int(got[c])-int(more[c]), int(less[c])-int(got[c]))
				}
			}
			t.Logf("%.3f %% differ, by %d at most", 100*float64(others)/n, most)
			if most > 1 || others > n/100 {
				t.Errorf("%.3f %% differ, by %d at most", 100*float64(others)/n, most)
			}
		})
	}
}

// withCurves returns a profile of matrix and curves with other curves.
func withCurves(p *icc.Profile, red, green, blue icc.Value) *icc.Profile {
	q := *p
	q.Tags = append([]icc.Tag(nil), p.Tags...)
	q.Set(icc.TagRedCurve, red)
	q.Set(icc.TagGreenCurve, green)
	q.Set(icc.TagBlueCurve, blue)
	return &q
}

// Every code of 16 bits in ramps of grey and of each channel, dark ones among them,
// where engines of 16 bits are worst, is within 12 codes of the chain by matrices
// and within 100 by tables.
func TestRamps16(t *testing.T) {
	for _, way := range []struct {
		name     string
		from, to *icc.Profile
		far      float64
	}{
		{"sRGB to P3", srgb(), p3(), 12}, {"P3 to sRGB", p3(), srgb(), 12},
		{"sRGB to tables", srgb(), clut33(), 100}, {"tables to sRGB", clut33(), srgb(), 100},
	} {
		t.Run(way.name, func(t *testing.T) {
			t.Parallel()
			k := kernelOf(t, relative, transform.Plain16, transform.Plain16, way.from, way.to)
			chain, err := icc.Join(icc.Options{Intent: icc.Relative}, way.from, way.to)
			if err != nil {
				t.Fatal(err)
			}
			step := 1
			if testing.Short() {
				step = 257
			}
			var in [][]float64
			for ramp := range 4 {
				for code := 0; code < 65536; code += step {
					if ramp < 3 && code > 4096 && code%16 > 0 {
						continue
					}
					v := float64(code) / 65535
					in = append(in, [][]float64{{v, 0, 0}, {0, v, 0}, {0, 0, v}, {v, v, v}}[ramp])
				}
			}
			f := apart[uint16, uint16](t, k, chain, in)
			t.Logf("%d colours: mean %.3g codes, at most %g", len(in), f.mean, f.max)
			if f.max > way.far {
				t.Errorf("at most %g codes apart, more than %g", f.max, way.far)
			}
		})
	}
}
