package colorimetry_test

import (
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
)

// colours are 4096 random colours, as the comparison with Little CMS uses.
func colours() []colorimetry.XYZ {
	random := rand.New(rand.NewPCG(3, 4))
	c := make([]colorimetry.XYZ, 4096)
	for i := range c {
		c[i] = colorimetry.XYZ{X: random.Float64() * 0.95, Y: random.Float64(), Z: random.Float64() * 0.82}
	}
	return c
}

func perColour(b *testing.B, n int, f func()) {
	b.ReportAllocs()
	for b.Loop() {
		f()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/colour")
}

func BenchmarkLab(b *testing.B) {
	c, white := colours(), colorimetry.D50()
	var s float64
	perColour(b, len(c), func() {
		for _, v := range c {
			s += v.Lab(white).L
		}
	})
	if s < 0 {
		b.Fatal(s)
	}
}

func BenchmarkLabRow(b *testing.B) {
	c, white := colours(), colorimetry.D50()
	dst := make([]colorimetry.Lab, len(c))
	perColour(b, len(c), func() { colorimetry.LabRow(dst, c, white) })
}

func BenchmarkLabToXYZ(b *testing.B) {
	c, white := colours(), colorimetry.D50()
	lab := make([]colorimetry.Lab, len(c))
	colorimetry.LabRow(lab, c, white)
	perColour(b, len(c), func() { colorimetry.XYZRow(c, lab, white) })
}

func BenchmarkLuv(b *testing.B) {
	c, white := colours(), colorimetry.D50()
	var s float64
	perColour(b, len(c), func() {
		for _, v := range c {
			s += v.Luv(white).U
		}
	})
	if s != s {
		b.Fatal(s)
	}
}
