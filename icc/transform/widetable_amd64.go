//go:build goexperiment.simd && amd64

package transform

import "simd/archsimd"

// wideLab is what a labTable has for vectors.
type wideLab struct {
	*labTable
	light affine     // to what root takes
	root  *wideCurve // of all the light that there can be, nil for none
	nodes wideNodes
}

// newWideLab returns it, nil where there are no vectors.
func newWideLab(p *labTable) *wideLab {
	if !vectors {
		return nil
	}
	w := &wideLab{labTable: p}
	span := p.hi - p.lo
	for c := range 3 {
		for j := range 3 {
			w.light.m[c][j] = float32(p.light[3*c+j] / span)
		}
		w.light.offset[c] = float32((p.light[9+c] - p.lo) / span)
	}
	w.root = newWideCurve(func(x float64) float64 { return rootOf(p.lo + x*span) }, nil)
	w.nodes = wideNodes{make([]float32, 0, planes*len(p.nodes)), planes * uint32(p.stride[0]), planes * uint32(p.stride[1])}
	for i := range p.nodes {
		w.nodes.at = append(w.nodes.at, p.nodes[i][:]...)
	}
	return w
}

// find is labTable.find.
func (w *wideLab) find(b *block, n int) bool {
	if w == nil || w.root == nil {
		return false
	}
	w.light.wide(b, n)
	for c := range 3 {
		w.root.run(&b.v[c], &b.wide.cubic, n)
	}
	w.cells(b, n)
	archsimd.ClearAVXUpperBits()
	return true
}

// cells replaces roots by how far into its cell a colour lies.
func (w *wideLab) cells(b *block, n int) {
	one := spread(1)
	for i := 0; i < n; i += wideLanes {
		x, y, z := sixteen(&b.v[0], i), sixteen(&b.v[1], i), sixteen(&b.v[2], i)
		fx, fy, fz := load16(x), load16(y), load16(z)
		u := spread(w.byY[0]).MulAdd(fy, spread(w.from[0]))
		v := spread(w.byOther[1]).MulAdd(fx, spread(w.byY[1]).MulAdd(fy, spread(w.from[1])))
		t := spread(w.byOther[2]).MulAdd(fz, spread(w.byY[2]).MulAdd(fy, spread(w.from[2])))
		ui, uf := wideCell(u, one, w.labTable.cells[0])
		vi, vf := wideCell(v, one, w.labTable.cells[1])
		wi, wf := wideCell(t, one, w.labTable.cells[2])
		uf.Store(x)
		vf.Store(y)
		wf.Store(z)
		at := ui.Mul(archsimd.BroadcastInt32x16(w.stride[0])).Add(vi.Mul(archsimd.BroadcastInt32x16(w.stride[1])))
		at.Add(wi).Sub(archsimd.BroadcastInt32x16(w.first)).Store(sixteen(&b.cell, i))
	}
}

// wideCell returns the cell, counted from 1, of a place among cells that begins at 1,
// and how far into it the place lies; places beyond either end are moved to it.
func wideCell(place, one archsimd.Float32x16, cells int32) (archsimd.Int32x16, archsimd.Float32x16) {
	last := spread(float32(cells))
	place = place.Max(one).Min(last.Add(one))
	cell := place.Min(last).ConvertToInt32()
	return cell, place.Sub(cell.ConvertToFloat32())
}

// read is labTable.read.
func (w *wideLab) read(b *block, n int) bool {
	if w == nil {
		return false
	}
	w.nodes.corners(b, n)
	inPlanes.split(b, b.wide.samples[:], n, planes)
	return true
}

// sample leaves colours as samples.
func (p *labTable) sample(b *block, n int) {
	p.find(b, n)
	p.wide.nodes.corners(b, n)
}

// wideNodes are the nodes of a table of three channels, four numbers each, and how
// many numbers lie from a node to the next one of the first two channels. Those of
// the last lie side by side.
type wideNodes struct {
	at            []float32
	beyond, above uint32 // of a kind that tells the compiler that no sum of them overflows
}

