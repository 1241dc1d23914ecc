package transform

import "example.org/primaries/icc"

// table is a table of three or four channels with up to four outputs.
type table struct {
	in, out int
	linear  bool
	last    [planes]float32 // of the grid
	cells   [planes]int     // grid points before the last cell
	stride  [planes]int     // numbers from a node to the next one of a channel
	nodes   []float32
}

// newTable returns the pass of a table, nil for other numbers of channels.
func newTable(l icc.Lattice) pass {
	if len(l.Grid) < 1 || len(l.Grid) > planes || l.Outputs > planes {
		return nil
	}
	t := &table{in: len(l.Grid), out: l.Outputs, nodes: l.Nodes, linear: l.Linear || len(l.Grid) < 3}
	next := l.Outputs
	for c := len(l.Grid) - 1; c >= 0; c-- {
		t.last[c], t.cells[c], t.stride[c] = float32(l.Grid[c]-1), max(l.Grid[c]-2, 0), next
		if l.Grid[c] == 1 {
			t.stride[c] = 0
		}
		next *= l.Grid[c]
	}
	if w := newWideTable(t); w != nil {
		return w
	}
	return t
}

// cell returns the first node of the cell that holds v in channel c, and how far
// into it v lies. v is clamped to 0 to 1; NaN counts as 0.
func (t *table) cell(c int, v float32) (node int, into float32) {
	if !(v > 0) {
		return 0, 0
	}
	p := min(v, 1) * t.last[c]
	k := min(int(p), t.cells[c])
	return k * t.stride[c], p - float32(k)
}

func (t *table) run(b *block, n int) {
	switch {
	case t.in == 3 && t.out == 3 && t.linear:
		t.trilinear(b, n)
	case t.in == 3 && t.out == 3:
		t.tetrahedral(b, n)
	default:
		t.any(b, n)
	}
}

// tetrahedral reads the tetrahedron that holds the colour: along the channels in
// the order of their fractions.
func (t *table) tetrahedral(b *block, n int) {
	x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	for i := range x {
		p, fx := t.cell(0, x[i])
		q, fy := t.cell(1, y[i])
		r, fz := t.cell(2, z[i])
		x[i], y[i], z[i] = t.inside(p+q+r, fx, fy, fz)
	}
}

// inside returns the colour in the cell at a node.
func (t *table) inside(at int, fx, fy, fz float32) (u, v, w float32) {
	sx, sy, sz := t.stride[0], t.stride[1], t.stride[2]
	if fx < fy {
		fx, fy, sx, sy = fy, fx, sy, sx
	}
	if fy < fz {
		fy, fz, sy, sz = fz, fy, sz, sy
	}
	if fx < fy {
		fx, fy, sx, sy = fy, fx, sy, sx
	}
	a := t.nodes[at : at+3 : at+3]
	at += sx
	k := t.nodes[at : at+3 : at+3]
	at += sy
	l := t.nodes[at : at+3 : at+3]
	at += sz
	m := t.nodes[at : at+3 : at+3]
	wa, wk, wl := 1-fx, fx-fy, fy-fz
	return wa*a[0] + wk*k[0] + wl*l[0] + fz*m[0],
		wa*a[1] + wk*k[1] + wl*l[1] + fz*m[1],
		wa*a[2] + wk*k[2] + wl*l[2] + fz*m[2]
}

// trilinear reads the eight corners of the cell.
func (t *table) trilinear(b *block, n int) {
	x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	sx, sy, sz := t.stride[0], t.stride[1], t.stride[2]
	for i := range x {
		p, fx := t.cell(0, x[i])
		q, fy := t.cell(1, y[i])
		r, fz := t.cell(2, z[i])
		at := p + q + r
		// Nodes along the last channel lie side by side.
		a, c := t.nodes[at:at+3+sz:at+3+sz], t.nodes[at+sy:at+sy+3+sz]
		d, e := t.nodes[at+sx:at+sx+3+sz], t.nodes[at+sx+sy:at+sx+sy+3+sz]
		gx, gy := 1-fx, 1-fy
		wa, wc, wd, we := gx*gy, gx*fy, fx*gy, fx*fy
		u0 := wa*a[0] + wc*c[0] + wd*d[0] + we*e[0]
		u1 := wa*a[1] + wc*c[1] + wd*d[1] + we*e[1]
		u2 := wa*a[2] + wc*c[2] + wd*d[2] + we*e[2]
		v0 := wa*a[sz] + wc*c[sz] + wd*d[sz] + we*e[sz]
		v1 := wa*a[sz+1] + wc*c[sz+1] + wd*d[sz+1] + we*e[sz+1]
		v2 := wa*a[sz+2] + wc*c[sz+2] + wd*d[sz+2] + we*e[sz+2]
		x[i], y[i], z[i] = u0+fz*(v0-u0), u1+fz*(v1-u1), u2+fz*(v2-u2)
	}
}

// any reads tables of other numbers of channels.
func (t *table) any(b *block, n int) {
	for i := range n {
		var f, out [planes]float32
		at := 0
		for c := range t.in {
			var k int
			k, f[c] = t.cell(c, b.v[c][i])
			at += k
		}
		switch {
		case t.linear:
			t.multilinear(&out, &f, at, 0, 1)
		case t.in == 3:
			t.tetrahedra(&out, [3]float32(f[:3]), [3]int(t.stride[:3]), at, 1)
		default:
			t.tetrahedra(&out, [3]float32(f[1:]), [3]int(t.stride[1:]), at, 1-f[0])
			t.tetrahedra(&out, [3]float32(f[1:]), [3]int(t.stride[1:]), at+t.stride[0], f[0])
		}
		for c := range t.out {
			b.v[c][i] = out[c]
		}
	}
}

func (t *table) add(out *[planes]float32, at int, weight float32) {
	for c, v := range t.nodes[at : at+t.out] {
		out[c] += weight * v
	}
}

// multilinear adds the corners of the cell, channel by channel from first on.
func (t *table) multilinear(out, f *[planes]float32, at, first int, weight float32) {
	if first == t.in {
		t.add(out, at, weight)
		return
	}
	t.multilinear(out, f, at, first+1, weight*(1-f[first]))
	if f[first] > 0 {
		t.multilinear(out, f, at+t.stride[first], first+1, weight*f[first])
	}
}

// tetrahedra adds what inside returns, weighted, for any number of outputs.
func (t *table) tetrahedra(out *[planes]float32, f [3]float32, stride [3]int, at int, weight float32) {
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
	t.add(out, at, weight*(1-f[a]))
	at += stride[a]
	t.add(out, at, weight*(f[a]-f[b]))
	at += stride[b]
	t.add(out, at, weight*(f[b]-f[c]))
	at += stride[c]
	t.add(out, at, weight*f[c])
}
