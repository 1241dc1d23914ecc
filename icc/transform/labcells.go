package transform

import "math"

// labCells is the way from sums of light to codes, in float32: lines between roots
// lead to places among the cells, and the eight corners of a cell to codes.
type labCells struct {
	table *labTable
	// By the first bits of a light: the place of L* for Y, what X adds to that of a*
	// and Z to that of b*, and what each rises by for one more.
	x, y, z     [1 << lineBits]line
	byL         [3]float32 // what places of a* and b* take of that of L*
	cells       [3]uint32
	nodes       *[mostNodes + 1][3]float32
	ends        endCurves
	first, step int // as in labSums, of pixels going out
}

const (
	// mostNodes is what an index of 16 bits reaches.
	mostNodes = 1 << 16
	// Roots are lines of so many bits of light: within 2e-5.
	lineBits  = 11
	lineMask  = 1<<lineBits - 1
	lineShift = laneBits - lineBits
	lineRest  = 1<<lineShift - 1
	// A float32 that is so much more is whole, and its last bits are the number.
	whole32     = 1 << 23
	whole32Bits = 0x4b000000
)

// newLabCells returns the way, nil where curves at the end are steep, the
// table is large, or L* may be far beyond it.
func newLabCells(s *labSums, k *Kernel, curves []step) *labCells {
	t := s.table
	p := &labCells{table: t, first: min(k.out.at[0], k.out.at[2]), step: k.out.step}
	least, most := t.light[10], t.light[10] // of Y
	for _, v := range t.light[3:6] {
		least, most = least+min(v, 0), most+max(v, 0)
	}
	place := func(y float64) float64 { return rootOf(y)*float64(t.byY[0]) + float64(t.from[0]) }
	// L* is not clipped: there is a layer of nodes more at both ends, and places begin
	// from 1, of which find would round what is below a half elsewhere.
	layer, last := int(t.stride[0]), len(t.nodes)
	if last+2*layer > mostNodes || !(t.byY[0] > 0 && place(least) > 0.6 && place(most) < float64(t.cells[0])+1.9) {
		return nil
	}
	var ok bool
	if p.ends, ok = newEndCurves(curves, k); !ok {
		return nil
	}
	for c := range 3 {
		p.byL[c] = t.byY[c] / t.byY[0]
		p.cells[c] = uint32(t.cells[c])
	}
	fill := func(to *[1 << lineBits]line, factor, offset float64) {
		value := func(i int) float64 { return rootOf(s.light(float64(i)*(1<<lineShift)))*factor + offset }
		for i := range to {
			to[i] = line{float32(value(i)), float32((value(i+1) - value(i)) / (1 << lineShift))}
		}
	}
	from := [3]float64{float64(t.from[0]), float64(t.from[1]), float64(t.from[2])}
	fill(&p.y, float64(t.byY[0]), from[0])
	fill(&p.x, float64(t.byOther[1]), from[1]-float64(p.byL[1])*from[0])
	fill(&p.z, float64(t.byOther[2]), from[2]-float64(p.byL[2])*from[0])
	p.nodes = new([mostNodes + 1][3]float32)
	top := float32(k.to.Depth.top())
	if p.ends[0] != nil {
		top = 65535
	}
	// What find gives for the first node; what is more than 16 bits counts for nothing.
	// Before the first L* and behind the last all is as there.
	first := uint32(t.stride[0]+t.stride[1]+1)*whole32Bits + uint32(t.first)
	for i := -layer; i < last+layer; i++ {
		j := i
		switch {
		case i < 0:
			j += layer
		case i >= last:
			j -= layer
		}
		node := &t.nodes[j]
		for sample := range 3 {
			p.nodes[uint16(first+uint32(i))][sample] = node[k.to.order(sample)]*top + 0.5
		}
	}
	p.nodes[mostNodes] = p.nodes[0]
	return p
}

