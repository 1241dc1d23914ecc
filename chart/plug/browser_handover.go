package plug

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Stages of the readings by which [HandOver] judges.
const (
	StageNoCurves     = "hand-over, no curves"
	StagePageCurves   = "hand-over, the page's curves"
	StageSystemCurves = "hand-over, the system's curves"
)

// HandOverOptions steer [HandOver]. The zero value is the default.
type HandOverOptions struct {
	// Advice is said to the person at the page: how the curves are loaded into
	// this system, such as the profile's file to install. "" says only that.
	Advice string
	// Averages is the number of integrations of each reading, 1 to 1000; 0 = 4.
	Averages int
}

// HandedOver is what [HandOver] found.
type HandedOver struct {
	Sentence string
	// Kept is whether the system's curves do what the page's did. Where it is
	// false Condition says what else: measure.CurvesMissing where the patches
	// look as without curves, measure.CurvesUnexpected where they look
	// otherwise, "" where the noise leaves it open.
	Kept      bool
	Condition measure.Condition
	// Page and None are how far the ten patches lie, after the hand-over, from
	// themselves with the page's curves and without curves: χ² over its degrees
	// of freedom, about 1 where only noise is between them.
	Page, None float64
	// Largest is the largest share of Y by which a patch differs from itself
	// with the page's curves.
	Largest  float64
	Readings []measure.Reading // of the system's curves, in order
}

const (
	handOverPatches = 10
	// handOverRisk is how rarely curves that are in force are judged not to be.
	handOverRisk = 0.001
	// handOverDrift is the share by which the display may drift while a person
	// loads curves: what half an hour after warm-up leaves (common practice, no
	// source).
	handOverDrift = 0.005
	// handOverCode is what rounding on the page may differ by from the system's,
	// in codes of 8 bits: patches are chosen where it is little.
	handOverCode = 0.15
)

// HandOver has a person put the curves in force, which b's page applied so far,
// into the system, and measures whether they are in force there: ten patches
// without curves and with the page's, then the person loads the curves and says
// so at the page, which applies none from then on, and the ten are measured
// again. b must be the screen of s, and curves must be in force in s.
//
// The verdict knows the noise of the readings. An error wraps a
// *[measure.ConditionError] where the curves are missing or others are in
// force. After that, as after a success, s may go on: its readings say that
// they were taken through the curves, which is true only where Kept is.
func HandOver(ctx context.Context, s *measure.Session, b *Browser, o HandOverOptions) (HandedOver, error) {
	curves := s.Curves()
	if curves.Len() == 0 {
		return HandedOver{}, errors.New("plug: no curves are in force that could be handed over; load them first")
	}
	if o.Averages == 0 {
		o.Averages = 4
	}
	set := handOverSet(curves)
	if err := s.LoadCurves(ctx, tone.Channels{}); err != nil {
		return HandedOver{}, err
	}
	none, err := s.ReadSet(ctx, StageNoCurves, set, o.Averages)
	if err != nil {
		return HandedOver{}, err
	}
	if err := s.LoadCurves(ctx, curves); err != nil {
		return HandedOver{}, err
	}
	page, err := s.ReadSet(ctx, StagePageCurves, set, o.Averages)
	if err != nil {
		return HandedOver{}, err
	}
	if err := b.handOver(ctx, curves, o.Advice, s.Replaying()); err != nil {
		return HandedOver{}, err
	}
	system, err := s.ReadSet(ctx, StageSystemCurves, set, o.Averages)
	if err != nil {
		return HandedOver{}, err
	}
	slopes := codeSlopes(curves, set, page)
	out := judgeHandOver(none, page, system, slopes)
	pageCurves, systemCurves := b.Curves()
	note := routeNote{CurvesBy: "the system", CurvesPage: pageCurves, CurvesSystem: systemCurves, Gamut: b.takenFor(), Route: out.Sentence}
	if err := s.Note("browser", note); err != nil {
		return out, err
	}
	if out.Condition != "" {
		return out, &measure.ConditionError{
			Condition: out.Condition, Evidence: out.Sentence,
			Remedy: "load the curves into the system, see that the browser does not convert colours by a profile that came with them, and hand over again in another run",
		}
	}
	return out, nil
}

// handOver takes the curves off the page and waits until a person says that the
// system has them, unless that was said in a part of the run that is replayed.
func (b *Browser) handOver(ctx context.Context, curves tone.Channels, advice string, replaying bool) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if replaying {
		b.curves = loaded{curves: curves, handed: curves.Digest()}
		b.tell()
		return nil
	}
	if b.phase.over() {
		return errOver
	}
	b.phase, b.text, b.done, b.stands = phaseHandOver, advice, false, false
	b.tell()
	for !b.done {
		err := b.wait(ctx, b.patience, func() (bool, error) { return b.done, nil })
		if err != nil {
			b.phase = phaseRun
			b.tell()
			return err
		}
	}
	b.phase = phaseRun
	b.curves = loaded{curves: curves, handed: curves.Digest()}
	b.tell()
	return nil
}

