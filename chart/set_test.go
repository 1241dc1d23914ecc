package chart_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// closest returns the smallest ΔE*ab on the nominal display, from its
// definition (ISO/CIE 11664-4:2019), between s and a patch of set.
func closest(s colorimetry.RGB, set chart.Set) float64 {
	d, p := math.Inf(1), chart.Nominal(s)
	for _, patch := range set {
		q := chart.Nominal(patch.Signal)
		d = math.Min(d, math.Sqrt((p.L-q.L)*(p.L-q.L)+(p.A-q.A)*(p.A-q.A)+(p.B-q.B)*(p.B-q.B)))
	}
	return d
}

// nearestTwo returns the distance between the two nearest patches of set.
func nearestTwo(set chart.Set) float64 {
	d := math.Inf(1)
	for i, p := range set {
		d = math.Min(d, closest(p.Signal, set[:i]))
	}
	return d
}

func signals(set chart.Set) map[colorimetry.RGB]bool {
	m := make(map[colorimetry.RGB]bool)
	for _, p := range set {
		m[p.Signal] = true
	}
	return m
}

func TestNominal(t *testing.T) {
	// White and black of any display under its own white, ISO/CIE 11664-4.
	for v, want := range map[float64]float64{0: 0, 1: 100} {
		lab := chart.Nominal(colorimetry.Gray(v))
		if math.Abs(lab.L-want) > 1e-9 || math.Hypot(lab.A, lab.B) > 1e-9 {
			t.Errorf("grey %g is %v, want L* %g and no chroma", v, lab, want)
		}
	}
	// Gamma 2.2: signal 0.5 is 0.5^2.2 = 0.21764 of white, L* = 53.78 (by hand:
	// 116·0.21764^(1/3) − 16).
	if got := chart.Nominal(colorimetry.Gray(0.5)).L; math.Abs(got-53.776) > 0.005 {
		t.Errorf("L* of grey 0.5 is %.3f, want 53.776", got)
	}
}

func TestRamps(t *testing.T) {
	grey := chart.Neutral(33)
	if grey[0].Signal != colorimetry.Gray(0) || grey[32].Signal != colorimetry.Gray(1) {
		t.Fatalf("the ramp runs from %v to %v", grey[0].Signal, grey[32].Signal)
	}
	last := 0.0
	for i := 1; i < len(grey); i++ {
		s := grey[i].Signal
		if s.R != s.G || s.G != s.B {
			t.Errorf("%v is no grey", s)
		}
		step := chart.Nominal(s).L - chart.Nominal(grey[i-1].Signal).L
		if step <= last {
			t.Errorf("step %d of lightness is %.3f, not larger than %.3f: the dark is not denser", i, step, last)
		}
		last = step
	}
	if last > 5 {
		t.Errorf("the largest step is %.2f L*", last)
	}
	for n, want := range map[int]int{0: 0, 1: 4, 2: 5, 17: 65} {
		if got := len(chart.Ramps(n)); got != want {
			t.Errorf("Ramps(%d) has %d patches, want %d", n, got, want)
		}
	}
	if got := len(chart.Secondaries(9)); got != 25 {
		t.Errorf("Secondaries(9) has %d patches, want 25", got)
	}
}

func TestLattice(t *testing.T) {
	if got := len(chart.Lattice(5)); got != 125 || len(signals(chart.Lattice(5))) != 125 {
		t.Errorf("Lattice(5) has %d patches, want 125 different ones", got)
	}
	want := chart.Set{
		{Signal: colorimetry.RGB{}}, {Signal: colorimetry.RGB{B: 1}}, {Signal: colorimetry.RGB{G: 1}}, {Signal: colorimetry.RGB{G: 1, B: 1}},
		{Signal: colorimetry.RGB{R: 1}}, {Signal: colorimetry.RGB{R: 1, B: 1}}, {Signal: colorimetry.RGB{R: 1, G: 1}}, {Signal: colorimetry.Gray(1)},
	}
	if diff := cmp.Diff(want, chart.Lattice(2)); diff != "" {
		t.Error(diff)
	}
	if len(chart.Lattice(1)) != 1 || len(chart.Lattice(-3)) != 0 {
		t.Error("Lattice of 1 is white, of less nothing")
	}
}

func TestQuantise(t *testing.T) {
	set := chart.Set{{ID: "a", Signal: colorimetry.Gray(0.5)}, {ID: "b", Signal: colorimetry.Gray(0.5001)}}
	got := chart.Quantise(set, 8)
	if got[0].Signal != colorimetry.Gray(128.0/255) || got[1].Signal != got[0].Signal || got[1].ID != "b" {
		t.Errorf("got %v", got)
	}
	if len(chart.Union(got)) != 1 {
		t.Error("Union keeps patches that are equal")
	}
}

