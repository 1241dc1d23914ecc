//go:build goexperiment.simd && amd64

package transform

import "simd/archsimd"

// order says which plane of a block the samples of a pixel belong to, in the order in
// which they lie in memory, and what each means.
type order struct {
	plane [planes]int // planes is that of opacity
	unit  [planes]unit32
}

// newOrder returns that of pixels with the units of their channels and the scale of
// their opacity.
func newOrder(p *place, units []unit32, alpha float32) (o order) {
	for c := range p.channels {
		o.plane[p.at[c]], o.unit[p.at[c]] = c, units[c]
	}
	if p.alpha >= 0 {
		o.plane[p.alpha], o.unit[p.alpha] = planes, unit32{alpha, 0}
	}
	return o
}

// inPlanes is the order of samples that are planes' values.
var inPlanes = order{plane: [planes]int{0, 1, 2, 3}, unit: [planes]unit32{{1, 0}, {1, 0}, {1, 0}, {1, 0}}}

// row returns the plane of sample k of a pixel.
func (o *order) row(b *block, k int) *[blockPixels]float32 {
	if p := o.plane[k]; p < planes {
		return &b.v[p]
	}
	return &b.alpha
}

// lanesOf returns the lanes that a permutation of two registers picks, the second
// one's from 16 on.
func lanesOf(pick func(lane int) int) (out [wideLanes]uint32) {
	for i := range out {
		out[i] = uint32(pick(i))
	}
	return out
}

// How three registers of pixels become three planes: the first permutation of the
// first two registers finds what they have of a channel, the second one adds what
// the third has. Three planes become registers likewise: samples of the first two
// planes, then of the third.
var split3Lanes, join3Lanes = func() (s, j [3][2][wideLanes]uint32) {
	for k := range 3 {
		s[k][0] = lanesOf(func(lane int) int { return (3*lane + k) % 32 })
		s[k][1] = lanesOf(func(lane int) int {
			if at := 3*lane + k; at >= 32 {
				return at - 16
			}
			return lane
		})
		j[k][0] = lanesOf(func(lane int) int { at := 16*k + lane; return at/3 + at%3%2*16 })
		j[k][1] = lanesOf(func(lane int) int {
			if at := 16*k + lane; at%3 == 2 {
				return at/3 + 16
			}
			return lane
		})
	}
	return s, j
}()

// Four samples a pixel: of two registers, eight pixels' samples of one channel and
// of the next; of two planes, eight pixels' pairs; of two registers of pairs, the
// pixels of one half.
var split4Lanes, pairLanes, join4Lanes = func() (s, p, j [2][wideLanes]uint32) {
	for k := range 2 {
		s[k] = lanesOf(func(lane int) int { return 4*(lane%8) + lane/8 + 2*k })
		p[k] = lanesOf(func(lane int) int { return lane/2 + lane%2*16 + 8*k })
		j[k] = lanesOf(func(lane int) int { return lane/4*2 + lane%2 + lane/2%2*16 + 8*k })
	}
	return s, p, j
}()

func load16(v *[wideLanes]float32) archsimd.Float32x16 { return archsimd.LoadFloat32x16(v) }
func lanes16(v *[wideLanes]uint32) archsimd.Uint32x16  { return archsimd.LoadUint32x16(v) }

// split writes n pixels of three or four samples to planes. src holds sixteen
// pixels at a time.
func (o *order) split(b *block, src []float32, n, step int) {
	if step == 3 {
		o.split3(b, src, n)
	} else {
		o.split4(b, src, n)
	}
	archsimd.ClearAVXUpperBits()
}

func (o *order) split3(b *block, src []float32, n int) {
	for c := range 3 {
		row, s := o.row(b, c), src
		first, second := lanes16(&split3Lanes[c][0]), lanes16(&split3Lanes[c][1])
		scale, offset := spread(o.unit[c].scale), spread(o.unit[c].offset)
		for i := 0; i < n; i += wideLanes {
			p := (*[3 * wideLanes]float32)(s)
			v := load16((*[16]float32)(p[:])).ConcatPermute(load16((*[16]float32)(p[16:])), first)
			v = v.ConcatPermute(load16((*[16]float32)(p[32:])), second)
			v.MulAdd(scale, offset).Store(sixteen(row, i))
			s = s[3*wideLanes:]
		}
	}
}

func (o *order) split4(b *block, src []float32, n int) {
	for k := range 2 {
		s := src
		lanes := lanes16(&split4Lanes[k])
		one, two := o.row(b, 2*k), o.row(b, 2*k+1)
		u, w := o.unit[2*k], o.unit[2*k+1]
		for i := 0; i < n; i += wideLanes {
			p := (*[4 * wideLanes]float32)(s)
			c := load16((*[16]float32)(p[:])).ConcatPermute(load16((*[16]float32)(p[16:])), lanes)
			d := load16((*[16]float32)(p[32:])).ConcatPermute(load16((*[16]float32)(p[48:])), lanes)
			c.SetHi(d.GetLo()).MulAdd(spread(u.scale), spread(u.offset)).Store(sixteen(one, i))
			d.SetLo(c.GetHi()).MulAdd(spread(w.scale), spread(w.offset)).Store(sixteen(two, i))
			s = s[4*wideLanes:]
		}
	}
}