// corners leaves as samples what the eight corners of cells say. Two nodes that lie
// side by side are one register, whose halves are mixed last.
func (w *wideNodes) corners(b *block, n int) {
	x, y, z, cells := b.v[0][:n], b.v[1][:n], b.v[2][:n], b.cell[:n]
	// The same place in four slices of one length needs one check.
	a, d := int(w.above), int(w.beyond)
	all := len(w.at) - a - d
	first, above, beyond, both := w.at[:all:all], w.at[a:][:all:all], w.at[d:][:all:all], w.at[a+d:][:all:all]
	for i, cell := range cells {
		at := planes * int(uint32(cell))
		u, v, t := archsimd.BroadcastFloat32x8(x[i]), archsimd.BroadcastFloat32x8(y[i]), archsimd.BroadcastFloat32x4(z[i])
		near, nearAbove := pair(first, at), pair(above, at)
		far, farAbove := pair(beyond, at), pair(both, at)
		near = nearAbove.Sub(near).MulAdd(v, near)
		far = farAbove.Sub(far).MulAdd(v, far)
		near = far.Sub(near).MulAdd(u, near)
		left := near.GetLo()
		near.GetHi().Sub(left).MulAdd(t, left).Store(b.samples(i))
	}
	archsimd.ClearAVXUpperBits()
}

// pair returns two nodes.
func pair(nodes []float32, at int) archsimd.Float32x8 {
	return archsimd.LoadFloat32x8((*[2 * planes]float32)(nodes[at : at+2*planes]))
}

// samples returns room for the samples of pixel i of a block.
func (b *block) samples(i int) *[planes]float32 {
	i = i % blockPixels * planes
	return (*[planes]float32)(b.wide.samples[i : i+planes])
}

// wideTable is a table of three channels, or of tetrahedra of the last three of four.
type wideTable struct {
	*table
	nodes wideNodes // of the last three channels
	whole uint32    // numbers from a node to the opposite corner of its cell
	lead  uint32    // numbers from a node to the next one of the first of four channels
}

// newWideTable returns it, nil for other tables and where there are no vectors.
func newWideTable(t *table) pass {
	if !vectors || t.in < 3 || t.in == 4 && t.linear {
		return nil
	}
	numbers := func(c int) uint32 { return planes * uint32(t.stride[c]/t.out) }
	w := &wideTable{table: t}
	w.nodes = wideNodes{make([]float32, 0, planes*(len(t.nodes)/t.out+1)), numbers(t.in - 3), numbers(t.in - 2)}
	w.whole = w.nodes.beyond + w.nodes.above + numbers(t.in-1)
	if t.in == 4 {
		w.lead = numbers(0)
	}
	var node [planes]float32
	for i := 0; i < len(t.nodes); i += t.out {
		copy(node[:], t.nodes[i:i+t.out])
		w.nodes.at = append(w.nodes.at, node[:]...)
	}
	// One more, beside the last one where the last channel has no other.
	w.nodes.at = append(w.nodes.at, node[:]...)
	return w
}

func (w *wideTable) run(b *block, n int) {
	w.sample(b, n)
	inPlanes.split(b, b.wide.samples[:], n, planes)
}

// sample leaves colours as samples.
func (w *wideTable) sample(b *block, n int) {
	w.find(b, n)
	if w.linear {
		w.nodes.corners(b, n)
		return
	}
	w.tetrahedra((*[3][blockPixels]float32)(b.v[w.in-3:]), &b.wide, n)
	if w.in == 4 {
		w.readBetween(b, n)
	} else {
		w.read(b, n)
	}
}

// find replaces colours by how far into their cells they lie.
func (w *wideTable) find(b *block, n int) {
	for i := 0; i < n; i += wideLanes {
		at := archsimd.BroadcastInt32x16(0)
		for c := range w.in {
			p := sixteen(&b.v[c], i)
			place := load16(p)
			place = place.Masked(place.Greater(spread(0))).Min(spread(1)).Mul(spread(w.last[c]))
			cell := place.ConvertToInt32().Min(archsimd.BroadcastInt32x16(int32(w.cells[c])))
			place.Sub(cell.ConvertToFloat32()).Store(p)
			at = at.Add(cell.Mul(archsimd.BroadcastInt32x16(int32(w.stride[c] / w.out))))
		}
		at.Store(sixteen(&b.cell, i))
	}
	archsimd.ClearAVXUpperBits()
}

