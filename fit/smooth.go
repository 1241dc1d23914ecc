package fit

import "math"

// The smoother holds the penalties of the additive model: the roughness of the
// three splines, and rows that stop a curve from falling.
//
// Roughness is weighted zone by zone. A display's tone may bend sharply in the
// dark (a black that the correction curves hand over to) and be very smooth
// above; one weight for the whole curve would either blur the bend or let noise
// into the bright part.
type smoother struct {
	shapes  [3]shape
	weights []float64 // of channel 0's zones, then channel 1's, channel 2's
	rough   []row     // of all channels, in order
	rising  []row     // changes of a curve between neighbouring places
}

const (
	zonesPerChannel = 6
	// Bounds of the smoothing weights: a second difference of 0.3 of the light
	// at one end, none that 16 bits could show at the other.
	leastWeight, mostWeight = 10.0, 1e11
	// expectedWeight expects second differences around 0.0006, the wiggles of a
	// display whose tones are smooth, and counts as expectedFreedom readings of
	// them: curves that noise hides are not taken for straight.
	expectedWeight, expectedFreedom = 3e6, 0.2
	// startWeight expects second differences around 0.03: the curves first
	// follow the readings closely, so that what they leave over is noise and
	// not a bend that was never tried.
	startWeight = 1e3
	// startRounds are taken before anything is learnt from what is left over.
	startRounds = 4
	// riseSteps is the number of places at which a curve is watched.
	riseSteps = 4 * intervals
	// riseWeight lets a fall of a few millionths of the light stand, which the
	// sampled curve then levels.
	riseWeight = 1e10
)

func zoneOf(knot int) int { return min(knot*zonesPerChannel/free, zonesPerChannel-1) }

func newSmoother(shapes [3]shape, weights []float64) *smoother {
	s := &smoother{shapes: shapes}
	if weights == nil {
		weights = make([]float64, 3*zonesPerChannel)
		for i := range weights {
			weights[i] = startWeight
		}
	}
	s.weights = append([]float64(nil), weights...)
	for c := range 3 {
		s.rough = append(s.rough, roughness(atCurves+perChannel*c)...)
		for k := range riseSteps {
			a, ba := shapes[c].sample(unwarp(float64(k) / riseSteps))
			b, bb := shapes[c].sample(unwarp(float64(k+1) / riseSteps))
			r := row{target: a - b, weight: riseWeight}
			for j := range bb.n {
				r.add(atCurves+perChannel*c+bb.index[j], bb.value[j])
			}
			for j := range ba.n {
				r.add(atCurves+perChannel*c+ba.index[j], -ba.value[j])
			}
			s.rising = append(s.rising, r)
		}
	}
	return s
}

// add adds v to the coefficient of parameter i.
func (r *row) add(i int, v float64) {
	for k, j := range r.index {
		if i == j {
			r.coef[k] += v
			return
		}
	}
	r.index, r.coef = append(r.index, i), append(r.coef, v)
}

// apply hands the problem the penalties with the weights in force.
func (s *smoother) apply(p *problem) {
	p.rows = p.rows[:0]
	for i := range s.rough {
		r := s.rough[i]
		r.weight = s.weights[i/free*zonesPerChannel+zoneOf(i%free)]
		p.rows = append(p.rows, r)
	}
	for c := range 3 {
		at := atCurves + perChannel*c + free
		p.rows = append(p.rows,
			row{index: []int{at}, coef: []float64{1}, weight: pullGamma},
			row{index: []int{at + 1}, coef: []float64{1}, weight: pullOffset})
	}
}

// run steps until nothing moves, renewing robust weights and, where learn is
// set, the smoothing weights on the way; then it steps on with curves that must
// not fall. What noise makes fall in the dark is not asked how smooth the curve
// should be.
func (s *smoother) run(p *problem, learn bool) error {
	const rounds = 60
	quiet := 0
	for round := 0; round < rounds && quiet < 2; round++ {
		gain, err := p.step()
		if err != nil {
			return err
		}
		if learn && round < startRounds {
			continue
		}
		var moved float64
		if learn {
			if moved, err = s.learn(p); err != nil {
				return err
			}
			s.apply(p)
		}
		p.reweigh()
		if quiet++; gain > 1e-4 || moved > 0.02 {
			quiet = 0
		}
	}
	p.sided = s.rising
	for range rounds {
		if gain, err := p.step(); err != nil {
			return err
		} else if gain < 1e-7 {
			break
		}
	}
	return nil
}

// learn renews the smoothing weights by one step towards the greatest
// restricted likelihood and returns by how much the freedom that they leave
// moved, as a share of all there is.
func (s *smoother) learn(p *problem) (float64, error) {
	cov, err := p.covariance()
	if err != nil {
		return 0, err
	}
	n := len(s.weights)
	freedom, square, after := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range s.rough {
		r := &s.rough[i]
		z := i/free*zonesPerChannel + zoneOf(i%free)
		lev := s.weights[z] * r.leverage(cov)
		freedom[z] += math.Max(1-lev, 0)
		v := r.value(p.theta)
		square[z] += v * v
		after[z]++
	}
	var moved, total float64
	for z := range s.weights {
		w := (freedom[z] + expectedFreedom) / (square[z] + expectedFreedom/expectedWeight)
		w = math.Min(math.Max(w, s.weights[z]/30), s.weights[z]*30)
		w = math.Min(math.Max(w, leastWeight), mostWeight)
		moved += math.Abs(math.Log(w/s.weights[z])) * freedom[z]
		total += freedom[z]
		s.weights[z] = w
	}
	return moved / math.Max(total, 1), nil
}
