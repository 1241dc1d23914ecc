package measure

import (
	"cmp"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/stat/distuv"
)

// Suspect is a reading that lies further from what its neighbours predict than
// its noise and their uncertainty allow.
type Suspect struct {
	At       int     // position among the readings given
	Distance float64 // from the prediction, in standard deviations of both
	Expected colorimetry.XYZ
}

const (
	suspectRate   = 1e-5 // of good readings, were all deviations normal
	leastSites    = 16   // signals below which nothing can be predicted
	nearSites     = 24   // neighbours that a prediction rests on
	trialSites    = 100  // that the smoothness is judged by
	suspectRounds = 4
	medianChi3    = 2.366 // median of chi-square with three degrees of freedom
)

// Suspects returns the readings that their neighbours in signal space do not
// believe, the most suspect first. A reading without at least 16 other signals
// around it is never suspected.
//
// The light is taken apart into channels, each brought to a scale on which a
// display with a power of 2.2 is a straight line; there the readings of the 24
// nearest signals, and repeats of the reading's own, predict it as a Gaussian
// process over a plane, whose smoothness is the likeliest for these readings.
// So the prediction has an uncertainty of its own: where neighbours are far or
// the display behaves oddly, little is suspected. Drift must have been corrected.
//
// Measured on panels with the noise of a filter colorimeter (the package's
// tests): fewer than 1 in 1,000 good readings is suspected, of additive panels
// and of those whose channels interact. Of single integrations that are off by
// 5 %, at ten times their noise, 9 in 10 are found among 600 scattered patches, a
// quarter where the tone has corners, one or two in 10 among 175 patches: what
// neighbours cannot tell, Suspects does not claim.
//
// Source: Rasmussen and Williams, Gaussian Processes for Machine Learning
// (2006), 2.2 and 5.4.2, for predictions from the others.
func Suspects(readings []Reading) []Suspect {
	if f := newField(readings); f != nil {
		return f.suspects()
	}
	return nil
}

// suspects finds them and leaves them out of what predicts.
func (f *field) suspects() []Suspect {
	limit := distuv.ChiSquared{K: 3}.Quantile(1 - suspectRate)
	var distances []float64
	for range suspectRounds {
		distances = f.distances()
		changed := false
		for i, d := range distances {
			if out := d > limit; out != f.out[i] {
				f.out[i], changed = out, true
			}
		}
		if !changed {
			break
		}
		f.gather()
	}
	var list []Suspect
	for i, d := range distances {
		if f.out[i] {
			expected, _, _ := f.expect(i)
			list = append(list, Suspect{At: i, Distance: math.Sqrt(d), Expected: f.lights.Apply(colour(expected))})
		}
	}
	slices.SortStableFunc(list, func(a, b Suspect) int { return cmp.Compare(b.Distance, a.Distance) })
	return list
}

// field holds readings as channels on a straightened scale, by signal.
type field struct {
	lights, inverse colorimetry.Matrix
	black, toe      [3]float64 // where the scale of a channel begins, and how far it is even
	amount          [][3]float64
	cov             []colorimetry.Matrix // of amount
	value, noise    [][3]float64         // on the scale; noise is the variance
	out             []bool               // left out of predictions
	site            []int                // of a reading
	sites           []site
	near            [][]int // of a site: the nearest others
	guesses         []guess // of a reading
	sigma           [3]float64
	length          float64
}

// site is a signal with what its readings say together.
type site struct {
	signal  colorimetry.RGB
	members []int
	value   [3]float64
	noise   [3]float64 // variance
	ok      bool       // a reading is left that counts
}

// guess is what the others make of a reading, kept while they stay the same.
type guess struct {
	value, variance [3]float64
	ok, fresh       bool
}

