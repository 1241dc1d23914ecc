package measure

import (
	"errors"
	"fmt"
	"math"
	"time"

	"example.org/primaries/colorimetry"
)

// DriftOptions say how drift is looked for. The zero value is the default.
type DriftOptions struct {
	// Anchors are the signals whose repeats show the drift; nil = every signal
	// that was read at least Least times, white and whatever chart.Order was told
	// to repeat. ReadChart refuses those that its chart does not hold.
	Anchors []colorimetry.RGB
	Least   int // fewest readings of an anchor, at least 2; 0 = 4
	// AnchorsOnly leaves out what other readings say, each against its
	// neighbours in signal space.
	AnchorsOnly bool
	// To is the instant whose state readings are brought to; zero = that of the
	// first reading.
	To time.Time
}

// Drift is how a display's light, and the instrument that looks at it, wandered
// during a run: smooth gains of the three channels over time. The zero value is
// no drift. It is immutable and safe for concurrent use.
type Drift struct {
	Anchors int       // signals that show it
	Repeats int       // readings of them that count
	To      time.Time // the instant whose state readings are brought to
	// Luminance and UV are the largest change of the first anchor from To, over
	// all readings: as a signed share, and as a distance in u'v'.
	Luminance, UV float64
	// NoiseFactor is how much larger than stated the anchors' variances turned
	// out, at least 1. Correct does not apply it.
	NoiseFactor float64
	// Unlike is the standard deviation, as a share of the drift, of how
	// differently anchors drift beyond what channel gains explain; readings that
	// are corrected are as much less certain. 0 with a single anchor, which
	// cannot tell.
	Unlike float64
	// Outliers are the Index of anchors' readings that lie off the drift of the
	// others and were left out.
	Outliers []int

	lights, inverse colorimetry.Matrix
	from            time.Time
	span            float64 // of the knots, in s
	gains           [][3]float64
	cov             []colorimetry.Matrix // knots × knots, of the gains less those at To
}

// FitDrift finds the drift that the repeats of anchors show.
//
// Light is taken as the sum of three channels' light whose gains wander
// smoothly: G(t) = M·diag(1 + f(t))·M⁻¹ with the primaries as the columns of M.
// That holds for panels whose channels interact, too, as long as what drifts is
// light; level-dependent drift shows as Unlike. f is a Gaussian process, what
// the channels share and where they differ apart, with a Matérn covariance of
// order 5/2. Its sizes and times are the likeliest under the noise that the
// readings' covariances state. A part of the drift that raises the logarithm of
// the likelihood by less than 3 is left out: what noise explains is no drift.
// Readings of anchors that lie off the others (1 in 10,000 by chance) are left
// out and named.
//
// With a hundred readings and more beside the anchors, each of those is held, too,
// against what its neighbours in signal space, read at other times, make of it
// (as Suspects does it, with that uncertainty): a thousand of them know the
// drift's course better than any affordable number of anchors, and its start,
// which everything is brought to, best of all. Their own mean course is what
// they cannot know; the anchors do. This needs an order in which neighbours are
// read at different times, as chart.Order makes it.
//
// readings are those of one state of controls and curves, by one instrument, in
// the order in which they were taken; those of a reference are passed over.
// Anchors are best spread over the whole run, an outlier or two among them do no
// harm. It is an error if there is no anchor, or a number is not finite, or
// beyond 1e10 cd/m², or the readings make no drift that is.
//
// Source: Rasmussen and Williams, Gaussian Processes for Machine Learning
// (2006), 2.2, 4.2 and 5.4, for process, covariance and likelihood.
func FitDrift(readings []Reading, o DriftOptions) (Drift, error) {
	o, err := o.withDefaults()
	if err != nil {
		return Drift{}, err
	}
	own := make([]Reading, 0, len(readings))
	for _, r := range readings {
		if r.Channel != "" {
			continue
		}
		if err := checkLight(r.XYZ); err != nil || !finite(r.Covariance) {
			return Drift{}, fmt.Errorf("measure: drift: reading %d is %s with a variance of Y of %.3g; leave it out", r.Index, colourText(r.XYZ), r.Covariance[1][1])
		}
		own = append(own, r)
	}
	d, _, err := fitDrift(own, o, nil)
	return d, err
}

// leastOthers is the number of readings beside anchors that make it worth asking
// what their neighbours say.
const leastOthers = 100

