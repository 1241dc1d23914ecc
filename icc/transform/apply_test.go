package transform_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// Pictures do not depend on the number of workers, nor rows on their strides, and
// what lies between rows is left alone.
func TestWorkers(t *testing.T) {
	const width, height, gap = 301, 211, 5 // enough pixels to be shared
	for _, c := range []struct {
		name string
		to   *icc.Profile
	}{{"matrix", p3()}, {"table", clut33()}, {"inks", inks()}} {
		t.Run(c.name, func(t *testing.T) {
			from, to := transform.Layout{Depth: transform.Depth16, Alpha: transform.AlphaLast}, transform.Layout{Alpha: transform.AlphaFirst}
			src := transform.Raster[uint16]{Samples: pixelsFor[uint16](from, icc.SpaceRGB, width*height+height), Width: width, Height: height, Stride: 4 * (width + 1)}
			var want []uint8
			for _, workers := range []int{1, 3, 0, 2, 8, 100} {
				if testing.Short() && workers > 3 {
					break
				}
				tr, err := transform.New(transform.Options{Intent: icc.Relative, Workers: workers}, srgb(), c.to)
				if err != nil {
					t.Fatal(err)
				}
				k, err := tr.Between(from, to)
				if err != nil {
					t.Fatal(err)
				}
				_, channels := tr.Channels()
				row := (channels + 1) * width
				stride := row + gap
				dst := transform.Raster[uint8]{Samples: slices.Repeat([]uint8{77}, stride*height-gap), Width: width, Height: height, Stride: stride}
				if err := transform.Apply(t.Context(), k, dst, src); err != nil {
					t.Fatal(err)
				}
				if want == nil {
					want = slices.Repeat([]uint8{77}, stride*height-gap)
					for y := range height {
						if err := transform.Row(k, want[y*stride:], src.Samples[y*src.Stride:], width); err != nil {
							t.Fatal(err)
						}
					}
				}
				if !slices.Equal(dst.Samples, want) {
					t.Errorf("%d workers: not the same as row by row", workers)
				}
			}
		})
	}
}

// Pictures in place, without stride and with none of their sizes, or one.
func TestApplySizes(t *testing.T) {
	k := kernelOf(t, relative, transform.Plain8, transform.Plain8, srgb(), p3())
	for _, size := range [][2]int{{0, 0}, {0, 5}, {5, 0}, {1, 1}, {1, 40000}, {40000, 1}, {200, 200}} {
		samples := pixelsFor[uint8](transform.Plain8, icc.SpaceRGB, size[0]*size[1])
		want := make([]uint8, len(samples))
		if err := transform.Row(k, want, samples, size[0]*size[1]); err != nil {
			t.Fatal(err)
		}
		r := transform.Raster[uint8]{Samples: samples, Width: size[0], Height: size[1]}
		if err := transform.Apply(t.Context(), k, r, r); err != nil {
			t.Fatalf("%v: %v", size, err)
		}
		if !slices.Equal(samples, want) {
			t.Errorf("%v in place is not the same as a row", size)
		}
	}
}

// asked is a context that is cancelled when it was asked so many times.
type asked struct {
	context.Context
	left atomic.Int64
}

