package transform_test

import (
	"encoding/binary"
	"math"
	"sync"
	"testing"

	"example.org/primaries/icc/transform"
)

// Ways for the fuzz target, whose kernels are kept between its runs.
var (
	fuzzMatrix = sync.OnceValue(func() *transform.Transform { return must(transform.New(relative, srgb(), p3())) })
	fuzzTable  = sync.OnceValue(func() *transform.Transform { return must(transform.New(relative, clut33(), inks())) })
	fuzzInto   = sync.OnceValue(func() *transform.Transform { return must(transform.New(relative, srgb(), clut33())) })
	fuzzLab    = sync.OnceValue(func() *transform.Transform { return must(transform.New(relative, abstract())) })
	fuzzGrey   = sync.OnceValue(func() *transform.Transform { return must(transform.New(relative, srgb(), grey())) })
)

// Pictures of any layouts, sizes, strides and samples are refused or converted as
// their pixels are one by one; nothing is read or written that does not belong to
// them.
func FuzzApply(f *testing.F) {
	f.Add(uint8(0), uint16(0), uint16(0), int16(3), int16(2), int16(0), int16(0), []byte{1, 2, 3, 250, 0, 255})
	f.Add(uint8(1), uint16(0x29), uint16(0x0a), int16(2), int16(3), int16(9), int16(20), []byte{9, 200, 4})
	f.Add(uint8(2), uint16(0x02), uint16(0x33), int16(7), int16(1), int16(-1), int16(0), []byte{0, 0, 0x80, 0x7f, 0xff, 0xff, 0xff, 0xff})
	f.Add(uint8(3), uint16(0x4a), uint16(0x50), int16(300), int16(2), int16(1300), int16(700), []byte{0, 0, 0xc0, 0x7f, 0, 0, 0x80, 0xff})
	f.Add(uint8(4), uint16(0x29), uint16(0x0a), int16(2), int16(3), int16(9), int16(20), []byte{9, 200, 4})
	f.Add(uint8(4), uint16(1), uint16(1), int16(20), int16(3), int16(0), int16(0), []byte{255, 0, 255, 9, 200, 4})
	f.Fuzz(func(t *testing.T, way uint8, from, to uint16, width, height, stride, outStride int16, content []byte) {
		tr := []func() *transform.Transform{fuzzMatrix, fuzzTable, fuzzLab, fuzzGrey, fuzzInto}[way%5]()
		k, err := tr.Between(layoutFrom(from), layoutFrom(to))
		if err != nil {
			return
		}
		size := [4]int{int(width), int(height), int(stride), int(outStride)}
		switch layoutFrom(from).Depth {
		case transform.Depth8:
			fuzzFrom[uint8](t, tr, k, size, content)
		case transform.Depth16:
			fuzzFrom[uint16](t, tr, k, size, content)
		case transform.Float32:
			fuzzFrom[float32](t, tr, k, size, content)
		case transform.Float64:
			fuzzFrom[float64](t, tr, k, size, content)
		}
	})
}

// layoutFrom returns a layout, of a depth that does not exist too.
func layoutFrom(bits uint16) transform.Layout {
	return transform.Layout{Depth: transform.Depth(bits & 7), Alpha: transform.Alpha(bits >> 3 & 3), Reversed: bits>>5&1 == 1, Premultiplied: bits>>6&1 == 1}
}

func fuzzFrom[S transform.Sample](t *testing.T, tr *transform.Transform, k *transform.Kernel, size [4]int, content []byte) {
	switch _, to := k.Layouts(); to.Depth {
	case transform.Depth8:
		fuzzApply[uint8, S](t, tr, k, size, content)
	case transform.Depth16:
		fuzzApply[uint16, S](t, tr, k, size, content)
	case transform.Float32:
		fuzzApply[float32, S](t, tr, k, size, content)
	case transform.Float64:
		fuzzApply[float64, S](t, tr, k, size, content)
	}
}

func fuzzApply[D, S transform.Sample](t *testing.T, tr *transform.Transform, k *transform.Kernel, size [4]int, content []byte) {
	from, to := k.Layouts()
	in, out := tr.Channels()
	_, _, inStep := places(from, in)
	_, _, outStep := places(to, out)
	const room = 4000
	src := transform.Raster[S]{Samples: samplesFrom[S](content, room), Width: size[0], Height: size[1], Stride: size[2]}
	const mark = 99
	dst := transform.Raster[D]{Samples: make([]D, room), Width: size[0], Height: size[1], Stride: size[3]}
	for i := range dst.Samples {
		dst.Samples[i] = mark
	}
	if err := transform.Apply(t.Context(), k, dst, src); err != nil {
		for i, v := range dst.Samples {
			if v != mark {
				t.Fatalf("%v, and sample %d was written", err, i)
			}
		}
		return
	}
	if src.Stride == 0 {
		src.Stride = inStep * src.Width
	}
	if dst.Stride == 0 {
		dst.Stride = outStep * dst.Width
	}
	want := make([]D, outStep)
	next := 0 // sample that was not looked at
	for y := range dst.Height {
		for x := range dst.Width {
			if err := transform.Row(k, want, src.Samples[y*src.Stride+x*inStep:], 1); err != nil {
				t.Fatal(err)
			}
			at := y*dst.Stride + x*outStep
			marked(t, dst.Samples[next:at])
			next = at + outStep
			for c, v := range dst.Samples[at:next] {
				if v != want[c] && !(v != v && want[c] != want[c]) {
					t.Fatalf("pixel %d, %d has %v, alone %v", x, y, dst.Samples[at:next], want)
				}
			}
			if from.Alpha == transform.NoAlpha || !to.Premultiplied && !from.Premultiplied {
				fuzzFinite(t, want, to, out)
			}
		}
	}
	marked(t, dst.Samples[next:])
}

func marked[D transform.Sample](t *testing.T, gap []D) {
	t.Helper()
	for _, v := range gap {
		if v != 99 {
			t.Fatalf("%v was written between pixels", v)
		}
	}
}

// fuzzFinite wants channels that are numbers, whatever the opacity is.
func fuzzFinite[D transform.Sample](t *testing.T, pixel []D, to transform.Layout, channels int) {
	t.Helper()
	at, _, _ := places(to, channels)
	for _, place := range at {
		if v := float64(pixel[place]); math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%v came out", pixel)
		}
	}
}

// samplesFrom returns n samples of the bits of content, over and over.
func samplesFrom[S transform.Sample](content []byte, n int) []S {
	content = append(content, 1)
	var b [8]byte
	out := make([]S, n)
	for i := range out {
		for k := range b {
			b[k] = content[(8*i+k)%len(content)]
		}
		switch p := any(&out[i]).(type) {
		case *uint8:
			*p = b[0]
		case *uint16:
			*p = binary.LittleEndian.Uint16(b[:])
		case *float32:
			*p = math.Float32frombits(binary.LittleEndian.Uint32(b[:]))
		case *float64:
			*p = math.Float64frombits(binary.LittleEndian.Uint64(b[:]))
		}
	}
	return out
}
