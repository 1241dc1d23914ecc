package aim

import (
	"fmt"
	"math"

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
	// White is the chromaticity of the white; its zero value is the
	// display's own.
	White White
	// Luminance is the luminance of the white in cd/m²; 0 is what the display
	// gives at that white.
	Luminance float64
	// Tone leads from a grey signal to relative light; nil is a power curve
	// of 2.2.
	Tone tone.Curve
	// Black says how Tone meets the black.
	Black Policy
	// BlackCdM2 is the luminance of the black in cd/m²; 0 is the display's
	// own.
	BlackCdM2 float64
}

// Curve returns the tone of a, a power curve of 2.2 where none was set.
func (a Aim) Curve() tone.Curve {
	if a.Tone == nil {
		return tone.Power{Gamma: 2.2}
	}
	return a.Tone
}

// blackLuminance returns the luminance in cd/m² of the black that a asks for
// on a display whose own black is native.
func (a Aim) blackLuminance(native colorimetry.XYZ) float64 {
	if a.BlackCdM2 > 0 {
		return a.BlackCdM2
	}
	return math.Max(native.Y, 0)
}

// Relative returns the relative light, white = 1, that a asks for at signal
// (0 to 1) where the black's share of the white's luminance is black, 0 to
// below 1: the tone with the black policy applied.
func (a Aim) Relative(signal, black float64) float64 {
	f := a.Curve()
	black = math.Min(math.Max(black, 0), 1)
	if a.Black == BlackLift {
		b := f.Signal(black)
		return f.Light(b + (1-b)*signal)
	}
	return black + (1-black)*f.Light(signal)
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

// TargetOf is Target for a white given whole, absolute in cd/m².
func (a Aim) TargetOf(signal float64, black, white colorimetry.XYZ) colorimetry.XYZ {
	return white.Scale(a.Relative(signal, a.blackLuminance(black)/white.Y))
}

// Colour returns the colour in cd/m² that a asks for at signal: the display's
// own primaries, scaled so that full signal is white, each following the
// tone with the black policy. The columns of primaries are the light that
// each channel at full signal adds to black, on any scale; black is the
// display's own, white absolute.
//
// The error is colorimetry.ErrSingular where the primaries do not span the
// colours.
func (a Aim) Colour(signal colorimetry.RGB, primaries colorimetry.Matrix, black, white colorimetry.XYZ) (colorimetry.XYZ, error) {
	inv, err := primaries.Inverse()
	if err != nil {
		return colorimetry.XYZ{}, fmt.Errorf("aim: primaries: %w", err)
	}
	k := a.blackLuminance(black) / white.Y
	full := inv.ToLinear(white)
	return primaries.FromLinear(colorimetry.RGB{
		R: full.R * a.Relative(signal.R, k),
		G: full.G * a.Relative(signal.G, k),
		B: full.B * a.Relative(signal.B, k),
	}), nil
}
