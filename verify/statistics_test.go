package verify_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/primaries/verify"
)

func TestSummarise(t *testing.T) {
	var twenty []float64
	for i := range 20 {
		twenty = append(twenty, float64((i*7)%20+1)) // 1 to 20, shuffled
	}
	nan := math.NaN()
	for _, c := range []struct {
		name string
		in   []float64
		want verify.Statistics
	}{
		{"none", nil, verify.Statistics{}},
		{"one", []float64{3}, verify.Statistics{Mean: 3, Median: 3, P95: 3, Max: 3, Count: 1}},
		// By hand: h = 19·0.95 = 18.05, so 19 + 0.05·(20−19).
		{"1 to 20", twenty, verify.Statistics{Mean: 10.5, Median: 10.5, P95: 19.05, Max: 20, Count: 20}},
		// By hand: h = 2·0.95 = 1.9, so 2 + 0.9·(10−2).
		{"three", []float64{10, 0, 2}, verify.Statistics{Mean: 4, Median: 2, P95: 9.2, Max: 10, Count: 3}},
		{"unknown", []float64{1, nan}, verify.Statistics{Mean: nan, Median: nan, P95: nan, Max: nan, Count: 2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, verify.Summarise(c.in), cmpopts.EquateApprox(0, 1e-12), cmpopts.EquateNaNs()); d != "" {
				t.Error(d)
			}
		})
	}
	if twenty[1] != 8 {
		t.Error("the slice was sorted in place")
	}
}
