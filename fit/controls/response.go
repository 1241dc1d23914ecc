package controls

import (
	"errors"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/internal/linear"
	"gonum.org/v1/gonum/mat"
)

// setting is the steps of brightness and of the three gains, counted from
// those in force when guidance began. What a display does not have stays 0.
type setting [4]int

// Places in a setting.
const (
	brightness = 0
	firstGain  = 1
)

// response is what is known of how the controls act on the white: the
// logarithm of each channel's amount is a constant plus a function of its
// gain, plus a function of brightness that all three share. Each function
// begins at 0 and goes up by an uncertain amount a step, which itself wanders
// from step to step; all of it is Gaussian, so that what every reading says of
// every other setting is a linear computation (Rasmussen & Williams, Gaussian
// Processes for Machine Learning, 2006, chapter 2).
//
// Between two settings that were read it is nearly a straight line, beyond
// them the mean slope, and its uncertainty grows with the distance.
type response struct {
	seen   []sight
	uneven float64 // by what the assumed unevenness of steps is multiplied
	factor mat.Cholesky
	weight []float64
}

// sight is one reading in the logarithm of the channels' amounts.
type sight struct {
	at     setting
	amount [3]float64
	noise  colorimetry.Matrix
}

// What is assumed of controls before one was moved, a step, as shares of the
// light: invented, and wide enough for the displays that are around. A step of
// brightness is about 1 % of the light, one of gain about 0.7 %; steps of one
// control differ among themselves by about a third of that.
const (
	meanBrightness, sdBrightness, wanderBrightness = 0.010, 0.010, 0.003
	meanGain, sdGain, wanderGain                   = 0.007, 0.007, 0.002
	// sdStart is the uncertainty of the amounts before the first reading.
	sdStart = 1.0
)

// unevens are the multiples of the wander between which the readings decide by
// their likelihood: steps that are alike, and menus with more steps than the
// electronics behind them, which do nothing at most steps and much at some.
func unevens() []float64 { return []float64{1, 3, 8} }

func mean(s setting, c int) float64 {
	return meanBrightness*float64(s[brightness]) + meanGain*float64(s[firstGain+c])
}

// covariance returns the prior covariance of the logarithms of channel c at s
// and of channel d at t.
func covariance(s setting, c int, t setting, d int, uneven float64) float64 {
	k := climb(s[brightness], t[brightness], sdBrightness, uneven*wanderBrightness)
	if c == d {
		k += sdStart*sdStart + climb(s[firstGain+c], t[firstGain+c], sdGain, uneven*wanderGain)
	}
	return k
}

// climb is the covariance of a function that climbs by a slope of standard
// deviation sd a step, each step differing by wander.
func climb(a, b int, sd, wander float64) float64 {
	k := sd * sd * float64(a) * float64(b)
	if (a > 0) == (b > 0) {
		k += wander * wander * math.Min(math.Abs(float64(a)), math.Abs(float64(b)))
	}
	return k
}

// add takes a reading in.
func (r *response) add(s sight) error {
	r.seen = append(r.seen, s)
	best := math.Inf(-1)
	for _, u := range unevens() {
		f, w, l := r.solved(u)
		if l > best {
			best, r.uneven, r.factor, r.weight = l, u, f, w
		}
	}
	if math.IsInf(best, -1) {
		return errors.New("controls: the readings of white contradict each other beyond use; measure again")
	}
	return nil
}

// solved returns the factor of the readings' covariance, the solved weights and
// the logarithm of the likelihood but for a constant, −Inf where there is none.
func (r *response) solved(uneven float64) (mat.Cholesky, []float64, float64) {
	n := 3 * len(r.seen)
	k, y := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i, a := range r.seen {
		for c := range 3 {
			y.SetVec(3*i+c, a.amount[c]-mean(a.at, c))
			for j, b := range r.seen {
				for d := range 3 {
					p, q := 3*i+c, 3*j+d
					if p > q {
						continue
					}
					v := covariance(a.at, c, b.at, d, uneven)
					if i == j {
						v += (a.noise[c][d] + a.noise[d][c]) / 2
					}
					if p == q {
						// An instrument that states no noise has some.
						v += 1e-8
					}
					k.SetSym(p, q, v)
				}
			}
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

// at returns what is expected of the logarithms of the amounts at s.
func (r *response) at(s setting) [3]float64 {
	var v [3]float64
	for c := range 3 {
		v[c] = mean(s, c)
		for i, o := range r.seen {
			for d := range 3 {
				v[c] += covariance(s, c, o.at, d, r.uneven) * r.weight[3*i+d]
			}
		}
	}
	return v
}

// combined returns the variance of a sum over settings s[i] and channels c of
// w[i][c] times the logarithm of the amount.
func (r *response) combined(s []setting, w [][3]float64) float64 {
	n := 3 * len(r.seen)
	cross := mat.NewVecDense(n, nil)
	var prior float64
	for i, a := range s {
		for c := range 3 {
			if w[i][c] == 0 {
				continue
			}
			for j, b := range s {
				for d := range 3 {
					prior += w[i][c] * w[j][d] * covariance(a, c, b, d, r.uneven)
				}
			}
			for j, o := range r.seen {
				for d := range 3 {
					p := 3*j + d
					cross.SetVec(p, cross.AtVec(p)+w[i][c]*covariance(a, c, o.at, d, r.uneven))
				}
			}
		}
	}
	var x mat.VecDense
	if linear.Unusable(r.factor.SolveVecTo(&x, cross)) {
		return prior
	}
	return math.Max(prior-mat.Dot(cross, &x), 0)
}
