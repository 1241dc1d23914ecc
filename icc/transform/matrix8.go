package transform

import (
	"math"
	"slices"

	"example.org/primaries/icc"
)

// matrix8 computes pixels of 8 bits through curves, a matrix and curves. What each
// code of a channel adds to the three sums lies in one word, in three lanes; three
// words are added, and each lane finds its code in a table of the sums.
//
// The table is exact: the cell of a sum holds the code at its lower end and where
// in it the next code begins. Where codes lie closer than cells are wide, in the
// dark, sums have cells of their own.
type matrix8 struct {
	in, out place
	// Channels coming in and lanes are in the order of memory.
	add  [3][256]uint64
	code [3]*codes
}

// Lanes hold light from the least to the most that there can be. No light is zero,
// the beginning of a cell.
const (
	laneBits = 21
	laneMask = 1<<laneBits - 1
	cellBits = 9
	cellMask = 1<<cellBits - 1
	cells    = 1 << (laneBits - cellBits)
	darkSums = 8 << cellBits
	// dark marks the entries of cells whose sums have codes of their own.
	dark = 1 << 31
	// spare is kept off the ends of a lane: three addends are rounded.
	spare = 4
)

// codes finds the code of a sum.
type codes struct {
	// entry holds, for each cell, the code at its lower end, above as many bits as a
	// cell has, and in those how much of the cell lies beyond the next code's
	// beginning; or dark.
	entry [cells]uint32
	zero  uint32          // the sum of no light
	dark  [darkSums]uint8 // codes of the sums from zero on
}

// of returns the code of a sum, above the bits of a cell, or more than all codes
// where it is dark.
func (c *codes) of(sum uint64) uint32 { return c.entry[sum>>cellBits] + uint32(sum&cellMask) }

// slow returns the code of any sum.
func (c *codes) slow(sum uint64) uint8 {
	if v := c.of(sum); v < dark {
		return uint8(v >> cellBits)
	}
	return c.dark[(uint32(sum)-c.zero)%darkSums]
}

// shape returns the curves before and after the only matrix of steps that do
// nothing else: ok is false for others.
func shape(steps []step) (before, matrix, after *step, ok bool) {
	for i := range steps {
		s := &steps[i]
		switch {
		case s.Inputs != 3 || s.Outputs != 3:
			return nil, nil, nil, false
		case s.Kind == icc.StepClamp && (i == 0 || i == len(steps)-1):
		case s.Kind == icc.StepCurves && s.Bounded() && matrix == nil && before == nil:
			before = s
		case s.Kind == icc.StepCurves && s.Bounded() && matrix != nil && after == nil:
			after = s
		case s.Kind == icc.StepMatrix && matrix == nil:
			matrix = s
		default:
			return nil, nil, nil, false
		}
	}
	return before, matrix, after, before != nil && matrix != nil && after != nil
}

// matrix8 returns the kernel, nil where the steps or the layouts are others, or
// codes lie too close for it.
func (k *Kernel) matrix8() *matrix8 {
	if k.from.Depth != Depth8 || k.to.Depth != Depth8 || k.from.Premultiplied || k.to.Premultiplied {
		return nil
	}
	before, matrix, after, ok := shape(k.t.steps)
	if !ok {
		return nil
	}
	m := &matrix8{in: k.in, out: k.out}
	var light [3][256]float64
	for c := range light {
		if c > 0 && before.SameCurve(c, c-1) {
			light[c] = light[c-1]
			continue
		}
		for i := range light[c] {
			light[c][i] = before.Curve(c, float64(i)/255)
		}
	}
	lo, hi := extent(matrix.matrix, &light)
	scale := (laneMask - cellMask - 2*spare) / (hi - lo)
	zero := (math.Ceil(-lo*scale) + spare + cellMask) / (cellMask + 1)
	zero = math.Floor(zero) * (cellMask + 1)
	order := [3]int{0, 1, 2}
	if k.to.Reversed {
		order = [3]int{2, 1, 0}
	}
	for lane := range 3 {
		c := order[lane]
		for j := range 3 {
			add := &m.add[j]
			if k.from.Reversed {
				add = &m.add[2-j]
			}
			for i, v := range light[j] {
				v *= matrix.matrix[3*c+j] * scale
				if j == 0 {
					v += matrix.matrix[9+c]*scale + zero
				}
				// What is negative borrows from the lane above, which gets it back
				// when the others are added.
				add[i] += uint64(int64(math.Round(v))) << (laneBits * lane)
			}
		}
		if lane > 0 && after.SameCurve(c, order[lane-1]) {
			m.code[lane] = m.code[lane-1]
		} else if m.code[lane] = newCodes(after, c, scale, zero); m.code[lane] == nil {
			return nil
		}
	}
	return m
}

// extent returns the least and the most light that any sum can have, 0 and 1
// included.
func extent(m []float64, light *[3][256]float64) (lo, hi float64) {
	hi = 1
	for c := range 3 {
		least, most := m[9+c], m[9+c]
		for j := range 3 {
			a, b := m[3*c+j]*slices.Min(light[j][:]), m[3*c+j]*slices.Max(light[j][:])
			least, most = least+min(a, b), most+max(a, b)
		}
		lo, hi = min(lo, least), max(hi, most)
	}
	return lo, hi
}