// find turns the block's sums of n pixels into cells and how far into them they lead.
func (p *labCells) find(b *block, n int) {
	s0, s1 := p.table.stride[0], p.table.stride[1]
	x, y, z, at := b.v[0][:n], b.v[1][:n], b.v[2][:n], b.cell[:n]
	for i, sum := range b.word[:n] {
		l := &p.y[sum>>(laneBits+lineShift)&lineMask]
		u := l.value + l.rise*float32(int32(sum>>laneBits)&lineRest)
		l = &p.x[sum>>lineShift&lineMask]
		v := l.value + l.rise*float32(int32(sum)&lineRest) + p.byL[1]*u
		l = &p.z[sum>>(2*laneBits+lineShift)&lineMask]
		w := l.value + l.rise*float32(int32(sum>>(2*laneBits))&lineRest) + p.byL[2]*u
		um, vm, wm := u+(whole32-0.5), v+(whole32-0.5), w+(whole32-0.5)
		uf, vf, wf := u-(um-whole32), v-(vm-whole32), w-(wm-whole32)
		ui, vi, wi := math.Float32bits(um), math.Float32bits(vm), math.Float32bits(wm)
		if vi-(whole32Bits+1) >= p.cells[1] {
			vi, vf = p.clip(v, 1)
		}
		if wi-(whole32Bits+1) >= p.cells[2] {
			wi, wf = p.clip(w, 2)
		}
		x[i], y[i], z[i] = uf, vf, wf
		at[i] = int32(ui)*s0 + int32(vi)*s1 + int32(wi)
	}
}

// clip returns the last bits of the cell that a place beyond all of them is nearest
// to, and how far into it that lies.
func (p *labCells) clip(place float32, axis int) (cell uint32, into float32) {
	last, into := clip(place, p.table.cells[axis])
	return whole32Bits + uint32(last), into
}

// readCells returns what writes the codes of n pixels whose sums the block holds.
func readCells[D uint8 | uint16](p *labCells) func(dst []D, b *block, n int) {
	return func(dst []D, b *block, n int) {
		p.find(b, n)
		s0, s1, nodes, to := uint32(p.table.stride[0]), uint32(p.table.stride[1]), p.nodes, p.first
		us, vs, ws := b.v[0][:n], b.v[1][:n], b.v[2][:n]
		for i, cell := range b.cell[:n] {
			at, u, v, w := uint32(cell), us[i], vs[i], ws[i]
			far := u * v
			near := 1 - u
			u -= far
			v -= far
			near -= v
			// The two ends, along b*, of the four edges.
			k := int(uint16(at + s0 + s1))
			q := (*[2][3]float32)(nodes[k : k+2])
			a0, a1, a2 := far*q[0][0], far*q[0][1], far*q[0][2]
			b0, b1, b2 := far*q[1][0], far*q[1][1], far*q[1][2]
			k = int(uint16(at + s0))
			q = (*[2][3]float32)(nodes[k : k+2])
			a0, a1, a2 = a0+u*q[0][0], a1+u*q[0][1], a2+u*q[0][2]
			b0, b1, b2 = b0+u*q[1][0], b1+u*q[1][1], b2+u*q[1][2]
			k = int(uint16(at + s1))
			q = (*[2][3]float32)(nodes[k : k+2])
			a0, a1, a2 = a0+v*q[0][0], a1+v*q[0][1], a2+v*q[0][2]
			b0, b1, b2 = b0+v*q[1][0], b1+v*q[1][1], b2+v*q[1][2]
			k = int(uint16(at))
			q = (*[2][3]float32)(nodes[k : k+2])
			a0, a1, a2 = a0+near*q[0][0], a1+near*q[0][1], a2+near*q[0][2]
			b0, b1, b2 = b0+near*q[1][0], b1+near*q[1][1], b2+near*q[1][2]
			a0, a1, a2 = a0+w*(b0-a0), a1+w*(b1-a1), a2+w*(b2-a2)
			d := (*[3]D)(dst[to : to+3])
			to += p.step
			if p.ends[0] == nil {
				d[0], d[1], d[2] = D(int32(a0)), D(int32(a1)), D(int32(a2))
			} else {
				d[0], d[1], d[2] = D(p.ends[0][uint16(int32(a0))]), D(p.ends[1][uint16(int32(a1))]), D(p.ends[2][uint16(int32(a2))])
			}
		}
	}
}
