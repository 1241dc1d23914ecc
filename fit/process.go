package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// process is a random function that was seen, with noise, at some places.
type process struct {
	kernel
	misfit float64 // variance of what no smooth function explains
	places [][3]float64
	factor mat.Cholesky // of the covariance of what was seen
	alpha  []float64    // its inverse times what was seen
	alone  []float64    // the diagonal of its inverse
}

// Parameters of a process as they are learnt, all logarithms: the three
// lengths, then the standard deviations of the orders and of the misfit.
const (
	atLength = 0
	atOrder  = 3
	atMisfit = 6
	learnt   = 7
)

// What is expected of the parameters where readings say little: functions that
// bend once or twice along a channel, and next to nothing of any order and of
// misfit, each within a factor of e to the power of its spread.
var (
	expected = [learnt]float64{0, 0, 0, math.Log(0.1), math.Log(0.1), math.Log(0.05), math.Log(0.05)}
	within   = [learnt]float64{0.7, 0.7, 0.7, 2.5, 2.5, 2.5, 1}
)

const (
	// mostLearnt is the number of readings that parameters are learnt from, as
	// many as settle them; all readings are used with them.
	mostLearnt = 200
	// learnSteps bounds the search.
	learnSteps = 30
)

// newProcess returns the process of values seen at places with the variances
// noise.
func newProcess(places [][3]float64, values, noise, theta []float64) (*process, error) {
	p := &process{places: places}
	p.set(theta)
	n := len(places)
	c := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i {
			c.SetSym(i, j, p.at(places[i], places[j]))
		}
		c.SetSym(i, i, p.self()+p.misfit+noise[i])
	}
	if !p.factor.Factorize(c) {
		return nil, errUnsolved
	}
	p.alpha = p.solve(values)
	if err := p.factor.InverseTo(c); err != nil && !isCondition(err) {
		return nil, errUnsolved
	}
	p.alone = make([]float64, n)
	for i := range n {
		p.alone[i] = c.At(i, i)
	}
	return p, nil
}

func (p *process) set(theta []float64) {
	for c := range 3 {
		p.length[c] = math.Exp(theta[atLength+c])
		p.order[c] = math.Exp(2 * theta[atOrder+c])
	}
	p.misfit = math.Exp(2 * theta[atMisfit])
}

// solve returns the inverse of the covariance times v.
func (p *process) solve(v []float64) []float64 {
	out := mat.NewVecDense(len(v), nil)
	// A factor that was found solves; a bad condition costs digits only.
	_ = p.factor.SolveVecTo(out, mat.NewVecDense(len(v), v))
	return out.RawVector().Data
}

// value returns the expected value at u.
func (p *process) value(u [3]float64) float64 {
	var v float64
	for i := range p.places {
		v += p.alpha[i] * p.at(u, p.places[i])
	}
	return v
}

// slopes returns the expected value at u and its derivatives by u.
func (p *process) slopes(u [3]float64) (v float64, by [3]float64) {
	for i := range p.places {
		k, d := p.slope(u, p.places[i])
		v += p.alpha[i] * k
		for c := range by {
			by[c] += p.alpha[i] * d[c]
		}
	}
	return v, by
}

// share returns by how much what was seen at each place moves the value at u,
// and the variance that remains of the function apart from the noise of what was
// seen, misfit included.
func (p *process) share(u [3]float64, noise []float64) (weights []float64, rest float64) {
	k := make([]float64, len(p.places))
	for i := range k {
		k[i] = p.at(u, p.places[i])
	}
	weights = p.solve(k)
	rest = p.self() + p.misfit
	for i, w := range weights {
		rest -= w * (k[i] + w*noise[i])
	}
	return weights, math.Max(rest, 0)
}

// freedom returns the effective number of parameters.
func (p *process) freedom(noise []float64) float64 {
	f := float64(len(p.places))
	for i, v := range p.alone {
		f -= (noise[i] + p.misfit) * v
	}
	return f
}

// learn returns the parameters of the greatest likelihood, tempered by what is
// expected.
func learn(places [][3]float64, values, noise []float64) []float64 {
	l := newLikelihood(places, values, noise)
	start := append([]float64(nil), expected[:]...)
	var size float64
	for i, v := range l.values {
		size += math.Max(v*v-l.noise[i], 0) / float64(len(l.values))
	}
	for c := range 3 {
		start[atOrder+c] = math.Log(math.Max(0.5*math.Sqrt(size), 0.02))
	}
	return minimise(start, learnSteps, func(theta, slope []float64) float64 {
		if slope != nil {
			l.slope(slope, theta)
		}
		return l.at(theta)
	})
}
