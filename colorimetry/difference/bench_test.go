package difference_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

// benchmarkPairs returns pairs from the ranges that the harness around Little
// CMS draws from: L* 0 to 100, a* and b* −80 to 80.
func benchmarkPairs(n int) (a, b []colorimetry.Lab) {
	r := rand.New(rand.NewPCG(3, 4))
	one := func() colorimetry.Lab {
		return colorimetry.Lab{L: 100 * r.Float64(), A: 160*r.Float64() - 80, B: 160*r.Float64() - 80}
	}
	for range n {
		a, b = append(a, one()), append(b, one())
	}
	return a, b
}

func BenchmarkCIEDE2000Row(b *testing.B) {
	p, q := benchmarkPairs(4096)
	dst := make([]float64, len(p))
	b.ReportAllocs()
	for b.Loop() {
		difference.CIEDE2000Row(dst, p, q)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(p)), "ns/colour")
}

// Every metric, called for one pair at a time.
func BenchmarkMetric(b *testing.B) {
	p, q := benchmarkPairs(1024)
	for _, m := range metrics(b) {
		b.Run(m.name, func(b *testing.B) {
			b.ReportAllocs()
			var sum float64
			for b.Loop() {
				for i := range p {
					sum += m.f(p[i], q[i])
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(p)), "ns/colour")
			if sum < 0 || math.IsInf(sum, 0) {
				b.Fatal(sum)
			}
		})
	}
}
