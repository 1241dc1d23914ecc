package difference_test

import (
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

// A factor left out is 1; one that is none makes no difference.
func TestWeights(t *testing.T) {
	a, b := colorimetry.Lab{L: 50, A: 10, B: -10}, colorimetry.Lab{L: 55, B: -10}
	if got, want := difference.CIE94(a, b, difference.CIE94Weights{KL: 2}), difference.CIE94(a, b, difference.CIE94Weights{KL: 2, KC: 1, KH: 1, K1: 0.045, K2: 0.015}); got != want {
		t.Errorf("CIE94 with kL alone is %g, want %g", got, want)
	}
	for name, v := range map[string]float64{
		"CIE94":     difference.CIE94(a, b, difference.CIE94Weights{KC: -1}),
		"CIE94 K1":  difference.CIE94(a, b, difference.CIE94Weights{K1: -1}),
		"CIEDE2000": difference.CIEDE2000Weighted(a, b, difference.Weights{KL: -1}),
		"DIN99":     difference.DIN99(a, b, difference.DIN99Weights{KE: -1}),
		"CMC l":     difference.CMC(a, b, -1, 1),
		"CMC c":     difference.CMC(a, b, 1, 0),
	} {
		if v == v {
			t.Errorf("%s with a weight that is none is %g", name, v)
		}
	}
}

// Chromas whose product is below the smallest number make neutrals, not NaN.
func TestTinyChroma(t *testing.T) {
	a, b := colorimetry.Lab{L: 50, A: 1e-162, B: 1e-162}, colorimetry.Lab{L: 50, A: 10, B: -10}
	near := colorimetry.Lab{L: 50, A: 1e-150, B: 1e-150}
	if got, want := difference.CIE94(a, b, difference.CIE94Weights{}), difference.CIE94(near, b, difference.CIE94Weights{}); !(got-want < 1e-9 && want-got < 1e-9) {
		t.Errorf("CIE94 is %g, want %g", got, want)
	}
	if got, want := difference.CMC(a, b, 1, 1), difference.CMC(near, b, 1, 1); !(got-want < 1e-9 && want-got < 1e-9) {
		t.Errorf("CMC is %g, want %g", got, want)
	}
}
