package pictures_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"testing"

	"example.org/primaries/chart/pictures"
)

// Patches from 24 megapixels take less than 2 s beyond decoding. "All colours"
// is random in every channel and fills nearly every cell that sRGB reaches,
// more than any photograph. "From JPEG" is with decoding.
func BenchmarkPatches24Megapixels(b *testing.B) {
	m := photograph(6000, 4000, 8)
	var file bytes.Buffer
	if err := jpeg.Encode(&file, m, &jpeg.Options{Quality: 90}); err != nil {
		b.Fatal(err)
	}
	patches := func(b *testing.B, in pictures.Picture, n int) {
		if _, err := pictures.Patches([]pictures.Picture{in}, n, pictures.Options{}); err != nil {
			b.Fatal(err)
		}
	}
	for _, n := range []int{50, 200} {
		b.Run(fmt.Sprintf("%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				patches(b, pictures.Picture{Name: "large", Image: m}, n)
			}
		})
	}
	rng := rand.New(rand.NewPCG(9, 9))
	all := image.NewNRGBA(image.Rect(0, 0, 6000, 4000))
	for i := 0; i < len(all.Pix); i += 4 {
		binary.LittleEndian.PutUint32(all.Pix[i:], rng.Uint32()|0xff000000)
	}
	for _, n := range []int{200, 1000} {
		b.Run(fmt.Sprintf("%d of all colours", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				patches(b, pictures.Picture{Name: "all", Image: all}, n)
			}
		})
	}
	b.Run("50 from JPEG", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			p, err := pictures.Decode(bytes.NewReader(file.Bytes()), "large", pictures.Limits{})
			if err != nil {
				b.Fatal(err)
			}
			patches(b, p, 50)
		}
	})
}
