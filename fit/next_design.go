package fit

import (
	"math"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"

	"gonum.org/v1/gonum/mat"
)

// design chooses patches one by one. Blocks of three rows or columns are of a
// target or a candidate; those of targets are in ΔE00, those of candidates in
// cd/m².
type design struct {
	candidates []colorimetry.RGB
	noise      []colorimetry.Matrix // of a reading of a candidate, misfit included
	own        []colorimetry.Matrix // covariance of each candidate, as chosen so far
	among      *mat.Dense           // of candidates with candidates, before any is chosen
	chosen     []*mat.Dense         // what each choice takes from it: among − Σ v·v'
	weight     []float64            // of targets, 1 on average
	left       []colorimetry.Matrix // covariance of each target, as chosen so far
	rest       []colorimetry.Matrix // what no reading elsewhere tells of it
	cross      *mat.Dense           // of targets with candidates, as chosen so far
}

// Numbers of targets and candidates: as many as a batch can be planned with in
// a fraction of a second.
const (
	evenTargets    = 160
	surfaceTargets = 50
	neutralTargets = 12

	evenCandidates    = 160
	surfaceCandidates = 60
	againCandidates   = 100
	rampLevels        = 13
	mixedLevels       = 9
)

// plannedShare is how much of the covariance of a model under residuals counts in
// a plan. Its curves may be as rough as the readings allow, and must be for its
// intervals to hold on displays whose tones are uneven; a plan that believes it
// reads ramps and little else. On even tones a quarter costs least.
const plannedShare = 0.25

// newDesign returns the design for the model m of the readings.
func newDesign(m Joint, a Adaptive, readings []measure.Reading) *design {
	d := &design{candidates: a.candidates(readings)}
	targets, weight := a.targets()
	n := len(targets)
	all := append(targets, d.candidates...)
	with, own := covariances(m, all, n)
	doubt := surprises(m, all)
	white := m.XYZ(colorimetry.Gray(1))
	noise := readingNoise(readings, a.Fit.Noise)
	for i, s := range all {
		xyz := m.XYZ(s)
		alone := misfit(m, s, own[i]).Scale(doubt[i])
		to := colorimetry.Identity()
		if i < n {
			to = perceived(xyz, white)
			d.left = append(d.left, spreadBy(to, own[i].Scale(doubt[i])))
			d.rest = append(d.rest, spreadBy(to, alone))
		} else {
			d.own = append(d.own, own[i].Scale(doubt[i]))
			d.noise = append(d.noise, noise(xyz).Add(alone))
		}
		for j := range d.candidates {
			put(with, i, j, to.Mul(block(with, i, j)).Scale(math.Sqrt(doubt[i]*doubt[n+j])))
		}
	}
	columns := 3 * len(d.candidates)
	d.weight = weight
	d.cross = mat.DenseCopyOf(with.Slice(0, 3*n, 0, columns))
	d.among = mat.DenseCopyOf(with.Slice(3*n, 3*len(all), 0, columns))
	return d
}

// targets returns the colours whose error counts, and how much: some spread as
// the colours of a display are in CAM16-UCS, some on the surface of its gamut,
// some neutrals, closer together in the dark, and the user's own.
func (a Adaptive) targets() (signals []colorimetry.RGB, weight []float64) {
	o := chart.Options{Space: chart.CAM16UCS, Seed: a.Chart.Seed + 1} // not the places that are read
	for _, set := range []chart.Set{chart.Sobol(evenTargets, o), chart.Surface(surfaceTargets, o), chart.Neutral(neutralTargets)} {
		for _, p := range set {
			signals, weight = append(signals, p.Signal), append(weight, 1)
		}
	}
	if len(a.Targets) == 0 {
		return signals, weight
	}
	gamut, own := float64(len(signals)), float64(len(a.Targets))
	for i := range weight {
		weight[i] = (gamut + own) / (2 * gamut)
	}
	for _, s := range a.Targets {
		signals, weight = append(signals, s), append(weight, (gamut+own)/(2*own))
	}
	return signals, weight
}

// candidates returns the signals to choose from: new ones in the gamut and on
// its surface, other ones each time, ramps, and what was read already.
func (a Adaptive) candidates(readings []measure.Reading) []colorimetry.RGB {
	now := len(readings)
	o := chart.Options{Bits: a.Chart.Bits, Narrow: a.Chart.Narrow, Space: chart.CAM16UCS, Seed: a.Chart.Seed + 2 + uint64(now)}
	ramps := chart.Union(chart.Ramps(rampLevels+now%5), chart.Secondaries(mixedLevels+now%3))
	if o.Bits > 0 {
		ramps = chart.CodeRange{Bits: o.Bits, Narrow: o.Narrow}.Quantise(ramps)
	}
	var again chart.Set
	for i := range min(againCandidates, now) {
		again = append(again, chart.Patch{Signal: readings[i*now/min(againCandidates, now)].Patch.Signal})
	}
	var out []colorimetry.RGB
	for _, p := range chart.Union(chart.Sobol(evenCandidates, o), chart.Surface(surfaceCandidates, o), ramps, again) {
		out = append(out, p.Signal)
	}
	return out
}

