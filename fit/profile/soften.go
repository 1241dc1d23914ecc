package profile

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/fit/internal/level"
)

// usualKnee is the share of the chroma that the display has up to which
// perceptual tables leave colours alone. Own choice: the last fifth must make
// room.
const usualKnee = 0.8

// readWide makes the solid of the colours that perceptual tables make room for:
// those of BT.2020, its black put where the display's is.
func (m *mapper) readWide() error {
	corners, err := wideCorners()
	if err != nil {
		return err
	}
	dark := clamp(m.grid.frame.black.Y)
	solid, err := gamut.New(func(s colorimetry.RGB) colorimetry.XYZ {
		c := corners[1].Scale(level.Tables.Light(s.R)).Add(corners[2].Scale(level.Tables.Light(s.G))).Add(corners[4].Scale(level.Tables.Light(s.B)))
		return c.Scale(1 - dark).Add(colorimetry.D50().Scale(dark))
	}, m.Space, gamut.Options{Steps: gridSteps / 2})
	if err != nil {
		return fmt.Errorf("profile: %w", err)
	}
	m.wide = solid.Hues()
	return nil
}

// soften returns the colour that stands for p in perceptual tables, and whether
// it is another one. Of the colours of p's lightness and hue, those before the
// knee stay; from there to the end of the wide gamut they move together
// smoothly, so that its end, and what lies beyond, comes to the display's
// surface. Lightness, hue and
// order are kept; where the display reaches as far as the wide gamut nothing
// moves.
//
// Of the ways to clip that Montag and Fairchild (1998, an excerpt was read) let
// people compare, the one along the lightness was best.
func (m *mapper) soften(p gamut.Coordinates) (gamut.Coordinates, bool) {
	if m.knee >= 1 || math.Hypot(p.A, p.B) < 1e-6 {
		return p, false
	}
	own := m.Hues.Reach(p.L, p)
	at := 1 / own // p's chroma in steps of the display's most
	if !(at > m.knee) {
		return p, false
	}
	most := m.wide.Reach(p.L, p) / own
	if !(most > 1+1e-9) {
		return p, false
	}
	return paler(p, math.Min(soft(at, m.knee, most), 1)*own), true
}

// soft is x up to the knee and beyond it the hyperbola that begins with slope 1
// and reaches 1 at most.
func soft(x, knee, most float64) float64 {
	if x <= knee {
		return x
	}
	return knee + (x-knee)/(1+(x-knee)*(1/(1-knee)-1/(most-knee)))
}

// softened returns the colour of the connection space that stands for c in
// perceptual tables, and whether it is another one. What is darker than the
// display's black has no hue to keep and stays.
func (m *mapper) softened(c colorimetry.XYZ) (colorimetry.XYZ, bool) {
	if c.Y <= m.grid.frame.black.Y {
		return c, false
	}
	within := colorimetry.XYZ{X: math.Max(c.X, 0), Y: math.Max(c.Y, 0), Z: math.Max(c.Z, 0)}
	p, ok := m.Space.Coordinates(within)
	if !ok {
		return c, false
	}
	q, moved := m.soften(p)
	if !moved {
		return c, false
	}
	out, ok := m.Space.XYZ(q)
	if !ok {
		return c, false
	}
	return out, true
}
