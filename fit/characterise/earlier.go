package characterise

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/internal/crossval"

	"gonum.org/v1/gonum/stat"
)

// Earlier is an earlier run of the same display in the same mode.
//
// Its readings were taken through other curves than those of the run: each counts
// for the signal that makes the same signal behind the curves in force, where
// there is one. What else has changed since, controls included, [fit.Since] makes
// good as far as it is a change of the light or smooth.
type Earlier struct {
	// Readings are those through Curves, as Result.InState returns them; at most
	// 3000.
	Readings []measure.Reading
	Curves   tone.Channels // the zero Channels where there were none
	// Display is what the readings' table says of the display: Read.Display.
	Display string
}

// ErrOtherDisplay is wrapped where an earlier run is another display's.
var ErrOtherDisplay = errors.New("name an earlier run of this display in this mode")

// NewEarlier returns the earlier run of which read is the table and curves are
// the correction curves. The error says that the curves are not those that the
// readings were taken through, or that the readings are no use to a model.
func NewEarlier(read Read, curves tone.Channels) (*Earlier, error) {
	switch given := curves.Digest(); {
	case read.Curves == "":
		return nil, errors.New("characterise: the table of the earlier run does not say which curves its readings were taken through; give one that a run of this library wrote")
	case read.Curves != given:
		return nil, fmt.Errorf("characterise: the readings of the earlier run were taken through the curves %s, and those given are %s; give the curves that this run wrote beside them", read.Curves, given)
	}
	e := &Earlier{read.Readings, curves, read.Display}
	return e, e.checkReadings()
}

// describe names a display and its mode as tables have it.
func describe(s measure.ScreenInfo) string { return fmt.Sprintf("%s, %s mode", s.Name, s.Mode) }

// leastEarlier is the number of readings that a model of the earlier run takes.
const leastEarlier = 40

func (e *Earlier) check(screen measure.ScreenInfo, o fit.Options) error {
	if e.Display == "" {
		return fmt.Errorf("characterise: the table of the earlier run does not say which display it is of: %w", ErrOtherDisplay)
	}
	if now := describe(screen); e.Display != now {
		return fmt.Errorf("characterise: the earlier run is of the display %q, and this is %q: %w", e.Display, now, ErrOtherDisplay)
	}
	if o.Force != "" {
		return fmt.Errorf("characterise: the model %q is asked for, and an earlier run makes one of its own kind; leave one of them out", o.Force)
	}
	return e.checkReadings()
}

// checkReadings says what is wrong with the readings, which shows here and not
// after the curves.
func (e *Earlier) checkReadings() error {
	switch n := len(e.Readings); {
	case n == 1:
		return fmt.Errorf("characterise: the earlier run has 1 reading; a model of it takes %d: give a run with a whole chart", leastEarlier)
	case n < leastEarlier:
		return fmt.Errorf("characterise: the earlier run has %d readings; a model of it takes %d: give a run with a whole chart", n, leastEarlier)
	}
	if _, err := (fit.Adaptive{Earlier: e.Readings}).Plan(nil); err != nil {
		return fmt.Errorf("characterise: %w", err)
	}
	return nil
}

// useEarlier brings the earlier run to the curves in force.
func (w *Walk) useEarlier() {
	e := w.setup.Earlier
	w.earlier = through(e.Readings, e.Curves, w.result.InForce)
	if n := len(w.earlier); n < leastEarlier {
		w.earlier = nil
		w.warn("Only %d of the %d readings of the earlier run lie in what the curves in force reach: it is not made use of.", n, len(e.Readings))
	}
}

// through returns readings taken through the curves was as if they had been taken
// through the curves now: at the signals that make the same signals behind them.
// Those that none makes are left out.
func through(readings []measure.Reading, was, now tone.Channels) []measure.Reading {
	var out []measure.Reading
	back := newReverse(now)
	for _, r := range readings {
		s, ok := back.signal(was.Apply(r.Patch.Signal), r.Patch.Signal)
		if !ok {
			continue
		}
		r.Patch.Signal, r.Curves = s, now.Digest()
		out = append(out, r)
	}
	return out
}

// reverse leads from the signal behind curves to that before them.
type reverse struct{ entries [3][]float64 }

func newReverse(c tone.Channels) (r reverse) {
	red, green, blue := c.Codes()
	for i, codes := range [3][]uint16{red, green, blue} {
		for _, v := range codes {
			r.entries[i] = append(r.entries[i], float64(v)/65535)
		}
	}
	return r
}

