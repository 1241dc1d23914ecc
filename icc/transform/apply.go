package transform

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
)

// Raster is a picture in memory: Height rows of Width pixels, the first sample of
// each row Stride samples after that of the row before. A Stride of 0 means rows
// without gaps.
type Raster[T Sample] struct {
	Samples               []T
	Width, Height, Stride int
}

// rows returns the raster with its stride filled in, or what is wrong with it for
// pixels of so many samples.
func (r Raster[T]) rows(step int) (Raster[T], error) {
	if r.Width < 0 || r.Height < 0 || r.Stride < 0 {
		return r, fmt.Errorf("transform: a picture of %d × %d pixels with a stride of %d; none may be negative", r.Width, r.Height, r.Stride)
	}
	if r.Width == 0 || r.Height == 0 {
		return r, nil
	}
	if r.Width > len(r.Samples)/step {
		return r, fmt.Errorf("transform: rows of %d pixels of %d samples in a raster of %d samples", r.Width, step, len(r.Samples))
	}
	row := r.Width * step
	if r.Stride == 0 {
		r.Stride = row
	}
	if r.Stride < row {
		return r, fmt.Errorf("transform: rows of %d samples with a stride of %d", row, r.Stride)
	}
	if r.Height-1 > (len(r.Samples)-row)/r.Stride {
		return r, fmt.Errorf("transform: %d samples do not hold %d rows of %d", len(r.Samples), r.Height, r.Stride)
	}
	return r, nil
}

// A picture of fewer pixels than this is not worth sharing among goroutines, which
// take so many at a time.
const (
	worthSharing = 1 << 15
	shared       = 1 << 13
)

// Apply sends a picture through the kernel: in parallel, where it is large enough
// and Options.Workers allows. The result does not depend on that. dst and src may
// be the same where their pixels take as much room and their rows lie alike;
// otherwise they must not overlap.
//
// When ctx is cancelled, Apply ends with its error and dst is partly written. It
// is an error if the sizes differ, a raster does not hold its pixels, or samples
// are not those of the kernel's layouts.
func Apply[D, S Sample](ctx context.Context, k *Kernel, dst Raster[D], src Raster[S]) error {
	row, ok := k.row.(func([]D, []S, int))
	if !ok {
		return k.mismatch(*new(D), *new(S))
	}
	if dst.Width != src.Width || dst.Height != src.Height {
		return fmt.Errorf("transform: a picture of %d × %d pixels cannot become one of %d × %d", src.Width, src.Height, dst.Width, dst.Height)
	}
	var err error
	if src, err = src.rows(k.in.step); err != nil {
		return err
	}
	if dst, err = dst.rows(k.out.step); err != nil {
		return err
	}
	if src.Width == 0 || src.Height == 0 {
		return ctx.Err()
	}
	return k.t.share(ctx, src.Width, src.Height, func(y int) {
		row(dst.Samples[y*dst.Stride:], src.Samples[y*src.Stride:], src.Width)
	})
}

// share calls row for each row of a picture, by several goroutines where that pays.
func (t *Transform) share(ctx context.Context, width, height int, row func(y int)) error {
	workers := t.o.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	if width*height < worthSharing {
		workers = 1
	}
	rows := max(shared/width, 1)
	var next atomic.Int64
	work := func() {
		for ctx.Err() == nil {
			from := int(next.Add(int64(rows))) - rows
			if from >= height {
				return
			}
			for y := from; y < min(from+rows, height); y++ {
				row(y)
			}
		}
	}
	var wg sync.WaitGroup
	for range min(workers, (height+rows-1)/rows) - 1 {
		wg.Go(work)
	}
	work()
	wg.Wait()
	return ctx.Err()
}