// tetrahedra finds the tetrahedra of the cells that hold the colours: places in cells
// are put in order, the largest first, and the corners are those that lead that way
// to the opposite one.
func (w *wideTable) tetrahedra(v *[3][blockPixels]float32, to *wideRoom, n int) {
	sx, sy := archsimd.BroadcastInt32x16(int32(w.nodes.beyond)), archsimd.BroadcastInt32x16(int32(w.nodes.above))
	whole := archsimd.BroadcastInt32x16(int32(w.whole))
	sz := whole.Sub(sx).Sub(sy)
	for i := 0; i < n; i += wideLanes {
		x, y, z := sixteen(&v[0], i), sixteen(&v[1], i), sixteen(&v[2], i)
		fx, fy, fz := load16(x), load16(y), load16(z)
		// Of equal places the one of the earlier channel counts as the larger.
		xy, xz, yz := fx.GreaterEqual(fy), fx.GreaterEqual(fz), fy.GreaterEqual(fz)
		sx.Merge(sy.Merge(sz, yz), xy.And(xz)).Store(sixteen(&to.second, i))
		least := sz.Merge(sy.Merge(sx, xy), xz.And(yz))
		whole.Sub(least).Store(sixteen(&to.third, i))
		more, less := fx.Max(fy), fx.Min(fy)
		more.Max(fz).Store(x)
		less.Max(more.Min(fz)).Store(y)
		less.Min(fz).Store(z)
	}
	archsimd.ClearAVXUpperBits()
}

// read leaves as samples what the corners of tetrahedra say.
func (w *wideTable) read(b *block, n int) {
	x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	first, second, third := b.cell[:n], b.wide.second[:n], b.wide.third[:n]
	nodes, whole := w.nodes.at, int(w.whole)
	for i, cell := range first {
		at := planes * int(uint32(cell))
		k, l, m, o := node(nodes, at), node(nodes, at+int(uint32(second[i]))), node(nodes, at+int(uint32(third[i]))), node(nodes, at+whole)
		v := l.Sub(k).MulAdd(archsimd.BroadcastFloat32x4(x[i]), k)
		v = m.Sub(l).MulAdd(archsimd.BroadcastFloat32x4(y[i]), v)
		v = o.Sub(m).MulAdd(archsimd.BroadcastFloat32x4(z[i]), v)
		v.Store(b.samples(i))
	}
	archsimd.ClearAVXUpperBits()
}

// readBetween is read for four channels: each corner lies between two of the first
// channel.
func (w *wideTable) readBetween(b *block, n int) {
	f, x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n], b.v[3][:n]
	first, second, third := b.cell[:n], b.wide.second[:n], b.wide.third[:n]
	whole := int(w.whole)
	all := len(w.nodes.at) - int(w.lead)
	near, far := w.nodes.at[:all:all], w.nodes.at[w.lead:][:all:all]
	for i, cell := range first {
		at, share := planes*int(uint32(cell)), archsimd.BroadcastFloat32x4(f[i])
		k, l := between(near, far, at, share), between(near, far, at+int(uint32(second[i])), share)
		m, o := between(near, far, at+int(uint32(third[i])), share), between(near, far, at+whole, share)
		v := l.Sub(k).MulAdd(archsimd.BroadcastFloat32x4(x[i]), k)
		v = m.Sub(l).MulAdd(archsimd.BroadcastFloat32x4(y[i]), v)
		v = o.Sub(m).MulAdd(archsimd.BroadcastFloat32x4(z[i]), v)
		v.Store(b.samples(i))
	}
	archsimd.ClearAVXUpperBits()
}

// between returns what lies between two nodes at the same place of two slices.
func between(near, far []float32, at int, share archsimd.Float32x4) archsimd.Float32x4 {
	v := node(near, at)
	return node(far, at).Sub(v).MulAdd(share, v)
}

// node returns a node.
func node(nodes []float32, at int) archsimd.Float32x4 {
	return archsimd.LoadFloat32x4((*[planes]float32)(nodes[at : at+planes]))
}