func newField(readings []Reading) *field {
	f := &field{lights: channelLights(readings), out: make([]bool, len(readings))}
	var err error
	if f.inverse, err = f.lights.Inverse(); err != nil {
		return nil
	}
	f.setToe(readings)
	number := map[colorimetry.RGB]int{}
	for i, r := range readings {
		s := r.Patch.Signal
		n, ok := number[s]
		if !ok {
			n = len(f.sites)
			number[s] = n
			f.sites = append(f.sites, site{signal: s})
		}
		f.sites[n].members = append(f.sites[n].members, i)
		f.site = append(f.site, n)
		f.add(r)
	}
	if len(f.sites) <= leastSites {
		return nil
	}
	f.guesses = make([]guess, len(readings))
	f.findNear()
	f.gather()
	f.smoothness()
	return f
}

// setToe finds the darkest light of each channel, and how far above it a reading
// can be told from it by the least noise that one has: there the scale begins to
// bend.
func (f *field) setToe(readings []Reading) {
	f.black, f.toe = [3]float64{1, 1, 1}, [3]float64{1, 1, 1}
	for _, r := range readings {
		q := vector(f.inverse.Apply(r.XYZ))
		c := f.inverse.Mul(r.Covariance).Mul(f.inverse.Transpose())
		for k := range f.toe {
			deviation := math.Sqrt(math.Max(c[k][k], 0))
			f.toe[k] = math.Min(f.toe[k], math.Max(4*deviation, 1e-4))
			f.black[k] = math.Min(f.black[k], q[k]+2*deviation)
		}
	}
}

// bend brings an amount of channel k to the straightened scale, unbend back.
func (f *field) bend(k int, q float64) float64 {
	q -= f.black[k]
	return math.Copysign(math.Pow(math.Abs(q)+f.toe[k], 1/2.2)-math.Pow(f.toe[k], 1/2.2), q)
}

func (f *field) unbend(k int, v float64) float64 {
	q := math.Pow(math.Abs(v)+math.Pow(f.toe[k], 1/2.2), 2.2) - f.toe[k]
	return f.black[k] + math.Copysign(q, v)
}

// add brings a reading to the scale of the field. Where noise is wider than the
// scale is even, it counts as wide as it becomes there.
func (f *field) add(r Reading) {
	q := vector(f.inverse.Apply(r.XYZ))
	cov := f.inverse.Mul(r.Covariance).Mul(f.inverse.Transpose())
	var value, noise [3]float64
	for k := range value {
		cov[k][k] += 1e-14 // readings without noise can be compared, too
		d := math.Sqrt(cov[k][k])
		value[k] = f.bend(k, q[k])
		wide := (f.bend(k, q[k]+d) - f.bend(k, q[k]-d)) / 2
		noise[k] = wide * wide
	}
	f.amount, f.cov = append(f.amount, q), append(f.cov, cov)
	f.value, f.noise = append(f.value, value), append(f.noise, noise)
}

// gather makes each site's value from its readings that count, and forgets the
// guesses that rested on what has changed.
func (f *field) gather() {
	changed := make([]bool, len(f.sites))
	for n := range f.sites {
		s := &f.sites[n]
		value, noise, ok := f.together(s.members, -1)
		changed[n] = value != s.value || noise != s.noise || ok != s.ok
		s.value, s.noise, s.ok = value, noise, ok
	}
	for n, near := range f.near {
		stale := changed[n]
		for _, m := range near {
			stale = stale || changed[m]
		}
		if stale {
			for _, i := range f.sites[n].members {
				f.guesses[i].fresh = false
			}
		}
	}
}

// together returns the weighted mean of readings but one, and its variance.
func (f *field) together(members []int, but int) (value, noise [3]float64, ok bool) {
	var weight [3]float64
	for _, i := range members {
		if f.out[i] || i == but {
			continue
		}
		ok = true
		for k := range value {
			w := 1 / f.noise[i][k]
			value[k] += w * f.value[i][k]
			weight[k] += w
		}
	}
	if ok {
		for k := range value {
			value[k] /= weight[k]
			noise[k] = 1 / weight[k]
		}
	}
	return value, noise, ok
}

