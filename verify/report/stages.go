package report

import (
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
)

// stages fills in what the stages of a run did.
func (r *Report) stages(run *characterise.Result) {
	for _, c := range run.Checklist {
		r.Checklist = append(r.Checklist, Check(c))
	}
	if w := run.WarmUp; w != nil {
		r.WarmUp = &WarmUp{Stable: w.Stable, Minutes: w.Took.Minutes(), Sentence: w.Reason, Trace: Trace(w.Readings)}
	}
	for _, s := range run.Stages {
		state := verify.Passed
		if r.WarmUp != nil && !r.WarmUp.Stable && s.Outcome == r.WarmUp.Sentence {
			state = verify.Undecided
		}
		r.Stages = append(r.Stages, Stage{Name: s.Name, Readings: s.Readings, Minutes: s.Took.Minutes(), State: state, Sentence: s.Outcome})
	}
	r.Drift, r.ReadAgain = driftOf(run.Drift), againOf(run)
	r.Controls = controlsOf(run)
	r.Curves = curvesOf(run)
	if c := run.Curves; c != nil {
		r.FloorSignal, r.FloorCause = c.HoldSignal, c.HoldCause
		r.BlackFloorSignal, r.QuantisationFloorSignal = c.FloorSignal, c.QuantisationFloor
	}
}

func driftOf(d measure.Drift) *Drift {
	if d.Anchors == 0 {
		return nil
	}
	return &Drift{
		Corrected: d.Luminance != 0 || d.UV != 0, LuminanceShare: d.Luminance, DeltaUV: d.UV,
		Anchors: d.Anchors, Repeats: d.Repeats, LeftOut: len(d.Outliers), NoiseFactor: d.NoiseFactor,
	}
}

// againOf tells what was read again, nil for readings that somebody brought.
func againOf(run *characterise.Result) *ReadAgain {
	if !run.Adjusted {
		return nil
	}
	out := &ReadAgain{Count: len(run.Again)}
	for _, a := range run.Again {
		p := AgainOfPatch{ID: a.Patch.ID, Stage: a.Stage, Distance: a.Distance, Readings: len(a.Readings)}
		switch a.Flag {
		case measure.FlagReplaced:
			out.Replaced++
			p.Outcome = replaced
		case measure.FlagUnsettled:
			out.Unsettled++
			p.Outcome = unsettled
		default:
			out.Confirmed++
			p.Outcome = confirmed
		}
		out.Patches = append(out.Patches, p)
	}
	return out
}

// Outcomes of an AgainOfPatch.
const confirmed, replaced, unsettled = "confirmed", "replaced", "unsettled"

func controlsOf(run *characterise.Result) *Controls {
	c := run.Controls
	if c == nil {
		return nil
	}
	out := &Controls{Sentences: []string{}}
	from := map[string]int{}
	for _, s := range c.Steps {
		if _, moved := from[s.Control]; !moved {
			from[s.Control] = s.From
		}
		out.Sentences = append(out.Sentences, s.Sentence)
	}
	out.Sentences = append(out.Sentences, c.Sentences...)
	for _, set := range c.Settings {
		was, moved := from[set.Name]
		if !moved {
			was = set.Now
		}
		out.Set = append(out.Set, ControlStep{Name: set.Name, From: was, To: set.Now})
	}
	out.Remainder = fmt.Sprintf("%+.1f cd/m² (±%.1f) and %.4f in u'v' (±%.4f) were left to the curves.",
		c.DeltaLuminance, c.LuminanceUncertainty, c.DeltaUV, c.WhiteUncertainty)
	return out
}

// drawn is the number of points that a curve is drawn by.
const drawn = 65

func curvesOf(run *characterise.Result) *Curves {
	if run.InForce.Len() == 0 {
		return nil
	}
	c := &Curves{Digest: run.InForce.Digest(), Entries: run.InForce.Len(), Bits: run.Screen.Bits}
	for i := range drawn {
		s := run.InForce.Apply(colorimetry.Gray(float64(i) / (drawn - 1)))
		c.Red, c.Green, c.Blue = append(c.Red, s.R), append(c.Green, s.G), append(c.Blue, s.B)
	}
	made := run.Curves
	if made == nil {
		return c
	}
	c.LostLevels = made.LostLevels10
	if run.Screen.Bits < 10 {
		c.LostLevels = made.LostLevels8
	}
	for _, p := range made.Passes {
		c.Passes = append(c.Passes, CurvePass{
			WhiteDeltaUV: p.WhiteDeltaUV, WhiteNoiseUV: p.WhiteNoise, GreyDeltaUV: p.GrayDeltaUV, GreyNoiseUV: p.GrayNoise,
			GreyLuminance: p.GrayLuminance, GreyLuminanceNoise: p.GrayLuminanceNoise,
		})
	}
	return c
}