// readingNoise returns the covariance that a reading of a light is expected to
// have: as noise states it for as many integrations as the readings mostly have,
// times the middle one of the factors by which they differ from that.
func readingNoise(readings []measure.Reading, noise measure.Noise) func(colorimetry.XYZ) colorimetry.Matrix {
	noise = noise.Assumed()
	var counts, factors []float64
	for _, r := range readings {
		counts = append(counts, float64(max(len(r.Repeats), 1)))
	}
	n := int(middle(counts))
	for _, r := range readings {
		if inv, err := noise.Covariance(r.XYZ, n).Inverse(); err == nil && r.Covariance != (colorimetry.Matrix{}) {
			factors = append(factors, trace(inv.Mul(r.Covariance))/3)
		}
	}
	factor := 1.0
	if len(factors) > 0 {
		factor = middle(factors)
	}
	return func(xyz colorimetry.XYZ) colorimetry.Matrix { return noise.Covariance(xyz, n).Scale(factor) }
}

// perceived returns the matrix that makes a small difference from xyz, in cd/m²,
// three numbers whose length is its CIEDE2000.
func perceived(xyz, white colorimetry.XYZ) colorimetry.Matrix {
	// Small enough for the difference to be straight, large enough for its digits.
	const h = 0.05
	at := xyz.Lab(white)
	square := func(l, a, b float64) float64 {
		v := difference.CIEDE2000(at, colorimetry.Lab{L: at.L + h*l, A: at.A + h*a, B: at.B + h*b}) / h
		return v * v
	}
	var g colorimetry.Matrix
	g[0][0], g[1][1], g[2][2] = square(1, 0, 0), square(0, 1, 0), square(0, 0, 1)
	g[1][0] = (square(1, 1, 0) - g[0][0] - g[1][1]) / 2
	g[2][0] = (square(1, 0, 1) - g[0][0] - g[2][2]) / 2
	g[2][1] = (square(0, 1, 1) - g[1][1] - g[2][2]) / 2
	g[0][1], g[0][2], g[1][2] = g[1][0], g[2][0], g[2][1]
	lower := colorimetry.Matrix(invertLower(whiten(g, 1)))
	to, err := labSlopes(triple(xyz), triple(white)).Inverse()
	if err != nil {
		return colorimetry.Matrix{} // only where the white is no light
	}
	return lower.Transpose().Mul(to)
}

// expected returns the mean length of the errors at the targets.
func (d *design) expected() float64 {
	var sum float64
	for i := range d.left {
		sum += d.weight[i] * meanLength(d.left[i].Add(d.rest[i]))
	}
	return sum / float64(len(d.left))
}

// meanLength returns roughly the mean length of normal deviations with the
// covariance s: to the second order in the deviation of the squared length from
// its mean.
func meanLength(s colorimetry.Matrix) float64 {
	t := trace(s)
	if t <= 0 {
		return 0
	}
	return math.Sqrt(t) * (1 - trace(s.Mul(s))/(4*t*t))
}

// best returns the candidate that lowers the mean error most, to first order.
func (d *design) best() int {
	weight := make([]float64, len(d.left))
	for i := range weight {
		weight[i] = d.weight[i] / math.Sqrt(math.Max(trace(d.left[i])+trace(d.rest[i]), 1e-12))
	}
	best, most := 0, -1.0
	for j := range d.candidates {
		half := d.half(j)
		var gain float64
		for i, w := range weight {
			v := block(d.cross, i, j).Mul(half)
			gain += w * (dot(v[0], v[0]) + dot(v[1], v[1]) + dot(v[2], v[2]))
		}
		if gain > most {
			best, most = j, gain
		}
	}
	return best
}

// half returns the matrix h with h·h' the inverse of the covariance of a reading
// of candidate j.
func (d *design) half(j int) colorimetry.Matrix {
	s := d.own[j].Add(d.noise[j])
	return colorimetry.Matrix(whiten(s, math.Sqrt(trace(s)))).Transpose()
}

// take lowers all covariances by what a reading of candidate j would tell.
func (d *design) take(j int) {
	half := mat.NewDense(3, 3, nil)
	put(half, 0, 0, d.half(j))
	rows := 3 * len(d.candidates)
	column := mat.DenseCopyOf(d.among.Slice(0, rows, 3*j, 3*j+3))
	var u, v, told mat.Dense
	for _, c := range d.chosen {
		u.Mul(c, c.Slice(3*j, 3*j+3, 0, 3).T())
		column.Sub(column, &u)
	}
	v.Mul(column, half)
	d.chosen = append(d.chosen, &v)
	less(d.own, &v)
	told.Mul(d.cross.Slice(0, 3*len(d.left), 3*j, 3*j+3), half)
	less(d.left, &told)
	var all mat.Dense
	all.Mul(&told, v.T())
	d.cross.Sub(d.cross, &all)
}

// less takes v·v' from each covariance.
func less(list []colorimetry.Matrix, v *mat.Dense) {
	for i := range list {
		b := block(v, i, 0)
		list[i] = list[i].Add(b.Mul(b.Transpose()).Scale(-1))
	}
}

func trace(m colorimetry.Matrix) float64 { return m[0][0] + m[1][1] + m[2][2] }

func spreadBy(m, cov colorimetry.Matrix) colorimetry.Matrix { return m.Mul(cov).Mul(m.Transpose()) }