func TestDefault(t *testing.T) {
	set := chart.Default(175, chart.Options{Bits: 10})
	if len(set) != 175 || len(signals(set)) != 175 {
		t.Fatalf("%d patches, %d different, want 175", len(set), len(signals(set)))
	}
	var grey, one, two, rest int
	for _, p := range set {
		if p.Signal != p.Signal.Quantise(10) {
			t.Errorf("%v is not on a code of 10 bits", p.Signal)
		}
		s := p.Signal
		switch zeros := btoi(s.R == 0) + btoi(s.G == 0) + btoi(s.B == 0); {
		case s.R == s.G && s.G == s.B:
			grey++
		case zeros == 2:
			one++
		case s.Min() == 0 && (s.R == s.G || s.G == s.B || s.R == s.B):
			two++
		default:
			rest++
		}
	}
	t.Logf("%d greys, %d of one channel, %d of two, %d others", grey, one, two, rest)
	if grey < 33 || one < 60 || two < 24 || rest < 50 {
		t.Error("the shares are not as documented")
	}
	for s := range signals(chart.Lattice(2)) {
		if !signals(set)[s] {
			t.Errorf("corner %v is missing", s)
		}
	}
	for _, n := range []int{-1, 0, 1, 8, 23, 24, 60, 500} {
		if got := len(chart.Default(n, chart.Options{})); got != max(n, 0) {
			t.Errorf("Default(%d) has %d patches", n, got)
		}
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// TestMaximinSpreads holds the sets against plain random ones and against the
// bound of the greedy choice: every colour lies within the smallest distance
// between two patches of some patch (Gonzalez, Theor. Comput. Sci. 38 (1985)
// 293–306), which moving patches once more keeps nearly.
func TestMaximinSpreads(t *testing.T) {
	n := 150
	set := chart.Maximin(n, chart.Options{Seed: 3})
	if len(signals(set)) != n {
		t.Fatalf("%d different patches, want %d", len(signals(set)), n)
	}
	between := nearestTwo(set)
	random := nearestTwo(randomSet(n, 5))
	cover := 0.0
	for _, p := range chart.Lattice(12) {
		cover = math.Max(cover, closest(p.Signal, set))
	}
	t.Logf("nearest two %.1f apart, farthest colour %.1f from a patch; random patches %.1f", between, cover, random)
	if between < 5*random {
		t.Errorf("nearest two patches are %.1f apart, random ones %.1f", between, random)
	}
	if cover > 1.15*between {
		t.Errorf("a colour lies %.1f from the nearest patch; patches are %.1f apart", cover, between)
	}
	withRamps := chart.Maximin(300, chart.Options{Ramps: 17})
	for _, p := range chart.Ramps(17) {
		if !signals(withRamps)[p.Signal] {
			t.Errorf("ramp patch %v is missing", p.Signal)
		}
	}
}

func randomSet(n int, seed uint64) chart.Set {
	set := make(chart.Set, n)
	x := seed
	next := func() float64 { // Knuth's MMIX linear congruential generator
		x = x*6364136223846793005 + 1442695040888963407
		return float64(x>>11) / (1 << 53)
	}
	for i := range set {
		set[i].Signal = colorimetry.RGB{R: next(), G: next(), B: next()}
	}
	return set
}

func TestMaximinSmallAndShallow(t *testing.T) {
	for _, n := range []int{-2, 0, 1, 2, 7, 8, 9} {
		if got := len(chart.Maximin(n, chart.Options{})); got != max(n, 0) {
			t.Errorf("Maximin(%d) has %d patches", n, got)
		}
	}
	// A path of one bit has eight signals.
	if got := len(chart.Maximin(40, chart.Options{Bits: 1})); got != 8 {
		t.Errorf("a path of one bit gives %d patches, want 8", got)
	}
	if got := len(chart.Apart(chart.Lattice(2), 40, chart.Options{Bits: 1})); got != 0 {
		t.Errorf("a path of one bit has %d signals apart from all of its own, want 0", got)
	}
}

// TestMaximinTime is the wish of issue 6, 2,000 patches in 2 s, with room for
// a slow or busy machine.
func TestMaximinTime(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second")
	}
	start := time.Now()
	if got := len(chart.Maximin(2000, chart.Options{})); got != 2000 {
		t.Errorf("%d patches", got)
	}
	took := time.Since(start)
	t.Logf("2,000 patches took %v", took)
	if took > 20*time.Second {
		t.Errorf("2,000 patches took %v", took)
	}
}

func TestApart(t *testing.T) {
	train := chart.Default(175, chart.Options{Bits: 8})
	proof := chart.Apart(train, 120, chart.Options{Bits: 8})
	if len(proof) != 120 || len(signals(proof)) != 120 {
		t.Fatalf("%d patches, %d different, want 120", len(proof), len(signals(proof)))
	}
	grey, nearest := 0, math.Inf(1)
	var sum float64
	for i, p := range proof {
		if signals(train)[p.Signal] {
			t.Errorf("%v is in the training set", p.Signal)
		}
		if p.Signal != p.Signal.Quantise(8) {
			t.Errorf("%v is not on a code of 8 bits", p.Signal)
		}
		if s := p.Signal; s.R == s.G && s.G == s.B {
			grey++
		}
		d := math.Min(closest(p.Signal, train), closest(p.Signal, proof[:i]))
		nearest = math.Min(nearest, d)
		sum += d
	}
	t.Logf("%d greys; to the nearest patch: least %.2f, mean %.2f", grey, nearest, sum/120)
	if grey < 10 {
		t.Errorf("%d greys, want 10", grey)
	}
	// Between greys of a ramp of 33 there is room for 1.5 at most; elsewhere
	// for more.
	if nearest < 0.2 || sum/120 < 8 {
		t.Errorf("distance to the nearest patch: least %.2f, mean %.2f", nearest, sum/120)
	}
}

func TestSetsAreDeterministic(t *testing.T) {
	make := func(seed uint64) chart.Set {
		o := chart.Options{Seed: seed, Bits: 10}
		train := chart.Default(100, o)
		return chart.Order(append(train, chart.Apart(train, 50, o)...), chart.OrderOptions{Seed: seed})
	}
	if diff := cmp.Diff(make(7), make(7)); diff != "" {
		t.Errorf("equal seeds give different sets:\n%s", diff)
	}
	if cmp.Equal(make(7), make(8)) {
		t.Error("different seeds give equal sets")
	}
}
