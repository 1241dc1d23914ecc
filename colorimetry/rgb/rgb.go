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
