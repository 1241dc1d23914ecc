package profile

import (
	"math"

	"example.org/primaries/colorimetry"
)

const (
	// lowestPlace and highestPlace are how far beyond 0 and 1 a table holds
	// places, which are limited only after it was read between its nodes: below
	// 0 a twenty-fifth of full light. They let 0 and 1 fall on entries of curves
	// and on 16-bit numbers, multiples of 4369.
	lowestPlace, highestPlace = -1.0, 8.0 / 7
	// touching is how far beyond 0 and 1 places may be that count as on the
	// surface of the gamut, where rounding in the profile put them.
	touching = 1e-3
)

// nodes are those of a table to signals, the last channel running fastest.
type nodes struct {
	edge   int                                   // along each edge
	colour func(node [3]int) colorimetry.XYZ     // of a node
	cell   func(colorimetry.XYZ) (at [3]float64) // where a colour lies, in steps between nodes
}

// fill returns the places for each node of a table: those that show its colour,
// and beyond the gamut those of the colour that stands for it. Nodes beyond it of
// cells through which its surface passes hold places beyond 0 and 1, so that what
// lies between is right up to the surface.
func (m *mapper) fill(n *nodes) [][3]float64 {
	crossed := m.crossed(n, 1)
	out := make([][3]float64, len(crossed))
	for i := range out {
		out[i] = m.place(n.at(i), crossed[i], true)
	}
	return out
}

// fillSoft is fill for perceptual tables whose colours are first compensated for
// black, 1 leaving them alone. Of what fill made of the same nodes, if anything, is
// kept what holds.
func (m *mapper) fillSoft(n *nodes, kept [][3]float64, black compensation) [][3]float64 {
	crossed := m.crossed(n, black)
	out := make([][3]float64, len(crossed))
	for i := range out {
		if c, other := m.softened(black.apply(n.at(i))); other || black != 1 || kept == nil {
			out[i] = m.place(c, crossed[i], false)
		} else {
			out[i] = kept[i]
		}
	}
	return out
}

// at returns the colour of the node of an index.
func (n *nodes) at(i int) colorimetry.XYZ {
	return n.colour([3]int{i / (n.edge * n.edge), i / n.edge % n.edge, i % n.edge})
}

// place returns the places for a colour at a node; crossed says that the node's
// cell needs what lies beyond the gamut, exact that the grid is not good enough.
func (m *mapper) place(c colorimetry.XYZ, crossed, exact bool) [3]float64 {
	y := levels(m.grid.frame.light(c))
	v, ok := m.grid.find(y, y)
	switch {
	case ok && exact && within(v, -touching, 1+touching):
		return m.grid.refine(y, v)
	case ok && within(v, -touching, 1+touching):
		return v
	case ok && crossed && within(v, m.low, m.high):
		return v
	}
	return m.nearest(c, v)
}

// within reports whether all places lie from lo to hi.
func within(v [3]float64, lo, hi float64) bool {
	for _, x := range v {
		if !(x >= lo && x <= hi) {
			return false
		}
	}
	return true
}

// crossed marks the nodes of all cells through which the gamut's surface passes,
// where colours are compensated for black before they are looked up.
func (m *mapper) crossed(n *nodes, black compensation) []bool {
	out := make([]bool, n.edge*n.edge*n.edge)
	for _, c := range m.surface {
		var first [3]int
		for k, p := range n.cell((1 / black).apply(c)) {
			first[k] = min(max(int(math.Floor(p)), 0), n.edge-2)
		}
		for k := range 8 {
			out[((first[0]+k&1)*n.edge+first[1]+k>>1&1)*n.edge+first[2]+k>>2] = true
		}
	}
	return out
}
