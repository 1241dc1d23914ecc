package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/stat"
)

// The covariance is held against draws of exactly the noise that the issue
// states: in x, in y, as a share of Y, and a floor in each component.
func TestCovarianceMonteCarlo(t *testing.T) {
	const draws = 200_000
	for _, c := range []struct {
		name string
		xyz  colorimetry.XYZ
		n    int
	}{
		{"white", colorimetry.D65().Scale(100), 1},
		{"red", colorimetry.XYZ{X: 41, Y: 21, Z: 1.5}, 1},
		{"blue", colorimetry.XYZ{X: 18, Y: 7, Z: 95}, 4},
		{"dark grey", colorimetry.D65().Scale(0.2), 1},
	} {
		rng := rand.New(rand.NewPCG(11, 12))
		var v [3][]float64
		for range draws {
			var m colorimetry.XYZ
			for range c.n {
				m = m.Add(noisy(rng, c.xyz, usualNoise))
			}
			m = m.Scale(1 / float64(c.n))
			v[0], v[1], v[2] = append(v[0], m.X), append(v[1], m.Y), append(v[2], m.Z)
		}
		got := usualNoise.Covariance(c.xyz, c.n)
		for i := range 3 {
			for j := range 3 {
				seen := stat.Covariance(v[i], v[j], nil)
				// 200,000 draws know a variance to 0.3 %, and a covariance to
				// as much of the two deviations; 1.5 % leaves room for what the
				// Jacobian, a first-order rule, neglects.
				if d := math.Abs(got[i][j]-seen) / math.Sqrt(got[i][i]*got[j][j]); !(d < 0.015) {
					t.Errorf("%s: covariance %d,%d is %.6g, drawn %.6g", c.name, i, j, got[i][j], seen)
				}
			}
		}
	}
}

func TestCovarianceInTheDark(t *testing.T) {
	floor := usualNoise.FloorCdM2 * usualNoise.FloorCdM2
	for _, c := range []colorimetry.XYZ{{}, {X: -0.004, Y: -0.002, Z: 0.001}, {X: 0.006, Y: 1e-7, Z: 0.004}, {X: 0.003, Y: 0.002, Z: -0.008}} {
		m := usualNoise.Covariance(c, 1)
		if _, err := m.Inverse(); err != nil {
			t.Errorf("%v: %v", c, err)
		}
		for i := range 3 {
			if !(m[i][i] >= floor && m[i][i] < 1.2*floor) {
				t.Errorf("%v: variance %g, the floor alone is %g", c, m[i][i], floor)
			}
		}
	}
	if (Noise{}).Assumed() != usualNoise || (Noise{Luminance: 0.1}).Assumed() != (Noise{Luminance: 0.1}) {
		t.Error("an instrument that states no noise has the assumed one, others their own")
	}
}

// Repeats that scatter as stated leave the covariance as stated; those of an
// instrument that is three times as noisy as it says make it nine times as
// large; a single wild reading stands for itself.
func TestPooledScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	run := func(times float64, n int) (last float64, p *scatter, unusual int) {
		p = &scatter{}
		light := colorimetry.D65().Scale(100)
		for range n {
			var repeats []colorimetry.XYZ
			for range 4 {
				d := noisy(rng, light, usualNoise).Sub(light)
				repeats = append(repeats, light.Add(d.Scale(times)))
			}
			m := mean(repeats)
			f, odd := p.add(repeats, m, usualNoise.Covariance(m, 1))
			if odd {
				unusual++
			} else {
				last = f
			}
		}
		return last, p, unusual
	}
	if f, _, odd := run(1, 200); f > 1.15 || odd > 1 {
		t.Errorf("as stated: factor %g, %d unusual", f, odd)
	}
	f, p, _ := run(3, 400)
	if f < 7 || f > 9.5 {
		t.Errorf("three times the noise: factor %g, want about 9 less the prior's pull", f)
	}
	before := *p
	light := colorimetry.D65().Scale(100)
	if f, odd := p.add([]colorimetry.XYZ{light.Scale(0.8), light.Scale(1.2)}, light, usualNoise.Covariance(light, 1)); !odd || f < 100 || *p != before {
		t.Errorf("a wild reading: factor %g, unusual %v", f, odd)
	}
	if f, odd := (&scatter{}).add([]colorimetry.XYZ{light}, light, usualNoise.Covariance(light, 1)); f != 1 || odd {
		t.Errorf("a single integration: factor %g, %v", f, odd)
	}
}
