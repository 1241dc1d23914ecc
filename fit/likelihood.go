package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// likelihood is minus the logarithm of the likelihood of what was seen of a
// process, and of what is expected of its parameters.
type likelihood struct {
	form   *form
	spots  []spot
	values []float64
	noise  []float64
	belief belief

	// What was computed last: where, and what the derivatives are made of.
	theta  []float64
	value  float64
	model  process
	length [lengths]float64 // that pairs was computed with
	pairs  []pair           // of two spots each, row by row, the diagonal last
	matrix *mat.SymDense
	factor mat.Cholesky
	alpha  []float64
}

// pair is the factors of the kernel between two spots, and their derivatives by
// the logarithm of the length.
type pair struct{ f, by [features]float64 }

// newLikelihood takes mostLearnt readings at equal steps where there are more.
func newLikelihood(f *form, spots []spot, values, noise []float64, b belief) *likelihood {
	n := min(len(spots), mostLearnt)
	l := &likelihood{form: f, belief: b, matrix: mat.NewSymDense(n, nil), pairs: make([]pair, n*(n+1)/2)}
	for i := range n {
		at := i * len(spots) / n
		l.spots = append(l.spots, spots[at])
		l.values, l.noise = append(l.values, values[at]), append(l.noise, noise[at])
	}
	return l
}

// at returns the value at theta, infinite where the covariance has no inverse.
func (l *likelihood) at(theta []float64) float64 {
	if slices.Equal(theta, l.theta) {
		return l.value
	}
	l.theta = append(l.theta[:0], theta...)
	p := &l.model
	p.set(l.form, theta)
	if p.length != l.length {
		l.relate()
	}
	next := 0
	for i := range l.spots {
		u := &l.spots[i]
		for k := range i + 1 {
			l.matrix.SetSym(i, k, p.sum(&l.pairs[next].f))
			next++
		}
		l.matrix.SetSym(i, i, l.matrix.At(i, i)+p.misfit*u.spread*u.spread+l.noise[i])
	}
	l.value = math.Inf(1)
	if !l.factor.Factorize(l.matrix) {
		return l.value
	}
	x := mat.NewVecDense(len(l.values), nil)
	_ = l.factor.SolveVecTo(x, mat.NewVecDense(len(l.values), l.values)) // bad condition costs digits only
	l.alpha = x.RawVector().Data
	l.value = l.factor.LogDet() / 2
	for i, a := range l.alpha {
		l.value += a * l.values[i] / 2
	}
	for i, v := range theta {
		if spread := l.belief.spread[i]; spread > 0 {
			d := (v - l.belief.value[i]) / spread
			l.value += d * d / 2
		}
	}
	return l.value
}

// relate fills the pairs.
func (l *likelihood) relate() {
	p := &l.model
	l.length = p.length
	next := 0
	for i := range l.spots {
		u := &l.spots[i]
		for k := range i + 1 {
			v, q := &l.spots[k], &l.pairs[next]
			for j := range l.form.count() {
				f, by, _ := p.relation(u, v, j)
				a := u.a[j] * v.a[j]
				q.f[j], q.by[j] = a*f, a*by
			}
			next++
		}
	}
}

// slope sets g to the derivatives at theta.
func (l *likelihood) slope(g, theta []float64) {
	for i, v := range theta {
		if g[i] = 0; l.belief.spread[i] > 0 {
			g[i] = (v - l.belief.value[i]) / (l.belief.spread[i] * l.belief.spread[i])
		}
	}
	if math.IsInf(l.at(theta), 1) {
		return
	}
	p := &l.model
	_ = l.factor.InverseTo(l.matrix) // bad condition costs digits only
	inv := l.matrix.RawSymmetric()
	count := l.form.count()
	next := 0
	for i, a := range l.alpha {
		for k := range i + 1 {
			w := inv.Data[k*inv.Stride+i] - a*l.alpha[k]
			if k == i {
				w /= 2 // off the diagonal every element counts twice
				g[atMisfit] += w * 2 * p.misfit * l.spots[i].spread * l.spots[i].spread
			}
			q := &l.pairs[next]
			for j := range count {
				if at := atLength + lengthOf(j); l.belief.spread[at] > 0 {
					g[at] += w * p.by(&q.f, j) * q.by[j]
				}
			}
			for t, s := range parts(&q.f) {
				g[atOrder+t] += w * 2 * p.order[t] * s
			}
			next++
		}
	}
}
