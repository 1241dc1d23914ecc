package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// Six batches of five samples: mean squares 11,271.5 and 2,451.25, components of
// variance 1,764.05 and 2,451.25. Source: O. L. Davies (ed.), Statistical Methods
// in Research and Production, the yields of dyestuff; numbers from memory.
func TestAnalysisOfVariance(t *testing.T) {
	batches := [][]float64{
		{1545, 1440, 1440, 1520, 1580}, {1540, 1555, 1490, 1560, 1495}, {1595, 1550, 1605, 1510, 1560},
		{1445, 1440, 1595, 1465, 1545}, {1595, 1630, 1515, 1635, 1625}, {1520, 1455, 1450, 1480, 1445},
	}
	var readings []measure.Reading
	for _, b := range batches {
		r := measure.Reading{Patch: chart.Patch{Signal: colorimetry.Gray(1)}}
		for i, y := range b {
			// X and Z differ from Y so that no noise is singular.
			r.Repeats = append(r.Repeats, colorimetry.XYZ{X: y * (0.95 + 0.001*float64(i%3)), Y: y, Z: y * (1.09 - 0.001*float64(i%2))})
		}
		readings = append(readings, r)
	}
	s, err := measure.Repeatability(readings)
	if err != nil {
		t.Fatal(err)
	}
	l := s.Levels[0]
	if l.Readings != 6 || l.Integrations != 30 || math.Abs(l.Mean.Y-1527.5) > 1e-9 {
		t.Errorf("%d readings, %d integrations, mean %g", l.Readings, l.Integrations, l.Mean.Y)
	}
	if got := l.Repeat.Y * l.Repeat.Y; math.Abs(got-2451.25) > 1e-6 {
		t.Errorf("variance of repeats %g, want 2451.25", got)
	}
	if got := l.Reproduce.Y * l.Reproduce.Y; math.Abs(got-(1764.05+2451.25)) > 1e-6 {
		t.Errorf("variance over batches %g, want %g", got, 1764.05+2451.25)
	}
}

// noisy returns readings of greys by an instrument of known noise: so many
// readings a level, each of so many integrations, and a share by which the light
// itself differs from reading to reading.
func noisy(n measure.Noise, levels []float64, readings, integrations int, drift float64, seed uint64) []measure.Reading {
	r := rand.New(rand.NewPCG(seed, 77))
	var out []measure.Reading
	for range readings {
		for _, y := range levels {
			here := colorimetry.D65().Scale(y * (1 + drift*r.NormFloat64()))
			reading := measure.Reading{Patch: chart.Patch{ID: fmt.Sprintf("g%g", y), Signal: colorimetry.Gray(math.Pow(y/100, 1/2.2))}}
			for range integrations {
				c := n.Covariance(here, 1)
				l := root(c)
				z := [3]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
				reading.Repeats = append(reading.Repeats, colorimetry.XYZ{
					X: here.X + l[0][0]*z[0],
					Y: here.Y + l[1][0]*z[0] + l[1][1]*z[1],
					Z: here.Z + l[2][0]*z[0] + l[2][1]*z[1] + l[2][2]*z[2],
				})
			}
			out = append(out, reading)
		}
	}
	return out
}

// root returns the Cholesky factor of a covariance.
func root(c colorimetry.Matrix) (l colorimetry.Matrix) {
	for i := range 3 {
		for j := range i + 1 {
			sum := c[i][j]
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(math.Max(sum, 0))
			} else if l[j][j] > 0 {
				l[i][j] = sum / l[j][j]
			}
		}
	}
	return l
}

// The noise that readings were made with comes back, within what the study says
// of its own uncertainty: over 40 seeds the deviations in units of it have a mean
// square near 1, and the light's drift between readings does not enter.
func TestNoiseComesBack(t *testing.T) {
	truth := measure.Noise{Chromaticity: 0.0012, Luminance: 0.004, FloorCdM2: 0.006}
	levels := []float64{100, 60, 30, 12, 5, 2, 0.8, 0.3, 0.1, 0.02}
	const seeds = 40
	var square [3]float64
	for seed := range uint64(seeds) {
		s, err := measure.Repeatability(noisy(truth, levels, 4, 6, 0.01, seed))
		if err != nil {
			t.Fatal(err)
		}
		for i, d := range []float64{
			(s.Noise.Chromaticity - truth.Chromaticity) / s.Uncertainty.Chromaticity,
			(s.Noise.Luminance - truth.Luminance) / s.Uncertainty.Luminance,
			(s.Noise.FloorCdM2 - truth.FloorCdM2) / s.Uncertainty.FloorCdM2,
		} {
			square[i] += d * d / seeds
			if math.Abs(d) > 4.5 {
				t.Errorf("seed %d: figure %d is %.1f deviations off", seed, i, d)
			}
		}
		if u := s.Uncertainty; u.Chromaticity > 0.15*truth.Chromaticity || u.Luminance > 0.15*truth.Luminance || u.FloorCdM2 > 0.15*truth.FloorCdM2 {
			t.Errorf("seed %d: uncertainties %+v", seed, u)
		}
	}
	t.Logf("mean squares of deviations %.2f", square)
	for i, v := range square {
		if v < 0.5 || v > 1.8 {
			t.Errorf("figure %d: mean square of deviations %.2f", i, v)
		}
	}
}

