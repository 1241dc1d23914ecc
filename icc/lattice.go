package icc

// Interpolation says how tables are read between their nodes.
type Interpolation uint8

const (
	// Tetrahedral reads tables of three channels by tetrahedra, and those of
	// four by two of them, linear in the first channel. Tables that L*a*b*
	// indexes are read as Multilinear does, since tetrahedra bend neutrals
	// there, and so are tables of any other number of channels. What counts is
	// what indexes the table, in device links too.
	Tetrahedral Interpolation = iota
	// Multilinear reads all tables linearly in each channel.
	Multilinear
)

// lattice is a CLUT made ready for evaluation.
type lattice struct {
	grid    []int
	stride  []int // entries from a node to the next one of a channel
	outputs int
	nodes   []float32 // the stored numbers
	scale   float64   // of the stored numbers
	linear  bool
}

// newLattice copies a table, which was checked.
func newLattice(c *CLUT, linear bool) *lattice {
	l := &lattice{outputs: c.Outputs, scale: 1, linear: linear || len(c.Grid) != 3 && len(c.Grid) != 4}
	l.grid = append(l.grid, c.Grid...)
	l.stride = make([]int, len(c.Grid))
	step := c.Outputs
	for i := len(c.Grid) - 1; i >= 0; i-- {
		// With a single point there is no next one, and nothing to move to.
		if l.stride[i] = step; c.Grid[i] == 1 {
			l.stride[i] = 0
		}
		step *= c.Grid[i]
	}
	l.nodes = make([]float32, 0, c.entries())
	switch {
	case c.Bytes != nil:
		l.scale = 1.0 / 255
		for _, e := range c.Bytes {
			l.nodes = append(l.nodes, float32(e))
		}
	case c.Words != nil:
		l.scale = 1.0 / 65535
		for _, e := range c.Words {
			l.nodes = append(l.nodes, float32(e))
		}
	default:
		l.nodes = append(l.nodes, c.Floats...)
	}
	return l
}

// at replaces the inputs in v, which are clamped to [0, 1], by the outputs.
func (l *lattice) at(v *vec) {
	var fraction, out vec
	base := 0
	for i, g := range l.grid {
		p := clamp(v[i]) * float64(g-1)
		k := max(0, min(int(p), g-2))
		fraction[i] = p - float64(k)
		base += k * l.stride[i]
	}
	switch {
	case l.linear:
		l.multilinear(&out, &fraction, base, 0, 1)
	case len(l.grid) == 3:
		l.tetrahedral(&out, fraction[:3], l.stride, base, 1)
	default:
		l.tetrahedral(&out, fraction[1:4], l.stride[1:], base, 1-fraction[0])
		l.tetrahedral(&out, fraction[1:4], l.stride[1:], base+l.stride[0], fraction[0])
	}
	for i := range out[:l.outputs] {
		out[i] *= l.scale
	}
	*v = out
}

func (l *lattice) add(out *vec, node int, weight float64) {
	for i, n := range l.nodes[node : node+l.outputs] {
		out[i] += weight * float64(n)
	}
}

// multilinear adds the corners of the cell at base, channel by channel from
// first on.
func (l *lattice) multilinear(out, fraction *vec, base, first int, weight float64) {
	if first == len(l.grid) {
		l.add(out, base, weight)
		return
	}
	f := fraction[first]
	if f < 1 {
		l.multilinear(out, fraction, base, first+1, weight*(1-f))
	}
	if f > 0 {
		l.multilinear(out, fraction, base+l.stride[first], first+1, weight*f)
	}
}

// tetrahedral adds the corners of that tetrahedron of the cell at base which
// holds the place: from the lowest corner to the highest one along the
// channels in the order of their fractions.
func (l *lattice) tetrahedral(out *vec, f []float64, stride []int, base int, weight float64) {
	a, b, c := 0, 1, 2
	if f[a] < f[b] {
		a, b = b, a
	}
	if f[b] < f[c] {
		b, c = c, b
	}
	if f[a] < f[b] {
		a, b = b, a
	}
	l.add(out, base, weight*(1-f[a]))
	base += stride[a]
	l.add(out, base, weight*(f[a]-f[b]))
	base += stride[b]
	l.add(out, base, weight*(f[b]-f[c]))
	base += stride[c]
	l.add(out, base, weight*f[c])
}
