package profile

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// mapper finds the places that show a colour, or the one that stands for it.
type mapper struct {
	grid    *grid
	space   gamut.Space
	solid   *gamut.Solid
	hues    *gamut.Hues
	wide    *gamut.Hues       // of the pictures that perceptual tables make room for
	surface []colorimetry.XYZ // colours all over the gamut's surface
	mapping Mapping
	knee    float64
	// low and high are the places beyond 0 and 1 up to which tables have room.
	low, high float64
}

func newMapper(g *grid, o Options) (*mapper, error) {
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	m := &mapper{grid: g, space: space, mapping: o.Mapping, knee: o.Knee, low: lowestPlace, high: highestPlace}
	if m.knee == 0 {
		m.knee = usualKnee
	}
	// Places step the surface more evenly than signals do.
	m.solid, err = gamut.New(func(c colorimetry.RGB) colorimetry.XYZ {
		return g.colour([3]float64{c.R, c.G, c.B})
	}, space, gamut.Options{Steps: gridSteps})
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	m.hues = m.solid.Hues()
	if err := m.readWide(); err != nil {
		return nil, err
	}
	m.readSurface()
	return m, nil
}

// colour returns the colour at places, in the connection space.
func (g *grid) colour(v [3]float64) colorimetry.XYZ {
	y, _ := g.at(v)
	return g.frame.colour(y)
}

// readSurface fills the colours of the surface, twice as close as the grid's
// nodes.
func (m *mapper) readSurface() {
	const steps = 2 * gridSteps
	for i := range (steps + 1) * (steps + 1) {
		a, b := float64(i/(steps+1))/steps, float64(i%(steps+1))/steps
		for face := range 6 {
			var v [3]float64
			v[face/2], v[(face/2+1)%3], v[(face/2+2)%3] = float64(face%2), a, b
			m.surface = append(m.surface, m.grid.colour(v))
		}
	}
}

// nearest returns the places of the display's colour that stands for c, by way
// of a space whose lines of equal hue are straight. start is where to begin.
func (m *mapper) nearest(c colorimetry.XYZ, start [3]float64) [3]float64 {
	// No colour has negative tristimulus values; nodes of a table may.
	c = colorimetry.XYZ{X: math.Max(c.X, 0), Y: math.Max(c.Y, 0), Z: math.Max(c.Z, 0)}
	p, ok := m.space.Coordinates(c)
	if ok {
		q := m.onSurface(p)
		if dark := m.grid.frame.black; c.Y < dark.Y {
			// What is darker than the display's black ends there, not at some
			// mixture whose hue is nearer.
			f := c.Y / dark.Y
			if k, ok := m.space.Coordinates(dark); ok {
				q = gamut.Coordinates{L: k.L + f*(q.L-k.L), A: k.A + f*(q.A-k.A), B: k.B + f*(q.B-k.B)}
			}
		}
		c, ok = m.space.XYZ(q)
	}
	if !ok {
		return m.grid.closest(levels(m.grid.frame.light(c)), start)
	}
	y := levels(m.grid.frame.light(c))
	return m.grid.closest(y, y)
}

// grey is the chroma in Oklab below which the hue of a colour means less and
// less.
const grey = 0.04

// onSurface returns the colour of the gamut that stands for one beyond it. What
// has next to no chroma comes to the nearest of any hue: around a grey that the
// display cannot show, all hues would lead to different places.
func (m *mapper) onSurface(p gamut.Coordinates) gamut.Coordinates {
	q, _ := m.hues.Nearest(p)
	if m.mapping == MappingToGrey {
		if f := m.hues.Reach(p.L, p); f < 1 {
			q = paler(p, f)
		}
	}
	f := math.Hypot(p.A, p.B) / grey
	if f >= 1 {
		return q
	}
	free, _ := m.solid.Nearest(p)
	return gamut.Coordinates{L: free.L + f*(q.L-free.L), A: free.A + f*(q.A-free.A), B: free.B + f*(q.B-free.B)}
}

// paler returns the colour of p's lightness and hue with a share of its chroma.
func paler(p gamut.Coordinates, share float64) gamut.Coordinates {
	return gamut.Coordinates{L: p.L, A: share * p.A, B: share * p.B}
}
