package appearance

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Surround is what lies around the stimulus and its background: F limits the
// degree of adaptation, C is the impact of the surround on lightness and Nc
// the chromatic induction. The zero value stands for [Average].
//
// Source: CIE 159:2004.
type Surround struct{ F, C, Nc float64 }

// Average returns the surround of surface colours and of a display in a lit
// room: the surround's white has 20 % or more of the luminance of the scene's
// white. F = 1, c = 0.69, Nc = 1.
//
// Source: CIE 159:2004; Li et al. (2017).
func Average() Surround { return Surround{1, 0.69, 1} }

// Dim returns the surround of television in a dim room: the surround's white
// has less than 20 % of the scene's, yet some. F = 0.9, c = 0.59, Nc = 0.9.
//
// CIECAM02 as first presented in 2002 had Nc = 0.95 here (from memory); the value
// of the CIE report and of CAM16 is 0.9.
//
// Source: CIE 159:2004; Li et al. (2017).
func Dim() Surround { return Surround{0.9, 0.59, 0.9} }

// Dark returns the surround of projection in a dark room. F = 0.8, c = 0.525,
// Nc = 0.8.
//
// Source: CIE 159:2004; Li et al. (2017).
func Dark() Surround { return Surround{0.8, 0.525, 0.8} }

// Defaults of Viewing's fields that are left 0.
const (
	// DefaultAdaptingCdM2 is the luminance of a grey world before a display
	// whose white has 100 cd/m².
	DefaultAdaptingCdM2 = 20.0
	// DefaultBackground is the luminance of a grey world, relative to the white's.
	DefaultBackground = 0.2
)

// Viewing is the situation that a colour is seen in.
type Viewing struct {
	// White is the adopted white, relative: on a display usually the display's
	// white with Y = 1. The colours that are looked at are on the same scale. The
	// models know that scale, so that a white of Y = 100 is an error.
	White colorimetry.XYZ
	// AdaptingCdM2 is L_A, the luminance of the adapting field in cd/m². By
	// common practice it is a fifth of the white's luminance. 0 stands for
	// DefaultAdaptingCdM2.
	AdaptingCdM2 float64
	// Background is Y_b, the relative luminance of the background, on White's
	// scale and at most White's. 0 stands for DefaultBackground of White.Y.
	Background float64
	// Surround is the surround; the zero value stands for Average.
	Surround Surround
	// Discounting says that the observer discounts the illuminant entirely, as
	// with surface colours in plain light: the degree of adaptation is then 1.
	Discounting bool
}

// mostWhite bounds a white: twice the perfect diffuser and more are another
// scale. Whites of very low temperature have a large X, of high ones a large Z.
const mostWhite = 4

// withDefaults returns v with its zero fields filled in, or an error that says
// which field no model can work with.
func (v Viewing) withDefaults() (Viewing, error) {
	if v.AdaptingCdM2 == 0 {
		v.AdaptingCdM2 = DefaultAdaptingCdM2
	}
	if v.Background == 0 {
		v.Background = DefaultBackground * v.White.Y
	}
	if v.Surround == (Surround{}) {
		v.Surround = Average()
	}
	for _, f := range []struct {
		name      string
		v         float64
		low, high float64
	}{
		{"White.X", v.White.X, 0, mostWhite}, {"White.Y", v.White.Y, 0, mostWhite}, {"White.Z", v.White.Z, 0, mostWhite},
		{"AdaptingCdM2", v.AdaptingCdM2, 0, 1e6},
		{"Background", v.Background, 0, v.White.Y},
		{"Surround.F", v.Surround.F, 0, 2}, {"Surround.C", v.Surround.C, 0, 2}, {"Surround.Nc", v.Surround.Nc, 0, 2},
	} {
		if !(f.v > f.low && f.v <= f.high) {
			return v, fmt.Errorf("appearance: %s is %g; give a number above %g and not above %g (colours are relative: the white of a display has Y = 1)", f.name, f.v, f.low, f.high)
		}
	}
	return v, nil
}

// degree returns D, the degree of adaptation.
//
// Source: CIE 159:2004.
func (v Viewing) degree() float64 {
	if v.Discounting {
		return 1
	}
	d := v.Surround.F * (1 - math.Exp((-v.AdaptingCdM2-42)/92)/3.6)
	return math.Max(0, math.Min(1, d))
}