// findNear finds, for each site, twice as many neighbours as are needed, so that
// enough are left where some do not count.
func (f *field) findNear() {
	type other struct {
		n int
		d float64
	}
	f.near = make([][]int, len(f.sites))
	list := make([]other, 0, len(f.sites))
	for n, s := range f.sites {
		list = list[:0]
		for m, t := range f.sites {
			if m != n {
				list = append(list, other{m, apart(s.signal, t.signal)})
			}
		}
		keep := min(2*nearSites, len(list))
		selectNearest(list, keep, func(o other) float64 { return o.d })
		for _, o := range list[:keep] {
			f.near[n] = append(f.near[n], o.n)
		}
	}
}

// selectNearest brings the k smallest to the front, in order.
func selectNearest[T any](list []T, k int, key func(T) float64) {
	lo, hi := 0, len(list)-1
	for lo < hi { // Hoare's selection, then a sort of what was selected
		pivot := key(list[(lo+hi)/2])
		i, j := lo, hi
		for i <= j {
			for key(list[i]) < pivot {
				i++
			}
			for key(list[j]) > pivot {
				j--
			}
			if i <= j {
				list[i], list[j] = list[j], list[i]
				i, j = i+1, j-1
			}
		}
		if k-1 <= j {
			hi = j
		} else if k-1 >= i {
			lo = i
		} else {
			break
		}
	}
	slices.SortStableFunc(list[:k], func(a, b T) int {
		switch x, y := key(a), key(b); {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
}

// apart returns the squared distance of two signals.
func apart(a, b colorimetry.RGB) float64 {
	r, g, c := a.R-b.R, a.G-b.G, a.B-b.B
	return r*r + g*g + c*c
}

// distances returns the squared distance of each reading from what the others
// predict, in units of its noise and the prediction's uncertainty; where the
// neighbours are as far from their own predictions, in units of that.
func (f *field) distances() []float64 {
	raw := make([]float64, len(f.value))
	for i := range raw {
		raw[i] = f.distance(i, f.amount[i], f.cov[i])
	}
	all := median(slices.Clone(raw)) / medianChi3
	out := make([]float64, len(raw))
	var around []float64
	for i, d := range raw {
		around = around[:0]
		for _, n := range f.near[f.site[i]] {
			if len(around) >= nearSites/2 {
				break
			}
			for _, m := range f.sites[n].members[:1] {
				if !f.out[m] {
					around = append(around, raw[m])
				}
			}
		}
		scale := math.Max(1, all)
		if len(around) > 3 {
			scale = math.Max(scale, median(around)/medianChi3)
		}
		out[i] = d / scale
	}
	return out
}

// expectations returns what the others make of each reading, in its place; not
// of those that do not count.
func (f *field) expectations() []expectation {
	out := make([]expectation, len(f.value))
	for i := range out {
		amount, variance, ok := f.expect(i)
		if !ok || f.out[i] {
			continue
		}
		spread := f.lights.Mul(colorimetry.Diagonal(variance[0], variance[1], variance[2])).Mul(f.lights.Transpose())
		out[i] = expectation{ok: true, xyz: f.lights.Apply(colour(amount)), cov: spread}
	}
	return out
}

// distance is that of an amount in the place of reading i.
func (f *field) distance(i int, amount [3]float64, cov colorimetry.Matrix) float64 {
	expected, variance, ok := f.expect(i)
	if !ok {
		return 0
	}
	for k := range 3 {
		cov[k][k] += variance[k]
	}
	inverse, err := cov.Inverse()
	if err != nil {
		return 0
	}
	return distance2(colour(amount).Sub(colour(expected)), inverse)
}

// expect returns the amounts that the others make of reading i, and their
// variances.
func (f *field) expect(i int) (amount, variance [3]float64, ok bool) {
	value, v, ok := f.predict(i)
	for k := range amount {
		d := math.Sqrt(v[k])
		amount[k] = f.unbend(k, value[k])
		wide := (f.unbend(k, value[k]+d) - f.unbend(k, value[k]-d)) / 2
		// Around black no smooth scale is sure: a leak, a raised black and the
		// noise's own floor all bend it by about the toe.
		variance[k] = wide*wide + 4*f.toe[k]*f.toe[k]
	}
	return amount, variance, ok
}
