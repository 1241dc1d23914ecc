package transform

import "math"

// labWords is the way from sums of light to codes of 8 bits in whole numbers: a table
// of roots has what each light adds to the places of a*, L* and b* among the cells,
// in three lanes again, and the three codes of a node are lanes of a word, which one
// weight multiplies at once.
type labWords struct {
	table *labTable
	// By the first bits of a light: what it adds to the places.
	x, z [1 << rootBits]uint32 // to the first lane and to the last
	y    [1 << rootBits]uint64
	// above lifts places beyond all cells out of their lanes.
	above       uint64
	light       func(sum float64) float64
	stride      [2]uint64 // in nodes, of L* and a*
	cell        uint64    // factor that leads from three places to a node
	nodes       *[mostNodes + 1]uint64
	ends        endCurves
	first, step int // as in labSums, of pixels going out
}

const (
	// Roots are found by so many bits of light: within 2.4e-4, a seventh of a code in
	// the dark, and much less above.
	rootBits  = 14
	rootMask  = 1<<rootBits - 1
	rootShift = laneBits - rootBits
	// A place has 13 bits within its cell, and the cell 7. The last bit of a lane is set
	// from the first cell on.
	placeBits = 13
	placeOne  = 1 << placeBits
	cellMost  = 1 << (laneBits - 1 - placeBits)
	cellEach  = (cellMost - 1) * oneEach
	inside    = 1 << (laneBits - 1) * oneEach
	// Weights have 9 bits, to the nearest of which places are rounded.
	weightBits  = 9
	weightOne   = 1 << weightBits
	weightMask  = weightOne - 1
	weightShift = placeBits - weightBits
	placeHalf   = 1 << (weightShift - 1)
	// Nodes have 12 bits for each code.
	nodeBits = laneBits - weightBits
)

// newLabWords returns the way, nil where places would be too far from the table for a
// lane, or curves at the end are steep.
func newLabWords(s *labSums, k *Kernel, curves []step) *labWords {
	t := s.table
	p := &labWords{table: t, light: s.light, first: min(k.out.at[0], k.out.at[2]), step: k.out.step}
	var ok bool
	if p.ends, ok = newEndCurves(curves, k, nodeBits); !ok || !p.roots() {
		return nil
	}
	p.stride = [2]uint64{uint64(t.stride[0]), uint64(t.stride[1])}
	p.cell = p.stride[1]<<(2*laneBits) + p.stride[0]<<laneBits + 1
	p.nodes = new([mostNodes + 1]uint64)
	scale, half := float32(255*16), float32(8.5) // of what is cut off at last
	if p.ends[0] != nil {
		scale, half = 1<<nodeBits-1, 0.5
	}
	for i, node := range t.nodes {
		for sample := range 3 {
			p.nodes[i] |= uint64(node[k.to.order(sample)]*scale+half) << (laneBits * sample)
		}
	}
	return p
}

// roots fills what light adds to places.
func (p *labWords) roots() bool {
	t := p.table
	least, most := rootOf(p.light(0)), rootOf(p.light(1<<laneBits))
	// What X and Z add to a* and b* is counted from the least, which Y adds for them.
	var base [3]float64
	for c, lane := range [3]int{1, 0, 2} {
		a, b := float64(t.byOther[c])*least, float64(t.byOther[c])*most
		base[c] = min(a, b)
		from := base[c] + float64(t.from[c]) - 1 + min(float64(t.byY[c])*least, float64(t.byY[c])*most)
		to := from + math.Abs(b-a) + math.Abs(float64(t.byY[c])*(most-least))
		if c > 0 && (from < 1-cellMost || to > cellMost-1 || math.Abs(b-a) > cellMost) || t.cells[c] >= cellMost-1 {
			return false
		}
		p.above |= (uint64(cellMost-t.cells[c])<<placeBits - 2*placeHalf - 1) << (laneBits * lane)
	}
	for i := range p.y {
		f := rootOf(p.light((float64(i) + 0.5) * (1 << rootShift)))
		l := min(max(float64(t.byY[0])*f+float64(t.from[0])-1, 0), float64(t.cells[0]))
		a := float64(t.byY[1])*f + float64(t.from[1]) - 1 + base[1]
		b := float64(t.byY[2])*f + float64(t.from[2]) - 1 + base[2]
		p.y[i] = inLane(a*placeOne, 0) + inLane(l*placeOne, 1) + inLane(b*placeOne, 2) + inside + placeHalf*oneEach
		p.x[i] = uint32(math.Round((float64(t.byOther[1])*f - base[1]) * placeOne))
		p.z[i] = uint32(math.Round((float64(t.byOther[2])*f - base[2]) * placeOne))
	}
	return true
}

// clip returns the place nearest to one that is beyond the table.
//
//go:noinline
func (p *labWords) clip(place uint64) (out uint64) {
	for c, lane := range [3]int{1, 0, 2} {
		const zero = inside&(1<<laneBits-1) + placeHalf
		v := place >> (laneBits * lane) & (1<<laneBits - 1)
		out |= min(max(v, zero), zero+uint64(p.table.cells[c])<<placeBits) << (laneBits * lane)
	}
	return out
}

// read writes the codes of n pixels whose sums the block holds.
func (p *labWords) read(dst []uint8, b *block, n int) {
	for i, sum := range b.word[:n] {
		place := p.y[sum>>(laneBits+rootShift)&rootMask] + uint64(p.x[sum>>rootShift&rootMask]) +
			uint64(p.z[sum>>(2*laneBits+rootShift)&rootMask])<<(2*laneBits)
		if place&(place+p.above)&inside != inside {
			place = p.clip(place)
		}
		b.word[i] = place
	}
	s0, s1, cell, nodes, to := p.stride[0], p.stride[1], p.cell, p.nodes, p.first
	for _, place := range b.word[:n] {
		at := place >> placeBits & cellEach * cell >> (2 * laneBits)
		u, v, w := place>>(laneBits+weightShift)&weightMask, place>>weightShift&weightMask, place>>(2*laneBits+weightShift)&weightMask
		// The weights of the four edges of the cell along b*, and what of each falls to
		// its end.
		far := u * v >> weightBits
		near := weightOne - u
		u -= far
		v -= far
		near -= v
		k := int(uint16(at + s0 + s1))
		q := (*[2]uint64)(nodes[k : k+2])
		t := far * w >> weightBits
		sum := (far-t)*q[0] + t*q[1]
		k = int(uint16(at + s0))
		q = (*[2]uint64)(nodes[k : k+2])
		t = u * w >> weightBits
		sum += (u-t)*q[0] + t*q[1]
		k = int(uint16(at + s1))
		q = (*[2]uint64)(nodes[k : k+2])
		t = v * w >> weightBits
		sum += (v-t)*q[0] + t*q[1]
		k = int(uint16(at))
		q = (*[2]uint64)(nodes[k : k+2])
		t = near * w >> weightBits
		sum += (near-t)*q[0] + t*q[1]
		d := (*[3]uint8)(dst[to : to+3])
		to += p.step
		if p.ends[0] == nil {
			d[0], d[1], d[2] = uint8(sum>>(laneBits-8)), uint8(sum>>(2*laneBits-8)), uint8(sum>>(3*laneBits-8))
		} else {
			d[0], d[1], d[2] = uint8(p.ends[0][uint16(sum>>(laneBits-16))]), uint8(p.ends[1][uint16(sum>>(2*laneBits-16))]), uint8(p.ends[2][uint16(sum>>(3*laneBits-16))])
		}
	}
}
