package transform_test

import (
	"image"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// What reading and writing pictures costs beside the kernels: one core, a picture of
// 1920 × 1080.
func BenchmarkImage(b *testing.B) {
	r := image.Rect(0, 0, 1920, 1080)
	photo := photograph(r.Dx(), r.Dy())
	solid := image.NewRGBA(r)
	copy(solid.Pix, photo.Pix)
	deep := image.NewRGBA64(r)
	for y := range r.Dy() {
		for x := range r.Dx() {
			deep.SetRGBA64(x, y, photo.RGBA64At(x, y))
		}
	}
	o := transform.Options{Intent: icc.Relative, Workers: 1}
	through := way(b, o, narrow(b), wide(b))
	asked, back := way(b, o, narrow(b)), way(b, o, narrow(b), press(b), press(b))
	rate := func(b *testing.B) {
		b.ReportMetric(float64(b.N)*float64(r.Dx()*r.Dy())/1e6/b.Elapsed().Seconds(), "Mpx/s")
	}
	for _, c := range []struct {
		name string
		src  image.Image
	}{
		{"RGBA", solid}, {"NRGBA", fill(image.NewNRGBA(r), 1)}, {"RGBA_products", fill(image.NewRGBA(r), 1)}, {"RGBA64", deep},
		{"YCbCr420", fill(image.NewYCbCr(r, image.YCbCrSubsampleRatio420), 1)}, {"At", other{solid}},
	} {
		b.Run(c.name, func(b *testing.B) {
			dst, err := through.Convert(b.Context(), c.src)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				switch dst := dst.(type) {
				case *image.RGBA:
					err = through.Image(b.Context(), dst, c.src)
				case *image.NRGBA:
					err = through.Image(b.Context(), dst, c.src)
				case *image.RGBA64:
					err = through.Image(b.Context(), dst, c.src)
				}
				if err != nil {
					b.Fatal(err)
				}
			}
			rate(b)
		})
	}
	b.Run("Alarm", func(b *testing.B) {
		for b.Loop() {
			if _, err := asked.Alarm(b.Context(), back, solid, transform.AlarmOptions{}); err != nil {
				b.Fatal(err)
			}
		}
		rate(b)
	})
}
