package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/primaries/verify"
)

// cautions stand in every report.
var cautions = [...]string{
	"This report is no acceptance test. Displays for diagnosis, or wherever a wrong colour can hurt, fall under their own rules and qualified people.",
	"The figures hold for the display as it was measured: its controls, its mode, its curves and the dark or lit room of that day.",
}

// Conclude draws Reached, NotReached and Next from the figures, anew each time,
// and puts the standing cautions before those already in Cautions.
func (r *Report) Conclude() {
	r.Reached, r.NotReached, r.Next = nil, nil, nil
	r.concludeWhite()
	r.concludeVerdicts()
	r.concludeAccuracies()
	r.concludeGreys()
	r.concludePath()
	r.concludeDisplay()
	r.concludeFile()
	r.concludeNext()
	own := slices.DeleteFunc(slices.Clone(r.Cautions), func(s string) bool { return slices.Contains(cautions[:], s) })
	r.Cautions = append(slices.Clone(cautions[:]), own...)
}

// reachedTitle heads what was reached; where nothing was adjusted, nothing was
// tried, and the figures are only as read.
func (r *Report) reachedTitle() string {
	if r.Run.Adjusted {
		return "Reached"
	}
	return "As read (the aim is only compared)"
}

func (r *Report) reached(format string, v ...any) {
	r.Reached = append(r.Reached, fmt.Sprintf(format, v...))
}

func (r *Report) missed(format string, v ...any) {
	r.NotReached = append(r.NotReached, fmt.Sprintf(format, v...))
}

// tell puts a sentence where the verdict on its figure belongs, and under
// Reached where there is none.
func (r *Report) tell(figure, sentence string) {
	v, judged := r.verdict(figure)
	if !judged || v.State == verify.Passed {
		r.reached("%s", sentence)
		return
	}
	r.missed("%s: %s; limit %s", v.State, sentence, v.Digits(v.Limit.Value))
}

// concludeWhite tells white, luminance and black.
func (r *Report) concludeWhite() {
	r.tell("white.delta_uv", fmt.Sprintf("white x %.4f, y %.4f (%.0f K), Δu'v' %.4f%s from the aim", r.White.X, r.White.Y, r.White.CCT, r.White.DeltaUV, plusMinus(" ± %.4f", r.White.SpreadUV)))
	black := "no light in black that could be read"
	switch {
	case r.blackLost():
		black = fmt.Sprintf("black too dark to read (below %.1g)", 2*r.BlackSpreadCdM2)
	case r.BlackCdM2 > 0:
		black = fmt.Sprintf("black %.3g%s, contrast %.0f\u00a0:\u00a01%s", r.BlackCdM2, plusMinus(" ± %.1g", r.blackUncertainty()), r.LuminanceCdM2/r.BlackCdM2, plusMinus(" ± %.1g\u00a0%%", 100*r.ContrastSpreadShare))
	}
	asked := "as the display gives it"
	if a := r.Aim.asked(); a > 0 {
		asked = fmt.Sprintf("aim %.4g", a)
	}
	if r.Run.Relative {
		r.reached("luminance not known, the readings are relative; black %.2g %% of white", 100*r.BlackCdM2/r.LuminanceCdM2)
		return
	}
	alone := ""
	if r.LuminanceSystematicCdM2 == 0 && r.LuminanceSpreadCdM2 > 0 {
		alone = " (noise)"
	}
	r.tell("luminance_off_cd_m2", fmt.Sprintf("luminance %.1f%s%s cd/m² (%s), %s", r.LuminanceCdM2, plusMinus(" ± %.1f", r.luminanceUncertainty()), alone, asked, black))
}

// blackLost reports whether the black cannot be told from none.
func (r *Report) blackLost() bool {
	return r.BlackSpreadCdM2 > 0 && r.BlackCdM2 < 2*r.BlackSpreadCdM2
}

