package chart_test

import (
	"math"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// TestCodesOfTheStandards holds the codes against ITU-R BT.709 (8 and 10 bits)
// and BT.2100 (10 and 12 bits): D = Round[(219·E′ + 16)·2^(n−8)] for the narrow
// range, D = Round[(2^n − 1)·E′] for the full one.
func TestCodesOfTheStandards(t *testing.T) {
	for _, c := range []struct {
		r                   chart.CodeRange
		black, white, codes int
	}{
		{chart.CodeRange{Bits: 8, Narrow: true}, 16, 235, 220},
		{chart.CodeRange{Bits: 10, Narrow: true}, 64, 940, 877},
		{chart.CodeRange{Bits: 12, Narrow: true}, 256, 3760, 3505},
		{chart.CodeRange{Bits: 8}, 0, 255, 256},
		{chart.CodeRange{Bits: 10}, 0, 1023, 1024},
		{chart.CodeRange{Bits: 12}, 0, 4095, 4096},
	} {
		if c.r.Black() != c.black || c.r.White() != c.white || c.r.Codes() != c.codes {
			t.Errorf("%+v: %d to %d, %d codes; want %d to %d, %d", c.r, c.r.Black(), c.r.White(), c.r.Codes(), c.black, c.white, c.codes)
		}
		for i := range 1001 {
			e := float64(i) / 1000
			want := int(math.Floor(e*(math.Pow(2, float64(c.r.Bits))-1) + 0.5))
			if c.r.Narrow {
				want = int(math.Floor((219*e+16)*math.Pow(2, float64(c.r.Bits-8)) + 0.5))
			}
			if got := c.r.Code(e); got != want {
				t.Errorf("%+v: signal %g is code %d, the formula says %d", c.r, e, got, want)
			}
		}
		for code := c.black; code <= c.white; code++ {
			if got := c.r.Code(c.r.Signal(code)); got != code {
				t.Fatalf("%+v: code %d comes back as %d", c.r, code, got)
			}
		}
	}
}

func TestCodeRangeAtAndBeyondItsEnds(t *testing.T) {
	r := chart.CodeRange{Bits: 10, Narrow: true}
	for v, want := range map[float64]int{-1: 64, 0: 64, 1: 940, 7: 940, math.Inf(1): 940, math.Inf(-1): 64} {
		if got := r.Code(v); got != want {
			t.Errorf("signal %g is code %d, want %d", v, got, want)
		}
	}
	if got := r.Code(math.NaN()); got != 64 {
		t.Errorf("NaN is code %d, want black", got)
	}
	if r.Signal(64) != 0 || r.Signal(940) != 1 || r.Signal(4) >= 0 || r.Signal(1019) <= 1 {
		t.Error("codes beyond black and white are not beyond 0 and 1")
	}
	for _, bad := range []chart.CodeRange{{}, {Bits: 17}, {Bits: 7, Narrow: true}, {Bits: -1}} {
		mustPanic(t, func() { bad.Codes() })
		mustPanic(t, func() { bad.Quantise(chart.Lattice(2)) })
	}
}

func mustPanic(t *testing.T, f func()) {
	t.Helper()
	defer func() {
		if recover() == nil {
			t.Error("no panic")
		}
	}()
	f()
}

func TestQuantiseToARange(t *testing.T) {
	in := chart.Set{{ID: "a", Signal: colorimetry.RGB{R: 0, G: 0.5, B: 1}}}
	got := chart.CodeRange{Bits: 8, Narrow: true}.Quantise(in)
	// 219·0.5 = 109.5, halves upward: code 126, 110 above black.
	if want := (colorimetry.RGB{R: 0, G: 110.0 / 219, B: 1}); got[0].Signal != want || got[0].ID != "a" {
		t.Errorf("got %v, want %v", got[0], want)
	}
	full := chart.CodeRange{Bits: 8}.Quantise(chart.Lattice(4))
	for i, p := range chart.Quantise(chart.Lattice(4), 8) {
		if full[i] != p {
			t.Errorf("the full range of 8 bits gives %v, Quantise %v", full[i], p)
		}
	}
}

// TestNarrowSets: the generators that were there before know the narrow range.
func TestNarrowSets(t *testing.T) {
	o := chart.Options{Bits: 8, Narrow: true}
	train := chart.Default(175, o)
	proof := chart.Apart(train, 60, o)
	if len(train) != 175 || len(signals(train)) != 175 || len(proof) != 60 {
		t.Errorf("%d patches, %d different, and %d to prove them", len(train), len(signals(train)), len(proof))
	}
	checkOnPath(t, "Default", train, o)
	checkOnPath(t, "Apart", proof, o)
}
