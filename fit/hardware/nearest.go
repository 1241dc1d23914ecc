package hardware

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/fit/internal/gamutmap"
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
	*gamutmap.Gamut
	reach Reach
}

// surfaceSteps are the steps along each edge of the display's cube of places from
// which its surface is made.
const surfaceSteps = 32

func newSurface(d *display, white colorimetry.XYZ, reach Reach) (*surface, error) {
	if reach == ReachClip {
		space, err := gamut.Oklab(white)
		if err != nil {
			return nil, fmt.Errorf("hardware: %w", err)
		}
		return &surface{&gamutmap.Gamut{Space: space}, reach}, nil
	}
	own, err := gamutmap.New(d.colour, d.black, white, surfaceSteps)
	if err != nil {
		return nil, fmt.Errorf("hardware: %w", err)
	}
	return &surface{own, reach}, nil
}

// nearest returns the colour of the display that stands for c, which it has not;
// ok is false where each channel is to be limited by itself.
func (s *surface) nearest(c colorimetry.XYZ) (near colorimetry.XYZ, ok bool) {
	if s.reach == ReachClip {
		return c, false
	}
	return s.Stand(c, s.of)
}

// of returns the place on the surface for p, which lies beyond it.
func (s *surface) of(p gamut.Coordinates) gamut.Coordinates {
	if s.reach == ReachNearest {
		q, _ := s.Solid.Nearest(p)
		return q
	}
	q, _ := s.Hues.Nearest(p)
	return s.Pale(p, q)
}
