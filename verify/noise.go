package verify

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

// defaultTrials leaves the mean floor of 100 patches within about 0.3 %, and
// that of a single patch within 3 %.
const defaultTrials = 500

// noise is what the trials found.
type noise struct {
	floor, spread Floor
	strata        []Floor
}

// simulate finds by Monte Carlo what the noise of the readings does to the
// statistics. CIEDE2000 is not smooth near neutral and every difference is at
// least 0, so that first-order propagation would not do.
//
// The floor takes the predictions for the truth and reads them with the noise
// of each reading; the spread reads the readings again, in a quarter of the
// trials. In relative figures the white carries its noise too, and where it is
// the mean of patches of the set, theirs. The readings' systematic error is drawn
// once for all readings of a trial, white among them: in absolute figures it
// counts in full, and of relative ones it leaves what does not cancel.
//
// Source: JCGM 101:2008 (GUM, supplement 1), propagation of distributions, with
// the correlated errors drawn through their common causes (from memory).
func (c *comparison) simulate(reference string, gotWhite colorimetry.XYZ, patches []Error, strata []members, o Options) noise {
	n := noise{strata: make([]Floor, len(strata))}
	shared := o.Shared
	if reference == Relative {
		shared = measure.Noise{}
	}
	// What all readings have in common says something of absolute figures, even
	// where they state no noise; of relative ones it leaves too little.
	if !c.noisy && shared == (measure.Noise{}) && (reference == Relative || !c.common) {
		return n
	}
	t := trial{c: c, relative: reference == Relative, white: gotWhite, shared: shared, patches: patches,
		rng:    rand.New(rand.NewPCG(o.Seed, 0x766572696679)), // the second word only tells this use of the seed apart
		centre: make([]colorimetry.XYZ, len(patches)), read: make([]colorimetry.XYZ, len(patches)), values: make([]float64, len(patches))}
	trials := o.Trials
	if trials <= 0 {
		trials = defaultTrials
	}
	for i, p := range c.pairs {
		t.centre[i] = p.want
		if t.relative { // the predicted colour, on the scale and under the white of the readings
			t.centre[i] = colorimetry.XYZ{X: p.want.X * gotWhite.X / c.wantWhite.X, Y: p.want.Y * gotWhite.Y / c.wantWhite.Y, Z: p.want.Z * gotWhite.Z / c.wantWhite.Z}
		}
	}
	part := make([]float64, 0, len(patches))
	for range trials {
		t.run()
		for k, s := range strata {
			part = part[:0]
			for _, i := range s.members {
				part = append(part, t.values[i])
			}
			add(&n.strata[k], part, trials)
		}
		add(&n.floor, t.values, trials)
	}
	for i, p := range c.pairs {
		t.centre[i] = p.got
	}
	n.spread = t.spread(max(2, trials/4))
	return n
}

// add takes one trial's statistics into the mean over all; it sorts values.
func add(f *Floor, values []float64, trials int) {
	slices.Sort(values)
	s, k := summariseSorted(values), 1/float64(trials)
	f.Known = true
	f.Mean += k * s.Mean
	f.P95 += k * s.P95
	f.Max += k * s.Max
}

// trial is the state of repeated noisy readings about centre.
type trial struct {
	c        *comparison
	relative bool
	white    colorimetry.XYZ
	shared   measure.Noise
	patches  []Error
	rng      *rand.Rand
	centre   []colorimetry.XYZ
	read     []colorimetry.XYZ
	values   []float64 // the differences of the last run, unsorted
}

// run reads every patch once and fills values.
func (t *trial) run() {
	shift := t.drawShared()
	var z [causes]float64
	if t.c.common {
		for k := range z {
			z[k] = t.rng.NormFloat64()
		}
	}
	for i := range t.c.pairs {
		p := &t.c.pairs[i]
		t.read[i] = shift.apply(t.centre[i]).Add(t.draw(p.root))
		if t.c.common {
			t.read[i] = t.read[i].Add(p.common.at(&z))
		}
	}
	white := t.white
	if t.relative {
		if len(t.c.whiteOwn) == 0 {
			white = white.Add(t.draw(t.c.whiteRoot)).Add(t.c.whiteCommon.at(&z))
		}
		for _, i := range t.c.whiteOwn {
			white = white.Add(t.read[i].Sub(t.centre[i]).Scale(1 / float64(len(t.c.whiteOwn))))
		}
	}
	for i, x := range t.read {
		t.values[i] = difference.CIEDE2000(t.patches[i].Want, x.Lab(white))
	}
}

// draw returns one draw of the noise whose covariance has the given root.
func (t *trial) draw(root colorimetry.Matrix) colorimetry.XYZ {
	return root.Apply(colorimetry.XYZ{X: t.rng.NormFloat64(), Y: t.rng.NormFloat64(), Z: t.rng.NormFloat64()})
}

// spread returns the standard deviation of each statistic over trials.
func (t *trial) spread(trials int) Floor {
	mean, p95, top := make([]float64, trials), make([]float64, trials), make([]float64, trials)
	for k := range trials {
		t.run()
		slices.Sort(t.values)
		s := summariseSorted(t.values)
		mean[k], p95[k], top[k] = s.Mean, s.P95, s.Max
	}
	return Floor{Known: true, Mean: stat.StdDev(mean, nil), P95: stat.StdDev(p95, nil), Max: stat.StdDev(top, nil)}
}

// sharedError is one draw of what all readings of a trial have in common.
type sharedError struct {
	dx, dy, factor float64
	floor          colorimetry.XYZ
}

func (t *trial) drawShared() sharedError {
	if t.shared == (measure.Noise{}) {
		return sharedError{factor: 1}
	}
	n := t.rng.NormFloat64
	return sharedError{
		dx: t.shared.Chromaticity * n(), dy: t.shared.Chromaticity * n(), factor: 1 + t.shared.Luminance*n(),
		floor: colorimetry.XYZ{X: n(), Y: n(), Z: n()}.Scale(t.shared.FloorCdM2),
	}
}

// apply returns c as an instrument with this error reads it.
func (e sharedError) apply(c colorimetry.XYZ) colorimetry.XYZ {
	if e == (sharedError{factor: 1}) {
		return c
	}
	if sum := c.X + c.Y + c.Z; sum > 0 && c.Y > 0 {
		x, y := c.X/sum+e.dx, c.Y/sum+e.dy
		if y > 0 { // a chromaticity of no light at all stays where it is
			c = colorimetry.Chromaticity{X: x, Y: y}.XYZ(c.Y * e.factor)
		}
	}
	return c.Add(e.floor)
}

func sqrtPositive(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return math.Sqrt(v)
}
