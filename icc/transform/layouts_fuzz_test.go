package transform_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// ways are what FuzzLayouts sends pictures through, bounded and exact, in order of
// channels 3→3, 3→4, 4→3, 1→3, 3→Lab, 4→Lab, 3→3 by a table; made once.
func ways(t testing.TB) [2][]*transform.Transform {
	made.Do(func() {
		rgb, screen, paper, gray := narrow(t), wide(t), press(t), grays(t)
		for i, precision := range []transform.Precision{transform.Bounded, transform.Exact} {
			o := transform.Options{Intent: icc.Relative, Precision: precision, Workers: 3}
			for _, profiles := range [][]*icc.Profile{{rgb, screen}, {rgb, paper}, {paper, rgb}, {gray, rgb}, {rgb}, {paper}, {rgb, clut33()}} {
				theWays[i] = append(theWays[i], way(t, o, profiles...))
			}
		}
	})
	return theWays
}

var (
	made    sync.Once
	theWays [2][]*transform.Transform
)

// layout makes a layout of a byte.
func layout(b uint8) transform.Layout {
	l := transform.Layout{Depth: transform.Depth(b % 4), Reversed: b&4 != 0, Alpha: transform.Alpha(b >> 3 % 3)}
	l.Premultiplied = b&128 != 0 && l.Alpha != transform.NoAlpha
	return l
}

// Any layouts, strides and sizes: Apply gives what the chain in float64 gives, writes
// nothing between rows or behind the last, in place too, and never panics.
func FuzzLayouts(f *testing.F) {
	f.Add(uint8(0), uint8(0), uint8(0), uint8(5), uint8(3), uint8(0), uint8(0), uint64(1))
	f.Add(uint8(0), uint8(0x88), uint8(0x8d), uint8(9), uint8(4), uint8(3), uint8(7), uint64(2))
	f.Add(uint8(1), uint8(9), uint8(2), uint8(7), uint8(2), uint8(1), uint8(0), uint64(3))
	f.Add(uint8(2), uint8(5), uint8(0x91), uint8(1), uint8(9), uint8(0), uint8(2), uint64(4))
	f.Add(uint8(3), uint8(1), uint8(0x0b), uint8(255), uint8(2), uint8(0), uint8(0), uint64(5))
	f.Add(uint8(4), uint8(0), uint8(2), uint8(30), uint8(2), uint8(5), uint8(5), uint64(6))
	f.Add(uint8(5), uint8(8), uint8(1), uint8(30), uint8(2), uint8(5), uint8(5), uint64(7))
	f.Add(uint8(6), uint8(0), uint8(0), uint8(40), uint8(2), uint8(0), uint8(0), uint64(8))
	f.Add(uint8(6), uint8(0x0d), uint8(9), uint8(33), uint8(3), uint8(2), uint8(1), uint64(9))
	f.Add(uint8(6), uint8(8), uint8(5), uint8(33), uint8(3), uint8(2), uint8(1), uint64(10))
	f.Fuzz(func(t *testing.T, which, from, to, width, height, gapIn, gapOut uint8, seed uint64) {
		w := ways(t)
		i := int(which) % len(w[0])
		p := picture{
			from: layout(from), to: layout(to), width: int(width), height: int(height % 16),
			gapIn: int(gapIn % 32), gapOut: int(gapOut % 32), seed: seed,
		}
		switch p.from.Depth {
		case transform.Depth8:
			into[uint8](t, w[0][i], w[1][i], p)
		case transform.Depth16:
			into[uint16](t, w[0][i], w[1][i], p)
		case transform.Float32:
			into[float32](t, w[0][i], w[1][i], p)
		case transform.Float64:
			into[float64](t, w[0][i], w[1][i], p)
		}
	})
}

// picture is what a run of FuzzLayouts computes.
type picture struct {
	from, to      transform.Layout
	width, height int
	gapIn, gapOut int // samples between rows
	seed          uint64
}

func into[S transform.Sample](t *testing.T, bounded, exact *transform.Transform, p picture) {
	switch p.to.Depth {
	case transform.Depth8:
		compareLayouts[uint8, S](t, bounded, exact, p)
	case transform.Depth16:
		compareLayouts[uint16, S](t, bounded, exact, p)
	case transform.Float32:
		compareLayouts[float32, S](t, bounded, exact, p)
	case transform.Float64:
		compareLayouts[float64, S](t, bounded, exact, p)
	}
}

