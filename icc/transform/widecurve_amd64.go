//go:build goexperiment.simd && amd64

package transform

import (
	"math"
	"simd/archsimd"
)

// wideCurve is a curve for vectors, which cannot be sent through a table as one
// number can: there is no instruction to gather in package archsimd. In its place
// are 32 cubics, as many as two registers hold of each coefficient. Cubics are of x
// or of a root of x, and those that meet there have the same value.
type wideCurve struct {
	spacing
	at [4][32]float32 // coefficients, from that of the cube down
}

// spacing says where cubics begin: each at the next step of the bits of a float32
// of the argument plus add, from least on. So they are evenly spaced from 0 to 1 for
// 1, and many to an octave for 0.
type spacing struct {
	roots      int // that are taken of x
	shift      uint32
	add, least float32
}

// spacings are tried in this order: the earlier ones take less time.
var spacings = []spacing{
	{0, 18, 1, 1},               // even
	{0, 21, 0, 1.0 / (1 << 8)},  // 4 an octave
	{0, 22, 0, 1.0 / (1 << 16)}, // 2 an octave
	{1, 18, 1, 1},
	{1, 21, 0, 1.0 / (1 << 8)},
	{1, 22, 0, 1.0 / (1 << 16)},
	{2, 21, 0, 1.0 / (1 << 8)},
}

// wideError is how far a wideCurve may be from its curve, of 1. It is also how far
// the number is that the curve makes the same of: of two curves one of which undoes
// the other, the first must be the nearer the flatter it is, in the dark.
const wideError = 6e-6

// newWideCurve returns cubics that are within wideError of a function, also where it
// bends, nil where none are.
func newWideCurve(f func(float64) float64, bends []float64) *wideCurve {
	for _, s := range spacings {
		c := &wideCurve{spacing: s}
		value, ok := f(0), true
		for i := 0; i < 32 && ok; i++ {
			value, ok = c.fit(i, value, f)
		}
		if ok && c.holds(f, bends) {
			return c
		}
	}
	return nil
}

// holds reports whether the curve is near the function where that bends.
func (c *wideCurve) holds(f func(float64) float64, bends []float64) bool {
	var row [blockPixels]float32
	var cubic [blockPixels]uint32
	for len(bends) > 0 {
		n := min(len(bends), blockPixels)
		for i, x := range bends[:n] {
			row[i] = float32(x)
		}
		c.run(&row, &cubic, n)
		for i, x := range bends[:n] {
			if math.Abs(float64(row[i])-f(float64(float32(x)))) > wideError {
				return false
			}
		}
		bends = bends[n:]
	}
	return true
}

// begin returns where cubic i begins, in the root of x: the first at 0, the one
// behind the last at 1.
func (s *spacing) begin(i int) float64 {
	if i == 0 {
		return 0
	}
	return float64(math.Float32frombits(math.Float32bits(s.least)+uint32(i)<<s.shift)) - float64(s.add)
}

// power returns x for a root of it.
func (s *spacing) power(t float64) float64 {
	for range s.roots {
		t *= t
	}
	return t
}

// fit sets cubic i, which meets a function at both its ends and at a quarter and
// three quarters of its way, where the error is about least. It takes the function's
// value at the beginning and returns that at the end, and whether the cubic is near
// the function at places between.
func (c *wideCurve) fit(i int, value float64, f func(float64) float64) (float64, bool) {
	from, to := c.begin(i), c.begin(i+1)
	at := func(share float64) float64 { return from + share*(to-from) }
	t := [4]float64{from, at(0.25), at(0.75), to}
	end := f(c.power(to))
	a := cubic(t, [4]float64{value, f(c.power(t[1])), f(c.power(t[2])), end})
	slot := (math.Float32bits(c.least)>>c.shift + uint32(i)) % 32
	for k := range a {
		c.at[3-k][slot] = float32(a[k])
		a[k] = float64(c.at[3-k][slot])
	}
	const places, rounding, nothing = 6, 3e-7, 1e-12
	before := c.power(from)
	for k := range places {
		u := at((float64(k) + 0.5) / places)
		x := c.power(u)
		want, got := f(x), a[0]+u*(a[1]+u*(a[2]+u*a[3]))
		slope := math.Abs(want-value) / (x - before)
		if !(math.Abs(got-want) <= wideError*min(1, slope)+rounding*math.Abs(want)+nothing) {
			return 0, false
		}
		before, value = x, want
	}
	return end, true
}

