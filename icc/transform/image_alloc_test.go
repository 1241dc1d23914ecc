//go:build !race

package transform_test

import (
	"image"
	"image/color/palette"
	"image/draw"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// Allocations do not grow with the rows. (With the race detector they do, for it makes
// sync.Pool forget at random.)
func TestImageAllocations(t *testing.T) {
	tr := way(t, transform.Options{Intent: icc.Relative, Workers: 1}, narrow(t), wide(t))
	for _, kinds := range []func(r image.Rectangle) (draw.Image, image.Image){
		func(r image.Rectangle) (draw.Image, image.Image) { return image.NewRGBA(r), image.NewRGBA(r) },
		func(r image.Rectangle) (draw.Image, image.Image) { return image.NewNRGBA64(r), image.NewRGBA64(r) },
		func(r image.Rectangle) (draw.Image, image.Image) {
			return image.NewRGBA(r), image.NewYCbCr(r, image.YCbCrSubsampleRatio420)
		},
		func(r image.Rectangle) (draw.Image, image.Image) {
			return image.NewNRGBA(r), image.NewPaletted(r, palette.Plan9)
		},
		func(r image.Rectangle) (draw.Image, image.Image) { return image.NewRGBA64(r), image.NewGray16(r) },
	} {
		count := func(height int) float64 {
			dst, src := kinds(image.Rect(0, 0, 16, height))
			return testing.AllocsPerRun(3, func() {
				if err := tr.Image(t.Context(), dst, src); err != nil {
					t.Fatal(err)
				}
			})
		}
		if few, many := count(10), count(1000); many > few+5 {
			dst, src := kinds(image.Rect(0, 0, 1, 1))
			t.Errorf("%T to %T: %v allocations for 10 rows, %v for 1000", src, dst, few, many)
		}
	}
}
