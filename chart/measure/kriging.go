package measure

import (
	"math"

	"example.org/primaries/colorimetry"
)

const (
	// planeVariance is that of the plane's height and slopes on the straightened
	// scale, where signals lead from 0 to about 1: nothing is known of it.
	planeVariance = 10
	// tooFar is a squared distance from the prediction beyond which a reading has
	// no say on smoothness: it may be one of those that are looked for.
	tooFar = 16
)

// support is the neighbours that a prediction at a signal rests on: values and
// variances of each channel. prepare makes what all channels share.
type support struct {
	at      colorimetry.RGB
	signals []colorimetry.RGB
	value   [][3]float64
	noise   [][3]float64
	plane   []float64 // covariance of the plane, lower rows, then that with at
	bumps   []float64 // correlation of what is beside it, likewise
}

// supportOf collects the neighbours of reading i that count, without itself.
func (f *field) supportOf(i int) *support {
	own := f.sites[f.site[i]]
	s := &support{at: own.signal, signals: make([]colorimetry.RGB, 0, nearSites), value: make([][3]float64, 0, nearSites), noise: make([][3]float64, 0, nearSites)}
	add := func(signal colorimetry.RGB, value, noise [3]float64) {
		s.signals, s.value, s.noise = append(s.signals, signal), append(s.value, value), append(s.noise, noise)
	}
	if value, noise, ok := f.together(own.members, i); ok {
		add(own.signal, value, noise)
	}
	for _, n := range f.near[f.site[i]] {
		if t := &f.sites[n]; t.ok && len(s.signals) < nearSites {
			add(t.signal, t.value, t.noise)
		}
	}
	return s
}

// predict returns what the others make of reading i, channel by channel, and
// its variance.
func (f *field) predict(i int) (value, variance [3]float64, ok bool) {
	g := &f.guesses[i]
	if !g.fresh {
		*g = guess{fresh: true}
		if s := f.supportOf(i); len(s.signals) >= leastSites/2 {
			g.ok = true
			s.prepare(f.length)
			work := make([]float64, s.workspace())
			for k := range value {
				g.value[k], g.variance[k] = s.predict(k, f.sigma[k], work)
			}
		}
	}
	return g.value, g.variance, g.ok
}

// prepare fills in covariances for a length.
func (s *support) prepare(length float64) {
	s.plane, s.bumps = s.plane[:0], s.bumps[:0]
	for i := range len(s.signals) + 1 {
		a := s.at
		if i < len(s.signals) {
			a = s.signals[i]
		}
		for j := range min(i+1, len(s.signals)) {
			b := s.signals[j]
			d := math.Sqrt(5*apart(a, b)) / length
			s.plane = append(s.plane, planeVariance*(1+a.R*b.R+a.G*b.G+a.B*b.B))
			s.bumps = append(s.bumps, (1+d+d*d/3)*math.Exp(-d))
		}
	}
}

// workspace is the length of the scratch space of predict.
func (s *support) workspace() int { return len(s.plane) + len(s.signals) }

// predict returns what the support has at its signal for channel k, and the
// variance: that of a Gaussian process, a plane and bumps of the given deviation
// with a Matérn correlation of order 5/2. It works on the lower root of the
// covariance, whose last row is the signal's own.
func (s *support) predict(k int, sigma float64, work []float64) (value, variance float64) {
	n := len(s.signals)
	root, y := work[:len(s.plane)], work[len(s.plane):len(s.plane)+n]
	for i := range n + 1 {
		row := root[i*(i+1)/2:]
		for j := range min(i+1, n) {
			at := i*(i+1)/2 + j
			c := s.plane[at] + sigma*sigma*s.bumps[at]
			other := root[j*(j+1)/2:]
			for m := range j {
				c -= row[m] * other[m]
			}
			if i == j {
				row[j] = math.Sqrt(math.Max(c+s.noise[i][k], 1e-14))
			} else {
				row[j] = c / other[j]
			}
		}
		if i == n {
			break
		}
		b := s.value[i][k]
		for m := range i {
			b -= row[m] * y[m]
		}
		y[i] = b / row[i]
	}
	// Through the root, mean and variance are dot products.
	variance = planeVariance*(1+apart(s.at, colorimetry.RGB{})) + sigma*sigma
	for m, c := range root[n*(n+1)/2:] {
		value += c * y[m]
		variance -= c * c
	}
	return value, math.Max(variance, 0)
}

// smoothness finds the deviation of each channel and the length under which the
// readings predict each other best, by the likelihood of each given the others;
// readings that are far off have no say.
func (f *field) smoothness() {
	var trial []int
	step := max(len(f.value)/trialSites, 1)
	for i := 0; i < len(f.value); i += step {
		trial = append(trial, i)
	}
	supports := make([]*support, len(trial))
	for j, i := range trial {
		supports[j] = f.supportOf(i)
	}
	best := math.Inf(-1)
	work := make([]float64, (nearSites+1)*(nearSites+2))
	for _, length := range []float64{0.25, 0.6, 1.5} {
		var sigma [3]float64
		total := 0.0
		for _, s := range supports {
			s.prepare(length)
		}
		for k := range sigma {
			top := math.Inf(-1)
			for _, v := range []float64{0.002, 0.005, 0.012, 0.03, 0.08} {
				sum := 0.0
				for j, i := range trial {
					value, variance := supports[j].predict(k, v, work)
					variance += f.noise[i][k]
					d := value - f.value[i][k]
					sum -= math.Log(variance) + math.Min(d*d/variance, tooFar)
				}
				if sum > top {
					sigma[k], top = v, sum
				}
			}
			total += top
		}
		if total > best {
			best, f.sigma, f.length = total, sigma, length
		}
	}
}
