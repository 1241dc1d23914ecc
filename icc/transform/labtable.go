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
	byY, byOther, from, last [3]float32
	stride                   [2]int32 // in nodes; those of the last channel lie side by side
	nodes                    [][4]float32
}

// Roots of light are read from a table of light up to brightest, between whose
// entries they run straight: within 2e-5, and what lies beyond is cut, as tables of
// L*a*b* cut it.
const (
	rootSteps = 4096
	brightest = 2
)

// roots is the table, with one entry more to interpolate with.
var roots = func() (out [rootSteps + 2]float32) {
	for i := range out {
		t := float64(i) * brightest / rootSteps
		if out[i] = float32(labSlope*t + labOffset); t > labCut {
			out[i] = float32(math.Cbrt(t))
		}
	}
	return out
}()

// newLabTable returns the way that the steps at the beginning of list are, and how
// many they are; nil for others.
func newLabTable(list []step) (*labTable, int) {
	if len(list) < 3 || !square(&list[0], icc.StepMatrix) || list[1].Kind != icc.StepToLab {
		return nil, 0
	}
	n := 2
	encode := []float64{1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0}
	for ; n < len(list) && square(&list[n], icc.StepMatrix); n++ {
		encode = product(list[n].matrix, encode, 3, 3, 3)
	}
	if n == len(list) || !square(&list[n], icc.StepTable) {
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
	p := &labTable{stride: [2]int32{int32(l.Grid[1] * l.Grid[2]), int32(l.Grid[2])}}
	for i := 0; i < len(l.Nodes); i += 3 {
		p.nodes = append(p.nodes, [4]float32{l.Nodes[i], l.Nodes[i+1], l.Nodes[i+2]})
	}
	white := [3]float64{0.9642, 1, 0.8249}
	for c := range 3 {
		k := rootSteps / brightest / white[c]
		for j := range 3 {
			p.in[c][j] = float32(list[0].matrix[3*c+j] * k)
		}
		p.shift[c] = float32(list[0].matrix[9+c] * k)
	}
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
		p.byY[c], p.from[c] = float32(all[3*c+1]*last), float32(all[9+c]*last)
		if c > 0 {
			p.byOther[c] = float32(all[3*c+other[c]] * last)
		}
		p.last[c] = math.Nextafter32(float32(last), 0)
	}
	return p, n + 1
}

// square reports whether a step is of that kind, from three channels to three.
func square(s *step, k icc.StepKind) bool { return s.Kind == k && s.Inputs == 3 && s.Outputs == 3 }

// rootAt returns the root of light at a place of the table.
func rootAt(p float32) float32 {
	if p < 0 {
		p = 0
	}
	if p > rootSteps {
		p = rootSteps
	}
	i := uint32(int32(p))
	if i > rootSteps { // NaN
		i = 0
	}
	a := roots[i]
	return a + (roots[i+1]-a)*(p-float32(int32(i)))
}

// clip keeps a place between 0 and last.
func clip(p, last float32) float32 {
	if p > last {
		p = last
	}
	if p < 0 {
		p = 0
	}
	return p
}

// of returns what three lights become.
func (p *labTable) of(r, g, b float32) (float32, float32, float32) {
	m := &p.in
	fx := rootAt(m[0][0]*r + m[0][1]*g + m[0][2]*b + p.shift[0])
	fy := rootAt(m[1][0]*r + m[1][1]*g + m[1][2]*b + p.shift[1])
	fz := rootAt(m[2][0]*r + m[2][1]*g + m[2][2]*b + p.shift[2])
	u := clip(p.byY[0]*fy+p.from[0], p.last[0])
	v := clip(p.byOther[1]*fx+p.byY[1]*fy+p.from[1], p.last[1])
	w := clip(p.byOther[2]*fz+p.byY[2]*fy+p.from[2], p.last[2])
	ui, vi, wi := int32(u), int32(v), int32(w)
	u, v, w = u-float32(ui), v-float32(vi), w-float32(wi)
	at := int(ui*p.stride[0] + vi*p.stride[1] + wi)
	nodes := p.nodes
	gw := 1 - w
	s := (1 - u) * (1 - v)
	a, c := &nodes[at], &nodes[at+1]
	x, y, z := s*(gw*a[0]+w*c[0]), s*(gw*a[1]+w*c[1]), s*(gw*a[2]+w*c[2])
	at += int(p.stride[1])
	s = (1 - u) * v
	a, c = &nodes[at], &nodes[at+1]
	x, y, z = x+s*(gw*a[0]+w*c[0]), y+s*(gw*a[1]+w*c[1]), z+s*(gw*a[2]+w*c[2])
	at += int(p.stride[0])
	s = u * v
	a, c = &nodes[at], &nodes[at+1]
	x, y, z = x+s*(gw*a[0]+w*c[0]), y+s*(gw*a[1]+w*c[1]), z+s*(gw*a[2]+w*c[2])
	at -= int(p.stride[1])
	s = u * (1 - v)
	a, c = &nodes[at], &nodes[at+1]
	return x + s*(gw*a[0]+w*c[0]), y + s*(gw*a[1]+w*c[1]), z + s*(gw*a[2]+w*c[2])
}

func (p *labTable) run(b *block, n int) {
	x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	for i := range x {
		x[i], y[i], z[i] = p.of(x[i], y[i], z[i])
	}
}