// concludePath tells what the display and its path could not do.
func (r *Report) concludePath() {
	because := ""
	if r.FloorCause != "" {
		because = ": " + strings.TrimSuffix(r.FloorCause, ".")
	}
	switch {
	case r.FloorSignal > r.BlackFloorSignal:
		r.missed("below %.1f %% signal the greys' luminance is not promised within 2 %%%s", 100*r.FloorSignal, because)
		if r.BlackFloorSignal > 0 {
			r.missed("greys below %.1f %% signal go over to the display's own black", 100*r.BlackFloorSignal)
		}
	case r.FloorSignal > 0:
		r.missed("greys below %.1f %% signal go over to the display's own black%s", 100*r.FloorSignal, because)
	}
	if w := r.WarmUp; w != nil && !w.Stable {
		r.missed("the display was still drifting after %.0f minutes of warm-up", w.Minutes)
	}
	if c := r.Curves; c != nil && c.LostLevels > 0 {
		levels := 1024
		if c.Bits < 10 {
			levels = 256
		}
		r.missed("%d of %d levels are lost to the curves", c.LostLevels, levels)
	}
}

// greyTolerance is this project's own target for the luminance of greys.
const greyTolerance = 0.02

// concludeGreys tells how many greys hold the aim's tone. A grey counts as
// beside it only where its noise, two standard deviations, does not explain it;
// what the instrument leaves open in all of them alike is told apart, since it
// says nothing about their tone.
func (r *Report) concludeGreys() {
	count, beside, worst := 0, 0, 0.0
	for _, g := range r.Greys {
		if g.BelowFloor || !(g.WantCdM2 > 0) {
			continue
		}
		count++
		off := math.Abs(g.GotCdM2 - g.WantCdM2)
		if off-2*g.SpreadShare*g.GotCdM2 > greyTolerance*g.WantCdM2 {
			beside++
			worst = math.Max(worst, off/g.WantCdM2)
		}
	}
	which, open := "", ""
	if r.FloorSignal > 0 {
		which = " above the floor"
	}
	if r.LuminanceSystematicCdM2 > 0 && r.LuminanceCdM2 > 0 {
		open = fmt.Sprintf(" as read; the instrument leaves ± %.1f\u00a0%% open in all alike", 100*r.LuminanceSystematicCdM2/r.LuminanceCdM2)
	}
	switch {
	case count == 0:
	case beside == 0:
		r.reached("tone %s: all %d greys%s hold its luminance within 2 %%%s", r.Aim.Tone, count, which, open)
	default:
		r.missed("tone %s: %d of %d greys%s are more than 2 %% off in luminance, the worst %.1f %%%s", r.Aim.Tone, beside, count, which, 100*worst, open)
	}
}

// concludeAccuracies tells how near the aim and how true the profile is, each
// figure with all that it needs to be read.
func (r *Report) concludeAccuracies() {
	if a := r.AimAccuracy; a.After != nil {
		before := ""
		if a.Before != nil {
			before = fmt.Sprintf(" (as found %.2f)", a.Before.DeltaE2000.Mean)
		}
		r.reached("aim ΔE00 mean %.2f%s, max %.2f; %s", a.After.DeltaE2000.Mean, before, a.After.DeltaE2000.Max, conditions(*a.After))
	}
	p := r.ProfileAccuracy
	for _, a := range []*verify.Accuracy{&p.Relative, p.True, &p.Absolute} {
		if a != nil && a.DeltaE2000.Count > 0 {
			r.reached("profile ΔE00 mean %.2f, max %.2f; %s", a.DeltaE2000.Mean, a.DeltaE2000.Max, conditions(*a))
		}
	}
}

