package fit

import (
	"math"
	"slices"
)

// Where channels disturb each other, the readings of one channel alone decide its
// curve: nothing else says how much light it gives by itself. A wild one among them
// bends the curve, and what it bends is then blamed on what the channels do to each
// other. So the readings of each ramp are looked at first, each beside a cubic
// through its neighbours, and a model without those that stand out is held against
// one with them.
const (
	// standsOut is by how many standard deviations, of noise and of how uneven the
	// ramp is, a reading stands out.
	standsOut = 3
	// mostSuspect is the share of a ramp, one in so many, that is looked into.
	mostSuspect = 8
	// persuades is by how much the logarithm of the likelihood of all other readings
	// must rise for the suspects to be left out.
	persuades = 6
)

// rung is a reading of one channel alone.
type rung struct {
	of     int // observation
	signal float64
	level  float64 // of its light
	spread float64 // standard deviation of that
}

// suspects returns the observations of one channel alone that stand out from its
// ramp.
func (power *PowerModel) suspects(obs []observation) []int {
	var out []int
	for c := range 3 {
		ramp := power.ramp(obs, c)
		for left := len(ramp) / mostSuspect; left > 0; left-- {
			k := worst(ramp)
			if k < 0 {
				break
			}
			out = append(out, ramp[k].of)
			ramp = slices.Delete(ramp, k, k+1)
		}
	}
	slices.Sort(out)
	return out
}

// ramp returns the readings of channel c alone by rising signal, black among them.
func (power *PowerModel) ramp(obs []observation, c int) []rung {
	var out []rung
	black := triple(power.black)
	primary := power.primaries.Column(c)
	for i := range obs {
		s := obs[i].signal
		s[c] = 0
		if s != [3]float64{} {
			continue
		}
		rest := obs[i].xyz
		for j := range rest {
			rest[j] -= black[j]
		}
		// How much of the primary the reading holds, by least squares.
		p, x := obs[i].whitened(triple(primary)), obs[i].whitened(rest)
		size := dot(p, p)
		if !(size > 0) {
			continue
		}
		light := dot(p, x) / size
		out = append(out, rung{i, obs[i].signal[c], channelLevel.Of(light), channelLevel.Slope(math.Max(light, 0)) / math.Sqrt(size)})
	}
	slices.SortStableFunc(out, func(a, b rung) int {
		switch {
		case a.signal < b.signal:
			return -1
		case a.signal > b.signal:
			return 1
		}
		return 0
	})
	return out
}

// worst returns the rung that stands out most, −1 where none does.
func worst(ramp []rung) int {
	if len(ramp) < 6 {
		return -1
	}
	far := make([]float64, len(ramp))
	for k := range ramp {
		far[k] = apartFrom(ramp, k)
	}
	sorted := slices.Clone(far)
	slices.Sort(sorted)
	usual := math.Max(1, sorted[len(sorted)/2]/0.6745)
	k := slices.Index(far, sorted[len(sorted)-1])
	if far[k] < standsOut*usual {
		return -1
	}
	return k
}

// apartFrom returns how far rung k lies from what its neighbours say, in standard
// deviations of that. How wrong a cubic may be is told by what a parabola says in
// its place.
func apartFrom(ramp []rung, k int) float64 {
	near := nearest(ramp, k, 4)
	cubic, spread := through(ramp, near, ramp[k].signal)
	parabola, _ := through(ramp, near[:3], ramp[k].signal)
	variance := ramp[k].spread*ramp[k].spread + spread*spread + (cubic-parabola)*(cubic-parabola)/4
	return math.Abs(ramp[k].level-cubic) / math.Sqrt(variance)
}

// nearest returns the n rungs of other signals nearest to k, one of each signal.
func nearest(ramp []rung, k, n int) []int {
	var out []int
	lo, hi := k-1, k+1
	seen := map[float64]bool{ramp[k].signal: true}
	for len(out) < n && (lo >= 0 || hi < len(ramp)) {
		next := hi
		if hi >= len(ramp) || lo >= 0 && ramp[k].signal-ramp[lo].signal < ramp[hi].signal-ramp[k].signal {
			next = lo
		}
		if next == lo {
			lo--
		} else {
			hi++
		}
		if !seen[ramp[next].signal] {
			seen[ramp[next].signal] = true
			out = append(out, next)
		}
	}
	return out
}

// through returns the value at x of the polynomial through rungs, and its standard
// deviation.
func through(ramp []rung, at []int, x float64) (value, spread float64) {
	for _, i := range at {
		w := 1.0
		for _, j := range at {
			if j != i {
				w *= (x - ramp[j].signal) / (ramp[i].signal - ramp[j].signal)
			}
		}
		value += w * ramp[i].level
		spread += w * w * ramp[i].spread * ramp[i].spread
	}
	return value, math.Sqrt(spread)
}

// likely returns the logarithm of the likelihood of the readings but those of
// list, each beside what all others say of it.
func (m *ResidualModel) likely(list []int) float64 {
	var sum float64
	for i, a := range m.apart {
		if slices.Contains(list, i) {
			continue
		}
		v := a.spread.Add(m.stated[i])
		inv, err := v.Inverse()
		det := v.Det()
		if err != nil || !(det > 0) {
			continue
		}
		sum -= (math.Min(dot(a.rest, times(inv, a.rest)), calibrationCap) + math.Log(det)) / 2
	}
	return sum
}

// fit fits a form over the ground, which loses the readings that the others
// contradict.
func (g *ground) fit(obs []observation, f *form) (*ResidualModel, error) {
	m, err := fitResidual(obs, g.under, f, nil)
	if err != nil {
		return nil, err
	}
	var list []int
	if g.loose {
		list = g.power.suspects(obs)
	}
	if len(list) > 0 {
		other := *g
		if other.leave(obs, list) == nil {
			n, err := fitResidual(obs, other.under, f, nil)
			if err == nil && n.likely(list) > m.likely(list)+persuades {
				*g, m = other, n
			}
		}
	}
	if out := union(g.left, m.outliers); len(m.outliers) > 0 && len(out) > len(g.left) {
		if err := g.leave(obs, out); err != nil {
			return nil, err
		}
		return fitResidual(obs, g.under, f, nil)
	}
	return m, nil
}

// union returns the numbers of both lists, each once, rising.
func union(a, b []int) []int {
	out := append(slices.Clone(a), b...)
	slices.Sort(out)
	return slices.Compact(out)
}