// handOverSet returns ten patches in which the curves show most, white, greys
// of all levels and one of each channel, on codes where rounding to 8 bits
// after the curves changes little.
func handOverSet(curves tone.Channels) []chart.Patch {
	const top = 255.0
	// worth of a signal: the codes by which the curves move it, less what
	// rounding takes, on the channels that it has.
	worth := func(s colorimetry.RGB) float64 {
		out := curves.Apply(s)
		var sum float64
		for _, c := range [3][2]float64{{s.R, out.R}, {s.G, out.G}, {s.B, out.B}} {
			if c[0] > 0 {
				exact := top * c[1]
				sum += math.Min(math.Abs(exact-top*c[0]), 8) - 20*math.Abs(exact-math.Round(exact))
			}
		}
		return sum
	}
	best := func(low, high float64, at func(float64) colorimetry.RGB) colorimetry.RGB {
		var found colorimetry.RGB
		most := math.Inf(-1)
		for code := low; code <= high; code++ {
			if w := worth(at(code / top)); w > most {
				found, most = at(code/top), w
			}
		}
		return found
	}
	set := []chart.Patch{{Signal: colorimetry.Gray(1)}}
	const greys = handOverPatches - 4
	for i := range greys {
		low := 40 + float64(i)*205/greys
		set = append(set, chart.Patch{Signal: best(low, low+205/greys-1, colorimetry.Gray)})
	}
	for _, at := range []func(float64) colorimetry.RGB{
		func(v float64) colorimetry.RGB { return colorimetry.RGB{R: v} },
		func(v float64) colorimetry.RGB { return colorimetry.RGB{G: v} },
		func(v float64) colorimetry.RGB { return colorimetry.RGB{B: v} },
	} {
		set = append(set, chart.Patch{Signal: best(110, 215, at)})
	}
	return chart.Number(set, "hand-over ")
}

// codeSlopes returns, for each patch, the light that rounding may take or add:
// handOverCode of a code, at the slope of a power of 2.4 after the curves, the
// steepest that is usual.
func codeSlopes(curves tone.Channels, set []chart.Patch, page []measure.Reading) []float64 {
	var out []float64
	for i, p := range set {
		s := curves.Apply(p.Signal)
		out = append(out, 2.4*handOverCode/255/math.Max(s.Max(), 1e-3)*page[i].XYZ.Y)
	}
	return out
}

// judgeHandOver compares the readings.
func judgeHandOver(none, page, system []measure.Reading, rounding []float64) HandedOver {
	out := HandedOver{Readings: slices.Clone(system)}
	freedom := float64(3 * len(system))
	var change float64 // of the curves themselves, over the noise
	for i := range system {
		out.Page += chiSquare(page[i], system[i], rounding[i]) / freedom
		out.None += chiSquare(none[i], system[i], rounding[i]) / freedom
		change += chiSquare(none[i], page[i], rounding[i]) / freedom
		out.Largest = math.Max(out.Largest, math.Abs(system[i].XYZ.Y/page[i].XYZ.Y-1))
	}
	bound := distuv.ChiSquared{K: freedom}.Quantile(1-handOverRisk) / freedom
	figures := fmt.Sprintf("ten patches differ from those with the page's curves by %.1f times what noise explains, from those without curves by %.1f times (in χ², up to %.1f is chance); the largest difference from the page's is %.1f %% of Y", out.Page, out.None, bound, 100*out.Largest)
	switch {
	case change <= bound:
		out.Sentence = "Whether the system's curves are in force cannot be told: they change the patches no more than noise does; " + figures + ". Read more averages to know."
	case out.Page <= bound:
		out.Kept = true
		out.Sentence = "The system's curves do what the page's did: " + figures + "."
	case out.None <= bound:
		out.Condition = measure.CurvesMissing
		out.Sentence = "the patches look as they do without curves: " + figures
	default:
		out.Condition = measure.CurvesUnexpected
		out.Sentence = "the patches look neither as with the page's curves nor as without any: " + figures
	}
	return out
}

// chiSquare returns the squared difference of two readings in units of its
// covariance: the noise of both, a common drift, and the rounding of codes.
func chiSquare(a, b measure.Reading, rounding float64) float64 {
	drift := b.XYZ.Scale(handOverDrift)
	cov := a.Covariance.Add(b.Covariance)
	d := [3]float64{drift.X, drift.Y, drift.Z}
	unit := b.XYZ.Scale(rounding / math.Max(b.XYZ.Y, 1e-9))
	u := [3]float64{unit.X, unit.Y, unit.Z}
	for i := range 3 {
		for k := range 3 {
			cov[i][k] += d[i] * d[k]
		}
		// Each channel is rounded for itself, so that this is no common factor.
		cov[i][i] += u[i] * u[i]
	}
	inverse, err := cov.Inverse()
	if err != nil {
		return 0 // without any noise nothing can be told
	}
	diff := b.XYZ.Sub(a.XYZ)
	w := inverse.Apply(diff)
	return diff.X*w.X + diff.Y*w.Y + diff.Z*w.Z
}
