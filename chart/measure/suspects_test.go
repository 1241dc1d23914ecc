package measure

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// knotty is a panel with steps in its tone and a white that is brighter than its
// channels: unkind to every smooth prediction.
func knotty(s colorimetry.RGB) colorimetry.XYZ {
	p := func(v float64) float64 {
		if v < 0.3 {
			return 0.002 + v*0.15
		}
		return 0.047 + 0.953*math.Pow((v-0.3)/0.7, 1.7)
	}
	w := 0.5 * math.Min(p(s.R), math.Min(p(s.G), p(s.B)))
	return panelLights.FromLinear(colorimetry.RGB{R: p(s.R) + w, G: p(s.G) + w, B: p(s.B) + w})
}

// The rates of false alarm that the documentation states, and what is found of
// readings that are 5 % off.
func TestSuspects(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		colour func(colorimetry.RGB) colorimetry.XYZ
		set    func(seed uint64) []chart.Patch
		alarms float64 // most, as a share of good readings
		founds float64 // fewest, as a share of bad ones
		seeds  int
	}{
		{"additive, 600 scattered", additive, func(s uint64) []chart.Patch { return anchored(600, s) }, 0.001, 0.8, 4},
		{"interacting, 600 scattered", interacting, func(s uint64) []chart.Patch { return anchored(600, s) }, 0.001, 0.8, 4},
		{"knotty, 600 scattered", knotty, func(s uint64) []chart.Patch { return anchored(600, s) }, 0.001, 0.25, 3},
		{"interacting, 175 and ramps", interacting, func(s uint64) []chart.Patch {
			return chart.Order(chart.Default(175, chart.Options{Seed: s}), chart.OrderOptions{Seed: s})
		}, 0.001, 0.05, 5},
		{"additive, 9³ lattice", additive, func(uint64) []chart.Patch { return chart.Lattice(9) }, 0.001, 0.8, 2},
	} {
		good, alarms, bad, found := 0, 0, 0, 0
		for seed := range seeds(c.seeds) {
			readings, _ := panel{c.colour, still}.run(c.set(seed), seed)
			rng := rand.New(rand.NewPCG(seed, 3))
			var spoiled []int
			for i := range readings {
				if readings[i].XYZ.Y > 1 && rng.Float64() < 0.02 {
					k := 1.05
					if rng.IntN(2) == 0 {
						k = 0.95
					}
					readings[i].XYZ = readings[i].XYZ.Scale(k)
					spoiled = append(spoiled, i)
				}
			}
			good, bad = good+len(readings)-len(spoiled), bad+len(spoiled)
			for _, s := range Suspects(readings) {
				if slices.Contains(spoiled, s.At) {
					found++
				} else {
					alarms++
				}
			}
		}
		t.Logf("%-28s %d false alarms of %d (%.2f in 1,000), %d of %d found", c.name, alarms, good, 1000*float64(alarms)/float64(good), found, bad)
		if float64(alarms) > c.alarms*float64(good) || float64(found) < c.founds*float64(bad) {
			t.Errorf("%s: %d false alarms of %d, %d of %d found", c.name, alarms, good, found, bad)
		}
	}
}

func BenchmarkSuspects(b *testing.B) {
	readings, _ := panel{interacting, still}.run(anchored(1000, 1), 1)
	for b.Loop() {
		Suspects(readings)
	}
}
