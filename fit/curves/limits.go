package curves

import (
	"math"

	"example.org/primaries/colorimetry"
)

// holdLimit is the share by which the luminance of a grey may differ from the
// aim where a limit is reported.
const holdLimit = 0.02

// limits returns the lowest grey signals from which up the luminance keeps
// within holdLimit of the aim: by the rounding of the path alone, and with
// rounding, the curves' own straight lines and three times the uncertainty of the
// estimate together: three, because it is to hold for all of some hundred
// greys. Both are worked out on every code of a 10-bit signal, or
// of the path where that has fewer.
func (e *estimate) limits(w wish, p path) (rounding, hold float64) {
	codes := 1 << min(p.bits, 10)
	gaps := e.uncertainties(p)
	for i := codes - 1; i > 0; i-- {
		s := float64(i) / float64(codes-1)
		in := colorimetry.Gray(s).Quantise(p.bits)
		want := w.aim.TargetOf(in.R, w.black, w.white).Y
		smooth := p.curves.Apply(in)
		rounded := e.xyz(smooth.Quantise(p.bits)).Y
		if math.Abs(rounded-e.xyz(smooth).Y) > holdLimit*want {
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

// uncertainties returns the standard uncertainty of the luminance, in cd/m²,
// on a grid of grey signals.
func (e *estimate) uncertainties(p path) table {
	t := make(table, 65)
	for i := range t {
		t[i] = e.uncertainty(p.device(colorimetry.Gray(float64(i) / float64(len(t)-1))))
	}
	return t
}