// fitDrift finds the drift of readings that are all well. Without expectations
// it makes them, once anchors have shown the drift roughly, and returns them for
// another time.
func fitDrift(own []Reading, o DriftOptions, expected []expectation) (Drift, []expectation, error) {
	f, err := newDriftFit(own, o, expected)
	if err != nil {
		return Drift{}, nil, err
	}
	d := f.drift()
	if err := d.finite(); err != nil {
		return Drift{}, nil, err
	}
	if expected != nil || o.AnchorsOnly || len(own) < leastOthers {
		return d, expected, nil
	}
	field := newField(d.Correct(own))
	if field == nil {
		return d, nil, nil
	}
	field.suspects() // leaves them out
	expected = field.expectations()
	if f, err = newDriftFit(own, o, expected); err != nil {
		return Drift{}, nil, err
	}
	d = f.drift()
	if err := d.finite(); err != nil {
		return Drift{}, nil, err
	}
	return d, expected, nil
}

func (o DriftOptions) withDefaults() (DriftOptions, error) {
	if o.Least == 0 {
		o.Least = 4
	}
	if o.Least < 2 {
		return o, fmt.Errorf("measure: drift from %d readings an anchor; at least 2 are needed", o.Least)
	}
	return o, nil
}

var errNoAnchor = errors.New("measure: no signal was read often enough to show a drift; repeat white through the run, as chart.Order does")

// gain returns the channels' gains at t, less 1, and their covariance.
func (d Drift) gain(t time.Time) (f [3]float64, cov colorimetry.Matrix) {
	k := len(d.gains)
	if k == 0 {
		return f, cov
	}
	i, w := knotAt(t.Sub(d.from).Seconds()/d.span, k)
	for c := range f {
		f[c] = (1-w)*d.gains[i][c] + w*d.gains[i+1][c]
	}
	cross := d.cov[i*k+i+1]
	cov = d.cov[i*k+i].Scale((1 - w) * (1 - w)).Add(d.cov[(i+1)*k+i+1].Scale(w * w)).
		Add(cross.Add(cross.Transpose()).Scale(w * (1 - w)))
	return f, cov
}

// knotAt returns the knot before the place u, 0 to 1 from the first to the last
// of k, and how far beyond it u lies.
func knotAt(u float64, k int) (i int, w float64) {
	u = math.Min(math.Max(u, 0), 1) * float64(k-1)
	i = min(int(u), k-2)
	return i, u - float64(i)
}

// At returns what the display, and the instrument, make at t of the light that
// they had at To: XYZ(t) = At(t)·XYZ(To).
func (d Drift) At(t time.Time) colorimetry.Matrix {
	if len(d.gains) == 0 {
		return colorimetry.Identity()
	}
	f, _ := d.gain(t)
	return d.lights.Mul(colorimetry.Diagonal(1+f[0], 1+f[1], 1+f[2])).Mul(d.inverse)
}

// Correct returns a copy of readings as they would have been at To: XYZ, and
// Covariance with the uncertainty of the correction. That part is shared by
// readings of about the same time: averages of many do not reduce it. Raw and
// Repeats stay what was read. Readings before the first and after the last that
// the drift was made from are corrected by the nearest.
func (d Drift) Correct(readings []Reading) []Reading {
	out := make([]Reading, len(readings))
	for i, r := range readings {
		if r.Channel == "" && len(d.gains) > 0 {
			r.XYZ, r.Covariance = d.correct(r)
		}
		out[i] = r
	}
	return out
}

func (d Drift) correct(r Reading) (colorimetry.XYZ, colorimetry.Matrix) {
	f, cov := d.gain(r.Time)
	back := d.lights.Mul(colorimetry.Diagonal(1/(1+f[0]), 1/(1+f[1]), 1/(1+f[2]))).Mul(d.inverse)
	xyz := back.Apply(r.XYZ)
	amounts := vector(d.inverse.Apply(xyz))
	change := d.lights.Mul(colorimetry.Diagonal(amounts[0]/(1+f[0]), amounts[1]/(1+f[1]), amounts[2]/(1+f[2])))
	moved := colour(f)
	unlike := square(moved).Scale(d.Unlike * d.Unlike)
	return xyz, back.Mul(r.Covariance).Mul(back.Transpose()).Add(change.Mul(cov.Add(unlike)).Mul(change.Transpose()))
}

// String tells the drift in a sentence.
func (d Drift) String() string {
	if d.Anchors == 0 {
		return "no drift was looked for"
	}
	from := fmt.Sprintf("%d readings of %d anchors", d.Repeats, d.Anchors)
	if d.Anchors == 1 {
		from = fmt.Sprintf("%d readings of one anchor", d.Repeats)
	}
	if len(d.gains) == 0 {
		return "no drift beyond the noise in " + from
	}
	return fmt.Sprintf("drift of up to %+.2f %% of the luminance and %.4f in u'v', from %s", 100*d.Luminance, d.UV, from)
}

func finite(m colorimetry.Matrix) bool {
	for i := range m {
		if !m.Column(i).Finite() {
			return false
		}
	}
	return true
}
