package transform_test

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"testing"
	"time"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// The picture that the engine is measured on has so many pixels on a side.
const side = 2048

// whiteNoise returns 16-bit samples of so many pixels of RGB. The numbers are those
// of splitmix64: Steele, Lea, Flood, OOPSLA 2014, doi:10.1145/2660193.2660195.
func whiteNoise(pixels int) []uint16 {
	out := make([]uint16, 0, 3*pixels)
	state := uint64(20240229)
	for range pixels {
		state += 0x9e3779b97f4a7c15
		z := state
		z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
		z = (z ^ z>>27) * 0x94d049bb133111eb
		z ^= z >> 31
		out = append(out, uint16(z), uint16(z>>16), uint16(z>>32))
	}
	return out
}

// noisePicture returns white noise as samples of a kind, opaque where there is opacity.
func noisePicture[S transform.Sample](pixels, channels int) []S {
	values := whiteNoise(pixels)
	out := make([]S, 0, channels*pixels)
	for i := range pixels {
		for c := range channels {
			v := uint16(math.MaxUint16)
			if c < 3 {
				v = values[3*i+c]
			}
			switch any(*new(S)).(type) {
			case uint8:
				out = append(out, S(v>>8))
			case uint16:
				out = append(out, S(v))
			default:
				out = append(out, S(float32(v)/math.MaxUint16))
			}
		}
	}
	return out
}

// kernelOf returns the kernel between two layouts.
func kernelOf(tb testing.TB, o transform.Options, from, to transform.Layout, profiles ...*icc.Profile) *transform.Kernel {
	tb.Helper()
	t, err := transform.New(o, profiles...)
	if err != nil {
		tb.Fatal(err)
	}
	k, err := t.Between(from, to)
	if err != nil {
		tb.Fatal(err)
	}
	return k
}

// relative is how pictures are sent in most of these tests.
var relative = transform.Options{Intent: icc.Relative}

// rows measures the picture sent by rows, and reports the fastest pass.
func rows[D, S transform.Sample](from, to transform.Layout, channels int, profiles ...*icc.Profile) func(*testing.B) {
	return func(b *testing.B) {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		k := kernelOf(b, relative, from, to, profiles...)
		src, dst := noisePicture[S](side*side, channels), make([]D, side*side*channels)
		pass := func() {
			for y := range side {
				if err := transform.Row(k, dst[y*side*channels:], src[y*side*channels:], side); err != nil {
					b.Fatal(err)
				}
			}
		}
		pass() // pages of memory are met for the first time
		b.ReportAllocs()
		best := time.Duration(math.MaxInt64)
		for b.Loop() {
			start := clock()
			pass()
			best = min(best, clock()-start)
		}
		b.ReportMetric(side*side/1e6/best.Seconds(), "Mpx/s")
	}
}

// setup measures how long it takes until the first row can be sent, and reports
// the fastest of several runs.
func setup(profiles ...*icc.Profile) func(*testing.B) {
	return func(b *testing.B) {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		best := time.Duration(math.MaxInt64)
		for b.Loop() {
			start := clock()
			kernelOf(b, relative, transform.Plain8, transform.Plain8, profiles...)
			best = min(best, clock()-start)
		}
		b.ReportMetric(float64(best.Nanoseconds())/1e3, "µs/op")
	}
}

// BenchmarkTransform sends white noise through the profiles of these tests on one
// thread, a call a row. .ci/speed shows it beside Little CMS.
func BenchmarkTransform(b *testing.B) {
	b.Run("1_rgb8_matrix", rows[uint8, uint8](transform.Plain8, transform.Plain8, 3, srgb(), p3()))
	b.Run("2_rgb16_matrix", rows[uint16, uint16](transform.Plain16, transform.Plain16, 3, srgb(), p3()))
	b.Run("3_rgbaf32_matrix", rows[float32, float32](transform.Alpha32F, transform.Alpha32F, 4, srgb(), p3()))
	b.Run("4_rgb8_clut_rel", rows[uint8, uint8](transform.Plain8, transform.Plain8, 3, srgb(), clut33()))
	b.Run("5_rgb16_clut_rel", rows[uint16, uint16](transform.Plain16, transform.Plain16, 3, srgb(), clut33()))
	b.Run("5x_rgbf32_clut_rel", rows[float32, float32](transform.Plain32F, transform.Plain32F, 3, srgb(), clut33()))
	b.Run("6_rgbf_labf_clut", rows[float32, float32](transform.Plain32F, transform.Plain32F, 3, clut33()))
	b.Run("6_rgbf_labf_matrix", rows[float32, float32](transform.Plain32F, transform.Plain32F, 3, p3()))
	b.Run("8_setup_case1", setup(srgb(), p3()))
	b.Run("8_setup_case4", setup(srgb(), clut33()))
}

// BenchmarkTransformWorkers sends the picture on one processor and on two, by the
// clock on the wall, and reports the fastest pass.
func BenchmarkTransformWorkers(b *testing.B) {
	src := transform.Raster[uint8]{Samples: noisePicture[uint8](side*side, 3), Width: side, Height: side}
	dst := transform.Raster[uint8]{Samples: make([]uint8, side*side*3), Width: side, Height: side}
	for _, c := range []struct {
		name string
		to   *icc.Profile
	}{{"1_rgb8_matrix", p3()}, {"4_rgb8_clut_rel", clut33()}} {
		for _, workers := range []int{1, 2} {
			b.Run(fmt.Sprintf("%s/%d", c.name, workers), func(b *testing.B) {
				k := kernelOf(b, transform.Options{Intent: icc.Relative, Workers: workers}, transform.Plain8, transform.Plain8, srgb(), c.to)
				best := time.Duration(math.MaxInt64)
				for b.Loop() {
					start := time.Now()
					if err := transform.Apply(context.Background(), k, dst, src); err != nil {
						b.Fatal(err)
					}
					best = min(best, time.Since(start))
				}
				b.ReportMetric(side*side/1e6/best.Seconds(), "Mpx/s")
			})
		}
	}
}
