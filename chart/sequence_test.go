package chart_test

import (
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/rgb"
)

type generator struct {
	name string
	make func(int, chart.Options) chart.Set
}

func generators() []generator {
	return []generator{{"Halton", chart.Halton}, {"Sobol", chart.Sobol}, {"Maximin", chart.Maximin}, {"Surface", chart.Surface}}
}

// TestGeneratorsKeepTheirPromises: exact count, no repeats, inside the cube, on
// the path's codes, equal for equal seeds and different for others.
func TestGeneratorsKeepTheirPromises(t *testing.T) {
	t.Parallel()
	for _, g := range generators() {
		for _, o := range []chart.Options{{}, {Bits: 8, Seed: 1}, {Space: chart.CAM16UCS, Bits: 10, Narrow: true, Seed: 2}} {
			for _, n := range []int{-1, 0, 1, 7, 8, 9, 150} {
				set := g.make(n, o)
				if len(set) != max(n, 0) || len(signals(set)) != max(n, 0) {
					t.Errorf("%s(%d, %+v): %d patches, %d different", g.name, n, o, len(set), len(signals(set)))
				}
				checkOnPath(t, g.name, set, o)
			}
			other, first := o, g.make(60, o)
			other.Seed += 7
			if !cmp.Equal(first, g.make(60, o)) || cmp.Equal(first, g.make(60, other)) {
				t.Errorf("%s, %+v: sets are equal if and only if seeds are: not so", g.name, o)
			}
		}
	}
}

// checkOnPath wants every signal in the cube and on the path's codes, reckoned
// here by the standard's formula.
func checkOnPath(t *testing.T, name string, set chart.Set, o chart.Options) {
	t.Helper()
	levels := math.Pow(2, float64(o.Bits)) - 1
	if o.Narrow {
		levels = 219 * math.Pow(2, float64(o.Bits-8))
	}
	for _, p := range set {
		if p.Signal != p.Signal.Clamp() {
			t.Errorf("%s: %v is outside the cube", name, p.Signal)
		}
		for _, v := range []float64{p.Signal.R, p.Signal.G, p.Signal.B} {
			if o.Bits != 0 && math.Abs(v*levels-math.Round(v*levels)) > 1e-9 {
				t.Errorf("%s: %g is on no code of %+v", name, v, o)
			}
		}
	}
}

// TestSequencesExhaustAPath: a path of one bit has eight signals, one of two
// bits 64, of which 56 are on the surface.
func TestSequencesExhaustAPath(t *testing.T) {
	for _, g := range generators() {
		if got := len(g.make(40, chart.Options{Bits: 1})); got != 8 {
			t.Errorf("%s finds %d signals of a path of one bit, want 8", g.name, got)
		}
		want := 64
		if g.name == "Surface" {
			want = 56
		}
		if got := len(g.make(100, chart.Options{Bits: 2})); got != want {
			t.Errorf("%s finds %d signals of a path of two bits, want %d", g.name, got, want)
		}
	}
}

func TestSequencesBeginWithShorterOnes(t *testing.T) {
	for _, g := range generators()[:2] {
		for _, seed := range []uint64{0, 4} {
			o := chart.Options{Seed: seed, Bits: 8}
			if diff := cmp.Diff(g.make(50, o), g.make(300, o)[:50]); diff != "" {
				t.Errorf("%s, seed %d:\n%s", g.name, seed, diff)
			}
		}
		if first := g.make(1, chart.Options{})[0].Signal; first != (colorimetry.RGB{}) {
			t.Errorf("%s begins with %v, want black", g.name, first)
		}
	}
}

// nominalGamut returns the place of a signal in a space, from the definitions
// outside package chart, and whether a place is inside the nominal display's
// gamut, by going back from it to the signal.
func nominalGamut(t *testing.T, in chart.Space) (at func(colorimetry.RGB) [3]float64, inside func([3]float64) bool) {
	t.Helper()
	m, err := rgb.DisplayP3().Matrix()
	if err != nil {
		t.Fatal(err)
	}
	back, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	model, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		t.Fatal(err)
	}
	xyz := func(s colorimetry.RGB) colorimetry.XYZ {
		return m.FromLinear(colorimetry.RGB{R: math.Pow(s.R, 2.2), G: math.Pow(s.G, 2.2), B: math.Pow(s.B, 2.2)})
	}
	isLight := func(c colorimetry.XYZ) bool {
		l := back.Apply(c)
		return min(l.X, l.Y, l.Z) >= 0 && max(l.X, l.Y, l.Z) <= 1
	}
	if in == chart.CIELAB {
		return func(s colorimetry.RGB) [3]float64 {
				c := xyz(s).Lab(colorimetry.D65())
				return [3]float64{c.L, c.A, c.B}
			}, func(p [3]float64) bool {
				return isLight(colorimetry.Lab{L: p[0], A: p[1], B: p[2]}.XYZ(colorimetry.D65()))
			}
	}
	return func(s colorimetry.RGB) [3]float64 {
			c, _ := model.Jab(xyz(s), appearance.UCS())
			return [3]float64{c.J, c.A, c.B}
		}, func(p [3]float64) bool {
			c, ok := model.FromJab(appearance.Jab{J: p[0], A: p[1], B: p[2]}, appearance.UCS())
			return ok && isLight(c)
		}
}

