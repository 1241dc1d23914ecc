package chart

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// nominalGamma is the gamma of the nominal display. BT.1886 and its
// predecessors put consumer displays between 2.2 and 2.4; the spacing of
// patches hardly depends on it.
const nominalGamma = 2.2

// nominal is the display that spacing is reckoned on before the real one has
// been measured: wide gamut, gamma 2.2, no black. Distances are CIELAB under
// its own white.
type nominal struct {
	matrix colorimetry.Matrix
	white  colorimetry.XYZ
}

// newNominal returns the nominal display, whose primaries and white are those
// of Display P3, which many wide-gamut panels aim at.
func newNominal() nominal {
	m, err := rgb.DisplayP3().Matrix()
	if err != nil {
		panic(err) // the standard's primaries span a triangle
	}
	return nominal{matrix: m, white: colorimetry.D65()}
}

// xyz returns the relative tristimulus value of s, 1 being white's Y.
func (n nominal) xyz(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	linear := colorimetry.RGB{R: math.Pow(s.R, nominalGamma), G: math.Pow(s.G, nominalGamma), B: math.Pow(s.B, nominalGamma)}
	return n.matrix.FromLinear(linear)
}

// lab returns the colour of s in CIELAB under the nominal display's white.
func (n nominal) lab(s colorimetry.RGB) colorimetry.Lab { return n.xyz(s).Lab(n.white) }

// Nominal returns roughly what a signal looks like: its CIELAB, relative to
// white, on a nominal wide-gamut display of gamma 2.2 without black. Patches
// are spaced and ordered by it. Signals are clamped to [0, 1].
//
// CIELAB exaggerates distances between saturated colours; spacing needs only
// that no region is starved. [CAM16UCS] is the choice where that matters.
func Nominal(s colorimetry.RGB) colorimetry.Lab { return newNominal().lab(s) }