// Drift between readings shows in what is reproduced and not in what is
// repeated.
func TestReproducibility(t *testing.T) {
	s, err := measure.Repeatability(noisy(measure.Noise{Chromaticity: 0.0005, Luminance: 0.002, FloorCdM2: 0.003}, []float64{100, 20, 1}, 40, 8, 0.01, 3))
	if err != nil {
		t.Fatal(err)
	}
	white := s.Levels[0]
	if got := white.Repeat.Y / white.Mean.Y; math.Abs(got-0.002) > 0.0002 {
		t.Errorf("repeats differ by %g of the white", got)
	}
	if got := white.Reproduce.Y / white.Mean.Y; math.Abs(got-math.Hypot(0.01, 0.002)) > 0.0025 {
		t.Errorf("readings differ by %g of the white", got)
	}
	// 1 % of the white's luminance is 116/3 % of L* (CIE 15), 0.31 on average of
	// a normal spread, which CIEDE2000 divides by 1.75 there; the chromaticity of
	// means of eight adds about as much.
	if !(white.RepeatDE > 0) || white.ReproduceDE < 0.18 || white.ReproduceDE > 0.4 || s.Levels[2].Mean.Y > s.Levels[1].Mean.Y {
		t.Errorf("ΔE00 of repeats %g, of readings %g", white.RepeatDE, white.ReproduceDE)
	}
}

func TestStudyRefuses(t *testing.T) {
	copies := noisy(measure.Noise{}, []float64{100, 1}, 3, 6, 0, 1)
	single := noisy(measure.Noise{Luminance: 0.01, FloorCdM2: 0.01}, []float64{100, 1}, 30, 1, 0, 1)
	for name, c := range map[string]struct {
		readings []measure.Reading
		says     string
	}{
		"nothing": {nil, "integrate more often"},
		"single":  {single, "integrate more often"},
		"copies":  {copies, "no repeat differs"},
	} {
		if _, err := measure.Repeatability(c.readings); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	// Without dark patches the floor is unknown, and says so.
	s, err := measure.Repeatability(noisy(measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}, []float64{100, 90, 80}, 5, 8, 0, 2))
	if err != nil || !(s.Uncertainty.FloorCdM2 > 0.5*s.Noise.FloorCdM2) {
		t.Errorf("floor %g ± %g, %v", s.Noise.FloorCdM2, s.Uncertainty.FloorCdM2, err)
	}
}

// What a colorimeter's repeats say of it, by greys of an invented display.
func ExampleRepeatability() {
	made := measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.004}
	s, err := measure.Repeatability(noisy(made, []float64{100, 40, 15, 5, 1, 0.2, 0.01}, 5, 10, 0.002, 1))
	if err != nil {
		fmt.Println(err)
		return
	}
	white := s.Levels[0]
	fmt.Printf("white: repeats within %.2f %%, ΔE00 %.2f; readings within %.2f %%\n", 100*white.Repeat.Y/white.Mean.Y, white.RepeatDE, 100*white.Reproduce.Y/white.Mean.Y)
	fmt.Printf("chromaticity %.5f ± %.5f, luminance %.2f ± %.2f %%, floor %.4f ± %.4f cd/m²\n",
		s.Noise.Chromaticity, s.Uncertainty.Chromaticity, 100*s.Noise.Luminance, 100*s.Uncertainty.Luminance, s.Noise.FloorCdM2, s.Uncertainty.FloorCdM2)
	// Output:
	// white: repeats within 0.45 %, ΔE00 1.04; readings within 0.49 %
	// chromaticity 0.00098 ± 0.00004, luminance 0.52 ± 0.03 %, floor 0.0040 ± 0.0002 cd/m²
}
