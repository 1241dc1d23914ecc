package transform_test

import (
	"math"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// row returns what n pixels become.
func row[D, S transform.Sample](t *testing.T, k *transform.Kernel, channels int, src []S, n int) []D {
	t.Helper()
	dst := make([]D, channels*n)
	if err := transform.Row(k, dst, src, n); err != nil {
		t.Fatal(err)
	}
	return dst
}

// greys returns n greys from black to white.
func greys[S transform.Sample](n int, top float64) []S {
	out := make([]S, 0, 3*n)
	for i := range n {
		g := S(float64(i) / float64(n-1) * top)
		out = append(out, g, g, g)
	}
	return out
}

// Between profiles of matrix and curves whose channels have the same curve, grey
// stays grey, and white and black are white and black. The colorants of both add up
// to D50 as encoded, so that not even rounding should part the channels by more
// than a float32 is wide; at 16 bits that may be the edge between two codes.
func TestNeutral(t *testing.T) {
	for _, way := range [][2]*icc.Profile{{srgb(), p3()}, {p3(), srgb()}, {srgb(), srgb()}} {
		neutral[uint8](t, transform.Plain8, 255, 256, 0, way)
		neutral[uint16](t, transform.Plain16, 65535, 65536, 1, way)
		neutral[float32](t, transform.Plain32F, 1, 5000, 1e-5, way)
		neutral[float64](t, transform.Plain64F, 1, 5000, 1e-5, way)
	}
}

func neutral[S transform.Sample](t *testing.T, l transform.Layout, top float64, n int, far float64, way [2]*icc.Profile) {
	t.Helper()
	out := row[S](t, kernelOf(t, relative, l, l, way[0], way[1]), 3, greys[S](n, top), n)
	worst := 0.0
	for i := range n {
		r, g, b := float64(out[3*i]), float64(out[3*i+1]), float64(out[3*i+2])
		worst = max(worst, max(r, g, b)-min(r, g, b))
	}
	if worst > far {
		t.Errorf("%v: channels of a grey part by %g", l.Depth, worst)
	}
	for c := range 3 {
		if black, white := float64(out[c]), float64(out[3*(n-1)+c]); black > far || white < top-far {
			t.Errorf("%v: black becomes %g, white %g", l.Depth, black, white)
		}
	}
}

// Ramps of grey and of each channel rise: on every step of 16 bits and on 65,536
// steps of floats, by matrices exactly, by tables as far as the chain rises.
func TestMonotone(t *testing.T) {
	for _, c := range []struct {
		name string
		way  [2]*icc.Profile
	}{{"matrix", [2]*icc.Profile{srgb(), p3()}}, {"matrix back", [2]*icc.Profile{p3(), srgb()}}, {"table", [2]*icc.Profile{clut33(), p3()}}} {
		t.Run(c.name, func(t *testing.T) {
			monotone[uint8](t, transform.Plain8, 255, 256, 0, c.way)
			monotone[uint16](t, transform.Plain16, 65535, 65536, 0, c.way)
			monotone[float32](t, transform.Plain32F, 1, 65536, 2e-7, c.way)
		})
	}
}

func monotone[S transform.Sample](t *testing.T, l transform.Layout, top float64, n int, slack float64, way [2]*icc.Profile) {
	t.Helper()
	k := kernelOf(t, relative, l, l, way[0], way[1])
	for ramp := range 4 { // grey last
		src := greys[S](n, top)
		for i := range src {
			if ramp < 3 && i%3 != ramp {
				src[i] = 0
			}
		}
		out := row[S](t, k, 3, src, n)
		for i := 3; i < len(out); i++ {
			if ramp < 3 && i%3 != ramp {
				continue
			}
			if float64(out[i]) < float64(out[i-3])-slack {
				t.Errorf("%v, ramp %d: step %d falls from %v to %v", l.Depth, ramp, i/3, out[i-3], out[i])
				break
			}
		}
	}
}

// sRGB lies within P3, and comes back from there: in exact floats as it was; in
// bounded floats within what two kernels of 5e-5 can come to; in whole numbers
// within what rounding to P3's codes costs besides. A step of P3's signal is up to
// 2.2 of light; by the matrix back, whose rows hold no more than 1.45 in all
// without regard to signs, and by sRGB's curve, which is 12.92 in the dark, that
// makes up to 42 steps of sRGB's.
func TestRoundTrip(t *testing.T) {
	const grows = 2.2 * 1.45 * 12.92
	exact := relative
	exact.Precision = transform.Exact
	for _, c := range []struct {
		name string
		far  [4]float64 // by depth
		o    transform.Options
	}{
		{"exact", [4]float64{0.5*grows + 0.5, 0.5*grows + 0.5, 0.5 * grows / (1 << 24), 1e-12}, exact},
		{"bounded", [4]float64{1.5*grows + 1, 12.5*grows + 12, 5e-5*grows + 5e-5, 5e-5*grows + 5e-5}, relative},
	} {
		t.Run(c.name, func(t *testing.T) {
			roundTrip[uint8](t, transform.Plain8, c.far[0], c.o)
			roundTrip[uint16](t, transform.Plain16, c.far[1], c.o)
			roundTrip[float32](t, transform.Plain32F, c.far[2], c.o)
			roundTrip[float64](t, transform.Plain64F, c.far[3], c.o)
		})
	}
}

func roundTrip[S transform.Sample](t *testing.T, l transform.Layout, far float64, o transform.Options) {
	t.Helper()
	const n = 10000
	src := pixelsFor[S](l, icc.SpaceRGB, n)
	there := row[S](t, kernelOf(t, o, l, l, srgb(), p3()), 3, src, n)
	back := row[S](t, kernelOf(t, o, l, l, p3(), srgb()), 3, there, n)
	worst := 0.0
	for i := range src {
		worst = max(worst, math.Abs(float64(src[i])-float64(back[i])))
	}
	t.Logf("%v: at most %.3g", l.Depth, worst)
	if worst > far {
		t.Errorf("%v: %g apart after the round trip, more than %g", l.Depth, worst, far)
	}
}

// A device to itself gives every code of 8 and 16 bits back.
func TestIdentity(t *testing.T) {
	for name, p := range map[string]*icc.Profile{"sRGB": srgb(), "P3": p3()} {
		in := greys[uint8](256, 255)
		for i, v := range row[uint8](t, kernelOf(t, relative, transform.Plain8, transform.Plain8, p, p), 3, in, 256) {
			if v != in[i] {
				t.Errorf("%s: %d becomes %d", name, in[i], v)
			}
		}
		in16 := greys[uint16](65536, 65535)
		worst := 0
		for i, v := range row[uint16](t, kernelOf(t, relative, transform.Plain16, transform.Plain16, p, p), 3, in16, 65536) {
			worst = max(worst, int(v)-int(in16[i]), int(in16[i])-int(v))
		}
		if worst > 12 {
			t.Errorf("%s: codes of 16 bits come back %d apart", name, worst)
		}
	}
}

// Floats that are no colours, NaN, infinities, beyond 0 and 1, count as the chain
// counts them, and nothing that is no number comes out.
func TestNoColours(t *testing.T) {
	strange := []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1e-3, 1.001, -1, 2, 1e10, -1e10, 1e38, -1e38, math.MaxFloat64, -math.MaxFloat64,
		5e-324, 1e-45, 1e-40, -1e-40, math.Copysign(0, -1), 0, 1, 0.5}
	for _, c := range layoutCases() {
		t.Run(c.name, func(t *testing.T) {
			tr := must(transform.New(c.o, c.profiles...))
			noColours[float32](t, tr, transform.Plain32F, strange, c.far[transform.Float32])
			noColours[float64](t, tr, transform.Plain64F, strange, c.far[transform.Float64])
		})
	}
}

func noColours[S transform.Sample](t *testing.T, tr *transform.Transform, l transform.Layout, strange []float64, far float64) {
	t.Helper()
	k := must(tr.Between(l, l))
	in, out := tr.Channels()
	var src []S
	n := 0
	for _, a := range strange {
		for _, b := range strange {
			for c := range in {
				src = append(src, S([]float64{a, b, 0.5, a}[c%4]))
			}
			n++
		}
	}
	got, v := row[S](t, k, out, src, n), make([]float64, 16)
	for i := range n {
		far := far
		for c := range in {
			v[c] = float64(src[i*in+c])
			// The cube root of an L* of 50,000, where the chain stops, is 431; a
			// float32's last bits of it are 0.02 of a*, which no colour comes near.
			if tr.From() == icc.SpaceLab && math.Abs(v[c]) > 1000 {
				far = 0.02
			}
		}
		tr.Chain().Eval(v, v)
		for c := range out {
			g, limit := float64(got[i*out+c]), far
			if !(math.Abs(g-v[c]) <= limit) {
				t.Errorf("%v, %v becomes %v, by the chain %v", l.Depth, src[i*in:(i+1)*in], got[i*out:(i+1)*out], v[:out])
				return
			}
		}
	}
}
