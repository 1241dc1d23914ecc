package transform

import "math"

// lanes is the first step of labTable for pixels of 8 bits: what each code of a
// channel adds to the light of X, Y and Z stands in three lanes of one word, as in
// matrix8, and a table has the root of each sum.
type lanes struct {
	table *labTable
	at    [3]int // of the channels in a pixel
	step  int
	add   [3][256]uint64
	roots [1 << rootBits]float32
}

// rootBits is the number of bits of a sum by which its root is found: within 3e-4 in
// the dark, a seventh of a code of 8 bits, and much less above.
const rootBits = 14

// lanes returns the first step for pixels of 8 bits, nil where the way does not
// begin with what each channel becomes by itself and a labTable.
func (s *streamed) lanes(k *Kernel) *lanes {
	if k.from.Depth != Depth8 || k.from.Premultiplied || k.in.channels != 3 || len(s.passes) == 0 {
		return nil
	}
	t, ok := s.passes[0].(*labTable)
	if !ok {
		return nil
	}
	l := &lanes{table: t, at: [3]int(k.in.at[:3]), step: k.in.step}
	scale := (laneMask - 2*spare) / (t.hi - t.lo)
	for lane := range 3 {
		for c := range 3 {
			for i, v := range s.lookup[c] {
				sum := float64(v) * t.light[3*lane+c] * scale
				if c == 0 {
					sum += (t.light[9+lane]-t.lo)*scale + spare
				}
				l.add[c][i] += uint64(int64(math.Round(sum))) << (laneBits * lane)
			}
		}
	}
	for i := range l.roots {
		// The middle of the sums that have it.
		sum := (float64(i) + 0.5) * (1 << (laneBits - rootBits))
		l.roots[i] = float32(rootOf((sum-spare)/scale + t.lo))
	}
	return l
}

// find is labTable.find for n pixels of 8 bits.
func (l *lanes) find(b *block, src []uint8, n int) {
	t := l.table
	x, y, z, at := b.v[0][:n], b.v[1][:n], b.v[2][:n], b.cell[:n]
	ri, gi, bi := l.at[0], l.at[1], l.at[2]
	for i := range x {
		sum := l.add[0][src[ri]] + l.add[1][src[gi]] + l.add[2][src[bi]]
		ri, gi, bi = ri+l.step, gi+l.step, bi+l.step
		fx := l.roots[sum&laneMask>>(laneBits-rootBits)]
		fy := l.roots[sum>>laneBits&laneMask>>(laneBits-rootBits)]
		fz := l.roots[sum>>(2*laneBits)&laneMask>>(laneBits-rootBits)]
		u := t.byY[0]*fy + t.from[0]
		v := t.byOther[1]*fx + t.byY[1]*fy + t.from[1]
		w := t.byOther[2]*fz + t.byY[2]*fy + t.from[2]
		ui, vi, wi := int32(u), int32(v), int32(w)
		uf, vf, wf := u-float32(ui), v-float32(vi), w-float32(wi)
		if uint32(ui-1) >= uint32(t.cells[0]) {
			ui, uf = clip(u, t.cells[0])
		}
		if uint32(vi-1) >= uint32(t.cells[1]) {
			vi, vf = clip(v, t.cells[1])
		}
		if uint32(wi-1) >= uint32(t.cells[2]) {
			wi, wf = clip(w, t.cells[2])
		}
		x[i], y[i], z[i] = uf, vf, wf
		at[i] = ui*t.stride[0] + vi*t.stride[1] + wi - t.first
	}
}

// laneRow returns the row function of pixels of 8 bits.
func laneRow[D Sample](k *streamed) func(dst []D, src []uint8, n int) {
	return func(dst []D, src []uint8, n int) {
		b := k.blocks.Get().(*block)
		defer k.blocks.Put(b)
		for n > 0 {
			m := min(n, blockPixels)
			loadAlpha(k, b, src, m)
			k.first.find(b, src, m)
			k.first.table.read(b, m)
			for _, p := range k.passes[1:] {
				p.run(b, m)
			}
			store(k, b, dst, m)
			n -= m
			src, dst = src[m*k.in.step:], dst[m*k.out.step:]
		}
	}
}
