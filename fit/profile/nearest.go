package profile

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/fit/internal/gamutmap"
)

// mapper finds the places that show a colour, or the one that stands for it.
type mapper struct {
	*gamutmap.Gamut
	grid    *grid
	wide    *gamut.Hues       // of the pictures that perceptual tables make room for
	surface []colorimetry.XYZ // colours all over the gamut's surface
	mapping Mapping
	knee    float64
	// low and high are the places beyond 0 and 1 up to which tables have room.
	low, high float64
}

func newMapper(g *grid, o Options) (*mapper, error) {
	own, err := gamutmap.New(g.colour, g.frame.black, colorimetry.D50(), gridSteps)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	m := &mapper{Gamut: own, grid: g, mapping: o.Mapping, knee: o.Knee, low: lowestPlace, high: highestPlace}
	if m.knee == 0 {
		m.knee = usualKnee
	}
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
	c, ok := m.Stand(c, m.onSurface)
	if !ok {
		return m.grid.closest(levels(m.grid.frame.light(c)), start)
	}
	y := levels(m.grid.frame.light(c))
	return m.grid.closest(y, y)
}

// onSurface returns the colour of the gamut that stands for one beyond it.
func (m *mapper) onSurface(p gamut.Coordinates) gamut.Coordinates {
	q, _ := m.Hues.Nearest(p)
	if m.mapping == MappingToGrey {
		if f := m.Hues.Reach(p.L, p); f < 1 {
			q = paler(p, f)
		}
	}
	return m.Pale(p, q)
}

// paler returns the colour of p's lightness and hue with a share of its chroma.
func paler(p gamut.Coordinates, share float64) gamut.Coordinates {
	return gamut.Coordinates{L: p.L, A: share * p.A, B: share * p.B}
}