// join is the inverse of split: samples are a plane's values in its unit.
func (o *order) join(b *block, dst []float32, n, step int) {
	for c := range step {
		row, u := o.row(b, c), o.unit[c]
		if u == (unit32{1, 0}) {
			continue
		}
		scale, offset := spread(u.scale), spread(u.offset)
		for i := 0; i < n; i += wideLanes {
			p := sixteen(row, i)
			load16(p).MulAdd(scale, offset).Store(p)
		}
	}
	if step == 3 {
		o.join3(b, dst, n)
	} else {
		o.join4(b, dst, n)
	}
	archsimd.ClearAVXUpperBits()
}

func (o *order) join3(b *block, dst []float32, n int) {
	one, two, three := o.row(b, 0), o.row(b, 1), o.row(b, 2)
	for k := range 3 {
		d := dst[wideLanes*k:]
		first, second := lanes16(&join3Lanes[k][0]), lanes16(&join3Lanes[k][1])
		for i := 0; ; {
			v := load16(sixteen(one, i)).ConcatPermute(load16(sixteen(two, i)), first)
			v.ConcatPermute(load16(sixteen(three, i)), second).Store((*[16]float32)(d))
			if i += wideLanes; i >= n {
				break
			}
			d = d[3*wideLanes:]
		}
	}
}

func (o *order) join4(b *block, dst []float32, n int) {
	one, two, three, four := o.row(b, 0), o.row(b, 1), o.row(b, 2), o.row(b, 3)
	front, back := lanes16(&join4Lanes[0]), lanes16(&join4Lanes[1])
	for half := range 2 {
		d := dst[2*wideLanes*half:]
		pairs := lanes16(&pairLanes[half])
		for i := 0; ; {
			v := load16(sixteen(one, i)).ConcatPermute(load16(sixteen(two, i)), pairs)
			w := load16(sixteen(three, i)).ConcatPermute(load16(sixteen(four, i)), pairs)
			p := (*[2 * wideLanes]float32)(d)
			v.ConcatPermute(w, front).Store((*[16]float32)(p[:]))
			v.ConcatPermute(w, back).Store((*[16]float32)(p[16:]))
			if i += wideLanes; i >= n {
				break
			}
			d = d[4*wideLanes:]
		}
	}
}

// squeeze writes the first three of four samples a pixel in the order of a layout and
// in its units.
type squeeze [3]struct {
	lanes         [wideLanes]uint32
	scale, offset [wideLanes]float32
}

func newSqueeze(p *place, units []unit32) (q squeeze) {
	for k := range q {
		for lane := range wideLanes {
			at := wideLanes*k + lane
			for c := range 3 {
				if p.at[c] == at%3 {
					q[k].lanes[lane] = uint32(at/3*planes + c - wideLanes*k)
					q[k].scale[lane], q[k].offset[lane] = units[c].scale, units[c].offset
				}
			}
		}
	}
	return q
}

// run does so for n pixels. dst and src may be the same.
func (q *squeeze) run(dst, src []float32, n int) {
	for ; n > 0; n -= wideLanes {
		s, d := (*[planes * wideLanes]float32)(src), (*[3 * wideLanes]float32)(dst)
		x, y := load16((*[16]float32)(s[:])), load16((*[16]float32)(s[16:]))
		z, w := load16((*[16]float32)(s[32:])), load16((*[16]float32)(s[48:]))
		x = x.ConcatPermute(y, lanes16(&q[0].lanes)).MulAdd(load16(&q[0].scale), load16(&q[0].offset))
		y = y.ConcatPermute(z, lanes16(&q[1].lanes)).MulAdd(load16(&q[1].scale), load16(&q[1].offset))
		z = z.ConcatPermute(w, lanes16(&q[2].lanes)).MulAdd(load16(&q[2].scale), load16(&q[2].offset))
		x.Store((*[16]float32)(d[:]))
		y.Store((*[16]float32)(d[16:]))
		z.Store((*[16]float32)(d[32:]))
		src, dst = src[len(s):], dst[len(d):]
	}
	archsimd.ClearAVXUpperBits()
}

// widen turns samples into floats.
func widen[S Sample](dst []float32, src []S) {
	dst = dst[:len(src)]
	i := 0
	if src, ok := any(src).([]uint16); ok {
		for ; i+wideLanes <= len(src); i += wideLanes {
			v := archsimd.LoadUint16x16((*[16]uint16)(src[i:])).ExtendToUint32()
			v.AsInt32x16().ConvertToFloat32().Store((*[16]float32)(dst[i:]))
		}
	}
	archsimd.ClearAVXUpperBits()
	for ; i < len(src); i++ {
		dst[i] = float32(src[i])
	}
}

// narrow turns floats into samples, rounded where these are whole.
func narrow[D Sample](dst []D, src []float32) {
	src = src[:len(dst)]
	half, one := spread(0.5), spread(1)
	i := 0
	switch dst := any(dst).(type) {
	case []uint8:
		for ; i+wideLanes <= len(dst); i += wideLanes {
			v := load16((*[16]float32)(src[i:])).Add(half)
			v = v.Masked(v.GreaterEqual(one)).Min(spread(255.5))
			v.ConvertToInt32().AsUint32x16().SaturateToUint8().Store((*[16]uint8)(dst[i:]))
		}
	case []uint16:
		for ; i+wideLanes <= len(dst); i += wideLanes {
			v := load16((*[16]float32)(src[i:])).Add(half)
			v = v.Masked(v.GreaterEqual(one)).Min(spread(65535.5))
			v.ConvertToInt32().AsUint32x16().SaturateToUint16().Store((*[16]uint16)(dst[i:]))
		}
	}
	archsimd.ClearAVXUpperBits()
	put(dst[i:], src[i:], 0, 1, unit32{1, 0})
}
