package report

import (
	"fmt"
	"math"
	"strings"

	"example.org/primaries/fit"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
	"example.org/primaries/verify"
)

// judged is the state of a figure that should be at most most: Failed where it
// plainly is not, Passed where two standard uncertainties leave it within.
func judged(value, uncertainty, most float64, broken bool) verify.State {
	switch {
	case broken:
		return verify.Failed
	case value+2*uncertainty <= most:
		return verify.Passed
	}
	return verify.Undecided
}

func stabilityOf(s *fit.Stability) []Stability {
	if s == nil {
		return nil
	}
	var out []Stability
	for c, name := range [...]string{"red", "green", "blue"} {
		out = append(out, Stability{Primary: name, ShiftUV: s.Shift[c], ErrorUV: s.Error[c], Signal: s.Signal[c], Readings: s.Readings[c],
			State: judged(s.Shift[c], s.Error[c], fit.MostShift, s.Moved(c))})
	}
	return out
}

func writtenOf(run *characterise.Result) *profile.Diagnostics {
	if len(run.Profile.Bytes) == 0 {
		return nil
	}
	d := run.Profile.Diagnostics
	d.Warnings = nil // they stand among the report's
	return &d
}

// behaviour is a line of what the readings say of the display itself.
type behaviour struct {
	Name, Measured, Error, Of string
	State                     verify.State
	Word                      string // of the state
}

// behaviours returns the lines: the sum of the primaries, then each primary.
func (m Model) behaviours() []behaviour {
	var out []behaviour
	if m.Additivity != nil {
		out = append(out, behaviour{
			Name: "red, green and blue together", Measured: figure(100**m.Additivity, 1) + " % of the white's luminance, " + figure(100*m.AdditivityX, 1) + " % of its X, " + figure(100*m.AdditivityZ, 1) + " % of its Z",
			Error: "±\u00a0" + figure(100*m.AdditivityError, 1) + "\u00a0%", Of: "readings of black, white and the primaries; black counted once",
			State: m.AdditivityState, Word: wordOf(m.AdditivityState, "additive", "not additive"),
		})
	}
	for _, s := range m.Stability {
		out = append(out, behaviour{
			Name: s.Primary + "'s colour", Measured: fmt.Sprintf("moves by %s in u'v' at %s %% signal", figure(s.ShiftUV, 4), figure(100*s.Signal, 0)),
			Error: "±\u00a0" + figure(s.ErrorUV, 4), Of: fmt.Sprintf("the largest of %s below full signal, black taken off", plural(s.Readings, "reading")),
			State: s.State, Word: wordOf(s.State, "kept", "not kept"),
		})
	}
	return out
}

func wordOf(s verify.State, yes, no string) string {
	switch s {
	case verify.Passed:
		return yes
	case verify.Failed:
		return no
	}
	return string(verify.Undecided)
}

// concludeDisplay tells how the primaries behave. What noise may explain is no
// fault of the display.
func (r *Report) concludeDisplay() {
	m := r.Model
	tell := func(s verify.State, sentence string) {
		if s == verify.Failed {
			r.missed("%s", sentence)
			return
		}
		r.reached("%s", sentence)
	}
	if m.Additivity != nil {
		tell(m.AdditivityState, fmt.Sprintf("red, green and blue together give %.1f %% ± %.1f %% of the white's luminance", 100**m.Additivity, 100*m.AdditivityError))
	}
	if len(m.Stability) == 0 {
		return
	}
	worst, state, count := m.Stability[0], verify.Passed, 0
	for _, s := range m.Stability {
		if s.ShiftUV > worst.ShiftUV {
			worst = s
		}
		if s.State == verify.Failed {
			state = verify.Failed
		}
		count += s.Readings
	}
	tell(state, fmt.Sprintf("the primaries' colours move by up to %.4f ± %.4f in u'v' with the drive (%s at %.0f %%; %s, noise included)",
		worst.ShiftUV, worst.ErrorUV, worst.Primary, 100*worst.Signal, plural(count, "reading")))
}

// loss is a line of what the file's bytes lose.
type loss struct{ Name, Mean, Largest, Count, Says string }

// losses returns the lines. All are computed from the model and from the bytes
// read back: nothing is measured, and there is no noise in them.
func losses(d *profile.Diagnostics) []loss {
	if d == nil {
		return nil
	}
	f := func(v float64) string { return figure(v, 2) }
	count := func(n int) string { return fmt.Sprintf("%d", n) }
	out := []loss{
		{"all signals, ΔE00", f(d.LossMean), f(d.LossMax), count(d.LossCount), "Bytes against the model, both under the measured white: what the form of the file costs."},
		{"full primaries, ΔE00", "", f(d.PrimaryDelta), "6", "The same at full red, green, blue and two of them: they are scaled to add up to the white, red by " + scaled(d.PrimaryGains.R) + ", green by " + scaled(d.PrimaryGains.G) + ", blue by " + scaled(d.PrimaryGains.B) + "."},
		{"white, ΔE00", "", f(d.WhiteDelta), "1", "The model's white against the measured one that the file carries."},
		{"black, ΔE00", "", f(d.BlackDelta), "1", "The file's black against the model's."},
		{"curves, L*", "", figure(d.CurveError, 4), count(d.Entries), "What straight lines between so many entries miss of the curves."},
	}
	if d.RoundCount == 0 {
		return out
	}
	bend := func(v float64) string { return figure(100*v, 2) + " %" }
	out = append(out,
		loss{"round trip, ΔE00", f(d.RoundMean), f(d.RoundMax), count(d.RoundCount), "Colours of the display through the tables to signals and back, under the connection space's white."},
		loss{"hue, degrees", f(d.HueMean), "", count(d.HueCount), "By how much the colorimetric tables turn the hue of colours beyond the gamut, in Oklab."},
		loss{"bend of the greys", "", bend(d.GreyBend), "257", "Largest second difference of the signals along equal steps of lightness, as a part of full signal: small is smooth."},
		loss{"bend of the hues", "", bend(d.HueBend), "257", "The same around the hues at half lightness."},
		loss{"negative colours, ΔE00", "", f(d.ClipMax), "", "What the connection space loses of colours with an X, Y or Z below 0."},
		loss{"surface of the gamut, ΔE00", "", f(d.GridLoss), "300", fmt.Sprintf("The grid that it was taken from against the model; the tables have %d and %d nodes an edge.", d.NodesAToB, d.NodesBToA)},
		loss{"matrix alone, ΔE00", f(d.MatrixMean), f(d.MatrixMax), count(d.RoundCount), "For programs that read no tables."})
	return out
}

func scaled(gain float64) string { return strings.ReplaceAll(signed(gain-1, 2), " ", "\u00a0") }

// concludeFile tells in one sentence what the bytes lose.
func (r *Report) concludeFile() {
	d := r.Written
	if d == nil {
		return
	}
	s := fmt.Sprintf("the file's bytes miss the model by ΔE00 mean %.2f, max %.2f (computed for %d signals under the measured white)", d.LossMean, d.LossMax, d.LossCount)
	if d.RoundCount > 0 && !math.IsNaN(d.RoundMean) {
		s += fmt.Sprintf(", and there and back by mean %.2f, max %.2f", d.RoundMean, d.RoundMax)
	}
	r.reached("%s", s)
}
