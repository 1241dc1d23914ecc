package rgb

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Space is an RGB encoding. A Space is a value; its Curve must be immutable,
// as those of package tone are.
type Space struct {
	Name    string
	R, G, B colorimetry.Chromaticity // primaries
	White   colorimetry.Chromaticity // all three primaries at 1
	Curve   tone.Curve               // from a signal to the light of a display
}

// SRGB returns the encoding of IEC 61966-2-1:1999.
func SRGB() Space { return withWhiteD65("sRGB", bt709Primaries(), tone.SRGB{}) }

// BT709 returns the encoding of ITU-R BT.709-6 (2015), items 1.3 and 1.4, as a
// display without light in its black shows it by BT.1886. The camera's curve
// is tone.BT709.
func BT709() Space { return withWhiteD65("BT.709", bt709Primaries(), tone.BT1886{}) }

// BT2020 returns the encoding of ITU-R BT.2020-2 (2015), table 3, as a display
// without light in its black shows it by BT.1886.
func BT2020() Space {
	return withWhiteD65("BT.2020", [3]colorimetry.Chromaticity{{X: 0.708, Y: 0.292}, {X: 0.170, Y: 0.797}, {X: 0.131, Y: 0.046}}, tone.BT1886{})
}

// DisplayP3 returns the primaries of SMPTE RP 431-2 with the white and the
// curve of sRGB.
//
// Source: the registration of Display P3 in the ICC's registry of
// three-component encodings; CSS Color Module Level 4, "display-p3".
func DisplayP3() Space {
	return withWhiteD65("Display P3", [3]colorimetry.Chromaticity{{X: 0.680, Y: 0.320}, {X: 0.265, Y: 0.690}, {X: 0.150, Y: 0.060}}, tone.SRGB{})
}

// AdobeRGB returns the encoding that IEC 61966-2-5:2007 calls opRGB, with the
// exponent 563/256 of the specification "Adobe RGB (1998) Color Image
// Encoding" (2005-05), 4.3.4.
func AdobeRGB() Space {
	return withWhiteD65("Adobe RGB (1998)", [3]colorimetry.Chromaticity{{X: 0.64, Y: 0.33}, {X: 0.21, Y: 0.71}, {X: 0.15, Y: 0.06}}, tone.Power{Gamma: 563.0 / 256.0})
}

// bt709Primaries returns those of ITU-R BT.709-6, item 1.3.
func bt709Primaries() [3]colorimetry.Chromaticity {
	return [3]colorimetry.Chromaticity{{X: 0.64, Y: 0.33}, {X: 0.30, Y: 0.60}, {X: 0.15, Y: 0.06}}
}

func withWhiteD65(name string, p [3]colorimetry.Chromaticity, c tone.Curve) Space {
	return Space{Name: name, R: p[0], G: p[1], B: p[2], White: colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}, Curve: c}
}

// Matrix returns the matrix from the encoding's linear light to relative XYZ,
// white Y = 1. The error wraps colorimetry.ErrSingular where the primaries
// span no area.
func (s Space) Matrix() (colorimetry.Matrix, error) {
	m, err := PrimariesMatrix(s.R, s.G, s.B, s.White.XYZ(1))
	if err != nil {
		return colorimetry.Matrix{}, fmt.Errorf("%w (encoding %q)", err, s.Name)
	}
	return m, nil
}

// Linear returns the linear light of a signal.
func (s Space) Linear(signal colorimetry.RGB) colorimetry.RGB {
	return colorimetry.RGB{R: s.Curve.Light(signal.R), G: s.Curve.Light(signal.G), B: s.Curve.Light(signal.B)}
}

// Signal returns the signal of linear light, unclamped where the curve is.
func (s Space) Signal(linear colorimetry.RGB) colorimetry.RGB {
	return colorimetry.RGB{R: s.Curve.Signal(linear.R), G: s.Curve.Signal(linear.G), B: s.Curve.Signal(linear.B)}
}

// PrimariesMatrix returns the matrix whose columns are the tristimulus values
// of primaries of chromaticity r, g and b in the amounts that add up to white.
// It is on white's scale, relative or absolute. The error wraps
// colorimetry.ErrSingular where the primaries span no area.
//
// Source: SMPTE RP 177:1993, derivation of basic television color equations.
func PrimariesMatrix(r, g, b colorimetry.Chromaticity, white colorimetry.XYZ) (colorimetry.Matrix, error) {
	column := func(c colorimetry.Chromaticity) colorimetry.XYZ {
		return colorimetry.XYZ{X: c.X, Y: c.Y, Z: 1 - c.X - c.Y}
	}
	p := colorimetry.Columns(column(r), column(g), column(b))
	inv, err := p.Inverse()
	// The determinant is twice the area of the triangle in x and y; rounding
	// leaves a trace of it where the primaries stand in a line.
	if err != nil || !(math.Abs(p.Det()) > 1e-12) {
		return colorimetry.Matrix{}, fmt.Errorf("rgb: the primaries span no area: %w", colorimetry.ErrSingular)
	}
	amount := inv.Apply(white)
	return p.Mul(colorimetry.Diagonal(amount.X, amount.Y, amount.Z)), nil
}
