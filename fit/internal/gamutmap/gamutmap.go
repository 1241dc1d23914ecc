// Package gamutmap finds the colour of a display that stands for one which the
// display has not.
package gamutmap

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// Gamut is what a display has: its surface in a space whose lines of equal hue
// are straight, and its black. It is safe for concurrent use.
type Gamut struct {
	Black colorimetry.XYZ
	Space gamut.Space
	Solid *gamut.Solid
	Hues  *gamut.Hues
}

// New returns the gamut of a display that shows colour at places between 0 and 1,
// which step its surface more evenly than signals do. Steps are those along each
// edge of the cube of places.
func New(colour func([3]float64) colorimetry.XYZ, black, white colorimetry.XYZ, steps int) (*Gamut, error) {
	space, err := gamut.Oklab(white)
	if err != nil {
		return nil, err
	}
	solid, err := gamut.New(func(c colorimetry.RGB) colorimetry.XYZ {
		return colour([3]float64{c.R, c.G, c.B})
	}, space, gamut.Options{Steps: steps})
	if err != nil {
		return nil, err
	}
	return &Gamut{black, space, solid, solid.Hues()}, nil
}

// Stand returns the colour that stands for c, onto being what leads from a place
// beyond the surface onto it. Where ok is false there is none, and c is returned
// as far as it can be a colour.
func (g *Gamut) Stand(c colorimetry.XYZ, onto func(gamut.Coordinates) gamut.Coordinates) (stands colorimetry.XYZ, ok bool) {
	// No colour has negative tristimulus values; nodes of a table may, and the
	// primaries of a wide encoding.
	c = colorimetry.XYZ{X: math.Max(c.X, 0), Y: math.Max(c.Y, 0), Z: math.Max(c.Z, 0)}
	p, ok := g.Space.Coordinates(c)
	if !ok {
		return c, false
	}
	q := onto(p)
	if c.Y < g.Black.Y {
		// What is darker than the display's black ends there, not at some mixture
		// whose hue is nearer.
		if k, ok := g.Space.Coordinates(g.Black); ok {
			q = between(k, q, c.Y/g.Black.Y)
		}
	}
	return g.Space.XYZ(q)
}

// Grey is the chroma in Oklab below which the hue of a colour means less and
// less.
const Grey = 0.04

// Pale returns q, the place on the surface that p's hue led to, unless p has next
// to no chroma: that comes to the nearest of any hue. Around a grey that the
// display cannot show, all hues would lead to different places.
func (g *Gamut) Pale(p, q gamut.Coordinates) gamut.Coordinates {
	f := math.Hypot(p.A, p.B) / Grey
	if f >= 1 {
		return q
	}
	free, _ := g.Solid.Nearest(p)
	return between(free, q, f)
}

// between returns the place at the share f of the way from a to b.
func between(a, b gamut.Coordinates, f float64) gamut.Coordinates {
	return gamut.Coordinates{L: a.L + f*(b.L-a.L), A: a.A + f*(b.A-a.A), B: a.B + f*(b.B-a.B)}
}