func compareLayouts[D, S transform.Sample](t *testing.T, bounded, exact *transform.Transform, p picture) {
	k, err := bounded.Between(p.from, p.to)
	e, err2 := exact.Between(p.from, p.to)
	if (err == nil) != (err2 == nil) {
		t.Fatalf("%+v: %v and %v", p, err, err2)
	}
	if err != nil {
		return // products in the connection space
	}
	in, out := bounded.Channels()
	stepIn, stepOut := in, out
	if p.from.Alpha != transform.NoAlpha {
		stepIn++
	}
	if p.to.Alpha != transform.NoAlpha {
		stepOut++
	}
	src := transform.Raster[S]{Width: p.width, Height: p.height, Stride: p.width*stepIn + p.gapIn}
	src.Samples = samples[S](p, stepIn, src.Stride*p.height)
	raster := func() transform.Raster[D] {
		d := transform.Raster[D]{Width: p.width, Height: p.height, Stride: p.width*stepOut + p.gapOut}
		d.Samples = make([]D, d.Stride*p.height+3)
		for i := range d.Samples {
			d.Samples[i] = 77
		}
		return d
	}
	got, want := raster(), raster()
	if err := transform.Apply(t.Context(), k, got, src); err != nil {
		t.Fatalf("%+v: %v", p, err)
	}
	if err := transform.Apply(t.Context(), e, want, src); err != nil {
		t.Fatalf("%+v: %v", p, err)
	}
	limit := bound[D](bounded)
	got.Stride = max(got.Stride, 1) // of a picture without pixels
	for i := range got.Samples {
		if d := math.Abs(float64(got.Samples[i]) - float64(want.Samples[i])); !(d <= limit) {
			t.Fatalf("%+v: sample %d of row %d is %v, exactly %v", p, i%got.Stride, i/got.Stride, got.Samples[i], want.Samples[i])
		}
		if gap := i/got.Stride >= p.height || i%got.Stride >= p.width*stepOut; gap && got.Samples[i] != 77 {
			t.Fatalf("%+v: sample %d, between rows, was written", p, i)
		}
	}
	if same, ok := any(src.Samples).([]D); ok && stepIn == stepOut {
		place := transform.Raster[D]{Samples: same, Width: p.width, Height: p.height, Stride: src.Stride}
		if err := transform.Apply(t.Context(), k, place, src); err != nil {
			t.Fatalf("%+v, in place: %v", p, err)
		}
		for y := range p.height {
			for x := range p.width * stepOut {
				if place.Samples[y*place.Stride+x] != got.Samples[y*got.Stride+x] {
					t.Fatalf("%+v: sample %d of row %d differs in place", p, x, y)
				}
			}
		}
	}
}

// samples returns numbers for pixels: floats a little beyond 0 to 1, products within
// their opacity, which is seldom 0.
func samples[S transform.Sample](p picture, step, n int) []S {
	rnd := rand.New(rand.NewPCG(p.seed, 9))
	out := make([]S, n)
	full := map[transform.Depth]float64{transform.Depth8: 255, transform.Depth16: 65535, transform.Float32: 1, transform.Float64: 1}[p.from.Depth]
	for at := 0; at+step <= n; at += step {
		pixel := out[at : at+step]
		alpha := step - 1
		if p.from.Alpha == transform.AlphaFirst {
			alpha = 0
		}
		opacity := 1.0
		if p.from.Alpha != transform.NoAlpha {
			opacity = max(0, rnd.Float64()*1.05-0.05)
			pixel[alpha] = S(full * opacity)
			opacity = float64(pixel[alpha]) / full
		}
		for c := range pixel {
			if p.from.Alpha != transform.NoAlpha && c == alpha {
				continue
			}
			v := rnd.Float64()
			if !p.from.Premultiplied && full == 1 {
				v = v*1.2 - 0.1
			}
			if p.from.Premultiplied {
				v *= opacity
			}
			pixel[c] = S(full * v)
		}
	}
	return out
}

// bound is how far a sample may be from the exact one's: what the package promises, of
// floats in their own units, and one code more of integers, which both round.
func bound[D transform.Sample](t *transform.Transform) float64 {
	var zero D
	lab := t.To() == icc.SpaceLab
	switch any(zero).(type) {
	case uint8:
		return 2
	case uint16:
		return 100
	}
	if lab {
		return 0.005
	}
	return 5e-4
}
