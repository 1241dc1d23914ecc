package profile

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// mapper finds the places that show a colour, or the nearest one of its hue.
type mapper struct {
	grid  *grid
	space gamut.Space
	solid *gamut.Solid
	hues  *gamut.Hues
	spare float64
}

func newMapper(g *grid) (*mapper, error) {
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	// Places step the surface more evenly than signals do.
	solid, err := gamut.New(func(c colorimetry.RGB) colorimetry.XYZ {
		return g.colour([3]float64{c.R, c.G, c.B})
	}, space, gamut.Options{Steps: gridSteps})
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	return &mapper{g, space, solid, solid.Hues(), spare}, nil
}

// colour returns the colour at places, in the connection space.
func (g *grid) colour(v [3]float64) colorimetry.XYZ {
	y, _ := g.at(v)
	return g.frame.black.Add(g.frame.mix.FromLinear(colorimetry.RGB{R: unlevel(y[0]), G: unlevel(y[1]), B: unlevel(y[2])}))
}

// nearest returns the places of the display's colour that is nearest to c among
// those of its hue, in a space whose lines of equal hue are straight. start is
// where to begin.
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
	f := math.Hypot(p.A, p.B) / grey
	if f >= 1 {
		return q
	}
	free, _ := m.solid.Nearest(p)
	return gamut.Coordinates{L: free.L + f*(q.L-free.L), A: free.A + f*(q.A-free.A), B: free.B + f*(q.B-free.B)}
}

const (
	// spare is how far beyond 0 and 1 a table holds places, which are limited
	// only after it was read between its nodes; spare16 where the nodes do not
	// lie on the display's own ends. Both let 0 and 1 fall on entries of curves
	// and on 16-bit numbers, 4369 and 17476 from the ends.
	spare   = 1.0 / 13
	spare16 = 4.0 / 7
	// touching is how far beyond 0 and 1 places may be that count as on the
	// surface of the gamut, where rounding in the profile put them.
	touching = 1e-3
)

// fill returns the places for each node of a table of n nodes an edge, the last
// channel running fastest: those that show its colour, and beyond the gamut
// those of the nearest colour of its hue. Next to the gamut's surface, where it
// passes between nodes, the nodes beyond it hold places beyond 0 and 1, so that
// what lies between is right up to the surface.
func (m *mapper) fill(n int, colour func(node [3]int) colorimetry.XYZ) [][3]float64 {
	out := make([][3]float64, n*n*n)
	colours := make([]colorimetry.XYZ, len(out))
	state := make([]nodeState, len(out))
	for i := range out {
		colours[i] = colour([3]int{i / (n * n), i / n % n, i % n})
		y := levels(m.grid.frame.light(colours[i]))
		v, ok := m.grid.find(y, y)
		switch {
		case ok && within(v, touching):
			out[i], state[i] = m.grid.refine(y, v), shown
		case ok && within(v, m.spare):
			out[i], state[i] = v, nearby
		default:
			out[i], state[i] = v, beyond
		}
	}
	for i := range out {
		if state[i] == nearby && straddles(out, state, n, i) {
			continue
		}
		if state[i] != shown {
			out[i] = m.nearest(colours[i], out[i])
		}
	}
	return out
}

// nodeState says where the colour of a node lies.
type nodeState uint8

const (
	shown  nodeState = iota // in gamut
	nearby                  // little beyond
	beyond                  // elsewhere
)

// within reports whether places are within 0 and 1, give or take more.
func within(v [3]float64, more float64) bool {
	for _, x := range v {
		if !(x >= -more && x <= 1+more) {
			return false
		}
	}
	return true
}

// straddles reports whether a cell at node i, which is little beyond the gamut,
// has a node that lies well inside it where the first lies beyond.
func straddles(v [][3]float64, state []nodeState, n, i int) bool {
	at := [3]int{i / (n * n), i / n % n, i % n}
	for k := range 27 {
		to := [3]int{at[0] + k/9 - 1, at[1] + k/3%3 - 1, at[2] + k%3 - 1}
		if min(to[0], to[1], to[2]) < 0 || max(to[0], to[1], to[2]) >= n {
			continue
		}
		j := (to[0]*n+to[1])*n + to[2]
		if state[j] != shown {
			continue
		}
		for c := range 3 {
			if (v[i][c] < 0 || v[i][c] > 1) && v[j][c] > touching && v[j][c] < 1-touching {
				return true
			}
		}
	}
	return false
}
