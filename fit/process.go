package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// process is a random function that was seen, with noise, at some spots. It is
// described by its values at no more than mostPlaces of them: a smooth function
// has no more to say.
//
// Source: Quiñonero-Candela and Rasmussen, J. Mach. Learn. Res. 6 (2005)
// 1939-1959, section 5 (the deterministic training conditional); with all spots
// among the places nothing is left out.
type process struct {
	kernel
	theta  []float64 // the logarithms of its parameters
	misfit float64   // variance of what no smooth function explains, for a spread of 1
	places []spot
	lower  mat.Cholesky // of the covariance of the values at the places
	factor mat.Cholesky // of what is known of them, in units of lower
	seen   *mat.Dense   // what the spots say, a column each, in units of lower
	noise  []float64    // variances of what was seen, misfit included
	alpha  []float64    // weights of the places in a value
	fitted []float64    // expected values at the spots

}

// Parameters of a process as they are learnt, all logarithms: the lengths, then
// the standard deviations of the terms and of the misfit.
const (
	atLength = 0
	atOrder  = atLength + lengths
	atMisfit = atOrder + terms
	learnt   = atMisfit + 1
)

// expect returns what is expected of the parameters where readings say little:
// functions that bend once or twice along a channel, and next to nothing of any
// term and of misfit, each within a factor of e to the power of its spread.
func expect() (expected, within [learnt]float64) {
	const size, misfit = 0.001, 0.0005
	for i := range lengths {
		within[atLength+i] = 0.7
	}
	for i := range terms {
		expected[atOrder+i], within[atOrder+i] = math.Log(size), 2.5
	}
	expected[atOrder+ofThree] = math.Log(size / 2)
	expected[atMisfit], within[atMisfit] = math.Log(misfit), 1
	return expected, within
}

const (
	// mostPlaces is the number of places that describe a process.
	mostPlaces = 100
	// mostLearnt is the number of readings that parameters are learnt from, as
	// many as settle them; all readings are used with them.
	mostLearnt = 120
	// learnSteps bounds the search.
	learnSteps = 30
	// jitter, as a share of the variance, keeps a covariance of near places
	// positive definite.
	jitter = 1e-9
)

// newProcess returns the process that is described at places and may be seen at
// spots.
func newProcess(f *form, places, spots []spot, theta []float64) (*process, error) {
	p := &process{places: places, theta: theta}
	p.set(f, theta)
	m, n := len(places), len(spots)
	c := mat.NewSymDense(m, nil)
	for i := range m {
		for j := range i {
			c.SetSym(i, j, p.at(&places[i], &places[j]))
		}
		c.SetSym(i, i, p.at(&places[i], &places[i])*(1+jitter)+1e-300)
	}
	if !p.lower.Factorize(c) {
		return nil, errUnsolved
	}
	p.seen = mat.NewDense(m, n, nil)
	for j := range m {
		row := p.seen.RawRowView(j)
		for i := range row {
			row[i] = p.at(&places[j], &spots[i])
		}
	}
	if err := p.down(&p.lower, p.seen); err != nil {
		return nil, err
	}
	return p, nil
}

// down solves with the lower factor in place.
func (p *process) down(factor *mat.Cholesky, m *mat.Dense) error {
	var l mat.TriDense
	factor.LTo(&l)
	if err := l.SolveTo(m, false, m); err != nil && !isCondition(err) {
		return errUnsolved
	}
	return nil
}

// observe takes what was seen at the spots, with the variances noise.
func (p *process) observe(spots []spot, values, noise []float64) error {
	p.noise = make([]float64, len(spots))
	for i := range spots {
		p.noise[i] = noise[i] + p.misfit*spots[i].spread*spots[i].spread
	}
	x, factor, err := p.solve(values, nil)
	if err != nil {
		return err
	}
	p.factor = *factor
	p.fitted = make([]float64, len(spots))
	mat.NewVecDense(len(spots), p.fitted).MulVec(p.seen.T(), x)
	var l mat.TriDense
	p.lower.LTo(&l)
	if err := x.SolveVec(l.T(), x); err != nil && !isCondition(err) {
		return errUnsolved
	}
	p.alpha = x.RawVector().Data
	return nil
}

// set sets the parameters of the kernel.
func (p *process) set(f *form, theta []float64) {
	p.form = f
	for i := range p.length {
		p.length[i] = math.Exp(theta[atLength+i])
	}
	for i, counts := range f.orders {
		p.order[i] = 0
		if counts {
			p.order[i] = math.Exp(2 * theta[atOrder+i])
		}
	}
	p.misfit = math.Exp(2 * theta[atMisfit])
}

