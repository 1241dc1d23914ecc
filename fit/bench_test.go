package fit_test

import (
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/fit"
)

// A thousand readings of a display whose channels interact, to a chosen model.
func BenchmarkBest1000(b *testing.B) {
	r := truth(starved).readings(chart.Default(1000, chart.Options{Bits: 10}), 1, 1)
	for b.Loop() {
		if _, _, err := fit.Best(r, fit.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
