package curves

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// holdLimit is the share by which the luminance of a grey may differ from the
// aim where a limit is reported.
const holdLimit = 0.02

// limits returns the lowest grey signals from which up the luminance keeps
// within holdLimit of the aim: by the codes of the path alone, and with these
// and three times the uncertainty of the estimate together: three, because it is to hold for all of some hundred
// greys. Both are worked out on every code of a 10-bit signal, or
// of the path where that has fewer.
func (e *estimate) limits(w wish, p path) (rounding, hold float64) {
	codes := 1 << min(p.bits, 10)
	gaps, _ := e.uncertainties(p)
	for i := codes - 1; i > 0; i-- {
		s := float64(i) / float64(codes-1)
		in := colorimetry.Gray(s).Quantise(p.bits)
		want := w.aim.TargetOf(in.R, w.black, w.white).Y
		rounded := e.exact(p.device(in)).Y
		if math.Abs(rounded-want) > holdLimit*want {
			rounding = math.Max(rounding, float64(i+1)/float64(codes-1))
		}
		if math.Abs(rounded-want)+3*gaps.at(s) > holdLimit*want {
			hold = math.Max(hold, float64(i+1)/float64(codes-1))
		}
		if rounding > 0 && hold > 0 {
			break
		}
	}
	// Of greys darker than any that was read nothing is promised.
	return math.Min(rounding, 1), math.Min(max(hold, w.Floor, darkest), 1)
}

// hold returns the signal from which up the greys hold, and what sets it.
func (l *loop) hold(r Result) (float64, string) {
	switch combed := l.combed(r.HoldSignal); {
	case combed > r.HoldSignal:
		return combed, "the display's own tone is uneven there, in steps larger than the limit"
	case r.HoldSignal > r.FloorSignal:
		return r.HoldSignal, fmt.Sprintf("below it the steps of the %d-bit path and the noise of the readings leave more open", l.options.Bits)
	}
	return r.FloorSignal, r.FloorCause
}

// combed raises a limit from which up the greys hold to above the lightest grey
// of the comb that does not: one that misses by more than its noise leaves room
// for, or one with a jump of the display's tone between it and the next.
//
// A jump is told from the smooth model of the display as found: where the light
// read, over the model's at the very codes that were shown, changes by J from
// one grey to the next, some grey between them may have to do with a light that
// is off by half of J and half of a code's step.
func (l *loop) combed(hold float64) float64 {
	type tooth struct{ miss, ratio, noise, step float64 }
	teeth := make([]tooth, len(l.comb))
	for i, r := range l.comb {
		s := r.Patch.Signal
		want := l.wished.aim.TargetOf(s.R, l.wished.black, l.wished.white).Y
		d := l.path.device(s)
		smooth := l.model.XYZ(d).Y
		above := l.model.XYZ(colorimetry.RGB{R: d.R + 1/l.top, G: d.G + 1/l.top, B: d.B + 1/l.top}).Y
		teeth[i] = tooth{r.XYZ.Y/want - 1, r.XYZ.Y / smooth, math.Sqrt(math.Max(r.Covariance[1][1], 0)) / want, above/smooth - 1}
	}
	for i, t := range teeth {
		over := math.Abs(t.miss) > holdLimit-t.noise
		if i+1 < len(teeth) {
			jump := math.Abs(teeth[i+1].ratio/t.ratio - 1)
			over = over || jump > 2*holdLimit-t.step-math.Hypot(t.noise, teeth[i+1].noise)
		}
		if over {
			// The codes up to the next grey were not read themselves.
			hold = math.Max(hold, l.comb[min(i+2, len(l.comb)-1)].Patch.Signal.R)
		}
	}
	return hold
}

// uncertainties returns the standard uncertainty of the luminance, in cd/m²,
// and of the colour, in u'v', on a grid of grey signals.
func (e *estimate) uncertainties(p path) (light, uv table) {
	const n = 65
	device := make([]colorimetry.RGB, n)
	for i := range device {
		device[i] = p.device(colorimetry.Gray(float64(i) / (n - 1)))
	}
	for i, v := range e.posteriors(device) {
		v = e.space.carry(v)
		light = append(light, math.Sqrt(math.Max(v[1][1], 0)))
		uv = append(uv, uvNoiseOf(e.xyz(device[i]), v))
	}
	return light, uv
}
