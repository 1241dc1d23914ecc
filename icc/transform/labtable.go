package transform

import (
	"math"

	"example.org/primaries/icc"
)

// labTable is the way from light to what a table says that L*a*b* indexes: a
// matrix, CIELAB's roots, another matrix and the eight corners of a cell, in one go.
// It is the way into every display and printer whose profile has tables.
type labTable struct {
	in    [3][3]float32 // to places in roots
	shift [3]float32
	// From the roots of Y, then of X or Z, to places among the cells.
	byY, byOther, from [3]float32
	cells              [3]int32
	first              int32    // of the nodes, for places that are counted from 1
	stride             [2]int32 // in nodes; those of the last channel lie side by side
	nodes              [][4]float32
	roots              *[2 * rootSteps]float32
	// light leads to X, Y and Z over the white's, which lie between lo and hi.
	light  [12]float64
	lo, hi float64
	wide   *wideLab
}

// Roots of light are read from a table of all the light that there can be, between
// whose entries they run straight.
const rootSteps = 4096

// rootsOff is kept off the table's end, where rounding may lead below it.
const rootsOff = 0.01

// newLabTable returns the way that the steps at the beginning of list are, behind
// those of before, and how many they are; nil for others, and where light may lie
// beyond 0 to 1.
func newLabTable(before, list []step) (*labTable, int) {
	if len(list) < 3 || !square(&list[0], icc.StepMatrix) || list[1].Kind != icc.StepToLab {
		return nil, 0
	}
	n := 2
	encode := []float64{1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0}
	for ; n < len(list) && square(&list[n], icc.StepMatrix); n++ {
		encode = product(list[n].matrix, encode, 3, 3, 3)
	}
	if n == len(list) || !square(&list[n], icc.StepTable) || !inUnit(before) {
		return nil, 0
	}
	for i := range list[n+1:] {
		// Back in light, what lines between roots cost would grow in the dark of the
		// next device: up to 1.5e-3 of the signal by a power of 2.2.
		if list[n+1+i].Kind == icc.StepToXYZ {
			return nil, 0
		}
	}
	l := list[n].Lattice()
	if !l.Linear || min(l.Grid[0], l.Grid[1], l.Grid[2]) < 2 {
		return nil, 0
	}
	p := &labTable{stride: [2]int32{int32(l.Grid[1] * l.Grid[2]), int32(l.Grid[2])}, nodes: make([][4]float32, len(l.Nodes)/3)}
	for i := range p.nodes {
		copy(p.nodes[i][:], l.Nodes[3*i:3*i+3])
	}
	p.lightOf(list[0].matrix)
	// L*, a* and b* of the roots of X, Y and Z.
	all := product(encode, []float64{0, 116, 0, 500, -500, 0, 0, 200, -200, -16, 0, 0}, 3, 3, 3)
	other := [3]int{0, 0, 2}
	for c := range 3 {
		last := float64(l.Grid[c] - 1)
		for j := range 3 {
			if j != 1 && (c == 0 || j != other[c]) && all[3*c+j] != 0 {
				return nil, 0 // no encoding mixes them
			}
		}
		p.byY[c], p.from[c] = float32(all[3*c+1]*last), float32(all[9+c]*last)+1
		if c > 0 {
			p.byOther[c] = float32(all[3*c+other[c]] * last)
		}
		p.cells[c] = int32(l.Grid[c] - 1)
	}
	p.first = p.stride[0] + p.stride[1] + 1
	p.wide = newWideLab(p)
	return p, n + 1
}

// lightOf fills what the way from signals to roots takes.
func (p *labTable) lightOf(matrix []float64) {
	p.hi = 1
	for c, white := range [3]float64{d50X, 1, d50Z} {
		least := matrix[9+c] / white
		most := least
		p.light[9+c] = least
		for j := range 3 {
			v := matrix[3*c+j] / white
			p.light[3*c+j] = v
			least, most = least+min(v, 0), most+max(v, 0)
		}
		p.lo, p.hi = min(p.lo, least), max(p.hi, most)
	}
	k := rootSteps / (p.hi - p.lo)
	for c := range 3 {
		for j := range 3 {
			p.in[c][j] = float32(p.light[3*c+j] * k)
		}
		p.shift[c] = float32((p.light[9+c]-p.lo)*k) + rootsOff
	}
	p.roots = new([2 * rootSteps]float32)
	for i := range rootSteps + 2 {
		p.roots[i] = float32(rootOf(p.lo + (float64(i)-rootsOff)/k))
	}
}

