package fit

import (
	"errors"
	"math"
	"slices"

	"example.org/primaries/fit/internal/linear"

	"gonum.org/v1/gonum/mat"
)

// errUnsolved is returned where the readings leave a parameter free.
var errUnsolved = errors.New("the readings do not determine the model; measure black, white, each primary and ramps of all three channels")

// A problem is a least-squares fit: observations, penalties that are linear in
// the parameters, and bounds.
type problem struct {
	obs   []observation
	theta []float64
	lower []float64 // bounds of theta; -Inf where there is none
	upper []float64
	rows  []row
	// sided holds penalties that count only where their value is negative.
	sided []row
	// predict returns the XYZ of observation i and adds its derivatives to g
	// where that is not nil.
	predict func(theta []float64, i int, g *gradient) [3]float64

	weight []float64 // of each observation, 0 to 1: its robust weight
	scale  float64   // variance of the whitened residuals, at least 1
	factor mat.Cholesky
	fixed  []bool // parameters at a bound
}

// gradient is a sparse derivative of XYZ by the parameters.
type gradient struct {
	index []int
	by    [][3]float64
}

func (g *gradient) reset() { g.index, g.by = g.index[:0], g.by[:0] }

func (g *gradient) add(index int, x, y, z float64) {
	if g == nil {
		return
	}
	g.index = append(g.index, index)
	g.by = append(g.by, [3]float64{x, y, z})
}

// row is one penalty: weight·(Σ coef·theta[index] − target)².
type row struct {
	index  []int
	coef   []float64
	target float64
	weight float64
}

func (r *row) value(theta []float64) float64 {
	v := -r.target
	for k, i := range r.index {
		v += r.coef[k] * theta[i]
	}
	return v
}

func newProblem(obs []observation, n int) *problem {
	p := &problem{
		obs: obs, theta: make([]float64, n), lower: make([]float64, n), upper: make([]float64, n),
		weight: make([]float64, len(obs)), scale: 1, fixed: make([]bool, n),
	}
	for i := range n {
		p.lower[i], p.upper[i] = math.Inf(-1), math.Inf(1)
	}
	for i := range p.weight {
		p.weight[i] = 1
	}
	return p
}

// distances returns the squared whitened residual of every observation: three
// degrees of freedom each.
func (p *problem) distances(theta []float64) []float64 {
	out := make([]float64, len(p.obs))
	for i := range p.obs {
		ob := &p.obs[i]
		f := p.predict(theta, i, nil)
		r := ob.whitened([3]float64{ob.xyz[0] - f[0], ob.xyz[1] - f[1], ob.xyz[2] - f[2]})
		out[i] = r[0]*r[0] + r[1]*r[1] + r[2]*r[2]
	}
	return out
}

// A residual beyond huber standard deviations (three degrees of freedom: 3 % of
// all readings where the noise is normal) pulls no harder than one at huber.
const huber = 3.0

// medianChi2 is the median of chi-squared with three degrees of freedom.
const medianChi2 = 2.366

// reweigh sets the scale from the middle of the residuals, which outliers do
// not move, and from it every robust weight.
func (p *problem) reweigh() {
	d := p.distances(p.theta)
	sorted := slices.Clone(d)
	slices.Sort(sorted)
	p.scale = math.Max(1, sorted[len(sorted)/2]/medianChi2)
	for i, v := range d {
		p.weight[i] = 1
		if e := math.Sqrt(v / p.scale); e > huber {
			p.weight[i] = huber / e
		}
	}
}

// loss is what the fit makes small, with the robust weights as they are.
func (p *problem) loss(theta []float64) float64 {
	var s float64
	for i, v := range p.distances(theta) {
		s += p.weight[i] * v / p.scale
	}
	for k := range p.rows {
		v := p.rows[k].value(theta)
		s += p.rows[k].weight * v * v
	}
	for k := range p.sided {
		if v := p.sided[k].value(theta); v < 0 {
			s += p.sided[k].weight * v * v
		}
	}
	return s
}