// TestSequencesAreEvenInVolume holds the share of patches in 16 parts of the
// gamut, four slabs of lightness by four quarters of hue, against their share of
// its volume, found by throwing points into a box around it and asking the way
// back from the space which of them are colours of the display.
func TestSequencesAreEvenInVolume(t *testing.T) {
	part := func(p [3]float64) int {
		quarter := btoi(p[1] > 0) + 2*btoi(p[2] > 0)
		return quarter + 4*min(int(p[0]/25), 3)
	}
	next := lottery(11)
	for _, in := range []chart.Space{chart.CIELAB, chart.CAM16UCS} {
		at, inside := nominalGamut(t, in)
		reach := 140.0 // of a and b
		if in == chart.CAM16UCS {
			reach = 60
		}
		for _, p := range chart.Lattice(12) {
			if q := at(p.Signal); max(math.Abs(q[1]), math.Abs(q[2])) > reach {
				t.Fatalf("%v is outside the box in %v", p.Signal, in)
			}
		}
		var volume [16]float64
		total := 0.0
		for range 300000 {
			p := [3]float64{100 * next(), reach * (2*next() - 1), reach * (2*next() - 1)}
			if inside(p) {
				volume[part(p)]++
				total++
			}
		}
		for _, g := range generators()[:2] {
			const n = 4096
			var count [16]float64
			for _, p := range g.make(n, chart.Options{Space: in}) {
				count[part(at(p.Signal))]++
			}
			worst := 0.0
			for i := range count {
				worst = math.Max(worst, math.Abs(count[i]/n-volume[i]/total))
			}
			t.Logf("%s in %v: worst share off by %.4f of %.0f points", g.name, in, worst, total)
			// Three standard errors of the throws for the largest share, about 0.15 of
			// 45,000 or more, are 0.005; patches have an error of their own.
			if worst > 0.006 {
				t.Errorf("%s is uneven in %v: shares %.3v of patches, %.3v of points in %.0f", g.name, in, count, volume, total)
			}
		}
	}
}

// lottery is Knuth's MMIX linear congruential generator.
func lottery(seed uint64) func() float64 {
	x := seed
	return func() float64 {
		x = x*6364136223846793005 + 1442695040888963407
		return float64(x>>11) / (1 << 53)
	}
}

func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}

// coverage returns the 95th percentile of the distances in a space from the
// colours of a lattice to the nearest patch, and the distance of the two patches
// that are nearest to each other.
func coverage(at func(colorimetry.RGB) [3]float64, set chart.Set) (radius, between float64) {
	var places [][3]float64
	between = math.Inf(1)
	near := func(p [3]float64) float64 {
		d := math.Inf(1)
		for _, q := range places {
			d = math.Min(d, math.Sqrt((p[0]-q[0])*(p[0]-q[0])+(p[1]-q[1])*(p[1]-q[1])+(p[2]-q[2])*(p[2]-q[2])))
		}
		return d
	}
	for _, p := range set {
		between = math.Min(between, near(at(p.Signal)))
		places = append(places, at(p.Signal))
	}
	var all []float64
	for _, p := range chart.Lattice(12) {
		all = append(all, near(at(p.Signal)))
	}
	slices.Sort(all)
	return all[len(all)*95/100], between
}

// TestSpaceFillingBeatsChance compares sets of 200, medians of 20 seeds: how far
// colours are from the nearest patch and how near two patches come.
func TestSpaceFillingBeatsChance(t *testing.T) {
	t.Parallel()
	seeds := uint64(20)
	if testing.Short() {
		seeds = 7
	}
	for _, in := range []chart.Space{chart.CIELAB, chart.CAM16UCS} {
		at, _ := nominalGamut(t, in)
		measure := func(f func(seed uint64) chart.Set) (radius, between float64) {
			var radii, gaps []float64
			for seed := range seeds {
				r, b := coverage(at, f(seed+1))
				radii, gaps = append(radii, r), append(gaps, b)
			}
			return median(radii), median(gaps)
		}
		const n = 200
		lotRadius, lotBetween := measure(func(s uint64) chart.Set { return randomSet(n, s) })
		t.Logf("%v, by lot: radius %.2f, nearest two %.2f", in, lotRadius, lotBetween)
		for i, g := range generators()[:3] {
			radius, between := measure(func(s uint64) chart.Set { return g.make(n, chart.Options{Seed: s, Space: in}) })
			t.Logf("%v, %s: radius %.2f, nearest two %.2f", in, g.name, radius, between)
			// A sequence is even but does not seek distance: nearly any gain counts.
			// Maximin seeks it.
			if radius > lotRadius || between < 1.5*lotBetween || i == 2 && (radius > 0.8*lotRadius || between < 5*lotBetween) {
				t.Errorf("%s in %v: radius %.2f (by lot %.2f), nearest two %.2f (by lot %.2f)", g.name, in, radius, lotRadius, between, lotBetween)
			}
		}
	}
}

// TestMaximinInCAM16UCS: a set made for a space keeps its distance better in it
// than one made for the other.
func TestMaximinInCAM16UCS(t *testing.T) {
	at, _ := nominalGamut(t, chart.CAM16UCS)
	_, own := coverage(at, chart.Maximin(200, chart.Options{Space: chart.CAM16UCS}))
	_, other := coverage(at, chart.Maximin(200, chart.Options{}))
	t.Logf("nearest two in CAM16-UCS: %.2f, made for CIELAB %.2f", own, other)
	if own < 1.2*other {
		t.Errorf("nearest two are %.2f apart, those of the set for CIELAB %.2f", own, other)
	}
}

func BenchmarkSpaceFilling2000(b *testing.B) {
	for _, in := range []chart.Space{chart.CIELAB, chart.CAM16UCS} {
		for _, g := range generators() {
			b.Run(g.name+"/"+in.String(), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if got := len(g.make(2000, chart.Options{Bits: 10, Space: in})); got != 2000 {
						b.Fatalf("%d patches", got)
					}
				}
			})
		}
	}
}
