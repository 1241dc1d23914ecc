//go:build goexperiment.simd && amd64

package transform

import "simd/archsimd"

// wideLanes is how many pixels a register holds. Passes compute as many at a time,
// behind the last pixel of a block whatever the block held before.
const wideLanes = 16

// sixteen returns pixels of a plane from i on. i is a multiple of wideLanes and within
// the plane, so that the mask, which saves a check, changes nothing.
func sixteen[T float32 | int32 | uint32 | uint8](row *[blockPixels]T, i int) *[wideLanes]T {
	i &= blockPixels - wideLanes
	return (*[wideLanes]T)(row[i : i+wideLanes])
}

// spread returns a register full of one number.
func spread(v float32) archsimd.Float32x16 { return archsimd.BroadcastFloat32x16(v) }

// wide is run by vectors, false where there are none.
func (l limit) wide(b *block, n int) bool {
	if !vectors {
		return false
	}
	lo, hi := spread(l.lo), spread(l.hi)
	for c := range l.channels {
		for i := 0; i < n; i += wideLanes {
			p := sixteen(&b.v[c], i)
			v := archsimd.LoadFloat32x16(p)
			v = v.Masked(v.Equal(v)) // NaN becomes 0
			v.Max(lo).Min(hi).Store(p)
		}
	}
	archsimd.ClearAVXUpperBits()
	return true
}

// wide is run3 by vectors, false where there are none.
func (a *affine) wide(b *block, n int) bool {
	if !vectors {
		return false
	}
	m := &a.m
	// No more than these, so that registers are left for the pixels.
	xx, xy, xz := spread(m[0][0]), spread(m[0][1]), spread(m[0][2])
	yx, yy, yz := spread(m[1][0]), spread(m[1][1]), spread(m[1][2])
	zx, zy, zz := spread(m[2][0]), spread(m[2][1]), spread(m[2][2])
	for i := 0; i < n; i += wideLanes {
		p, q, r := sixteen(&b.v[0], i), sixteen(&b.v[1], i), sixteen(&b.v[2], i)
		u, v, w := load16(p), load16(q), load16(r)
		u.MulAdd(xx, v.MulAdd(xy, w.MulAdd(xz, spread(a.offset[0])))).Store(p)
		u.MulAdd(yx, v.MulAdd(yy, w.MulAdd(yz, spread(a.offset[1])))).Store(q)
		u.MulAdd(zx, v.MulAdd(zy, w.MulAdd(zz, spread(a.offset[2])))).Store(r)
	}
	archsimd.ClearAVXUpperBits()
	return true
}

// wide is run by vectors, false where there are none.
func (toLab) wide(b *block, n int) bool {
	if !vectors {
		return false
	}
	for c, white := range [3]float32{d50X, 1, d50Z} {
		wideRoots(&b.v[c], n, 1/white)
	}
	for i := 0; i < n; i += wideLanes {
		x, y, z := sixteen(&b.v[0], i), sixteen(&b.v[1], i), sixteen(&b.v[2], i)
		fx, fy, fz := archsimd.LoadFloat32x16(x), archsimd.LoadFloat32x16(y), archsimd.LoadFloat32x16(z)
		spread(116).MulAdd(fy, spread(-16)).Store(x)
		spread(500).Mul(fx.Sub(fy)).Store(y)
		spread(200).Mul(fy.Sub(fz)).Store(z)
	}
	archsimd.ClearAVXUpperBits()
	return true
}

// wideRoots replaces numbers by root of them times scale.
func wideRoots(row *[blockPixels]float32, n int, scale float32) {
	third, guess := spread(1.0/3), spread(0x2a5137a0)
	for i := 0; i < n; i += wideLanes {
		p := sixteen(row, i)
		t := archsimd.LoadFloat32x16(p).Mul(spread(scale))
		y := t.AsInt32x16().ConvertToFloat32().MulAdd(third, guess).ConvertToInt32().AsFloat32x16()
		y3 := y.Mul(y).Mul(y)
		y = y.Mul(y3.Add(t).Add(t)).Div(y3.Add(y3).Add(t))
		y3 = y.Mul(y).Mul(y)
		y = y.Mul(y3.Add(t).Add(t)).Div(y3.Add(y3).Add(t))
		y.Merge(t.MulAdd(spread(labSlope), spread(labOffset)), t.Greater(spread(labCut))).Store(p)
	}
}

// wide is run by vectors, false where there are none.
func (toXYZ) wide(b *block, n int) bool {
	if !vectors {
		return false
	}
	for i := 0; i < n; i += wideLanes {
		l, a, bb := sixteen(&b.v[0], i), sixteen(&b.v[1], i), sixteen(&b.v[2], i)
		fy := archsimd.LoadFloat32x16(l).Add(spread(16)).Mul(spread(1.0 / 116))
		fx := archsimd.LoadFloat32x16(a).MulAdd(spread(1.0/500), fy)
		fz := archsimd.LoadFloat32x16(bb).MulAdd(spread(-1.0/200), fy)
		wideCube(fx).Mul(spread(d50X)).Store(l)
		wideCube(fy).Store(a)
		wideCube(fz).Mul(spread(d50Z)).Store(bb)
	}
	archsimd.ClearAVXUpperBits()
	return true
}

// wideCube is cube by vectors.
func wideCube(f archsimd.Float32x16) archsimd.Float32x16 {
	line := f.Sub(spread(labOffset)).Mul(spread(1 / labSlope))
	return f.Mul(f).Mul(f).Merge(line, f.Greater(spread(6.0/29)))
}
