package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// likelihood is minus the logarithm of the likelihood of what was seen of a
// process, and of what is expected of its parameters.
type likelihood struct {
	values []float64
	noise  []float64
	gaps   [][3]float64 // between two places each, row by row below the diagonal

	// What was computed last: where, and what the derivatives are made of.
	theta  []float64
	value  float64
	model  process
	pairs  []pair
	matrix *mat.SymDense
	alpha  []float64
}

// pair is the three factors of the kernel between two places, and their
// derivatives by the logarithm of the length.
type pair struct{ f, by [3]float64 }

// newLikelihood takes mostLearnt readings at equal steps where there are more.
func newLikelihood(places [][3]float64, values, noise []float64) *likelihood {
	n := min(len(places), mostLearnt)
	l := &likelihood{
		values: make([]float64, n), noise: make([]float64, n),
		matrix: mat.NewSymDense(n, nil),
		gaps:   make([][3]float64, 0, n*(n-1)/2),
	}
	at := func(i int) int { return i * len(places) / n }
	for i := range n {
		l.values[i], l.noise[i] = values[at(i)], noise[at(i)]
		for k := range i {
			u, v := places[at(i)], places[at(k)]
			l.gaps = append(l.gaps, [3]float64{math.Abs(u[0] - v[0]), math.Abs(u[1] - v[1]), math.Abs(u[2] - v[2])})
		}
	}
	l.pairs = make([]pair, len(l.gaps))
	return l
}

// at returns the value at theta, infinite where the covariance has no inverse.
func (l *likelihood) at(theta []float64) float64 {
	if slices.Equal(theta, l.theta) {
		return l.value
	}
	l.theta = append(l.theta[:0], theta...)
	p := &l.model
	p.set(theta)
	next := 0
	for i, v := range l.noise {
		for k := range i {
			q := &l.pairs[next]
			for c, gap := range l.gaps[next] {
				r := gap / p.length[c]
				f, fall := matern(r)
				q.f[c], q.by[c] = f, fall*r*r
			}
			l.matrix.SetSym(i, k, dot(p.order, sums(q.f)))
			next++
		}
		l.matrix.SetSym(i, i, p.self()+p.misfit+v)
	}
	l.value = math.Inf(1)
	if !p.factor.Factorize(l.matrix) {
		return l.value
	}
	l.alpha = p.solve(l.values)
	l.value = p.factor.LogDet() / 2
	for i, a := range l.alpha {
		l.value += a * l.values[i] / 2
	}
	for i, v := range theta {
		d := (v - expected[i]) / within[i]
		l.value += d * d / 2
	}
	return l.value
}

// slope sets g to the derivatives at theta.
func (l *likelihood) slope(g, theta []float64) {
	for i, v := range theta {
		g[i] = (v - expected[i]) / (within[i] * within[i])
	}
	if math.IsInf(l.at(theta), 1) {
		return
	}
	p := &l.model
	_ = p.factor.InverseTo(l.matrix) // bad condition costs digits only
	inv := l.matrix.RawSymmetric()
	next := 0
	for i, a := range l.alpha {
		for k := range i {
			// Off the diagonal every element counts twice.
			w := inv.Data[k*inv.Stride+i] - a*l.alpha[k]
			q := &l.pairs[next]
			s := sums(q.f)
			for c := range 3 {
				g[atLength+c] += w * p.by(q.f, c) * q.by[c]
				g[atOrder+c] += w * 2 * p.order[c] * s[c]
			}
			next++
		}
		w := (inv.Data[i*inv.Stride+i] - a*a) / 2
		for c, s := range [3]float64{3, 3, 1} {
			g[atOrder+c] += w * 2 * p.order[c] * s
		}
		g[atMisfit] += w * 2 * p.misfit
	}
}
