package curves

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/internal/linear"
	"gonum.org/v1/gonum/mat"
)

// hyper says how much, and how, the model of the display as found may be
// wrong. The readings decide it by their likelihood.
type hyper struct {
	// misfit is the share of an amount by which a slowly varying part may be
	// off, over and above the model's own uncertainty.
	misfit float64
	// kinks is the part of misfit that varies within a few hundredths of the
	// signal, as where a display's tone has a kink.
	kinks float64
	// fine is the same for a part that varies within a hundredth of the
	// signal, as where a display's tone has a jump.
	fine float64
	// grain is how far the light of a single code may be off by itself, in
	// steps of one code.
	grain float64
}

func firstHyper() hyper { return hyper{misfit: 0.002} }

// The values between which the readings decide.
func misfits() []float64 { return []float64{0.0005, 0.002, 0.006, 0.02, 0.06} }
func kinks() []float64   { return []float64{0, 0.3} }
func fines() []float64   { return []float64{0, 0.5, 2} }
func grains() []float64  { return []float64{0, 0.2, 0.5} }

// covariance returns the prior covariance of the residual function of one
// channel between two places. Distances are counted in the square root of the
// signal, since displays change faster in the dark. The slow part reaches, to
// equal shares, over a few steps of a ramp and over most of the range.
func (h hyper) covariance(a, b place, top float64) float64 {
	const fine, kink, near, far = 0.012, 0.035, 0.1, 0.5
	d := math.Abs(a.root - b.root)
	k := (1 - h.kinks) / 2 * math.Exp(-d*d/(2*far*far))
	if d < 4*near {
		k += (1 - h.kinks) / 2 * math.Exp(-d*d/(2*near*near))
	}
	if h.kinks > 0 && d < 4*kink {
		k += h.kinks * math.Exp(-d*d/(2*kink*kink))
	}
	k *= math.Hypot(a.prior, h.misfit*a.light) * math.Hypot(b.prior, h.misfit*b.light)
	if h.fine > 0 && d < 4*fine {
		k += h.fine * h.fine * a.step * b.step * math.Exp(-d*d/(2*fine*fine))
	}
	if h.grain > 0 && math.Abs(a.device-b.device)*top < 0.5 {
		k += h.grain * h.grain * a.step * b.step
	}
	return k
}

// learn works the readings in: it settles, one after the other, what the
// readings say of the hyper figures, and solves for the residual function.
// More than mostWeighed readings tell no more of the figures, and weighing them
// would take their cube of time a dozen times over.
func (e *estimate) learn() {
	if len(e.seen) > mostWeighed {
		if factor, weight, l := e.solved(e.hyper); !math.IsInf(l, -1) {
			e.factor, e.weight = factor, weight
		}
		e.tabulate()
		return
	}
	best := math.Inf(-1)
	try := func(h hyper) {
		factor, weight, l := e.solved(h)
		if l > best {
			best = l
			e.hyper, e.factor, e.weight = h, factor, weight
		}
	}
	start := e.hyper
	for _, v := range misfits() {
		h := start
		h.misfit = v
		try(h)
	}
	for _, part := range []struct {
		of     func(*hyper) *float64
		values []float64
	}{
		{func(h *hyper) *float64 { return &h.kinks }, kinks()},
		{func(h *hyper) *float64 { return &h.fine }, fines()},
		{func(h *hyper) *float64 { return &h.grain }, grains()},
	} {
		start := e.hyper
		for _, v := range part.values {
			h := start
			if *part.of(&h) = v; h != start {
				try(h)
			}
		}
	}
	e.tabulate()
}

// mostWeighed is the most readings of which the hyper figures are asked.
const mostWeighed = 200

// solved returns the factor of the readings' covariance under h, the solved
// weights and the logarithm of the likelihood but for a constant, −Inf where
// there is none.
func (e *estimate) solved(h hyper) (mat.Cholesky, []float64, float64) {
	n := len(e.seen)
	k := mat.NewSymDense(3*n, nil)
	y := mat.NewVecDense(3*n, nil)
	for i, a := range e.seen {
		for c := range 3 {
			y.SetVec(3*i+c, a.residual[c])
			for j := i; j < n; j++ {
				k.SetSym(3*i+c, 3*j+c, h.covariance(a.at[c], e.seen[j].at[c], e.top))
			}
		}
		for c := range 3 {
			for d := c; d < 3; d++ {
				k.SetSym(3*i+c, 3*i+d, k.At(3*i+c, 3*i+d)+(a.noise[c][d]+a.noise[d][c])/2)
			}
			// A trace keeps the factor defined for an instrument that states
			// no noise.
			k.SetSym(3*i+c, 3*i+c, k.At(3*i+c, 3*i+c)*(1+1e-9)+1e-14)
		}
	}
	var f mat.Cholesky
	if !f.Factorize(k) {
		return f, nil, math.Inf(-1)
	}
	var x mat.VecDense
	if err := f.SolveVecTo(&x, y); linear.Unusable(err) {
		return f, nil, math.Inf(-1)
	}
	return f, x.RawVector().Data, -mat.Dot(y, &x)/2 - f.LogDet()/2
}

// posterior returns the covariance of the amounts at a device signal on the
// greys' way, all readings considered.
func (e *estimate) posterior(d colorimetry.RGB) colorimetry.Matrix {
	return e.posteriors([]colorimetry.RGB{d})[0]
}

// posteriors is posterior for many device signals, each by itself.
func (e *estimate) posteriors(d []colorimetry.RGB) []colorimetry.Matrix {
	out := make([]colorimetry.Matrix, len(d))
	seen := e.seen[:len(e.weight)/3]
	k := mat.NewDense(max(3*len(seen), 1), 3*len(d), nil)
	for n, s := range d {
		at := e.places(s)
		for c := range 3 {
			out[n][c][c] = e.hyper.covariance(at[c], at[c], e.top)
			for i, o := range seen {
				k.Set(3*i+c, 3*n+c, e.hyper.covariance(at[c], o.at[c], e.top))
			}
		}
	}
	if len(seen) == 0 {
		return out
	}
	var x mat.Dense
	if linear.Unusable(e.factor.SolveTo(&x, k)) {
		return out
	}
	for n := range d {
		for i := range 3 {
			for j := range 3 {
				out[n][i][j] -= mat.Dot(k.ColView(3*n+i), x.ColView(3*n+j))
			}
		}
	}
	return out
}

// uncertainty returns the standard uncertainty of the luminance at a device
// signal on the greys' way, in cd/m².
func (e *estimate) uncertainty(d colorimetry.RGB) float64 {
	return math.Sqrt(math.Max(e.space.carry(e.posterior(d))[1][1], 0))
}