// solve returns what the places' values are expected to be, in units of lower,
// when values were seen everywhere but at those of without, and the factor of
// what is then known.
func (p *process) solve(values []float64, without []int) (*mat.VecDense, *mat.Cholesky, error) {
	m, n := p.seen.Dims()
	weight := make([]float64, n)
	for i, v := range p.noise {
		weight[i] = 1 / v
	}
	for _, i := range without {
		weight[i] = 0
	}
	scaled := mat.NewDense(m, n, nil)
	right := mat.NewVecDense(n, nil)
	for i, w := range weight {
		right.SetVec(i, w*values[i])
	}
	for j := range m {
		from, to := p.seen.RawRowView(j), scaled.RawRowView(j)
		for i, w := range weight {
			to[i] = math.Sqrt(w) * from[i]
		}
	}
	known := mat.NewSymDense(m, nil)
	known.SymOuterK(1, scaled)
	for j := range m {
		known.SetSym(j, j, known.At(j, j)+1)
	}
	x := mat.NewVecDense(m, nil)
	x.MulVec(p.seen, right)
	var factor mat.Cholesky
	if !factor.Factorize(known) {
		return nil, nil, errUnsolved
	}
	if err := factor.SolveVecTo(x, x); err != nil && !isCondition(err) {
		return nil, nil, errUnsolved
	}
	return x, &factor, nil
}

// held returns the values at the spots of list when values were seen everywhere
// else.
func (p *process) held(values []float64, list []int) ([]float64, error) {
	x, _, err := p.solve(values, list)
	if err != nil {
		return nil, err
	}
	out := make([]float64, len(list))
	for k, i := range list {
		out[k] = mat.Dot(p.seen.ColView(i), x)
	}
	return out, nil
}

// rest returns the variance of the value at u, misfit included, v being what u
// says of the places in units of lower.
func (p *process) rest(u *spot, v mat.Vector, factor *mat.Cholesky) float64 {
	var s mat.VecDense
	// A factor that was found solves; a bad condition costs digits only.
	_ = factor.SolveVecTo(&s, v)
	return math.Max(p.at(u, u)-mat.Dot(v, v), 0) + mat.Dot(v, &s) + p.misfit*u.spread*u.spread
}

// value returns the expected value at u.
func (p *process) value(u *spot) float64 {
	var v float64
	for i := range p.places {
		v += p.alpha[i] * p.at(u, &p.places[i])
	}
	return v
}

// slopes returns the expected value at u and its derivatives by u's levels.
func (p *process) slopes(u *spot) (v float64, by [3]float64) {
	for i := range p.places {
		k, d := p.slope(u, &p.places[i])
		v += p.alpha[i] * k
		for c := range by {
			by[c] += p.alpha[i] * d[c]
		}
	}
	return v, by
}

// share returns by how much what was seen at each spot moves the value at u,
// and the variance of the value, misfit and the noise of what was seen
// included.
func (p *process) share(u *spot) (weights []float64, variance float64) {
	m, n := p.seen.Dims()
	v := mat.NewVecDense(m, nil)
	for j := range m {
		v.SetVec(j, p.at(u, &p.places[j]))
	}
	var l mat.TriDense
	p.lower.LTo(&l)
	_ = v.SolveVec(&l, v)
	variance = p.rest(u, v, &p.factor)
	_ = p.factor.SolveVecTo(v, v)
	weights = make([]float64, n)
	mat.NewVecDense(n, weights).MulVec(p.seen.T(), v)
	for i := range weights {
		weights[i] /= p.noise[i]
	}
	return weights, variance
}

// leverage returns how much of each value comes from what was seen there.
func (p *process) leverage() ([]float64, error) {
	_, n := p.seen.Dims()
	var half mat.Dense
	half.CloneFrom(p.seen)
	if err := p.down(&p.factor, &half); err != nil {
		return nil, err
	}
	out := make([]float64, n)
	for j := range len(p.places) {
		for i, v := range half.RawRowView(j) {
			out[i] += v * v / p.noise[i]
		}
	}
	return out, nil
}

// scatterPlaces returns at most mostPlaces of the spots that differ, each as far from
// the earlier ones as there is.
func scatterPlaces(spots []spot) []spot {
	var out []spot
	far := make([]float64, len(spots))
	for i := range far {
		far[i] = math.Inf(1)
	}
	for at := 0; len(out) < mostPlaces && far[at] > 0; {
		out = append(out, spots[at])
		far[at] = 0
		for i := range spots {
			var d float64
			for c := range 3 {
				d += (spots[i].u[c] - spots[at].u[c]) * (spots[i].u[c] - spots[at].u[c])
			}
			far[i] = math.Min(far[i], d)
		}
		for i := range far {
			if far[i] > far[at] {
				at = i
			}
		}
	}
	return out
}

// begin returns parameters to begin with, of a function about as large as the
// middle of the values, which few wild ones do not move.
func begin(values []float64) []float64 {
	theta, _ := expect()
	size := make([]float64, len(values))
	for i, v := range values {
		size[i] = math.Abs(v)
	}
	slices.Sort(size)
	for i := range terms {
		theta[atOrder+i] = math.Max(theta[atOrder+i], math.Log(size[len(size)/2]))
	}
	return theta[:]
}

// learn returns the parameters of the greatest likelihood, tempered by what is
// expected. The search begins at start.
func learn(f *form, spots []spot, values, noise, start []float64) []float64 {
	l := newLikelihood(f, spots, values, noise)
	return minimise(start, learnSteps, func(theta, slope []float64) float64 {
		if slope != nil {
			l.slope(slope, theta)
		}
		return l.at(theta)
	})
}
