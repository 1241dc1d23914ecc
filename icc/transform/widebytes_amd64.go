//go:build goexperiment.simd && amd64

package transform

import (
	"encoding/binary"
	"math"
	"simd/archsimd"
)

// byteLanes is how many bytes a register holds. As many codes of 8 bits are looked up
// at a time: a byte of what they become after the other.
const byteLanes = 64

// wideBytes is what a block holds for pixels of 8 bits.
type wideBytes struct {
	pixels [planes * blockPixels]uint8
	plane  [planes][blockPixels]uint8 // in the order of memory
	part   [4][blockPixels]uint8      // of float32, the lowest first
}

// byteTable has the bytes of the float32 that each code becomes, the lowest first.
type byteTable [4][256]uint8

func newByteTable(value func(code int) float32) *byteTable {
	t := new(byteTable)
	for i := range t[0] {
		var b [4]byte
		binary.LittleEndian.PutUint32(b[:], math.Float32bits(value(i)))
		for k := range b {
			t[k][i] = b[k]
		}
	}
	return t
}

// bytesOf returns the lanes that a permutation of the bytes of two registers picks.
func bytesOf(pick func(lane int) int) (out [byteLanes]uint8) {
	for i := range out {
		out[i] = uint8(pick(i))
	}
	return out
}

// How three registers of bytes become three planes and back, as with floats.
var split3Bytes, join3Bytes = func() (s, j [3][2][byteLanes]uint8) {
	for k := range 3 {
		s[k][0] = bytesOf(func(lane int) int { return (3*lane + k) % 128 })
		s[k][1] = bytesOf(func(lane int) int {
			if at := 3*lane + k; at >= 128 {
				return at - 64
			}
			return lane
		})
		j[k][0] = bytesOf(func(lane int) int { at := 64*k + lane; return at/3 + at%3%2*64 })
		j[k][1] = bytesOf(func(lane int) int {
			if at := 64*k + lane; at%3 == 2 {
				return at/3 + 64
			}
			return lane
		})
	}
	return s, j
}()

// How four registers become four planes, as with floats, and two planes become pairs.
var split4Bytes = [2][byteLanes]uint8{
	bytesOf(func(lane int) int { return 4*(lane%32) + lane/32 }),
	bytesOf(func(lane int) int { return 4*(lane%32) + lane/32 + 2 }),
}

var pairBytes = [2][byteLanes]uint8{
	bytesOf(func(lane int) int { return lane/2 + lane%2*64 }),
	bytesOf(func(lane int) int { return lane/2 + lane%2*64 + 32 }),
}

// pairWords are the lanes of pairs of 16 bits, likewise.
var pairWords = func() (w [2][byteLanes / 2]uint16) {
	for lane := range w[0] {
		w[0][lane] = uint16(lane/2 + lane%2*32)
		w[1][lane] = w[0][lane] + 16
	}
	return w
}()

// bytes64 returns 64 bytes of a row from i on, as sixteen does.
func bytes64(row *[blockPixels]uint8, i int) *[byteLanes]uint8 {
	i &= blockPixels - byteLanes
	return (*[byteLanes]uint8)(row[i : i+byteLanes])
}

func load64(v *[byteLanes]uint8) archsimd.Uint8x64 { return archsimd.LoadUint8x64(v) }

// split writes n pixels of three or four bytes to planes.
func (w *wideBytes) split(src []uint8, n, step int) {
	if n%byteLanes != 0 {
		copy(w.pixels[:], src)
		src = w.pixels[:]
	}
	if step == 3 {
		w.split3(src, n)
	} else {
		w.split4(src, n)
	}
	archsimd.ClearAVXUpperBits()
}

func (w *wideBytes) split3(src []uint8, n int) {
	for c := range 3 {
		s := src
		first, second := load64(&split3Bytes[c][0]), load64(&split3Bytes[c][1])
		for i := 0; i < n; i += byteLanes {
			p := (*[3 * byteLanes]uint8)(s)
			v := load64((*[64]uint8)(p[:])).ConcatPermute(load64((*[64]uint8)(p[64:])), first)
			v.ConcatPermute(load64((*[64]uint8)(p[128:])), second).Store(bytes64(&w.plane[c], i))
			s = s[len(p):]
		}
	}
}

func (w *wideBytes) split4(src []uint8, n int) {
	for k := range split4Bytes {
		s := src
		lanes := load64(&split4Bytes[k])
		for i := 0; i < n; i += byteLanes {
			p := (*[4 * byteLanes]uint8)(s)
			a := load64((*[64]uint8)(p[:])).ConcatPermute(load64((*[64]uint8)(p[64:])), lanes)
			b := load64((*[64]uint8)(p[128:])).ConcatPermute(load64((*[64]uint8)(p[192:])), lanes)
			a.SetHi(b.GetLo()).Store(bytes64(&w.plane[2*k], i))
			b.SetLo(a.GetHi()).Store(bytes64(&w.plane[2*k+1], i))
			s = s[len(p):]
		}
	}
}

