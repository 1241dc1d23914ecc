package fit_test

import (
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/fit"
)

// planned are the displays of the figures below.
func planned(t testing.TB) (names []string, shows []truth) {
	t.Helper()
	add := func(name string, d *simulate.Display) { names, shows = append(names, name), append(shows, d.Truth) }
	for _, e := range []simulate.Example{simulate.CoupledLCD, simulate.SaggingPanel, simulate.FourSubpixels} {
		add(e.String(), simulate.Invented(e, simulate.Options{}))
	}
	add("measured wide-gamut LCD", simulate.Measured(simulate.WideGamutLCD, simulate.Options{}))
	add("measured OLED", simulate.Measured(simulate.ReferenceOLED, simulate.Options{}))
	spec, err := simulate.Typical("self-luminous-rgb")
	if err != nil {
		t.Fatal(err)
	}
	d, err := simulate.New(spec, simulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	add("typical self-luminous", d)
	return names, shows
}

// apart are 1,000 colours to judge by that no plan heeds: 700 spread as the
// display's own are, 300 random signals.
func apart() []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(77, 5))
	var out []colorimetry.RGB
	for _, p := range chart.Sobol(700, chart.Options{Bits: 10, Space: chart.CAM16UCS, Seed: 4711}) {
		out = append(out, p.Signal)
	}
	for range 300 {
		out = append(out, colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}.Quantise(10))
	}
	return out
}

// gapTo returns the mean CIEDE2000 between two displays, or models.
func gapTo(a, b truth, white colorimetry.XYZ) (mean float64) {
	set := apart()
	for _, s := range set {
		mean += difference.CIEDE2000(a(s).Lab(white), b(s).Lab(white)) / float64(len(set))
	}
	return mean
}

// fixedSets are the sets that a plan is held against.
var fixedSets = []struct {
	name string
	set  func(n int, seed uint64) chart.Set
}{
	{"farthest", func(n int, seed uint64) chart.Set { return chart.Farthest(n, chart.Options{Bits: 10, Seed: seed}) }},
	{"default", func(n int, seed uint64) chart.Set { return chart.Default(n, chart.Options{Bits: 10, Seed: seed}) }},
}

// medians returns the median error of each number of readings over seeds.
func medians(numbers []int, seeds int, errors func(seed uint64, n int) float64) []float64 {
	out := make([]float64, len(numbers))
	for i, n := range numbers {
		var all []float64
		for seed := range uint64(seeds) {
			all = append(all, errors(seed+1, n))
		}
		slices.Sort(all)
		out[i] = (all[len(all)/2] + all[(len(all)-1)/2]) / 2
	}
	return out
}

// What a planned run reaches against fixed sets of as many readings, by the true
// mean CIEDE2000 of fit.Residual on 1,000 colours. FIGURES names the number of
// seeds of the whole table, which takes minutes, DISPLAYS the places of those to
// take; without them it is two seeds of a display that the model follows well and
// of one whose uneven tones more readings alone do not make even.
func TestPlannedAgainstFixed(t *testing.T) {
	t.Parallel()
	names, shows := planned(t)
	numbers, seeds, which := []int{150}, 2, "04"
	if testing.Short() {
		t.Skip("one seed says little, and TestPlanStaysOnThePath plans and fits, too")
	}
	if n, err := strconv.Atoi(os.Getenv("FIGURES")); err == nil && n > 0 {
		numbers, seeds, which = []int{100, 150, 300}, n, "012345"
	}
	if only := os.Getenv("DISPLAYS"); only != "" {
		which = only
	}
	for i, show := range shows {
		if !strings.Contains(which, strconv.Itoa(i)) {
			continue
		}
		most := numbers[len(numbers)-1]
		runs := map[uint64]map[int]float64{}
		plan := medians(numbers, seeds, func(seed uint64, n int) float64 {
			if runs[seed] == nil {
				a := fit.Adaptive{Chart: chart.Options{Bits: 10, Seed: seed}, Most: most, LeastGain: -1}
				r, _ := show.follow(t, a, seed, most)
				runs[seed] = map[int]float64{}
				for _, n := range numbers {
					runs[seed][n] = gapTo(residual(t, r[:n]).XYZ, show, show(colorimetry.Gray(1)))
				}
			}
			return runs[seed][n]
		})
		for _, f := range fixedSets {
			fixed := medians(numbers, seeds, func(seed uint64, n int) float64 {
				return gapTo(residual(t, show.readings(f.set(n, seed), 4, seed)).XYZ, show, show(colorimetry.Gray(1)))
			})
			for k, n := range numbers {
				t.Logf("%s, %d readings: planned %.4f, %s %.4f, ratio %.2f", names[i], n, plan[k], f.name, fixed[k], plan[k]/fixed[k])
				// The median of few seeds scatters by a tenth of itself.
				if plan[k] > 1.25*fixed[k] {
					t.Errorf("%s, %d readings: planned %.4f ΔE00, %s %.4f", names[i], n, plan[k], f.name, fixed[k])
				}
			}
			if names[i] == "measured OLED" {
				whole := medians([]int{300}, seeds, func(seed uint64, n int) float64 {
					return gapTo(residual(t, show.readings(f.set(n, seed), 4, seed)).XYZ, show, show(colorimetry.Gray(1)))
				})
				got := plan[slices.Index(numbers, 150)]
				t.Logf("%s: 150 planned readings reach %.4f ΔE00, the %s set of 300 %.4f", names[i], got, f.name, whole[0])
				if got > 1.15*whole[0] {
					t.Errorf("%s: 150 planned readings reach %.4f ΔE00, the %s set of 300 %.4f", names[i], got, f.name, whole[0])
				}
			}
			if len(numbers) == 1 {
				continue
			}
			noise := medians(numbers[len(numbers)-1:], seeds, func(seed uint64, n int) float64 {
				noisy, clean := show.readings(f.set(n, seed), 4, seed), show.readings(f.set(n, seed), 0, seed)
				for k := range clean {
					clean[k].Covariance = noisy[k].Covariance
				}
				return gapTo(residual(t, noisy).XYZ, residual(t, clean).XYZ, show(colorimetry.Gray(1)))
			})
			t.Logf("%s, %s: noise alone %.4f, ratio %.2f", names[i], f.name, noise[0], fixed[len(fixed)-1]/noise[0])
		}
	}
}
