package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/mat"
)

// With all spots among its places a field is the joint Gaussian process of
// Rasmussen and Williams (2006), eq. 2.23 and 2.24, whose dense covariance of
// all coordinates of all spots is solved here the plain way.
func TestFieldIsTheJointProcess(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	const n = 20
	var spots []spot
	var values [][3]float64
	var noise []colorimetry.Matrix
	for range n {
		spots = append(spots, spotAt([3]float64{rng.Float64(), rng.Float64(), rng.Float64()}, 0.3+rng.Float64()))
		values = append(values, [3]float64{rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()})
		var half colorimetry.Matrix
		for r := range 3 {
			for c := range 3 {
				half[r][c] = 0.1 * rng.NormFloat64()
			}
		}
		noise = append(noise, half.Mul(half.Transpose()).Add(colorimetry.Diagonal(0.01, 0.01, 0.01)))
	}
	f := &field{}
	for c := range f.process {
		theta := expect().value
		for i := range theta {
			theta[i] += 0.3*float64(c) + 0.2*rng.NormFloat64()
		}
		for i := range terms {
			theta[atOrder+i] = math.Log(0.4 + 0.2*float64(c))
		}
		theta[atMisfit] = math.Log(0.1)
		var err error
		if f.process[c], err = newProcess(smooth, spots, spots, theta[:], nil); err != nil {
			t.Fatal(err)
		}
	}
	if err := f.observe(spots, values, noise); err != nil {
		t.Fatal(err)
	}
	// dense returns mean and covariance at u without the spots of left.
	dense := func(u *spot, left int) ([3]float64, colorimetry.Matrix) {
		k := mat.NewSymDense(3*n, nil)
		y := mat.NewVecDense(3*n, nil)
		across := mat.NewDense(3, 3*n, nil)
		for i := range n {
			for c, p := range f.process {
				y.SetVec(3*i+c, values[i][c])
				for j := range n {
					k.SetSym(3*i+c, 3*j+c, p.at(&spots[i], &spots[j]))
				}
				across.Set(c, 3*i+c, p.at(u, &spots[i]))
			}
		}
		for i := range n {
			for c := range 3 {
				for d := range 3 {
					v := noise[i][c][d]
					if c == d {
						v += f.process[c].misfitAt(&spots[i])
					}
					if i == left {
						v *= 1e12
					}
					if d >= c {
						k.SetSym(3*i+c, 3*i+d, k.At(3*i+c, 3*i+d)+v)
					}
				}
			}
		}
		var factor mat.Cholesky
		if !factor.Factorize(k) {
			t.Fatal("the dense covariance has no factor")
		}
		var x mat.VecDense
		var s, cov mat.Dense
		_ = factor.SolveVecTo(&x, y)
		_ = factor.SolveTo(&s, across.T())
		cov.Mul(across, &s)
		var mean mat.VecDense
		mean.MulVec(across, &x)
		var out colorimetry.Matrix
		for c, p := range f.process {
			for d := range 3 {
				out[c][d] = -cov.At(c, d)
			}
			out[c][c] += p.at(u, u)
		}
		return [3]float64{mean.AtVec(0), mean.AtVec(1), mean.AtVec(2)}, out
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-6*math.Max(1, math.Abs(want)) {
			t.Errorf("%s: %.9f, the plain way %.9f", what, got, want)
		}
	}
	u := spotAt([3]float64{0.3, 0.8, 0.5}, 1)
	mean, cov := dense(&u, -1)
	_, all, _ := f.between([]spot{u}, 0)
	got := all[0]
	for c := range f.process {
		near("value", f.value(&u)[c], mean[c])
		for d := range 3 {
			near("covariance", got[c][d], cov[c][d])
		}
	}
	held, err := f.held(values, []int{7})
	if err != nil {
		t.Fatal(err)
	}
	mean, _ = dense(&spots[7], 7)
	own, err := f.own()
	if err != nil {
		t.Fatal(err)
	}
	_, cov = dense(&spots[3], -1)
	for c := range 3 {
		near("held back", held[0][c], mean[c])
		for d := range 3 {
			near("own", own[3][c][d], cov[c][d])
		}
	}
}