// slack is the depth of curves: what lies no further beyond their ends is at the
// end.
const slack = 1.0 / 65535

// signal returns the signal before the curves: of several that lead to the same
// one, the nearest to another. It is not ok where a channel lies beyond what
// the curves reach; it is at their end then.
func (r reverse) signal(behind, near colorimetry.RGB) (before colorimetry.RGB, ok bool) {
	ok = true
	one := func(t []float64, v, near float64) float64 {
		if len(t) == 0 {
			return v
		}
		last := len(t) - 1
		ok = ok && v >= t[0]-slack && v <= t[last]+slack
		v = math.Min(math.Max(v, t[0]), t[last])
		// Entries i to j are v; where none is, it lies between j and i.
		i, _ := slices.BinarySearch(t, v)
		j := i - 1
		for j < last && t[j+1] == v {
			j++
		}
		if j < i {
			return (float64(j) + (v-t[j])/(t[i]-t[j])) / float64(last)
		}
		return math.Min(math.Max(near, float64(i)/float64(last)), float64(j)/float64(last))
	}
	before = colorimetry.RGB{R: one(r.entries[0], behind.R, near.R), G: one(r.entries[1], behind.G, near.G), B: one(r.entries[2], behind.B, near.B)}
	return before, ok
}

// EarlierName is Evidence.Chosen where the model rests on the earlier run too. It
// is none of the candidates, which with the warnings tell of this run alone.
const EarlierName = "both runs"

// earlierFolds is the number of parts of the chart that are held back in turn to
// see whether the earlier run helps.
const earlierFolds = 4

// withEarlier returns the model of both runs where it predicts readings of this
// one that it did not see better than the kind that was chosen for this one
// alone, by more than a standard error; else the model alone, and why.
func (w *Walk) withEarlier(alone fit.Model, ev *fit.Evidence) fit.Model {
	now, o := w.result.Chart, w.setup.Fit
	both, err := fit.Since(w.earlier, now, o)
	var of, with []float64
	if err == nil {
		of, with, err = w.heldBack(ev.Chosen)
	}
	if err != nil {
		w.warn("The earlier run could not be made use of: %v.", err)
		return alone
	}
	gain := make([]float64, len(of))
	for i := range of {
		gain[i] = of[i] - with[i]
	}
	mean, sure := crossval.Mean(gain)
	figures := fmt.Sprintf("%d readings of this run that were held back are missed by %.3f ΔE00 in the mean with the earlier run and by %.3f without it, a difference of %.3f ± %.3f", len(gain), stat.Mean(with, nil), stat.Mean(of, nil), mean, sure)
	if !(mean > sure) {
		w.setup.Log("The model rests on this run alone: " + figures + ".")
		return alone
	}
	ev.Chosen, ev.Reason = EarlierName, fmt.Sprintf("It rests on the %d readings of an earlier run as well: %s.", len(w.earlier), figures)
	ev.Scatter, ev.Outliers = both.Scatter(), both.Outliers()
	return both
}

// heldBack returns by how much the kind of model misses each reading of the chart
// that was held back, in CIEDE2000, and by how much the model of both runs does.
// Readings at the corners of the cube stay with the fit, as in fit.Best.
func (w *Walk) heldBack(kind string) (alone, both []float64, err error) {
	part := map[colorimetry.RGB]int{}
	for _, r := range w.result.Chart {
		s := r.Patch.Signal
		if _, dealt := part[s]; !dealt && !crossval.Corner(s) {
			part[s] = 1 + len(part)%earlierFolds
		}
	}
	for f := 1; f <= earlierFolds; f++ {
		var keep, held []measure.Reading
		for _, r := range w.result.Chart {
			if part[r.Patch.Signal] == f {
				held = append(held, r)
			} else {
				keep = append(keep, r)
			}
		}
		one, err := fit.Of(kind, keep, w.setup.Fit)
		if err != nil {
			return nil, nil, err
		}
		two, err := fit.Since(w.earlier, keep, w.setup.Fit)
		if err != nil {
			return nil, nil, err
		}
		for _, r := range held {
			lab := r.XYZ.Lab(w.result.White.XYZ)
			miss := func(m fit.Model) float64 {
				return difference.CIEDE2000(lab, m.XYZ(r.Patch.Signal).Lab(w.result.White.XYZ))
			}
			alone, both = append(alone, miss(one)), append(both, miss(two))
		}
	}
	if len(alone) < 2 {
		return nil, nil, errors.New("too few readings could be held back")
	}
	return alone, both, nil
}