// newCodes returns the codes of light through a curve that never falls, nil where
// it does or codes lie too close.
func newCodes(after *step, channel int, scale, zero float64) *codes {
	if !after.Rising(channel) {
		return nil
	}
	c := &codes{zero: uint32(zero)}
	// begin is the sum at which each code begins.
	var begin [258]uint32
	last := math.Inf(-1)
	for k := 1; k < 256; k++ {
		y := (float64(k) - 0.5) / 255
		begin[k] = laneMask + 1
		x, ok := after.Inverse(channel, y)
		if !ok || !(x >= last) {
			return nil
		}
		last = x
		if after.Curve(channel, min(x+1e-9, 1)) < y-1e-6 {
			continue // the curve ends below this code
		}
		switch begin[k] = uint32(math.Ceil(x*scale + zero)); {
		case x > 0:
		case after.Curve(channel, 0) < y:
			begin[k] = c.zero + 1 // no light is darker than the least
		default:
			begin[k] = 0
		}
	}
	begin[256], begin[257] = laneMask+1, laneMask+1
	code := 0
	for i := range cells {
		from, to := uint32(i)<<cellBits, uint32(i+1)<<cellBits
		for begin[code+1] <= from {
			code++
		}
		if from-c.zero < darkSums {
			c.entry[i] = dark
			continue
		}
		c.entry[i] = uint32(code) << cellBits
		if begin[code+1] < to {
			c.entry[i] += to - begin[code+1]
			if code < 255 && begin[code+2] < to {
				return nil
			}
		}
	}
	code = 0
	for d := range c.dark {
		for begin[code+1] <= c.zero+uint32(d) {
			code++
		}
		c.dark[d] = uint8(code)
	}
	return c
}

// row computes n pixels.
func (m *matrix8) row(dst, src []uint8, n int) {
	step, over := m.in.step, m.out.step
	if step == 3 && over == 3 {
		m.packed(dst[:3*n], src[:3*n])
		return
	}
	// The first channel of a pixel, where opacity may come before it.
	from, to := min(m.in.at[0], m.in.at[2]), min(m.out.at[0], m.out.at[2])
	for range n {
		alpha := uint8(255)
		if m.in.alpha >= 0 {
			alpha = src[m.in.alpha]
		}
		s, d := (*[3]uint8)(src[from:]), (*[3]uint8)(dst[to:])
		d[0], d[1], d[2] = m.pixel(m.add[0][s[0]] + m.add[1][s[1]] + m.add[2][s[2]])
		if m.out.alpha >= 0 {
			dst[m.out.alpha] = alpha
		}
		src, dst = src[step:], dst[over:]
	}
}

// pixel returns the codes of three lanes.
func (m *matrix8) pixel(sum uint64) (a, b, c uint8) {
	x, y, z := sum&laneMask, sum>>laneBits&laneMask, sum>>(2*laneBits)&laneMask
	u, v, w := m.code[0].of(x), m.code[1].of(y), m.code[2].of(z)
	if u|v|w < dark {
		return uint8(u >> cellBits), uint8(v >> cellBits), uint8(w >> cellBits)
	}
	return m.code[0].slow(x), m.code[1].slow(y), m.code[2].slow(z)
}

// packed computes pixels of three samples, two at a time: as many as the
// processor's registers hold, the tables of three channels being one.
func (m *matrix8) packed(dst, src []uint8) {
	p := &m.code[0].entry
	if m.code[1] != m.code[0] || m.code[2] != m.code[0] {
		for i := 0; i+3 <= len(src); i += 3 {
			dst[i], dst[i+1], dst[i+2] = m.pixel(m.add[0][src[i]] + m.add[1][src[i+1]] + m.add[2][src[i+2]])
		}
		return
	}
	i := 0
	for ; i <= len(src)-6 && i <= len(dst)-6; i += 6 {
		s := (*[6]uint8)(src[i:])
		one, two := m.add[0][s[0]]+m.add[1][s[1]]+m.add[2][s[2]], m.add[0][s[3]]+m.add[1][s[4]]+m.add[2][s[5]]
		x, y, z := uint32(one)&laneMask, uint32(one>>laneBits)&laneMask, uint32(one>>(2*laneBits))&laneMask
		u, v, w := p[x>>cellBits]+x&cellMask, p[y>>cellBits]+y&cellMask, p[z>>cellBits]+z&cellMask
		if u|v|w >= dark {
			u, v, w = m.dim(u, v, w, one)
		}
		d := (*[6]uint8)(dst[i:])
		d[0], d[1], d[2] = uint8(u>>cellBits), uint8(v>>cellBits), uint8(w>>cellBits)
		x, y, z = uint32(two)&laneMask, uint32(two>>laneBits)&laneMask, uint32(two>>(2*laneBits))&laneMask
		u, v, w = p[x>>cellBits]+x&cellMask, p[y>>cellBits]+y&cellMask, p[z>>cellBits]+z&cellMask
		if u|v|w >= dark {
			u, v, w = m.dim(u, v, w, two)
		}
		d[3], d[4], d[5] = uint8(u>>cellBits), uint8(v>>cellBits), uint8(w>>cellBits)
	}
	for ; i+3 <= len(src); i += 3 {
		dst[i], dst[i+1], dst[i+2] = m.pixel(m.add[0][src[i]] + m.add[1][src[i+1]] + m.add[2][src[i+2]])
	}
}

// dim replaces those of u, v and w that are dark.
//
//go:noinline
func (m *matrix8) dim(u, v, w uint32, sum uint64) (uint32, uint32, uint32) {
	out := [3]uint32{u, v, w}
	for k, e := range out {
		if e >= dark {
			out[k] = uint32(m.code[k].slow(sum>>(uint(k)*laneBits)&laneMask)) << cellBits
		}
	}
	return out[0], out[1], out[2]
}
