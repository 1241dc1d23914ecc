package fit

import (
	"math"

	"example.org/primaries/fit/internal/linear"

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
	seen   *mat.Dense   // what the spots have to do with the places, a column each, in units of lower
	alpha  []float64    // weights of the places in a value
	web    *web
}

// Parameters of a process as they are learnt, all logarithms: the lengths, then
// the standard deviations of the terms and of the misfit.
const (
	atLength = 0
	atOrder  = atLength + lengths
	atMisfit = atOrder + terms
	learnt   = atMisfit + 1
)

// belief is what is expected of the parameters of a process where readings say
// little: each its value, within a factor of e to the power of its spread, and
// nothing else where that is 0.
type belief struct{ value, spread [learnt]float64 }

// expect returns what is expected before anything is known: functions that bend
// once or twice along a channel, next to nothing of any term, and little misfit.
func expect() belief {
	const size, misfit = 0.001, 0.0005
	var b belief
	for i := range lengths {
		b.spread[atLength+i] = 0.7
	}
	for i := range terms {
		b.value[atOrder+i], b.spread[atOrder+i] = math.Log(size), 2.5
	}
	b.value[atOrder+ofThree] = math.Log(size / 2)
	b.value[atMisfit], b.spread[atMisfit] = math.Log(misfit), 1
	return b
}

// alike returns what is expected of another coordinate when the parameters theta
// of the luminance are known, of which it has that share: whatever channels do to
// each other, they do to all three, and as smoothly. What a channel does alone is
// another matter: its luminance is the curve's, whatever its colour does.
func alike(theta []float64, share float64) belief {
	b := expect()
	for i := range lengths {
		b.value[atLength+i], b.spread[atLength+i] = theta[atLength+i], 0
	}
	for i := ofOne + 1; i < terms; i++ {
		b.value[atOrder+i] = math.Max(theta[atOrder+i]+math.Log(share), b.value[atOrder+i]-2)
		b.spread[atOrder+i] = 1
	}
	return b
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

// web is the factors of a kernel between places, row by row below the diagonal,
// and between each place and each spot: the same for all processes of a form and
// its lengths.
type web struct {
	among  [][features]float64
	across [][features]float64
}

func newWeb(k *kernel, places, spots []spot) *web {
	w := &web{across: make([][features]float64, 0, len(places)*len(spots))}
	for i := range places {
		for j := range i + 1 {
			w.among = append(w.among, k.factors(&places[i], &places[j]))
		}
		for j := range spots {
			w.across = append(w.across, k.factors(&places[i], &spots[j]))
		}
	}
	return w
}

// newProcess returns the process that is described at places and may be seen at
// spots. It takes the factors from like where that has the same lengths.
func newProcess(f *form, places, spots []spot, theta []float64, like *process) (*process, error) {
	p := &process{places: places, theta: theta}
	p.set(f, theta)
	if like != nil && like.length == p.length && like.form == f {
		p.web = like.web
	} else {
		p.web = newWeb(&p.kernel, places, spots)
	}
	m, n := len(places), len(spots)
	c := mat.NewSymDense(m, nil)
	next := 0
	for i := range m {
		for j := range i + 1 {
			v := p.sum(&p.web.among[next])
			if i == j {
				v = v*(1+jitter) + 1e-300
			}
			c.SetSym(i, j, v)
			next++
		}
	}
	if !p.lower.Factorize(c) {
		return nil, errUnsolved
	}
	p.seen = mat.NewDense(m, n, nil)
	for i := range m {
		row := p.seen.RawRowView(i)
		for j := range row {
			row[j] = p.sum(&p.web.across[i*n+j])
		}
	}
	p.down(p.seen)
	return p, nil
}

// down solves with lower in place.
func (p *process) down(v *mat.Dense) {
	var l mat.TriDense
	p.lower.LTo(&l)
	_ = l.SolveTo(v, false, v) // a bad condition costs digits only
}

// settle takes what the places' values are expected to be, in units of lower.
func (p *process) settle(x []float64) error {
	var l mat.TriDense
	p.lower.LTo(&l)
	v := mat.NewVecDense(len(x), append([]float64(nil), x...))
	if err := v.SolveVec(l.T(), v); linear.Unusable(err) {
		return errUnsolved
	}
	p.alpha = v.RawVector().Data
	return nil
}

// units returns what the values at the spots have to do with the places', in
// units of lower, a column each.
func (p *process) units(spots []spot) *mat.Dense {
	out := mat.NewDense(len(p.places), len(spots), nil)
	for j := range p.places {
		row := out.RawRowView(j)
		for i := range spots {
			row[i] = p.at(&p.places[j], &spots[i])
		}
	}
	p.down(out)
	return out
}

// misfitAt returns the variance at u of what no smooth function explains.
func (p *process) misfitAt(u *spot) float64 { return p.misfit * u.spread * u.spread }

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

// begin returns parameters to begin with, of functions of that size.
func (b belief) begin(size float64) []float64 {
	theta := b.value
	for i := range terms {
		theta[atOrder+i] = math.Max(theta[atOrder+i], math.Log(size))
	}
	return theta[:]
}

// excess returns the root mean square of what the values have more than noise.
func excess(values, noise []float64) float64 {
	var sum, count float64
	for i, v := range values {
		sum += v * v / noise[i]
		count += 1 / noise[i]
	}
	n := float64(len(values))
	return math.Sqrt(math.Max(sum-n, 0) / count)
}

// most returns the root mean square of what the values have more than noise, as
// excess does or with all alike, whichever is more: what shows where all noise is
// large, in bright colours, counts as much as that in the dark.
func most(values, noise []float64) float64 {
	var sum float64
	for i, v := range values {
		sum += v*v - noise[i]
	}
	return math.Max(excess(values, noise), math.Sqrt(math.Max(sum, 0)/float64(len(values))))
}

// learn returns the parameters of the greatest likelihood, tempered by what is
// expected. The search begins at each of starts in turn.
func (b belief) learn(f *form, spots []spot, values, noise []float64, starts ...[]float64) []float64 {
	l := newLikelihood(f, spots, values, noise, b)
	var best []float64
	least := math.Inf(1)
	for _, start := range starts {
		theta := minimise(start, learnSteps, func(theta, slope []float64) float64 {
			if slope != nil {
				l.slope(slope, theta)
			}
			return l.at(theta)
		})
		if v := l.at(theta); best == nil || v < least {
			best, least = theta, v
		}
	}
	return best
}

// starts returns where to look for parameters, size being the excess: functions of
// that size and, where bright colours show much more, larger ones too.
func (b belief) starts(size float64, values, noise []float64) [][]float64 {
	starts := [][]float64{b.begin(size)}
	if large := most(values, noise); large > 3*math.Max(size, least) {
		starts = append(starts, b.begin(large))
	}
	return starts
}