// join is the inverse of split.
func (w *wideBytes) join(dst []uint8, n, step int) {
	out := dst
	if n%byteLanes != 0 {
		out = w.pixels[:]
	}
	if step == 3 {
		w.join3(out, n)
	} else {
		w.join4(out, n)
	}
	archsimd.ClearAVXUpperBits()
	if n%byteLanes != 0 {
		copy(dst, out[:step*n])
	}
}

func (w *wideBytes) join3(dst []uint8, n int) {
	for k := range 3 {
		d := dst[byteLanes*k:]
		first, second := load64(&join3Bytes[k][0]), load64(&join3Bytes[k][1])
		for i := 0; ; {
			v := load64(bytes64(&w.plane[0], i)).ConcatPermute(load64(bytes64(&w.plane[1], i)), first)
			v.ConcatPermute(load64(bytes64(&w.plane[2], i)), second).Store((*[64]uint8)(d))
			if i += byteLanes; i >= n {
				break
			}
			d = d[3*byteLanes:]
		}
	}
}

func (w *wideBytes) join4(dst []uint8, n int) {
	front, back := archsimd.LoadUint16x32(&pairWords[0]), archsimd.LoadUint16x32(&pairWords[1])
	for half := range 2 {
		d := dst[2*byteLanes*half:]
		pairs := load64(&pairBytes[half])
		for i := 0; ; {
			a := load64(bytes64(&w.plane[0], i)).ConcatPermute(load64(bytes64(&w.plane[1], i)), pairs).AsUint16x32()
			b := load64(bytes64(&w.plane[2], i)).ConcatPermute(load64(bytes64(&w.plane[3], i)), pairs).AsUint16x32()
			p := (*[2 * byteLanes]uint8)(d)
			a.ConcatPermute(b, front).AsUint8x64().Store((*[64]uint8)(p[:]))
			a.ConcatPermute(b, back).AsUint8x64().Store((*[64]uint8)(p[64:]))
			if i += byteLanes; i >= n {
				break
			}
			d = d[4*byteLanes:]
		}
	}
}

// look writes what a plane of codes becomes.
func (w *wideBytes) look(t *byteTable, codes *[blockPixels]uint8, row *[blockPixels]float32, n int) {
	zero := archsimd.BroadcastInt8x64(0)
	for k := range t {
		a, b := load64((*[64]uint8)(t[k][0:])), load64((*[64]uint8)(t[k][64:]))
		c, d := load64((*[64]uint8)(t[k][128:])), load64((*[64]uint8)(t[k][192:]))
		for i := 0; i < n; i += byteLanes {
			code := load64(bytes64(codes, i))
			v := c.ConcatPermute(d, code).Merge(a.ConcatPermute(b, code), code.AsInt8x64().Less(zero))
			v.Store(bytes64(&w.part[k], i))
		}
	}
	b0, b1 := load64(&pairBytes[0]), load64(&pairBytes[1])
	w0, w1 := archsimd.LoadUint16x32(&pairWords[0]), archsimd.LoadUint16x32(&pairWords[1])
	for i := 0; i < n; i += byteLanes {
		a, b := load64(bytes64(&w.part[0], i)), load64(bytes64(&w.part[1], i))
		c, d := load64(bytes64(&w.part[2], i)), load64(bytes64(&w.part[3], i))
		low, high := a.ConcatPermute(b, b0).AsUint16x32(), c.ConcatPermute(d, b0).AsUint16x32()
		low.ConcatPermute(high, w0).AsFloat32x16().Store(sixteen(row, i))
		low.ConcatPermute(high, w1).AsFloat32x16().Store(sixteen(row, i+16))
		low, high = a.ConcatPermute(b, b1).AsUint16x32(), c.ConcatPermute(d, b1).AsUint16x32()
		low.ConcatPermute(high, w0).AsFloat32x16().Store(sixteen(row, i+32))
		low.ConcatPermute(high, w1).AsFloat32x16().Store(sixteen(row, i+48))
	}
	archsimd.ClearAVXUpperBits()
}

// code writes the codes of a row of values in a unit.
func (w *wideBytes) code(codes *[blockPixels]uint8, row *[blockPixels]float32, u unit32, n int) {
	scale, offset, top := spread(u.scale), spread(u.offset+0.5), spread(255.5)
	one := spread(1)
	for i := 0; i < n; i += wideLanes {
		v := load16(sixteen(row, i)).MulAdd(scale, offset)
		v = v.Masked(v.GreaterEqual(one)).Min(top)
		v.ConvertToInt32().AsUint32x16().SaturateToUint8().Store(sixteen(codes, i))
	}
	archsimd.ClearAVXUpperBits()
}
