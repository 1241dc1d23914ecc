package hardware

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// Reach says what becomes of colours that the display has not.
type Reach int

const (
	// ReachHue takes the nearest colour of the same hue in Oklab, whose lines of
	// equal hue are straight. What has next to no chroma comes to the nearest of
	// any hue.
	ReachHue Reach = iota
	// ReachNearest takes the nearest colour in Oklab.
	ReachNearest
	// ReachClip limits each channel of the display by itself.
	ReachClip
)

func (r Reach) known() bool { return r >= ReachHue && r <= ReachClip }

// surface finds colours on the surface of a display's gamut. It is safe for
// concurrent use.
type surface struct {
	reach Reach
	black colorimetry.XYZ
	space gamut.Space
	solid *gamut.Solid
	hues  *gamut.Hues
}

// surfaceSteps are the steps along each edge of the display's signal cube from
// which its surface is made.
const surfaceSteps = 32

func newSurface(d *display, white colorimetry.XYZ, reach Reach) (*surface, error) {
	space, err := gamut.Oklab(white)
	if err != nil {
		return nil, fmt.Errorf("hardware: %w", err)
	}
	if reach == ReachClip {
		return &surface{reach: reach, space: space}, nil
	}
	// Places step the surface more evenly than signals do.
	solid, err := gamut.New(func(c colorimetry.RGB) colorimetry.XYZ {
		return d.colour([3]float64{c.R, c.G, c.B})
	}, space, gamut.Options{Steps: surfaceSteps})
	if err != nil {
		return nil, fmt.Errorf("hardware: %w", err)
	}
	return &surface{reach, d.black, space, solid, solid.Hues()}, nil
}

// grey is the chroma in Oklab below which hue means less and less.
const grey = 0.04

// nearest returns the colour of the display that stands for c, which it has not;
// ok is false where each channel is to be limited by itself.
func (s *surface) nearest(c colorimetry.XYZ) (near colorimetry.XYZ, ok bool) {
	if s.reach == ReachClip {
		return c, false
	}
	// No light is negative; primaries of a wide encoding may be.
	c = colorimetry.XYZ{X: math.Max(c.X, 0), Y: math.Max(c.Y, 0), Z: math.Max(c.Z, 0)}
	p, ok := s.space.Coordinates(c)
	if !ok {
		return c, false
	}
	q := s.of(p)
	if c.Y < s.black.Y {
		// What is darker than the display's black ends there, not at some mixture
		// whose hue is nearer.
		if k, ok := s.space.Coordinates(s.black); ok {
			q = between(k, q, c.Y/s.black.Y)
		}
	}
	return s.space.XYZ(q)
}

// of returns the place on the surface for p, which lies beyond it.
func (s *surface) of(p gamut.Coordinates) gamut.Coordinates {
	if s.reach == ReachNearest {
		q, _ := s.solid.Nearest(p)
		return q
	}
	q, _ := s.hues.Nearest(p)
	f := math.Hypot(p.A, p.B) / grey
	if f >= 1 {
		return q
	}
	// Around a grey that the display has not, all hues would lead to different
	// places.
	free, _ := s.solid.Nearest(p)
	return between(free, q, f)
}

func between(a, b gamut.Coordinates, f float64) gamut.Coordinates {
	return gamut.Coordinates{L: a.L + f*(b.L-a.L), A: a.A + f*(b.A-a.A), B: a.B + f*(b.B-a.B)}
}
