package report

import (
	"fmt"
	"math"
	"strings"

	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
	"example.org/primaries/verify"
)

func writtenOf(run *characterise.Result) *profile.Diagnostics {
	if len(run.Profile.Bytes) == 0 {
		return nil
	}
	d := run.Profile.Diagnostics
	d.Warnings = nil // they stand among the report's
	return &d
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
		{"white, ΔE00", "", f(d.WhiteDelta), "1", "The model's white against the measured one that the file carries, under the latter."},
		{"black, ΔE00", "", f(d.BlackDelta), "1", "The file's black against the model's, under the measured white."},
		{"curves, L*", "", figure(d.CurveError, 4), count(d.Entries), "What straight lines between so many entries miss of the curves, each channel's full light for white."},
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
		loss{"negative colours, ΔE00", "", f(d.ClipMax), "", "What the connection space loses of colours with an X, Y or Z below 0, under its white."},
		loss{"surface of the gamut, ΔE00", "", f(d.GridLoss), "300", fmt.Sprintf("The grid that it was taken from against the model; under the connection space's white; the tables have %d and %d nodes an edge.", d.NodesAToB, d.NodesBToA)},
		loss{"matrix alone, ΔE00", f(d.MatrixMean), f(d.MatrixMax), count(d.RoundCount), "For programs that read no tables, under the connection space's white."})
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
