package verify

import (
	"math"
	"slices"
)

// Statistics sums up a set of colour differences, CIEDE2000 units.
type Statistics struct {
	Mean   float64 `json:"mean"`
	Median float64 `json:"median"`
	P95    float64 `json:"p95"`
	Max    float64 `json:"max"`
	Count  int     `json:"count"`
	Worst  string  `json:"worst,omitempty"` // the patch of Max, where it has a name
}

// Floor is what noise does to each statistic, CIEDE2000 units. Where Known is
// false the readings state no noise and the other fields are 0.
type Floor struct {
	Known bool    `json:"known"`
	Mean  float64 `json:"mean"`
	P95   float64 `json:"p95"`
	Max   float64 `json:"max"`
}

// Summarise returns the statistics of values, all 0 for an empty slice. NaN
// among the values makes every figure but Count NaN: an unknown difference is
// not a small one. The slice is not changed.
//
// Median and P95 interpolate between the order statistics at h = (n−1)p, so
// that the 95th percentile of few patches is no hidden maximum.
//
// Source: Hyndman and Fan, The American Statistician 50(4) 361–365 (1996),
// definition 7 (from memory).
func Summarise(values []float64) Statistics {
	if len(values) == 0 {
		return Statistics{}
	}
	if slices.ContainsFunc(values, math.IsNaN) {
		nan := math.NaN()
		return Statistics{Mean: nan, Median: nan, P95: nan, Max: nan, Count: len(values)}
	}
	return summariseSorted(slices.Sorted(slices.Values(values)))
}

// summariseSorted is Summarise for finite, rising values.
func summariseSorted(v []float64) Statistics {
	if len(v) == 0 {
		return Statistics{}
	}
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return Statistics{
		Mean:   sum / float64(len(v)),
		Median: quantile(v, 0.5),
		P95:    quantile(v, 0.95),
		Max:    v[len(v)-1],
		Count:  len(v),
	}
}

// quantile returns the p-quantile of rising values, at least one.
func quantile(v []float64, p float64) float64 {
	h := p * float64(len(v)-1)
	i := min(int(h), len(v)-1)
	if i+1 == len(v) {
		return v[i]
	}
	return v[i] + (h-float64(i))*(v[i+1]-v[i])
}
