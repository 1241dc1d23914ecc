package aim

import (
	"fmt"
	"math"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Reached is what a display can do towards an aim.
type Reached struct {
	// OK says whether white, luminance, black and tone can be had together.
	OK bool
	// Nearest is the aim itself where OK, otherwise the nearest that can be
	// had: its white moved into the primaries' triangle by the shortest way in
	// u'v', its luminance lowered to what the display gives at that white, its
	// black the display's own where that is too bright. Native white and
	// luminance are filled in.
	Nearest Aim
	// MaxLuminance is the highest luminance in cd/m² at the white of Nearest.
	MaxLuminance float64
	// SeenRatio is white over black under Nearest, both with the ambient light
	// of the aim; infinite for a black without any light.
	SeenRatio float64
	// PrintLight is the light on the prints that makes the paper as bright as
	// the white of Nearest; no paper where the aim has none.
	PrintLight Print
	// Sentence says what is out of reach and what can be had instead; where
	// OK, what the aim comes to. It ends with the cautions of the aim.
	Sentence string
}

// luminanceSlack is the share of the luminance by which an aim may exceed the
// display and still count as within reach: a fifth of the usual reading noise
// of 0.5 %, so that a display's own white is always within its own reach.
const luminanceSlack = 0.001

// Reach tells whether a display can have a. The columns of primaries are the
// light in cd/m² that each channel at full signal adds to the black; black is
// the display's own, in cd/m².
//
// Where a has paper in its Print and the display cannot be as bright, the
// answer is light on the prints that it can follow.
//
// The error is colorimetry.ErrSingular where the primaries do not span the
// colours, and [ErrAmbient] for a gsdf aim without measured ambient light.
func Reach(a Aim, primaries colorimetry.Matrix, black colorimetry.XYZ) (Reached, error) {
	inv, err := primaries.Inverse()
	if err != nil {
		return Reached{}, fmt.Errorf("aim: primaries: %w", err)
	}
	if err := a.Judgeable(); err != nil {
		return Reached{}, err
	}
	r := Reached{Nearest: a}
	var lacks []string
	for _, part := range []func(Aim, *Reached) string{
		func(a Aim, r *Reached) string { return r.reachWhite(a, inv, primaries, black) },
		func(a Aim, r *Reached) string { return r.reachLuminance(a, black.Y) },
		func(a Aim, r *Reached) string { return r.reachBlack(a, black.Y) },
		func(a Aim, r *Reached) string { return r.reachTone(black.Y) },
	} {
		if lack := part(a, &r); lack != "" {
			lacks = append(lacks, lack)
		}
	}
	near := r.Nearest
	r.OK = len(lacks) == 0
	r.SeenRatio = near.Ambient.SeenRatio(near.Luminance, near.blackOn(near.Luminance, black.Y))
	r.PrintLight = near.printLight()
	r.Sentence = r.sentence(a, lacks)
	return r, nil
}

// reachWhite settles the white and the highest luminance there.
func (r *Reached) reachWhite(a Aim, inv, primaries colorimetry.Matrix, black colorimetry.XYZ) string {
	near := &r.Nearest
	if a.White.IsNative() {
		near.White = fromMeasured(primaries.FromLinear(colorimetry.Gray(1)).Add(black).Chromaticity())
	}
	var ok bool
	if r.MaxLuminance, ok = greatest(inv, black, near.White.At); ok {
		return ""
	}
	near.White = nearestWhite(inv, black, near.White.At)
	r.MaxLuminance, _ = greatest(inv, black, near.White.At)
	return fmt.Sprintf("the white %s lies outside the display's primaries; the nearest that can be had is %s", describe(a.White), formatXY4(near.White.At))
}

func (r *Reached) reachLuminance(a Aim, black float64) string {
	near := &r.Nearest
	switch {
	case a.Luminance == 0:
		near.Luminance = r.MaxLuminance
	case a.Luminance > r.MaxLuminance*(1+luminanceSlack):
		near.Luminance = roundDown(r.MaxLuminance)
		return fmt.Sprintf("at the white %s the display gives %.4g cd/m², not %.4g", describe(near.White), near.Luminance, a.Luminance)
	case a.Luminance <= black:
		near.Luminance = r.MaxLuminance
		return fmt.Sprintf("a white of %.4g cd/m² is no brighter than the display's black, %.4g", a.Luminance, black)
	}
	return ""
}

func (r *Reached) reachBlack(a Aim, own float64) string {
	near := &r.Nearest
	if a.BlackRatio > 0 {
		return r.reachRatio(a, own)
	}
	switch {
	case a.BlackCdM2 > 0 && a.BlackCdM2 < own:
		near.BlackCdM2 = 0
		return fmt.Sprintf("the display's black is %.4g cd/m², above the %.4g asked for", own, a.BlackCdM2)
	case near.BlackCdM2 >= near.Luminance:
		near.BlackCdM2 = 0
		return fmt.Sprintf("a black of %.4g cd/m² is no darker than the white", a.BlackCdM2)
	}
	return ""
}

// ratioSlack is the share by which the display's black may exceed the black of
// a ratio: no instrument knows a black better than that.
const ratioSlack = 0.01

func (r *Reached) reachRatio(a Aim, own float64) string {
	near := &r.Nearest
	if near.ratioBlack(near.Luminance) >= own*(1-ratioSlack) && near.ratioBlack(near.Luminance) >= 0 {
		return ""
	}
	near.BlackRatio = 0
	room := a.Ambient.CdM2
	has := a.Ambient.SeenRatio(near.Luminance, own)
	switch best := near.Luminance / (a.BlackRatio - 1); {
	case room == 0:
		return fmt.Sprintf("white over black comes to %.4g:1, not %.4g:1: the display's black is %.4g cd/m²", has, a.BlackRatio, own)
	case room > best:
		return fmt.Sprintf("white over black comes to %.4g:1 as seen, not %.4g:1, and would with no black: dim the room until the screen reflects less than %.2g cd/m² in place of %.2g", has, a.BlackRatio, best, room)
	}
	return fmt.Sprintf("white over black comes to %.4g:1 as seen, not %.4g:1: the display's black is %.4g cd/m² and the screen reflects %.2g", has, a.BlackRatio, own, room)
}

// The ends of DICOM's function in cd/m².
//
// Source: DICOM PS3.14, clause 7; as the printed equation gives them.
func gsdfEnds() (low, high float64) {
	low, _ = tone.GSDFLuminance(1)
	high, _ = tone.GSDFLuminance(1023)
	return low, high
}

// reachTone sees that the tone has room between black and white.
func (r *Reached) reachTone(own float64) string {
	near := &r.Nearest
	if _, ok := near.Curve().(GSDF); !ok {
		if _, err := near.On(near.Luminance, own); err != nil {
			near.Black = BlackStretch
			return fmt.Sprintf("the tone %v cannot be lifted to the display's black of %.4g cd/m² under that white; its range can be scaled", near.Curve(), own)
		}
		return ""
	}
	low, high := gsdfEnds()
	room := near.Ambient.CdM2
	if near.Luminance+room > high {
		near.Luminance = roundDown(high - room)
		return fmt.Sprintf("DICOM's function ends at %.0f cd/m², ambient light included", high)
	}
	if black := near.blackOn(near.Luminance, own); black+room < low {
		near.BlackRatio, near.BlackCdM2 = 0, math.Ceil(1e4*(low-room))/1e4
		return fmt.Sprintf("DICOM's function begins at %.4g cd/m²; a black of %.4g with ambient light of %.4g lies below it", low, black, room)
	}
	return ""
}

// printLight returns the paper of a in the light that suits its luminance.
func (a Aim) printLight() Print {
	if !a.Print.given() {
		return Print{}
	}
	p, err := a.Print.Lit(a.Luminance)
	if err != nil {
		return Print{}
	}
	return p
}

// sentence words the outcome.
func (r Reached) sentence(asked Aim, lacks []string) string {
	near := r.Nearest
	has := fmt.Sprintf("white %s at %.4g cd/m²", describe(near.White), near.Luminance)
	if asked.Ambient.Source != AmbientUnknown && !math.IsInf(r.SeenRatio, 0) {
		has += fmt.Sprintf(", %.3g:1 as seen in the room", r.SeenRatio)
	}
	text := "The display can have the aim: " + has + "."
	if len(lacks) > 0 {
		text = "Out of reach: " + strings.Join(lacks, "; ") + ". The nearest aim that can be had: " + has + "."
	}
	return strings.Join(append([]string{text + near.dim()}, asked.Cautions()...), " ")
}

// dimmer is the share by which the paper must be brighter or darker than the
// white for the light on it to be worth changing: the eye tells about 1 % side
// by side (from memory), and the light on a table is hardly ever so even.
const dimmer = 0.02

// dim says what to do about the light on the prints.
func (a Aim) dim() string {
	y, err := a.Print.Luminance()
	if !a.Print.given() || err != nil {
		return ""
	}
	switch k := a.Luminance / y; {
	case k < 1-dimmer:
		return fmt.Sprintf(" The paper shines at %.4g cd/m²: dim the light on the prints to %s.", y, a.Print.light(a.Luminance))
	case k > 1+dimmer:
		return fmt.Sprintf(" The paper shines at %.4g cd/m² only: a white as bright makes it look grey; give the prints %s.", y, a.Print.light(a.Luminance))
	}
	return ""
}

func describe(w White) string {
	if w.Name == "" || strings.Contains(w.Name, ",") {
		return formatXY4(w.At)
	}
	return fmt.Sprintf("%s (%s)", w.Name, formatXY4(w.At))
}

func formatXY4(c colorimetry.Chromaticity) string { return fmt.Sprintf("%.4f,%.4f", c.X, c.Y) }

// fromMeasured names a measured chromaticity to the four decimals that an
// instrument is good for, and keeps it whole.
func fromMeasured(c colorimetry.Chromaticity) White { return White{Name: formatXY4(c), At: c} }

// roundDown keeps an aim that is named in four digits within reach.
func roundDown(y float64) float64 {
	step := 0.1
	if y < 10 {
		step = 0.001
	}
	return math.Floor(y/step) * step
}

// greatest returns the highest luminance of a white of chromaticity at, and
// whether there is one above the black: inv leads from light above the black
// to the channels' amounts, each of which must stay in 0 to 1.
func greatest(inv colorimetry.Matrix, black colorimetry.XYZ, at colorimetry.Chromaticity) (float64, bool) {
	t, k := inv.ToLinear(at.XYZ(1)), inv.ToLinear(black)
	lo, hi := math.Max(black.Y, 0), math.Inf(1)
	for _, c := range [3][2]float64{{t.R, k.R}, {t.G, k.G}, {t.B, k.B}} {
		if !(c[0] > 0) {
			return 0, false
		}
		lo, hi = math.Max(lo, c[1]/c[0]), math.Min(hi, (1+c[1])/c[0])
	}
	return hi, hi > lo
}

// nearestWhite moves at to the edge of the primaries' triangle by the shortest
// way in u'v', and from there as far towards the display's own white as it
// takes for the colour, rounded to four decimals, to be had.
func nearestWhite(inv colorimetry.Matrix, black colorimetry.XYZ, at colorimetry.Chromaticity) White {
	primaries, err := inv.Inverse()
	if err != nil {
		return White{}
	}
	edge := nearestOnOutline(at.UV(), triangle(primaries))
	own := primaries.FromLinear(colorimetry.Gray(1)).Add(black).UV()
	const steps = 2000
	for i := range steps {
		f := float64(i) / steps
		uv := colorimetry.UV{U: edge.U + f*(own.U-edge.U), V: edge.V + f*(own.V-edge.V)}
		c := uv.Chromaticity()
		c = colorimetry.Chromaticity{X: math.Round(c.X*1e4) / 1e4, Y: math.Round(c.Y*1e4) / 1e4}
		if _, ok := greatest(inv, black, c); ok {
			return XY(c.X, c.Y)
		}
	}
	return fromMeasured(own.Chromaticity())
}

// Resolved returns a with its native fields filled in from the display's
// white as measured, absolute in cd/m², and with a ratio turned into the black
// that it means there.
func (a Aim) Resolved(white colorimetry.XYZ) Aim {
	if a.White.IsNative() {
		a.White = fromMeasured(white.Chromaticity())
	}
	if a.Luminance == 0 {
		a.Luminance = white.Y
	}
	if a.BlackRatio > 0 {
		a.BlackCdM2, a.BlackRatio = math.Max(a.ratioBlack(a.Luminance), 0), 0
	}
	return a
}