// assemble returns the normal matrix at theta, its upper triangle row by row,
// and the right-hand side.
func (p *problem) assemble() ([]float64, []float64) {
	n := len(p.theta)
	a, b := make([]float64, n*n), make([]float64, n)
	var g gradient
	for i := range p.obs {
		ob := &p.obs[i]
		g.reset()
		f := p.predict(p.theta, i, &g)
		r := ob.whitened([3]float64{ob.xyz[0] - f[0], ob.xyz[1] - f[1], ob.xyz[2] - f[2]})
		w := p.weight[i] / p.scale
		for k := range g.by {
			g.by[k] = ob.whitened(g.by[k])
		}
		for k, u := range g.by {
			at := g.index[k]
			b[at] += w * dot(u, r)
			u = [3]float64{w * u[0], w * u[1], w * u[2]}
			for m, v := range g.by[k:] {
				to := g.index[k+m]
				p := u[0]*v[0] + u[1]*v[1] + u[2]*v[2]
				switch {
				case to > at || m == 0:
					a[at*n+to] += p
				case to < at:
					a[to*n+at] += p
				default: // named twice
					a[at*n+at] += 2 * p
				}
			}
		}
	}
	add := func(r *row, v float64) {
		for x, i := range r.index {
			b[i] -= r.weight * r.coef[x] * v
			for y, j := range r.index {
				if j >= i {
					a[i*n+j] += r.weight * r.coef[x] * r.coef[y]
				}
			}
		}
	}
	for k := range p.rows {
		add(&p.rows[k], p.rows[k].value(p.theta))
	}
	for k := range p.sided {
		if v := p.sided[k].value(p.theta); v < 0 {
			add(&p.sided[k], v)
		}
	}
	return a, b
}

// step takes one safeguarded Gauss-Newton step and returns the relative
// decrease of the loss. Parameters whose bound the step would cross stay on it.
func (p *problem) step() (float64, error) {
	n := len(p.theta)
	a, b := p.assemble()
	for i := range p.fixed {
		p.fixed[i] = p.theta[i] <= p.lower[i] && b[i] < 0 || p.theta[i] >= p.upper[i] && b[i] > 0
	}
	for i, fixed := range p.fixed {
		if !fixed {
			continue
		}
		d := a[i*n+i]
		for j := range n {
			a[i*n+j], a[j*n+i] = 0, 0
		}
		a[i*n+i], b[i] = math.Max(d, 1), 0
	}
	before := p.loss(p.theta)
	diagonal := make([]float64, n)
	for i := range n {
		diagonal[i] = a[i*n+i]
	}
	delta := mat.NewVecDense(n, nil)
	trial := make([]float64, n)
	for try, damping := 0, 0.0; try < 12; try, damping = try+1, math.Max(10*damping, 1e-6) {
		for i := range n {
			a[i*n+i] = diagonal[i] * (1 + damping)
		}
		if !p.factor.Factorize(mat.NewSymDense(n, a)) {
			continue
		}
		if err := p.factor.SolveVecTo(delta, mat.NewVecDense(n, b)); linear.Unusable(err) {
			continue
		}
		for i := range n {
			trial[i] = math.Min(math.Max(p.theta[i]+delta.AtVec(i), p.lower[i]), p.upper[i])
		}
		after := p.loss(trial)
		if after <= before {
			copy(p.theta, trial)
			return (before - after) / math.Max(before, 1e-300), nil
		}
		if after < before*(1+1e-9) {
			return 0, nil
		}
	}
	if before-before != 0 || !p.solvable() {
		return 0, errUnsolved
	}
	return 0, nil
}

// solvable reports whether the undamped normal matrix has a factor.
func (p *problem) solvable() bool {
	a, _ := p.assemble()
	return p.factor.Factorize(mat.NewSymDense(len(p.theta), a))
}

// covariance returns the inverse of the normal matrix at theta with the
// parameters at a bound left out (their variance is 0).
func (p *problem) covariance() (*mat.SymDense, error) {
	n := len(p.theta)
	a, _ := p.assemble()
	for i, fixed := range p.fixed {
		if !fixed {
			continue
		}
		for j := range n {
			a[i*n+j], a[j*n+i] = 0, 0
		}
		a[i*n+i] = 1
	}
	if !p.factor.Factorize(mat.NewSymDense(n, a)) {
		return nil, errUnsolved
	}
	inv := mat.NewSymDense(n, nil)
	if err := p.factor.InverseTo(inv); linear.Unusable(err) {
		return nil, errUnsolved
	}
	for i, fixed := range p.fixed {
		if fixed {
			inv.SetSym(i, i, 0)
		}
	}
	return inv, nil
}
