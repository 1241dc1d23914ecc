package curves

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// result sums the loop up.
func (l *loop) result() Result {
	r := Result{
		Curves: l.path.curves, Aim: l.wished.aim, Reachable: l.most, Black: l.space.black,
		White: l.exact(l.path.device(colorimetry.Gray(1))), FloorSignal: l.wished.Floor, Passes: l.passes, Model: l.model,
		Wanted: l.wished.colour,
	}
	r.WhiteUncertainty = uvNoiseOf(r.White, l.space.carry(l.posterior(l.path.device(colorimetry.Gray(1)))))
	r.QuantisationFloor, r.HoldSignal = l.limits(l.wished, l.path)
	if c := l.wished.Cause; c >= 0 {
		r.FloorCause = fmt.Sprintf("the %s channel's own black is brighter than darker greys of this white have room for", channelNames[c])
	}
	r.HoldSignal, r.HoldCause = l.hold(r)
	lost := func(bits int) int {
		v := measure.LostLevels(l.path.curves, bits, l.options.Bits)
		return max(v[0], v[1], v[2])
	}
	r.LostLevels8, r.LostLevels10 = lost(8), lost(10)
	r.Levels = l.levels()
	r.Gradations, r.GradationsFound = l.gradations()
	r.TakenAtWhite, r.TakenCodes = l.taken()
	r.Sentences = append(l.sentences(r), l.cost(r)...)
	r.Warnings = l.warnings()
	r.Misfit, r.Jumps, r.Grain = l.hyper.misfit, l.hyper.fine, l.hyper.grain
	return r
}

func (l *loop) sentences(r Result) []string {
	end := r.Passes[len(r.Passes)-1]
	out := []string{fmt.Sprintf("Curves in %d passes: white %.4f from the aim in u'v' as read (noise %.4f), %.2f cd/m² for %.2f.",
		len(r.Passes)-1, end.WhiteDeltaUV, end.WhiteNoise, end.Luminance, r.Aim.Luminance)}
	if l.want.Luminance > r.Aim.Luminance {
		out = append(out, fmt.Sprintf("At this white the display has %.2f cd/m², so that this is the aim in place of %.2f.", r.Aim.Luminance, l.want.Luminance))
	}
	if r.FloorSignal > 0 {
		out = append(out, fmt.Sprintf("White, tone and black are had together from signal %.3f up: below it %s, and the greys go over to the native black.", r.FloorSignal, r.FloorCause))
	}
	if r.Grain > 0.3 || r.Jumps > 1 {
		out = append(out, "The display's tone is uneven from code to code or has jumps: no curve evens that out, and it limits how near single greys come.")
	}
	return append(out, fmt.Sprintf("The codes of the %d-bit path alone keep the luminance within 2 %% from signal %.3f up, with the uncertainty of the readings from %.3f up.",
		l.options.Bits, r.QuantisationFloor, r.HoldSignal))
}

// taken returns the shares of the channels' light and codes that the curves
// leave unused at white.
func (l *loop) taken() (light, codes [3]float64) {
	d := l.path.device(colorimetry.Gray(1))
	for c, v := range [3]float64{d.R, d.G, d.B} {
		light[c], codes[c] = 1-l.amount(c, v)/l.light[c][lightGrid], 1-v
	}
	return light, codes
}

// steps counts steps between greys, with its verb.
func steps(n int) string {
	if n == 1 {
		return "1 step is"
	}
	return fmt.Sprintf("%d steps are", n)
}

// cost words what the correction costs, and what would cost less.
func (l *loop) cost(r Result) []string {
	g, f := r.Gradations[0], r.GradationsFound[0]
	out := []string{fmt.Sprintf("Of the 256 greys of 8-bit content %d stay distinct and %s merged, the largest step being %.2f ΔE00; for that the greys' mean error falls from %.2f to %.2f ΔE00.",
		g.Distinct, steps(g.Merged), g.LargestStep, f.MeanError, g.MeanError)}
	most := 0
	for c := range 3 {
		if r.TakenCodes[c] > r.TakenCodes[most] {
			most = c
		}
	}
	if r.TakenCodes[most] >= worthAGain && l.path.bits <= 8 {
		out = append(out, fmt.Sprintf("At white the curves take %.0f %% of the %s channel's light and with it %.0f %% of its codes: a gain or brightness control of the display costs none, and is to be preferred where there is one.",
			100*r.TakenAtWhite[most], channelNames[most], 100*r.TakenCodes[most]))
	}
	if l.path.bits < 8 {
		out = append(out, fmt.Sprintf("The path was taken for one of %d bits without more: what the panel may add by dithering of its own is unknown here.", l.path.bits))
	}
	return out
}

// worthAGain is the share of a channel's codes from which up the display's own
// controls are recommended in place of the table: what a gain of 0.9 costs
// under a power of 2.2.
const worthAGain = 0.047

var channelNames = [3]string{"red", "green", "blue"}

// warnings compares the last look with the estimate: what differs by more than
// four times the noise of the reading and the 0.1 % that a display wanders was
// not learned, because the display changed or an outside light fell in.
func (l *loop) warnings() []string {
	var out []string
	for _, r := range l.check {
		d := l.path.device(r.Patch.Signal)
		y := l.exact(d).Y
		sd := math.Hypot(math.Sqrt(math.Max(r.Covariance[1][1], 0)), l.uncertainty(d))
		if miss := r.XYZ.Y - y; math.Abs(miss) > 4*sd+0.001*y {
			out = append(out, fmt.Sprintf("The last look at grey %.3f read %.4g cd/m² where all readings before it lead to %.4g: the display or the light around it changed while the curves were made.", r.Patch.Signal.R, r.XYZ.Y, y))
		}
	}
	return out
}