func (a *asked) Err() error {
	if a.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

func TestApplyCancelled(t *testing.T) {
	const side = 600
	for _, workers := range []int{1, 4} {
		k := kernelOf(t, transform.Options{Workers: workers}, transform.Plain8, transform.Plain8, srgb(), p3())
		src := transform.Raster[uint8]{Samples: slices.Repeat([]uint8{255}, 3*side*side), Width: side, Height: side}
		dst := transform.Raster[uint8]{Samples: make([]uint8, 3*side*side), Width: side, Height: side}
		ctx := &asked{Context: t.Context()}
		ctx.left.Store(5)
		if err := transform.Apply(ctx, k, dst, src); !errors.Is(err, context.Canceled) {
			t.Errorf("%d workers: %v", workers, err)
		}
		done := 0
		for y := range side {
			if dst.Samples[3*side*y] != 0 {
				done++
			}
		}
		if done == 0 || done == side {
			t.Errorf("%d workers: %d of %d rows done when cancelled", workers, done, side)
		}
		gone, cancel := context.WithCancel(t.Context())
		cancel()
		if err := transform.Apply(gone, k, dst, src); !errors.Is(err, context.Canceled) {
			t.Errorf("%d workers, cancelled before: %v", workers, err)
		}
	}
}

// Rows and pictures that do not hold what they say, or hold something else, are
// refused, and nothing is written.
func TestApplyErrors(t *testing.T) {
	k := kernelOf(t, relative, transform.Plain8, transform.Alpha16, srgb(), p3())
	const huge = int(^uint(0) >> 1)
	src, dst := slices.Repeat([]uint8{255}, 3*12), make([]uint16, 4*12)
	for name, err := range map[string]error{
		"short source":       transform.Row(k, dst, src[:35], 12),
		"short target":       transform.Row(k, dst[:47], src, 12),
		"no source":          transform.Row[uint16, uint8](k, dst, nil, 1),
		"no target":          transform.Row[uint16](k, nil, src, 1),
		"negative":           transform.Row(k, dst, src, -1),
		"more than there is": transform.Row(k, dst, src, huge),
		"other source":       transform.Row(k, dst, make([]uint16, 99), 1),
		"other target":       transform.Row(k, make([]uint8, 99), src, 1),
		"floats":             transform.Row(k, make([]float32, 99), make([]float64, 99), 1),
	} {
		if err == nil {
			t.Errorf("row, %s: no error", name)
		}
	}
	type from = transform.Raster[uint8]
	type to = transform.Raster[uint16]
	for name, r := range map[string]struct {
		src from
		dst to
	}{
		"other size":             {from{src, 3, 4, 0}, to{dst, 4, 3, 0}},
		"negative width":         {from{src, -3, 4, 0}, to{dst, -3, 4, 0}},
		"negative height":        {from{src, 3, -4, 0}, to{dst, 3, -4, 0}},
		"negative stride":        {from{src, 3, 4, -9}, to{dst, 3, 4, 0}},
		"negative target stride": {from{src, 3, 4, 0}, to{dst, 3, 4, -12}},
		"stride within the row":  {from{src, 3, 4, 8}, to{dst, 3, 4, 0}},
		"stride beyond the end":  {from{src, 3, 4, 10}, to{dst, 3, 4, 0}},
		"target beyond the end":  {from{src, 3, 4, 9}, to{dst, 3, 4, 13}},
		"too wide":               {from{src, 13, 1, 0}, to{dst, 13, 1, 0}},
		"too high":               {from{src, 3, 5, 0}, to{dst, 3, 5, 0}},
		"huge":                   {from{src, huge, huge, 0}, to{dst, huge, huge, 0}},
		"huge height":            {from{src, 1, huge, 0}, to{dst, 1, huge, 0}},
		"huge stride":            {from{src, 1, 2, huge}, to{dst, 1, 2, huge}},
		"no samples":             {from{nil, 1, 1, 0}, to{dst, 1, 1, 0}},
	} {
		if err := transform.Apply(t.Context(), k, r.dst, r.src); err == nil {
			t.Errorf("picture, %s: no error", name)
		}
	}
	if err := transform.Apply(t.Context(), k, transform.Raster[uint8]{Samples: make([]uint8, 9), Width: 1, Height: 1}, from{src, 1, 1, 0}); err == nil {
		t.Error("picture, other samples: no error")
	}
	if slices.Max(dst) != 0 {
		t.Error("something was written")
	}
	if err := transform.Row(k, dst, src, 0); err != nil {
		t.Error(err)
	}
	if err := transform.Apply(t.Context(), k, to{dst, 3, 4, 12}, from{src, 3, 4, 9}); err != nil {
		t.Error(err)
	}
	if from, to := k.Layouts(); from != transform.Plain8 || to != transform.Alpha16 || k.Bound() == "" {
		t.Errorf("layouts %+v and %+v, bound %q", from, to, k.Bound())
	}
}

// Rows do not allocate.
func TestRowAllocations(t *testing.T) {
	if raced {
		t.Log("with the race detector sync.Pool drops at random, and what it counts means nothing")
		return
	}
	for _, c := range layoutCases() {
		for _, precision := range []transform.Precision{transform.Bounded, transform.Exact} {
			c.o.Precision = precision
			tr := must(transform.New(c.o, c.profiles...))
			if tr.To() == icc.SpaceXYZ {
				rowAllocations[uint16, uint16](t, c.name, tr, transform.Plain16, transform.Plain16)
			} else {
				rowAllocations[uint8, uint8](t, c.name, tr, transform.Plain8, transform.Plain8)
				rowAllocations[uint8, uint16](t, c.name, tr, transform.Alpha16, transform.Layout{Reversed: true})
			}
			rowAllocations[float32, float32](t, c.name, tr, transform.Plain32F, transform.Alpha32F)
			rowAllocations[float64, uint16](t, c.name, tr, transform.Plain16, transform.Plain64F)
		}
	}
}

func rowAllocations[D, S transform.Sample](t *testing.T, name string, tr *transform.Transform, from, to transform.Layout) {
	t.Helper()
	k := must(tr.Between(from, to))
	src, dst := make([]S, 5*300), make([]D, 5*300)
	if n := testing.AllocsPerRun(20, func() {
		if err := transform.Row(k, dst, src, 300); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%s, %+v to %+v: %g allocations a row", name, from, to, n)
	}
}

// Many goroutines may compile and run kernels of one transform at once, and get
// the same kernel for the same layouts. The race detector watches in CI.
func TestConcurrentUse(t *testing.T) {
	tr := must(transform.New(relative, srgb(), clut33()))
	src := pixelsFor[uint8](transform.Plain8, icc.SpaceRGB, 600)
	layouts := []transform.Layout{transform.Plain8, {Reversed: true}, transform.Alpha8, {Alpha: transform.AlphaFirst}}
	var mu sync.Mutex
	kernels, results := map[transform.Layout]*transform.Kernel{}, map[transform.Layout]string{}
	var wg sync.WaitGroup
	for i := range 32 {
		wg.Go(func() {
			l := layouts[i%len(layouts)]
			k, err := tr.Between(transform.Plain8, l)
			if err != nil {
				t.Error(err)
				return
			}
			dst := make([]uint8, 4*600)
			if err := transform.Row(k, dst, src, 600); err != nil {
				t.Error(err)
			}
			mu.Lock()
			defer mu.Unlock()
			if old := kernels[l]; old != nil && (old != k || results[l] != string(dst)) {
				t.Errorf("%+v: another kernel or another result", l)
			}
			kernels[l], results[l] = k, string(dst)
		})
	}
	wg.Wait()
	if len(kernels) != len(layouts) {
		t.Error(fmt.Sprint(len(kernels), " kernels"))
	}
}

// A transform does not change with the profiles that it was made of.
func TestIndependentOfProfiles(t *testing.T) {
	p := tabled(icc.V4)
	tr := must(transform.New(relative, srgb(), p))
	src, before, after := pixelsFor[uint8](transform.Plain8, icc.SpaceRGB, 50), make([]uint8, 150), make([]uint8, 150)
	if err := transform.Row(must(tr.Between(transform.Plain8, transform.Plain8)), before, src, 50); err != nil {
		t.Fatal(err)
	}
	clear(p.Value(icc.TagBToA1).(icc.LutBToA).Table.Words)
	for _, l := range []transform.Layout{{}, {Reversed: true}} { // one known, one to be compiled
		if err := transform.Row(must(tr.Between(transform.Plain8, l)), after, src, 50); err != nil {
			t.Fatal(err)
		}
		if l.Reversed {
			for i := range 50 {
				after[3*i], after[3*i+2] = after[3*i+2], after[3*i]
			}
		}
		if !slices.Equal(before, after) {
			t.Errorf("%+v: the result changed with the profile", l)
		}
	}
}