// cubic returns the coefficients, the constant first, of the cubic through four
// points, by divided differences.
func cubic(t, v [4]float64) (a [4]float64) {
	for k := 1; k < 4; k++ {
		for j := 3; j >= k; j-- {
			v[j] = (v[j] - v[j-1]) / (t[j] - t[j-k])
		}
	}
	a[0] = v[3]
	for k := 2; k >= 0; k-- { // a·(t-t[k]) + v[k]
		for j := 3; j > 0; j-- {
			a[j] = a[j-1] - t[k]*a[j]
		}
		a[0] = v[k] - t[k]*a[0]
	}
	return a
}

// run replaces a block's values by what the curve makes of them. What lies outside
// 0 to 1 is clamped; NaN counts as 0. cubic is room for what it finds on its way.
func (c *wideCurve) run(row *[blockPixels]float32, cubic *[blockPixels]uint32, n int) {
	c.find(row, cubic, n)
	c.read(row, cubic, n)
	archsimd.ClearAVXUpperBits()
}

// find replaces values by their roots and finds their cubics.
func (c *wideCurve) find(row *[blockPixels]float32, cubic *[blockPixels]uint32, n int) {
	zero, one, add, least := spread(0), spread(1), spread(c.add), spread(c.least)
	most := spread(math.Nextafter32(1+c.add, 0))
	shift := archsimd.BroadcastUint32x16(c.shift)
	for i := 0; i < n; i += wideLanes {
		p := sixteen(row, i)
		t := load16(p)
		t = t.Masked(t.Greater(zero)).Min(one)
		if c.roots > 0 {
			t = t.Sqrt()
			if c.roots > 1 {
				t = t.Sqrt()
			}
		}
		t.Store(p)
		t.Add(add).Max(least).Min(most).AsUint32x16().ShiftRight(shift).Store(sixteen(cubic, i))
	}
}

// read replaces roots by the values of their cubics, whose coefficients stay in
// registers, as there are just enough of them.
func (c *wideCurve) read(row *[blockPixels]float32, cubic *[blockPixels]uint32, n int) {
	d0, d1 := halves(&c.at[0])
	c0, c1 := halves(&c.at[1])
	b0, b1 := halves(&c.at[2])
	a0, a1 := halves(&c.at[3])
	for i := 0; i < n; i += wideLanes {
		p := sixteen(row, i)
		t, k := load16(p), lanes16(sixteen(cubic, i))
		v := d0.ConcatPermute(d1, k).MulAdd(t, c0.ConcatPermute(c1, k))
		v.MulAdd(t, b0.ConcatPermute(b1, k)).MulAdd(t, a0.ConcatPermute(a1, k)).Store(p)
	}
}

// scaled returns the curve to codes up to top, a half more than they are, so that
// what is cut off is rounded.
func (c *wideCurve) scaled(top float32) *wideCurve {
	out := *c
	for k := range out.at {
		for i := range out.at[k] {
			out.at[k][i] *= top
		}
	}
	for i := range out.at[3] {
		out.at[3][i] += 0.5
	}
	return &out
}

// codes is run for a curve that was scaled to codes of 8 bits.
func (c *wideCurve) codes(codes *[blockPixels]uint8, row *[blockPixels]float32, cubic *[blockPixels]uint32, n int) {
	c.find(row, cubic, n)
	d0, d1 := halves(&c.at[0])
	c0, c1 := halves(&c.at[1])
	b0, b1 := halves(&c.at[2])
	a0, a1 := halves(&c.at[3])
	for i := 0; i < n; i += wideLanes {
		t, k := load16(sixteen(row, i)), lanes16(sixteen(cubic, i))
		v := d0.ConcatPermute(d1, k).MulAdd(t, c0.ConcatPermute(c1, k))
		v = v.MulAdd(t, b0.ConcatPermute(b1, k)).MulAdd(t, a0.ConcatPermute(a1, k))
		v.ConvertToInt32().AsUint32x16().SaturateToUint8().Store(sixteen(codes, i))
	}
	archsimd.ClearAVXUpperBits()
}

// halves returns the two registers that hold 32 numbers.
func halves(v *[32]float32) (a, b archsimd.Float32x16) {
	return archsimd.LoadFloat32x16((*[16]float32)(v[:16])), archsimd.LoadFloat32x16((*[16]float32)(v[16:]))
}
