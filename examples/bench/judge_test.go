package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

// erring is a model that is off from a display's truth by normal deviates of a
// covariance that it knows, or states stated times as large.
type erring struct {
	display *simulate.Display
	share   float64 // of the truth, the standard deviation of each component
	stated  float64
}

func (erring) Name() string                                    { return "erring" }
func (erring) Jacobian(colorimetry.RGB) (j colorimetry.Matrix) { return j }

func (m erring) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	t := m.display.Truth(s)
	r := rand.New(rand.NewPCG(math.Float64bits(s.R)^math.Float64bits(s.B)>>7, math.Float64bits(s.G)))
	return colorimetry.XYZ{X: t.X * (1 + m.share*r.NormFloat64()), Y: t.Y * (1 + m.share*r.NormFloat64()), Z: t.Z * (1 + m.share*r.NormFloat64())}
}

func (m erring) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	t := m.display.Truth(s)
	k := m.stated * m.share * m.share
	return colorimetry.Diagonal(k*t.X*t.X, k*t.Y*t.Y, k*t.Z*t.Z)
}

// ready returns a display of a kind and what is known of it.
func ready(t *testing.T, key string) (*ground, *simulate.Display) {
	t.Helper()
	kinds, err := pickDisplays(key)
	if err != nil {
		t.Fatal(err)
	}
	g, err := survey(kinds[0])
	if err != nil {
		t.Fatal(err)
	}
	d, err := g.on(1)
	if err != nil {
		t.Fatal(err)
	}
	return g, d
}

// A model that knows its errors holds 95 % of truths and of new readings within
// its limits, one that is too sure of itself far fewer truths, and one that is too
// careful all.
func TestLimits(t *testing.T) {
	g, d := ready(t, "smooth")
	fresh, err := g.fresh(t.Context(), d)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ stated, low, high float64 }{
		// Of 250 colours 95 % have a standard deviation of 1.4 %.
		{1, 0.91, 0.99}, {0.25, 0.30, 0.75}, {16, 0.9999, 1},
	} {
		f := g.judge(erring{d, 0.005, c.stated}, fresh)[all]
		t.Logf("states %g of its variance: %+v", c.stated, f)
		for _, share := range []float64{f.TruthComponents, f.TruthJointly} {
			if share < c.low || share > c.high+1e-9 {
				t.Errorf("states %g of its variance: %.3f of truths are within limits, want %g to %g", c.stated, share, c.low, c.high)
			}
		}
		if c.stated == 1 && (math.Abs(f.ReadingComponents-0.95) > 0.04 || math.Abs(f.ReadingJointly-0.95) > 0.04) {
			t.Errorf("%.3f and %.3f of new readings are within limits", f.ReadingComponents, f.ReadingJointly)
		}
	}
}

// Errors are those of each colour, worked out one by one; the truth has none.
func TestErrors(t *testing.T) {
	g, d := ready(t, "crosstalk")
	for r := range regions {
		if f := g.errors(g.predicted(d.Truth, r), r); f.Max != 0 || f.MaxAB != 0 || f.Count != len(g.colours[r]) {
			t.Errorf("%s: the truth has errors: %+v", regionNames[r], f)
		}
	}
	brighter := func(s colorimetry.RGB) colorimetry.XYZ { return d.Truth(s).Scale(1.02) }
	f := g.errors(g.predicted(brighter, neutrals), neutrals)
	var sum, most, sumAB float64
	above := 0
	for _, c := range g.colours[neutrals] {
		lab := brighter(c.signal).Lab(d.Truth(colorimetry.Gray(1)))
		e := difference.CIEDE2000(lab, c.lab)
		sum, most, sumAB = sum+e, math.Max(most, e), sumAB+difference.AB(lab, c.lab)
		if e > f.P95 {
			above++
		}
	}
	n := float64(f.Count)
	if math.Abs(f.Mean-sum/n) > 1e-12 || f.Max != most || math.Abs(f.MeanAB-sumAB/n) > 1e-12 || math.Abs(float64(above)-0.05*n) > 1 {
		t.Errorf("%+v, want mean %g and %g, max %g; %d of %g above 95 %%", f, sum/n, sumAB/n, most, above, n)
	}
}

// Regions are what they are called, as large as they are said to be, and no colour
// of theirs but a corner of the cube is in a set of 1000 patches, unless by chance.
func TestRegions(t *testing.T) {
	keys := []string{"office", "old-crt", "crosstalk"}
	if testing.Short() {
		keys = keys[:1]
	}
	for _, key := range keys {
		g, _ := ready(t, key)
		for r, list := range g.colours {
			want := [regions]int{manyAll, manyNeutrals, manyDark, manySurface}[r]
			if key == "office" && r == neutrals {
				want = 64 // its path has no more greys
			}
			if len(list) != want {
				t.Errorf("%s, %s: %d colours, want %d", key, regionNames[r], len(list), want)
			}
			seen := map[colorimetry.RGB]bool{}
			for _, c := range list {
				s := c.signal
				ok := r == all || r == neutrals && s.R == s.G && s.G == s.B || r == dark && c.lab.L < 20 ||
					r == surface && (s.Min() == 0 || s.Max() == 1)
				if !ok || s != s.Quantise(g.bits) || seen[s] {
					t.Errorf("%s, %s: %v with %v", key, regionNames[r], s, c.lab)
				}
				seen[s] = true
			}
			if key == "office" {
				continue
			}
			shared := 0
			spend := spender{design: designs[0], averages: 1}
			for _, p := range spend.set(wish{1000, g.bits, 1}) {
				if corner := p.Signal.Quantise(1) == p.Signal; seen[p.Signal] && !corner {
					shared++
				}
			}
			// The set has some 190 greys, so that of 300 others on a path of 65,536
			// levels about one is the same.
			if shared > 2 || shared > 0 && r != neutrals {
				t.Errorf("%s, %s: %d colours are in the set too", key, regionNames[r], shared)
			}
		}
	}
}

// However readings are spent, there are as many as asked for, and equal ones for
// equal seeds.
func TestSpend(t *testing.T) {
	_, d := ready(t, "office")
	counts := []int{8, 49, 64, 300}
	if testing.Short() {
		counts = counts[:2]
	}
	for _, by := range designs {
		for _, averages := range []int{1, 3} {
			for _, n := range counts {
				var lists [2][]colorimetry.XYZ
				for k := range lists {
					spend := spender{design: by, averages: averages}
					readings, err := spend.read(t.Context(), d, wish{n, 6, 5})
					if err != nil {
						t.Fatal(err)
					}
					var set chart.Set
					for _, r := range readings {
						set = append(set, r.Patch)
						lists[k] = append(lists[k], r.Repeats...)
						if len(r.Repeats) < averages || r.Covariance != noise.Covariance(r.XYZ, len(r.Repeats)) {
							t.Errorf("%s: %d integrations, covariance %v", by.name, len(r.Repeats), r.Covariance)
						}
					}
					if len(lists[k]) != n || len(chart.Union(set)) != len(set) || len(set) > n/averages {
						t.Errorf("%s: %d integrations of %d patches, %d different; asked for %d with %d averages",
							by.name, len(lists[k]), len(set), len(chart.Union(set)), n, averages)
					}
				}
				for i := range lists[0] {
					if lists[0][i] != lists[1][i] {
						t.Fatalf("%s: integration %d is %v, then %v", by.name, i, lists[0][i], lists[1][i])
					}
				}
			}
		}
	}
}
