package measure

import (
	"math"
	"time"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

const (
	driftKnots     = 24   // most points in time between which gains run straight
	driftGainLog   = 3.0  // what a part of the drift must add to the log likelihood
	driftRounds    = 5    // of fitting and leaving out
	driftSearches  = 2    // of them that look for the sizes anew: what is left out later is little
	driftOutlier   = 1e-4 // share of good anchors taken for outliers
	driftMost      = 0.2  // share of an anchor's readings that may be left out
	noiseDeviation = 3.0  // standard deviations by which noise must exceed its statement
)

// driftFit is a fit under way. The gains less 1 at the knots are u, turned so
// that the first function is what the channels share.
type driftFit struct {
	o        DriftOptions
	readings []Reading
	lights   colorimetry.Matrix
	inverse  colorimetry.Matrix
	from     time.Time
	span     float64
	knots    int
	anchors  []colorimetry.RGB
	points   []driftPoint
	bases    []colorimetry.XYZ    // of the anchors
	effect   []colorimetry.Matrix // of the turned gains on the anchors
	factor   [2]float64           // of the noise: of anchors, of others
	parts    [2]driftPart         // the likeliest sizes
	others   bool                 // there are points that are no anchors

	mean []float64     // of u, then of the anchors' offsets
	cov  *mat.SymDense // likewise; nil without drift
}

// driftPoint is one reading of an anchor, or one of which its neighbours tell
// what it should be.
type driftPoint struct {
	anchor int // the number of anchors for those that are none
	index  int // of the reading
	knot   int
	weight float64 // of the next knot
	xyz    colorimetry.XYZ
	cov    colorimetry.Matrix
	out    bool

	// Of those that are no anchors: what is expected at the run's start, and what
	// turned gains do to it.
	base   colorimetry.XYZ
	effect colorimetry.Matrix
}

// kind tells anchors, 0, from others, 1.
func (f *driftFit) kind(p driftPoint) int {
	if p.anchor < len(f.anchors) {
		return 0
	}
	return 1
}

// baseOf returns the colour that a point's deviation is counted from.
func (f *driftFit) baseOf(p driftPoint) colorimetry.XYZ {
	if f.kind(p) == 1 {
		return p.base
	}
	return f.bases[p.anchor]
}

// noiseOf returns a point's covariance, enlarged as its kind turned out.
func (f *driftFit) noiseOf(p driftPoint) colorimetry.Matrix {
	return p.cov.Scale(f.factor[f.kind(p)])
}

// turn has the shared gain as its first column and two differences, all of
// length 1.
var turn = colorimetry.Matrix{
	{1 / math.Sqrt(3), 1 / math.Sqrt(2), 1 / math.Sqrt(6)},
	{1 / math.Sqrt(3), -1 / math.Sqrt(2), 1 / math.Sqrt(6)},
	{1 / math.Sqrt(3), 0, -2 / math.Sqrt(6)},
}

// expectation is what a reading should be at the run's start, told by its
// neighbours in signal space.
type expectation struct {
	ok  bool
	xyz colorimetry.XYZ
	cov colorimetry.Matrix
}

func newDriftFit(readings []Reading, o DriftOptions, expected []expectation) (*driftFit, error) {
	f := &driftFit{o: o, readings: readings, factor: [2]float64{1, 1}, lights: channelLights(readings)}
	var err error
	if f.inverse, err = f.lights.Inverse(); err != nil || len(readings) == 0 {
		return nil, errNoAnchor
	}
	f.from = readings[0].Time
	if f.o.To.IsZero() {
		f.o.To = f.from
	}
	f.findAnchors()
	if len(f.points) == 0 {
		return nil, errNoAnchor
	}
	f.span = math.Max(readings[len(readings)-1].Time.Sub(f.from).Seconds(), 1)
	f.knots = min(driftKnots, max(len(f.points), 3))
	f.screen()
	f.addOthers(expected)
	for i := range f.points {
		p := &f.points[i]
		p.knot, p.weight = knotAt(f.place(f.readings[p.index].Time), f.knots)
	}
	for round := range driftRounds {
		f.setBases()
		f.solve(round < driftSearches)
		if !f.judge() {
			break
		}
	}
	return f, nil
}

// place returns t on a scale from 0 at the first to 1 at the last reading.
func (f *driftFit) place(t time.Time) float64 { return t.Sub(f.from).Seconds() / f.span }

// findAnchors collects the readings of the signals that were read often enough,
// in the order of their first reading.
func (f *driftFit) findAnchors() {
	of := map[colorimetry.RGB][]int{}
	var order []colorimetry.RGB
	for i, r := range f.readings {
		s := r.Patch.Signal
		if of[s] == nil {
			order = append(order, s)
		}
		of[s] = append(of[s], i)
	}
	wanted := map[colorimetry.RGB]bool{}
	for _, s := range f.o.Anchors {
		wanted[s] = true
	}
	number := map[int]int{} // anchor by reading
	for _, s := range order {
		if len(of[s]) < f.o.Least || f.o.Anchors != nil && !wanted[s] {
			continue
		}
		for _, i := range of[s] {
			number[i] = len(f.anchors)
		}
		f.anchors = append(f.anchors, s)
	}
	for i, r := range f.readings {
		if a, ok := number[i]; ok {
			f.points = append(f.points, driftPoint{anchor: a, index: i, xyz: r.XYZ, cov: r.Covariance})
		}
	}
}

// screen leaves out what lies far off the middle of its four neighbours in
// time, so that the first fit is not bent by it.
func (f *driftFit) screen() {
	for a := range f.anchors {
		var own []int
		for i, p := range f.points {
			if p.anchor == a {
				own = append(own, i)
			}
		}
		if len(own) < 5 {
			continue
		}
		for k, i := range own {
			from := min(max(k-2, 0), len(own)-5)
			var near [3][]float64
			for _, j := range own[from : from+5] {
				if j != i {
					for c, v := range vector(f.points[j].xyz) {
						near[c] = append(near[c], v)
					}
				}
			}
			p := &f.points[i]
			middle := colour([3]float64{median(near[0]), median(near[1]), median(near[2])})
			// The middle of four is about as good as the mean of three.
			inverse, err := p.cov.Scale(4.0 / 3).Inverse()
			p.out = err == nil && distance2(p.xyz.Sub(middle), inverse) > 40
		}
	}
}

// setBases makes the anchors' colours that deviations are counted from, and
// what gains do to them.
func (f *driftFit) setBases() {
	f.bases = make([]colorimetry.XYZ, len(f.anchors))
	f.effect = make([]colorimetry.Matrix, len(f.anchors))
	count := make([]float64, len(f.anchors))
	for _, p := range f.points {
		if !p.out && f.kind(p) == 0 {
			f.bases[p.anchor] = f.bases[p.anchor].Add(p.xyz)
			count[p.anchor]++
		}
	}
	for a := range f.bases {
		f.bases[a] = f.bases[a].Scale(1 / math.Max(count[a], 1))
		q := vector(f.inverse.Apply(f.bases[a]))
		f.effect[a] = f.lights.Mul(colorimetry.Diagonal(q[0], q[1], q[2])).Mul(turn)
	}
}

// addOthers adds the readings of which neighbours tell what they should be. They
// know it up to gains that they all share, since neighbours drifted, too.
func (f *driftFit) addOthers(expected []expectation) {
	anchor := map[int]bool{}
	for _, p := range f.points {
		anchor[p.index] = true
	}
	for i, e := range expected {
		if !e.ok || anchor[i] {
			continue
		}
		q := vector(f.inverse.Apply(e.xyz))
		f.points = append(f.points, driftPoint{
			anchor: len(f.anchors), index: i, xyz: f.readings[i].XYZ, cov: f.readings[i].Covariance.Add(e.cov),
			base: e.xyz, effect: f.lights.Mul(colorimetry.Diagonal(q[0], q[1], q[2])).Mul(turn),
		})
		f.others = true
	}
}

// size is the number of unknown gains, groups that of anchors and others, each
// with an offset of three, and total that of all unknowns.
func (f *driftFit) size() int { return 3 * f.knots }

func (f *driftFit) groups() int {
	if f.others {
		return len(f.anchors) + 1
	}
	return len(f.anchors)
}

func (f *driftFit) total() int { return f.size() + 3*f.groups() }

// row returns the places in the unknowns that a point depends on, with the
// 3×3 blocks of dependence.
func (f *driftFit) row(p driftPoint) (at [3]int, block [3]colorimetry.Matrix) {
	e, offset := p.effect, p.effect
	if f.kind(p) == 0 {
		e, offset = f.effect[p.anchor], colorimetry.Identity()
	}
	at = [3]int{3 * p.knot, 3 * (p.knot + 1), f.size() + 3*p.anchor}
	return at, [3]colorimetry.Matrix{e.Scale(1 - p.weight), e.Scale(p.weight), offset}
}

// normal returns the information of the points about all unknowns, and the
// right side.
func (f *driftFit) normal() (*mat.SymDense, []float64) {
	n := f.total()
	full, right := mat.NewSymDense(n, nil), make([]float64, n)
	for _, p := range f.points {
		inverse, err := f.noiseOf(p).Inverse()
		if p.out || err != nil {
			continue
		}
		at, block := f.row(p)
		y := inverse.Apply(p.xyz.Sub(f.baseOf(p)))
		for a, m := range block {
			left := m.Transpose().Mul(inverse)
			r := vector(m.Transpose().Apply(y))
			for i := range 3 {
				right[at[a]+i] += r[i]
			}
			for b, other := range block {
				product := left.Mul(other)
				for i := range 3 {
					for j := range 3 {
						if row, col := at[a]+i, at[b]+j; row <= col {
							full.SetSym(row, col, full.At(row, col)+product[i][j])
						}
					}
				}
			}
		}
	}
	return full, right
}

// solve finds the gains, and before them, where it is to search, the likeliest
// sizes of the drift.
func (f *driftFit) solve(search bool) {
	full, right := f.normal()
	s := newDriftSearch(f, full, right)
	if search {
		s.search()
		f.parts = s.parts
	}
	s.parts = f.parts
	f.mean, f.cov = s.posterior(full, right)
}

// judge leaves out the points that lie off the others, takes back those that do
// not, and adjusts the noise; it reports whether anything changed. Each point is
// held against what the others predict.
func (f *driftFit) judge() (changed bool) {
	limit := distuv.ChiSquared{K: 3}.Quantile(1 - driftOutlier)
	left, most := make([]int, f.groups()), make([]int, f.groups())
	for _, p := range f.points {
		most[p.anchor]++
	}
	var sum, count [2]float64
	for i := range f.points {
		p := &f.points[i]
		d, ok := f.distance(*p)
		out := ok && d > limit && float64(left[p.anchor]+1) <= math.Max(driftMost*float64(most[p.anchor]), 1)
		changed = changed || out != p.out
		if p.out = out; out {
			left[p.anchor]++
		} else if ok {
			sum[f.kind(*p)] += d / 3
			count[f.kind(*p)]++
		}
	}
	for k := range sum {
		if excess := sum[k] / count[k]; count[k] > 0 && excess > 1+noiseDeviation*math.Sqrt(2/(3*count[k])) {
			f.factor[k] *= excess
			changed = true
		}
	}
	return changed
}

// distance returns the squared distance of a point from what the others
// predict, in units of both uncertainties.
func (f *driftFit) distance(p driftPoint) (float64, bool) {
	e, v := f.predicted(p)
	noise := f.noiseOf(p)
	rest := p.xyz.Sub(f.baseOf(p)).Sub(e)
	total := noise.Add(v)
	if !p.out {
		// What is left of a point that was fitted varies by less than its noise;
		// its own share is taken out of the prediction again.
		total = noise.Add(v.Scale(-1))
		inverse, err := total.Inverse()
		if err != nil {
			return 0, false
		}
		return distance2(rest, inverse), true
	}
	inverse, err := total.Inverse()
	return distance2(rest, inverse), err == nil
}

// predicted returns what the fit has for a point, and its covariance.
func (f *driftFit) predicted(p driftPoint) (e colorimetry.XYZ, v colorimetry.Matrix) {
	at, block := f.row(p)
	for a, m := range block {
		e = e.Add(m.Apply(colour([3]float64{f.mean[at[a]], f.mean[at[a]+1], f.mean[at[a]+2]})))
		for b, other := range block {
			var c colorimetry.Matrix
			for i := range 3 {
				for j := range 3 {
					c[i][j] = f.cov.At(at[a]+i, at[b]+j)
				}
			}
			v = v.Add(m.Mul(c).Mul(other.Transpose()))
		}
	}
	return e, v
}