// rootOf is f of CIELAB.
func rootOf(t float64) float64 {
	if t > labCut {
		return math.Cbrt(t)
	}
	return labSlope*t + labOffset
}

// square reports whether a step is of that kind, from three channels to three.
func square(s *step, k icc.StepKind) bool { return s.Kind == k && s.Inputs == 3 && s.Outputs == 3 }

// clip returns the place, counted from 1, of a cell of cells that a place beyond
// them all is nearest to, and how far into it that lies.
func clip(place float32, cells int32) (cell int32, into float32) {
	if place > 1 {
		return cells, 1
	}
	return 1, 0
}

// run goes in two steps, each small enough for the processor's registers: to the
// cells, then through them.
func (p *labTable) run(b *block, n int) {
	p.find(b, n)
	p.read(b, n)
}

// find replaces light by how far into its cell a colour lies.
func (p *labTable) find(b *block, n int) {
	if p.wide.find(b, n) {
		return
	}
	x, y, z, at := b.v[0][:n], b.v[1][:n], b.v[2][:n], b.cell[:n]
	m, shift, roots := &p.in, &p.shift, p.roots
	for i, r := range x {
		g, bl := y[i], z[i]
		fx := m[0][0]*r + m[0][1]*g + m[0][2]*bl + shift[0]
		k := int32(fx)
		a := roots[k&(2*rootSteps-1)]
		fx = a + (roots[(k+1)&(2*rootSteps-1)]-a)*(fx-float32(k))
		fy := m[1][0]*r + m[1][1]*g + m[1][2]*bl + shift[1]
		k = int32(fy)
		a = roots[k&(2*rootSteps-1)]
		fy = a + (roots[(k+1)&(2*rootSteps-1)]-a)*(fy-float32(k))
		fz := m[2][0]*r + m[2][1]*g + m[2][2]*bl + shift[2]
		k = int32(fz)
		a = roots[k&(2*rootSteps-1)]
		fz = a + (roots[(k+1)&(2*rootSteps-1)]-a)*(fz-float32(k))

		// Places are counted from 1, so that one comparison finds those beyond
		// either end.
		u := p.byY[0]*fy + p.from[0]
		v := p.byOther[1]*fx + p.byY[1]*fy + p.from[1]
		w := p.byOther[2]*fz + p.byY[2]*fy + p.from[2]
		ui, vi, wi := int32(u), int32(v), int32(w)
		uf, vf, wf := u-float32(ui), v-float32(vi), w-float32(wi)
		if uint32(ui-1) >= uint32(p.cells[0]) {
			ui, uf = clip(u, p.cells[0])
		}
		if uint32(vi-1) >= uint32(p.cells[1]) {
			vi, vf = clip(v, p.cells[1])
		}
		if uint32(wi-1) >= uint32(p.cells[2]) {
			wi, wf = clip(w, p.cells[2])
		}
		x[i], y[i], z[i] = uf, vf, wf
		at[i] = ui*p.stride[0] + vi*p.stride[1] + wi - p.first
	}
}

// read replaces places in cells by what the corners say.
func (p *labTable) read(b *block, n int) {
	if p.wide.read(b, n) {
		return
	}
	x, y, z, cells := b.v[0][:n], b.v[1][:n], b.v[2][:n], b.cell[:n]
	nodes, above, beyond := p.nodes, int(p.stride[1]), int(p.stride[0])
	for i, at32 := range cells {
		at := int(at32)
		v, w := y[i], z[i]
		right := x[i]
		// The four edges of the cell along the last channel.
		far := right * v
		right -= far
		left := v - far
		near := 1 - right - v
		t := near * w
		s := near - t
		a, c := &nodes[at], &nodes[at+1]
		p0, p1, p2 := s*a[0]+t*c[0], s*a[1]+t*c[1], s*a[2]+t*c[2]
		t = left * w
		s = left - t
		a, c = &nodes[at+above], &nodes[at+above+1]
		p0, p1, p2 = p0+s*a[0]+t*c[0], p1+s*a[1]+t*c[1], p2+s*a[2]+t*c[2]
		at += beyond
		t = right * w
		s = right - t
		a, c = &nodes[at], &nodes[at+1]
		p0, p1, p2 = p0+s*a[0]+t*c[0], p1+s*a[1]+t*c[1], p2+s*a[2]+t*c[2]
		t = far * w
		s = far - t
		a, c = &nodes[at+above], &nodes[at+above+1]
		x[i], y[i], z[i] = p0+s*a[0]+t*c[0], p1+s*a[1]+t*c[1], p2+s*a[2]+t*c[2]
	}
}
