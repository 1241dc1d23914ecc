package fit

import (
	"math"

	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/mat"
)

// base is what the fitted models share: black, primaries, all parameters with
// their covariance, and what the fit left over.
type base struct {
	black      colorimetry.XYZ
	primaries  colorimetry.Matrix
	theta      []float64
	cov        *mat.SymDense
	weight     []float64 // robust weight of each reading
	scale      float64   // variance of the whitened residuals over that stated
	misfit     float64   // standard deviation of what the kind cannot follow, as a share of the light
	parameters float64   // effective number
}

func newBase(p *problem, cov *mat.SymDense) base {
	t := p.theta
	b := base{
		black:      colorimetry.XYZ{X: t[0], Y: t[1], Z: t[2]},
		theta:      append([]float64(nil), t...),
		weight:     append([]float64(nil), p.weight...),
		parameters: p.effective(cov),
		cov:        cov,
	}
	for c := range 3 {
		for j := range 3 {
			b.primaries[j][c] = t[atPrimaries+3*c+j]
		}
	}
	var sum float64
	for i, d := range p.distances(p.theta) {
		sum += p.weight[i] * d
	}
	b.scale = sum / math.Max(1, 3*float64(len(p.obs))-b.parameters)
	b.misfit = p.misfit()
	// The normal matrix was built with p.scale; what the residuals say in the
	// end counts, but never less than the stated noise.
	if k := math.Max(1, b.scale) / p.scale; k != 1 {
		b.cov.ScaleSym(k, b.cov)
	}
	return b
}

// misfit returns the share of the light by which the model misses the readings
// beyond their noise, the likeliest one: what all three coordinates of a colour
// miss together. 0 is the most that readings with much noise can tell.
func (p *problem) misfit() float64 {
	// In units of a reading's noise: the residual's square, its product with the
	// light and the square of that.
	n := len(p.obs)
	rr, rv, vv := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range p.obs {
		ob := &p.obs[i]
		f := p.predict(p.theta, i, nil)
		v, r := ob.whitened(f), ob.whitened([3]float64{ob.xyz[0] - f[0], ob.xyz[1] - f[1], ob.xyz[2] - f[2]})
		rr[i], rv[i], vv[i] = dot(r, r), dot(r, v), dot(v, v)
	}
	best, least := 0.0, math.Inf(1)
	for share := 0.0; share < 0.2; share = math.Max(share*1.15, 2e-4) {
		var loss float64
		for i := range rr {
			k := share * share
			loss += p.weight[i] * (rr[i] - k*rv[i]*rv[i]/(1+k*vv[i]) + math.Log1p(k*vv[i]))
		}
		if loss < least {
			best, least = share, loss
		}
	}
	return best
}

// effective returns the number of parameters that the readings determine: what
// the penalties leave of them.
func (p *problem) effective(cov *mat.SymDense) float64 {
	var n float64
	for i := range p.theta {
		if !p.fixed[i] {
			n++
		}
	}
	for k := range p.rows {
		n -= p.rows[k].weight * p.rows[k].leverage(cov)
	}
	for k := range p.sided {
		if p.sided[k].value(p.theta) < 0 {
			n -= p.sided[k].weight * p.sided[k].leverage(cov)
		}
	}
	return n
}

// leverage returns v'·cov·v for the row's coefficients v.
func (r *row) leverage(cov *mat.SymDense) float64 {
	var s float64
	for x, i := range r.index {
		for y, j := range r.index {
			s += r.coef[x] * r.coef[y] * cov.At(i, j)
		}
	}
	return s
}

// Black implements Separable.
func (b *base) Black() colorimetry.XYZ { return b.black }

// Primaries implements Separable.
func (b *base) Primaries() colorimetry.Matrix { return b.primaries }

// White implements Separable.
func (b *base) White() colorimetry.XYZ { return b.at(1, 1, 1) }

// Scatter returns the residuals of the fit over the readings' stated noise,
// as a root mean square: about 1 where the model misses nothing.
func (b *base) Scatter() float64 { return math.Sqrt(b.scale) }

// Parameters returns the effective number of parameters: what smoothing leaves
// of them.
func (b *base) Parameters() float64 { return b.parameters }

// Outliers returns the readings, by their place in the slice that was fitted,
// whose weight fell below one half because they lie far from the model.
func (b *base) Outliers() []int {
	var out []int
	for i, w := range b.weight {
		if w < 0.5 {
			out = append(out, i)
		}
	}
	return out
}

// at mixes the primaries.
func (b *base) at(r, g, bl float64) colorimetry.XYZ {
	return b.black.Add(b.primaries.FromLinear(colorimetry.RGB{R: r, G: g, B: bl}))
}

// slopes scales the columns of the primaries.
func (b *base) slopes(r, g, bl float64) colorimetry.Matrix {
	return b.primaries.Mul(colorimetry.Diagonal(r, g, bl))
}

// spread returns g·cov·g'.
func (b *base) spread(g *gradient) colorimetry.Matrix {
	var out colorimetry.Matrix
	for x, i := range g.index {
		u := g.by[x]
		for y, j := range g.index {
			c := b.cov.At(i, j)
			if c == 0 {
				continue
			}
			v := g.by[y]
			for r := range 3 {
				for s := range 3 {
					out[r][s] += c * u[r] * v[s]
				}
			}
		}
	}
	return out
}

// missed returns the covariance of what the kind cannot follow of a colour.
func (b *base) missed(v colorimetry.XYZ) (out colorimetry.Matrix) {
	light := triple(v)
	for r := range out {
		for s := range out[r] {
			out[r][s] = b.misfit * b.misfit * light[r] * light[s]
		}
	}
	return out
}

// deviation returns the standard deviation of component j of the reading.
func (ob *observation) deviation(j int) float64 {
	l := ob.half()
	return math.Sqrt(l[j][0]*l[j][0] + l[j][1]*l[j][1] + l[j][2]*l[j][2])
}

func invertLower(l [3][3]float64) [3][3]float64 {
	var inv [3][3]float64
	for i := range 3 {
		inv[i][i] = 1 / l[i][i]
		for j := range i {
			var s float64
			for k := j; k < i; k++ {
				s -= l[i][k] * inv[k][j]
			}
			inv[i][j] = s * inv[i][i]
		}
	}
	return inv
}
