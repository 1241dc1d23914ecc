package fit_test

import (
	"math"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// joints returns one model of each kind, of the same readings.
func joints(t testing.TB) []fit.Joint {
	t.Helper()
	r := truth(starved).readings(chart.Default(64, chart.Options{Bits: 10}), 4, 1)
	p, err := fit.GainOffsetGamma(r, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return []fit.Joint{p, additive(t, r), residual(t, r)}
}

// At one signal Between is the model's covariance but for what its kind cannot
// follow: a share of the light; with a function of all three channels it lacks what
// that makes good and what no smooth function explains, which both are covariances
// themselves.
func TestBetweenAtOneSignal(t *testing.T) {
	t.Parallel()
	for _, m := range joints(t) {
		for _, s := range unseen()[:60] {
			own, all := m.Between(s, s), m.Covariance(s)
			size := all[0][0] + all[1][1] + all[2][2]
			rest := all.Add(own.Scale(-1))
			v := m.XYZ(s)
			light, share := [3]float64{v.X, v.Y, v.Z}, rest[1][1]/(v.Y*v.Y)
			for i := range 3 {
				if own[i][i] < 0 {
					t.Errorf("%s at %v: variance %g", m.Name(), s, own[i][i])
				}
				for j := range 3 {
					if d := math.Abs(own[i][j] - own[j][i]); d > 1e-9*size {
						t.Errorf("%s at %v: not symmetric by %g of %g", m.Name(), s, d, size)
					}
					if d := math.Abs(rest[i][j] - share*light[i]*light[j]); m.Name() != fit.ResidualName && d > 1e-9*size {
						t.Errorf("%s at %v: %g of %g more in Covariance", m.Name(), s, d, size)
					}
				}
			}
			if rest[1][1] < -1e-9*size || rest.Det() < -1e-9*size*size*size {
				t.Errorf("%s at %v: Covariance has %v more", m.Name(), s, rest)
			}
		}
	}
}

// Turned round it is transposed, and no covariance is greater than the variances
// allow.
func TestBetweenTurns(t *testing.T) {
	t.Parallel()
	for _, m := range joints(t) {
		list := unseen()[:20]
		for i, a := range list[1:] {
			b := list[i]
			v, w := m.Between(a, b), m.Between(b, a).Transpose()
			size := math.Sqrt(m.Between(a, a)[1][1] * m.Between(b, b)[1][1])
			if d := math.Abs(v[1][1]); d > size*(1+1e-6)+1e-12 {
				t.Errorf("%s between %v and %v: covariance %g above %g", m.Name(), a, b, d, size)
			}
			for r := range 3 {
				for c := range 3 {
					if d := math.Abs(v[r][c] - w[r][c]); d > 1e-7*size+1e-12 {
						t.Errorf("%s between %v and %v: turned round it differs by %g of %g", m.Name(), a, b, d, size)
					}
				}
			}
		}
	}
}

// What two predictions of a model have in common is what they have in common in
// models of many draws of the noise.
func TestBetweenIsWhatDrawsShow(t *testing.T) {
	t.Parallel()
	const draws = 300
	set := chart.Default(48, chart.Options{Bits: 10})
	signals := []colorimetry.RGB{{R: 0.7, G: 0.6, B: 0.4}, {R: 0.8, G: 0.5, B: 0.5}, {R: 0.2, G: 0.9, B: 0.1}, colorimetry.Gray(1)}
	var said [4][4]float64
	var y [4][draws]float64
	for n := range draws {
		m, err := fit.GainOffsetGamma(truth(smooth.xyz).readings(set, 4, uint64(n)), fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range signals {
			y[i][n] = m.XYZ(a).Y
			for j, b := range signals {
				said[i][j] += m.Between(a, b)[1][1] / draws
			}
		}
	}
	for i := range signals {
		for j := range i + 1 {
			var mi, mj, cov float64
			for n := range draws {
				mi, mj = mi+y[i][n]/draws, mj+y[j][n]/draws
			}
			for n := range draws {
				cov += (y[i][n] - mi) * (y[j][n] - mj) / (draws - 1)
			}
			// The standard error of a covariance of as many draws is 6 to 8 % of the
			// geometric mean of the variances; readings far off lose weight, which
			// the covariance does not know.
			size := math.Sqrt(said[i][i] * said[j][j])
			if math.Abs(cov-said[i][j]) > 0.25*size {
				t.Errorf("signals %d and %d: covariance %.4g in draws, %.4g said, of %.4g", i, j, cov, said[i][j], size)
			}
		}
	}
}
