package curves

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
)

// Gradation says what is left of an even ramp of greys behind curves and the
// rounding of the path: what a correction costs, beside what it brings.
type Gradation struct {
	ContentBits int `json:"content_bits"` // depth of the ramp: 2^ContentBits greys
	PathBits    int `json:"path_bits"`    // depth behind the curves
	// Distinct is how many of the greys differ from the one below in at least
	// one channel, black included. Merged is how many do not: steps that a
	// gradient lacks.
	Distinct int `json:"distinct"`
	Merged   int `json:"merged"`
	// ChannelCodes is how many codes of each channel the greys still use.
	ChannelCodes [3]int `json:"channel_codes"`
	// LargestStep is the largest CIEDE2000 difference between neighbours, under
	// the white at full signal, and LargestStepAt the signal of the upper one:
	// where banding shows first.
	LargestStep   float64 `json:"largest_step_de00"`
	LargestStepAt float64 `json:"largest_step_at"`
	// LargestJND is the largest step of luminance in just noticeable
	// differences of the grayscale standard display function (DICOM PS3.14),
	// among greys within its range of 0.05 to 4000 cd/m²; 0 where there are
	// none.
	LargestJND float64 `json:"largest_step_jnd"`
	// MeanError and LargestError are the mean and the largest CIEDE2000
	// difference of the greys from the aim, under the aim's white; 0 without an
	// aim.
	MeanError    float64 `json:"mean_error_de00"`
	LargestError float64 `json:"largest_error_de00"`
}

// Grade works out what c leaves of the greys of contentBits on a path of
// pathBits, 1 to 16 each. light returns the display's colour, in cd/m², at a
// device signal; aimed what is wanted of a grey signal, nil for no aim. The
// zero Channels grade the display without correction. It is an error if a
// depth is out of its range.
func Grade(c tone.Channels, contentBits, pathBits int, light func(device colorimetry.RGB) colorimetry.XYZ, aimed func(signal float64) colorimetry.XYZ) (Gradation, error) {
	if min(contentBits, pathBits) < 1 || max(contentBits, pathBits) > 16 {
		return Gradation{}, fmt.Errorf("curves: greys of %d bits on a path of %d bits; 1 to 16 are possible", contentBits, pathBits)
	}
	g := Gradation{ContentBits: contentBits, PathBits: pathBits}
	top := float64(int(1)<<contentBits - 1)
	device := func(i int) colorimetry.RGB {
		return c.Apply(colorimetry.Gray(float64(i) / top)).Quantise(pathBits)
	}
	white := light(device(int(top)))
	var last colorimetry.RGB
	var below colorimetry.XYZ
	for i := range int(top) + 1 {
		d := device(i)
		xyz := below
		if i == 0 || d != last {
			xyz = light(d)
			g.Distinct++
		}
		for ch, moved := range [3]bool{d.R != last.R, d.G != last.G, d.B != last.B} {
			if i == 0 || moved {
				g.ChannelCodes[ch]++
			}
		}
		if i > 0 && d != last {
			g.step(below, xyz, white, float64(i)/top)
		}
		if aimed != nil {
			e := difference.XYZ2000(xyz, aimed(float64(i)/top), aimed(1))
			g.MeanError += e / (top + 1)
			g.LargestError = math.Max(g.LargestError, e)
		}
		last, below = d, xyz
	}
	g.Merged = int(top) + 1 - g.Distinct
	return g, nil
}

// step takes in the step between two neighbouring greys.
func (g *Gradation) step(below, above, white colorimetry.XYZ, signal float64) {
	if e := difference.XYZ2000(below, above, white); e > g.LargestStep {
		g.LargestStep, g.LargestStepAt = e, signal
	}
	lo, in := tone.GSDFIndex(below.Y)
	hi, also := tone.GSDFIndex(above.Y)
	if in && also {
		g.LargestJND = math.Max(g.LargestJND, hi-lo)
	}
}

// gradations grades the curves, and the display as found, for content of 8 and
// of 10 bits.
func (l *loop) gradations() (through, found []Gradation) {
	aimed := func(s float64) colorimetry.XYZ { return l.wished.aim.TargetOf(s, l.wished.black, l.wished.white) }
	for _, bits := range [2]int{8, 10} {
		// The depths are within their range by Options.
		t, _ := Grade(l.path.curves, bits, l.path.bits, l.exact, aimed)
		f, _ := Grade(tone.Channels{}, bits, l.path.bits, l.model.XYZ, aimed)
		through, found = append(through, t), append(found, f)
	}
	return through, found
}

// Level is what the panel and the path allow at one grey.
type Level struct {
	Signal float64 `json:"signal"`
	// Codes are those of the path that the curves give it.
	Codes [3]int `json:"codes"`
	// InReach says whether white and tone are had together there: no channel
	// would have to go below its own black or above its full light.
	InReach bool `json:"in_reach"`
	// DeltaUV and DeltaLuminance are what the estimate says of these codes
	// against the aim: distance in u'v' and share of luminance. Uncertainty is
	// the standard uncertainty of the estimate's colour in u'v'.
	DeltaUV        float64 `json:"delta_uv"`
	DeltaLuminance float64 `json:"delta_luminance"`
	Uncertainty    float64 `json:"uncertainty_uv"`
	// HalfCodeUV is how far half a code of one channel, the one that matters
	// most, turns the grey in u'v': what rounding that channel by itself may
	// cost.
	HalfCodeUV float64 `json:"half_code_uv"`
}

// levels returns what is allowed at the greys of the path, of 8 bits where it
// is deeper.
func (l *loop) levels() []Level {
	greys := 1 << min(l.path.bits, 8)
	_, gaps := l.uncertainties(l.path)
	out := make([]Level, greys)
	for i := range out {
		s := float64(i) / float64(greys-1)
		d := l.path.device(colorimetry.Gray(s))
		in := colorimetry.Gray(s).Quantise(l.path.bits).R
		want, got := l.wished.aim.TargetOf(in, l.wished.black, l.wished.white), l.exact(d)
		out[i] = Level{
			Signal: s, InReach: l.inReach(in), Uncertainty: gaps.at(s), HalfCodeUV: l.halfCode(d),
			Codes: [3]int{int(math.Round(d.R * l.top)), int(math.Round(d.G * l.top)), int(math.Round(d.B * l.top))},
		}
		if want.Y > 0 {
			out[i].DeltaUV, out[i].DeltaLuminance = got.UV().Distance(want.UV()), got.Y/want.Y-1
		}
	}
	return out
}

// inReach reports whether the aim itself, at a grey, asks of every channel an
// amount that it has.
func (l *loop) inReach(signal float64) bool {
	for c, a := range l.wished.ideal(signal) {
		if a < 0 || a > l.light[c][lightGrid]*(1+1e-6) {
			return false
		}
	}
	return true
}

// halfCode returns how far half a code of a channel turns the colour at a
// device signal in u'v', 0 where there is no light.
func (l *loop) halfCode(d colorimetry.RGB) float64 {
	from := l.xyz(d)
	if !(from.Y > 0) {
		return 0
	}
	var most float64
	for c, v := range [3]float64{d.R, d.G, d.B} {
		a := [3]float64{l.amount(0, d.R), l.amount(1, d.G), l.amount(2, d.B)}
		a[c] = (a[c] + l.amount(c, v+1/l.top)) / 2
		if v == 1 {
			a[c] = (l.amount(c, 1) + l.amount(c, 1-1/l.top)) / 2
		}
		most = math.Max(most, l.space.xyz(a).UV().Distance(from.UV()))
	}
	return most
}