// conditions says what a figure must never be printed without.
func conditions(a verify.Accuracy) string {
	s := fmt.Sprintf("%s %s, %s", a.Reference, a.Basis, patches(a.DeltaE2000.Count))
	switch {
	case a.Basis == verify.AgainstTruth:
		return s
	case !a.NoiseFloor.Known:
		return s + fmt.Sprintf(" ×%d, noise not stated", a.Averages)
	}
	what := "noise"
	if a.Systematic {
		what = "noise and instrument"
	}
	return s + fmt.Sprintf(" ×%d, %s %.2f", a.Averages, what, a.NoiseFloor.Mean)
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	if strings.HasSuffix(what, "ch") {
		what += "e"
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// concludeVerdicts tells what did not pass, except for white and luminance.
func (r *Report) concludeVerdicts() {
	for _, state := range [...]verify.State{verify.Failed, verify.Undecided} {
		for _, v := range r.Verdicts {
			if v.State == state && v.Limit.Figure != "white.delta_uv" && v.Limit.Figure != "luminance_off_cd_m2" {
				r.missed("%s: %s: %s (%s)", state, v.Limit.Name, v.Reason, v.Limit.Source)
			}
		}
	}
}

// verdict returns the verdict on a figure.
func (r *Report) verdict(figure string) (verify.Verdict, bool) {
	for _, v := range r.Verdicts {
		if v.Limit.Figure == figure {
			return v, true
		}
	}
	return verify.Verdict{}, false
}

// concludeReadings says how far the readings stand as they were taken: the
// drift, and what was read again. There is nothing to say of readings that
// somebody brought.
func (r *Report) concludeReadings() []string {
	if r.ReadAgain == nil {
		return nil
	}
	drift := "No patch was repeated to show drift."
	if d := r.Drift; d != nil {
		from := fmt.Sprintf("%s of %s", plural(d.Repeats, "reading"), plural(d.Anchors, "patch"))
		drift = fmt.Sprintf("No drift beyond the noise in %s.", from)
		if d.Corrected {
			drift = fmt.Sprintf("The chart was corrected for drift of up to %s in luminance and %s in u'v', seen in %s; the proof is as read.", signed(d.LuminanceShare, 2), figure(d.DeltaUV, 4), from)
		}
		if d.LeftOut > 0 {
			drift += fmt.Sprintf(" %s more lay off the others and did not count.", plural(d.LeftOut, "reading"))
		}
	}
	again := "No patch was read again."
	if a := r.ReadAgain; a.Count > 0 {
		var came []string
		for _, outcome := range [...]string{unsettled, replaced, confirmed} {
			if s := a.tell(outcome); s != "" {
				came = append(came, s)
			}
		}
		again = fmt.Sprintf("%s read again: %s.", plural(a.Count, "patch"), strings.Join(came, ", "))
	}
	return []string{drift, again}
}

// named is how many patches are named in a sentence; of more, report.json has
// the names.
const named = 6

// tell counts the patches of an outcome, and names them where they are few; ""
// where there are none.
func (a *ReadAgain) tell(outcome string) string {
	var names []string
	for _, p := range a.Patches {
		if p.Outcome == outcome {
			names = append(names, p.ID)
		}
	}
	s := fmt.Sprintf("%d %s", len(names), outcome)
	switch n := len(names); {
	case n == 0:
		return ""
	case n > named:
		return s + " (named in report.json)"
	}
	return s + " (" + strings.Join(names, ", ") + ")"
}

// heed is the first thing to do where there are warnings.
func (r *Report) heed() string { return "heed " + plural(len(r.Warnings), "warning") }

// concludeNext says what to do, the first thing first.
func (r *Report) concludeNext() {
	next := func(format string, v ...any) { r.Next = append(r.Next, fmt.Sprintf(format, v...)) }
	if len(r.Warnings) > 0 {
		next("%s", r.heed())
	}
	if r.WarmUp != nil && !r.WarmUp.Stable {
		next("let the display warm up longer, then run again: the figures drifted under the readings")
	}
	if r.Profile != "" {
		curves := ""
		if r.Curves != nil {
			curves = "; it is true with its curves (tag vcgt) loaded, and with them alone"
		}
		next("give %s to the system as its profile%s", r.Profile, curves)
	}
	if c := r.Controls; c != nil && len(c.Set) > 0 {
		var steps []string
		for _, s := range c.Set {
			steps = append(steps, fmt.Sprintf("%s %d", s.Name, s.To))
		}
		next("leave the controls as they are: %s", strings.Join(steps, ", "))
	}
	failed, undecided, common := 0, 0, 0
	for _, v := range r.Verdicts {
		switch v.State {
		case verify.Failed:
			failed++
		case verify.Undecided:
			undecided++
			if r.instrumentRules() && !strings.HasPrefix(v.Limit.Figure, "profile_accuracy.relative") {
				common++
			}
		}
	}
	if failed > 0 {
		next("look at what failed: warm-up, light on the screen and the instrument's fit first, then run again")
	}
	if common > 0 {
		next("to decide what is open, correct the instrument by a surer reference: its own error is in every reading, and more averages leave it there")
	}
	if undecided > common {
		next("to decide what is open, run again with more averages or a steadier instrument")
	}
	if h := r.History; h != nil && !h.Look.Due.IsZero() {
		next("measure again on %s: %s", h.Look.Due.Format("2 January 2006"), h.Look.Reason)
	}
}

// plusMinus prints a spread where there is one.
func plusMinus(format string, v float64) string {
	if !(v > 0) {
		return ""
	}
	return fmt.Sprintf(format, v)
}
