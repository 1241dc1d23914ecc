package aim

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Policy says what happens to the tone where the display's black is not
// black.
type Policy int

const (
	// BlackStretch scales the range: relative light is k + (1−k)·f(s), where f
	// is the tone and k the black over the white. Every step keeps its share
	// of the range that the display has.
	BlackStretch Policy = iota
	// BlackLift adds a constant to the signal, as ITU-R BT.1886 does: relative
	// light is f(b + (1−b)·s) with f(b) = k. Greys near black keep their
	// ratios.
	BlackLift
)

// String returns "stretch" or "lift", the words of ParsePolicy.
func (p Policy) String() string {
	switch p {
	case BlackStretch:
		return "stretch"
	case BlackLift:
		return "lift"
	}
	return fmt.Sprintf("policy %d", int(p))
}

// ParsePolicy reads "stretch" or "lift"; "" is BlackStretch.
func ParsePolicy(s string) (Policy, error) {
	switch s {
	case "", "stretch":
		return BlackStretch, nil
	case "lift":
		return BlackLift, nil
	}
	return 0, fmt.Errorf(`aim: black policy %q is not known; give "stretch" or "lift"`, s)
}

// Aim is what a display should become. The zero value asks for the display's
// own white and luminance, a power curve of 2.2 and BlackStretch.
//
// An Aim is immutable in use and safe for concurrent use.
type Aim struct {
	// Start names the starting point that the aim was made from, as Starts
	// lists them; "" is none. Parts may have been changed since.
	Start string
	// White is the chromaticity of the white; its zero value is the
	// display's own.
	White White
	// Luminance is the luminance of the white in cd/m²; 0 is what the display
	// gives at that white.
	Luminance float64
	// Print is the paper beside the display, where Luminance was reckoned from
	// it (ForPrints); the zero value is none.
	Print Print
	// Tone leads from a grey signal to relative light; nil is a power curve
	// of 2.2.
	Tone tone.Curve
	// Black says how Tone meets the black.
	Black Policy
	// BlackCdM2 is the luminance of the black in cd/m², as the display shows
	// it without ambient light; 0 is the display's own.
	BlackCdM2 float64
	// BlackRatio asks for a black in its place, as the ratio of white over
	// black, above 1 and at most 10⁸, both seen with the ambient light; 0 asks
	// for none. One of the two at most is set.
	BlackRatio float64
	// Ambient is the light of the room that the screen reflects; its zero value
	// is unknown, and reckoned as none.
	Ambient Ambient
}

// Curve returns the tone of a, a power curve of 2.2 where none was set.
func (a Aim) Curve() tone.Curve {
	if a.Tone == nil {
		return tone.Power{Gamma: 2.2}
	}
	return a.Tone
}

// Target returns the colour in cd/m² that a asks for at the grey of signal,
// on a display whose own black is black and whose white has the luminance
// white in cd/m² (at an aim whose white is native: the XYZ of white must be
// given to TargetOf instead).
//
// Greys have the aim's white chromaticity down to the black: where the
// display cannot have that colour, because its black is brighter in one
// channel, is for the curves to find out.
func (a Aim) Target(signal float64, black colorimetry.XYZ, white float64) colorimetry.XYZ {
	return a.TargetOf(signal, black, a.White.XYZ(white))
}

// TargetOf is Target for a white given whole, absolute in cd/m². It is NaN in
// all three where [Aim.On] has no tone for the two.
func (a Aim) TargetOf(signal float64, black, white colorimetry.XYZ) colorimetry.XYZ {
	f, err := a.On(white.Y, black.Y)
	if err != nil {
		return White{}.XYZ(0)
	}
	return white.Scale(f.Light(signal))
}

// Colour returns the colour in cd/m² that a asks for at signal: the display's
// own primaries, scaled so that full signal is white, each following the
// tone with the black policy. The columns of primaries are the light that
// each channel at full signal adds to black, on any scale; black is the
// display's own, white absolute.
//
// The error is colorimetry.ErrSingular where the primaries do not span the
// colours, or that of [Aim.On].
func (a Aim) Colour(signal colorimetry.RGB, primaries colorimetry.Matrix, black, white colorimetry.XYZ) (colorimetry.XYZ, error) {
	inv, err := primaries.Inverse()
	if err != nil {
		return colorimetry.XYZ{}, fmt.Errorf("aim: primaries: %w", err)
	}
	f, err := a.On(white.Y, black.Y)
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	full := inv.ToLinear(white)
	return primaries.FromLinear(colorimetry.RGB{
		R: full.R * f.Light(signal.R),
		G: full.G * f.Light(signal.G),
		B: full.B * f.Light(signal.B),
	}), nil
}

// Cautions returns what is to be borne in mind with an aim of this kind, a
// sentence each; none for most.
func (a Aim) Cautions() []string {
	if !diagnostic(a.Curve()) {
		return nil
	}
	return []string{
		"Displays for diagnosis fall under rules of their own (DICOM PS3.14, AAPM TG-270, local codes) and a qualified medical physicist; nothing here is an acceptance test.",
	}
}

func diagnostic(c tone.Curve) bool {
	switch c.(type) {
	case GSDF, tone.GSDF:
		return true
	}
	return false
}

// Judgeable returns nil where a display may be judged against a, and
// [ErrAmbient] where the aim is a gsdf whose ambient light was not measured.
func (a Aim) Judgeable() error {
	if diagnostic(a.Curve()) && a.Ambient.Source != AmbientMeasured {
		return ErrAmbient
	}
	return nil
}
