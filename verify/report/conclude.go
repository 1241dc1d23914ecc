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
	r.concludeAccuracies()
	r.concludeVerdicts()
	r.concludeGreys()
	r.concludePath()
	r.concludeDisplay()
	r.concludeFile()
	slices.SortStableFunc(r.NotReached, func(a, b string) int { return failedFirst(a) - failedFirst(b) })
	r.concludeNext()
	own := slices.DeleteFunc(slices.Clone(r.Cautions), func(s string) bool { return slices.Contains(cautions[:], s) })
	r.Cautions = append(slices.Clone(cautions[:]), own...)
}

// failedFirst orders sentences: those of failed verdicts come before all others.
func failedFirst(sentence string) int {
	if strings.HasPrefix(sentence, string(verify.Failed)+":") {
		return 0
	}
	return 1
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
	alone, scale := "", ""
	if r.LuminanceSystematicCdM2 == 0 && r.LuminanceSpreadCdM2 > 0 {
		alone = " (noise)"
	}
	if r.Instrument.ReferenceScale {
		scale = " as the reference reads"
	}
	r.tell("luminance_off_cd_m2", fmt.Sprintf("luminance %.1f%s%s cd/m²%s (%s), %s", r.LuminanceCdM2, plusMinus(" ± %.1f", r.luminanceUncertainty()), alone, scale, asked, black))
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

// concludeGreys tells how the greys hold the aim's tone, as they were read. One that
// is beyond the target by no more than its noise explains, two standard
// deviations, is open: more noise makes it no better. What the instrument leaves
// open in all of them alike is told apart, since it says nothing about their tone.
func (r *Report) concludeGreys() {
	count, over, beside, largest := 0, 0, 0, 0.0
	for _, g := range r.Greys {
		off := math.Abs(g.GotCdM2/g.WantCdM2 - 1)
		if g.BelowFloor || !(g.WantCdM2 > 0) || off-off != 0 {
			continue
		}
		count++
		largest = math.Max(largest, off)
		if off > greyTolerance {
			over++
			if off-2*g.SpreadShare*g.GotCdM2/g.WantCdM2 > greyTolerance {
				beside++
			}
		}
	}
	which, open := "", ""
	if r.FloorSignal > 0 {
		which = " above the floor"
	}
	if r.LuminanceSystematicCdM2 > 0 && r.LuminanceCdM2 > 0 {
		open = fmt.Sprintf("; the instrument leaves ± %.1f\u00a0%% open in all alike", 100*r.LuminanceSystematicCdM2/r.LuminanceCdM2)
	}
	read := fmt.Sprintf("(largest as read %.1f\u00a0%%)%s", 100*largest, open)
	switch {
	case count == 0:
	case over == 0:
		r.reached("tone %s: all %d greys%s lay within 2 %% of its luminance %s", r.Aim.Tone, count, which, read)
	case beside == 0:
		r.missed("%s: tone %s: %d of %d greys%s lay more than 2 %% off in luminance, none by more than its noise explains %s", verify.Undecided, r.Aim.Tone, over, count, which, read)
	default:
		r.missed("tone %s: %d of %d greys%s lay more than 2 %% off in luminance by more than their noise explains %s", r.Aim.Tone, beside, count, which, read)
	}
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

// load says what to give to the system or to the display, "" where nothing was
// made for either.
func (r *Report) load() string {
	switch curves := r.Curves != nil; {
	case r.Profile == "":
		return ""
	case r.Table != "" && curves:
		return fmt.Sprintf("load one, never both: %s in the display or box in place of all curves, or %s as the system's profile with its curves (tag vcgt)", r.Table, r.Profile)
	case r.Table != "":
		return fmt.Sprintf("load one, never both: %s in the display or box, or %s as the system's profile", r.Table, r.Profile)
	case curves:
		return fmt.Sprintf("give %s to the system as its profile; it is true with its curves (tag vcgt) loaded, and with them alone", r.Profile)
	}
	return fmt.Sprintf("give %s to the system as its profile", r.Profile)
}

// concludeNext says what to do, the first thing first.
func (r *Report) concludeNext() {
	next := func(format string, v ...any) { r.Next = append(r.Next, fmt.Sprintf(format, v...)) }
	if len(r.Warnings) > 0 {
		next("%s", r.heed())
	}
	if r.WarmUp != nil && !r.WarmUp.Stable {
		next("let the display warm up longer, then run again: the figures drifted under the readings")
	}
	if s := r.load(); s != "" {
		next("%s", s)
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
