package transform

import (
	"math"

	"example.org/primaries/icc"
)

// matrix16 is the way of pixels of 8 or 16 bits through curves, a matrix and curves:
// tables of light, the matrix in float32, and lines between codes that the bits of a
// light find, in whole numbers.
type matrix16 struct {
	in, out place
	light   [3]*[1 << 16]float32 // of each sample of a pixel, by its code
	rows    [3][4]float32        // of the matrix, to and from samples, and its offset
	codes   [3]*codeLines
}

// codeLines has lines of codes for each 128th of the way from a power of two to the
// next, from 2^-40 on: their beginnings in the last 40 bits, and what they rise by in
// the first 24.
type codeLines [1 << 13]uint64

const (
	// lineFirst is where a float32's first bits are for the first line but one, which
	// holds what is darker.
	lineFirst = (127-octaves)<<7 - 1
	// Beginnings of lines have so many bits for parts of a code.
	codeBits = 23
	codeMask = 1<<40 - 1
	// Lines have no more light than this.
	mostLight = 1 << 16
)

// matrix16 returns the way, nil where the steps or the layouts are others, or lines
// are too few for a curve.
func (k *Kernel) matrix16() *matrix16 {
	if k.from.Depth > Depth16 || k.to.Depth > Depth16 || k.from.Premultiplied || k.to.Premultiplied {
		return nil
	}
	before, matrix, after, ok := shape(k.t.steps)
	if !ok || !inUnit([]step{*after}) || k.t.To() == icc.SpaceLab || k.t.To() == icc.SpaceXYZ || k.t.From() == icc.SpaceLab || k.t.From() == icc.SpaceXYZ {
		return nil
	}
	m := &matrix16{in: k.in, out: k.out}
	for sample := range m.codes {
		c := k.to.order(sample)
		if sample > 0 && after.SameCurve(c, k.to.order(sample-1)) {
			m.codes[sample] = m.codes[sample-1]
		} else if m.codes[sample] = newCodeLines(after, c, k.to.Depth.top()); m.codes[sample] == nil {
			return nil
		}
	}
	var reach [3]float64
	k.byCode([]step{*before}, func(c int, values []float64, again bool) {
		if again {
			m.light[k.from.order(c)], reach[c] = m.light[k.from.order(c-1)], reach[c-1]
			return
		}
		light := new([1 << 16]float32)
		for i, v := range values {
			light[i] = float32(v)
			reach[c] = max(reach[c], math.Abs(v))
		}
		m.light[k.from.order(c)] = light
	})
	for sample := range m.rows {
		c := k.to.order(sample)
		most := math.Abs(matrix.matrix[9+c])
		for j := range 3 {
			v := matrix.matrix[3*c+j]
			m.rows[sample][k.from.order(j)] = float32(v)
			most += math.Abs(v) * reach[j]
		}
		m.rows[sample][3] = float32(matrix.matrix[9+c])
		if most > mostLight {
			return nil
		}
	}
	return m
}

// newCodeLines returns the codes of a curve up to top, nil where they are not near
// enough to it.
func newCodeLines(after *step, channel int, top float64) *codeLines {
	f := func(x float64) float64 { return after.Curve(channel, x) }
	c := tableOf(f, 1<<7)
	if math.Abs(float64(c.at[0].rise)) > curveError || !c.holds(f, after.Bends(channel)) {
		return nil
	}
	l := new(codeLines)
	last := f(0)
	for i := range l {
		next := f(1)
		if end := math.Float32frombits(uint32(lineFirst+i+1) << 16); end < 1 {
			next = f(float64(end))
		}
		rise := math.Round((next - last) * top * (1 << (codeBits - 16)))
		if i == 0 {
			rise = 0
		}
		l[i] = uint64(int64(rise))<<40 | uint64((last*top+0.5)*(1<<codeBits))&codeMask
		last = next
	}
	return l
}

// at returns the code of light.
func (l *codeLines) at(light float32) uint64 {
	bits := math.Float32bits(light)
	e := l[max(int(int32(bits)>>16)-lineFirst, 0)&(len(l)-1)]
	return (e&codeMask + uint64(int64(e)>>40)*uint64(uint16(bits))) >> codeBits
}

// matrixRow writes n pixels.
func matrixRow[D, S uint8 | uint16](m *matrix16, dst []D, src []S, n int) {
	red, green, blue := m.light[0], m.light[1], m.light[2]
	x, y, z := &m.rows[0], &m.rows[1], &m.rows[2]
	a, b, c := m.codes[0], m.codes[1], m.codes[2]
	_, _, _, _, _, _ = red[0], green[0], blue[0], a[0], b[0], c[0] // none is nil, in the loop either
	from, to := min(m.in.at[0], m.in.at[2]), min(m.out.at[0], m.out.at[2])
	for range n {
		s := (*[3]S)(src[from : from+3])
		u, v, w := red[s[0]], green[s[1]], blue[s[2]]
		d := (*[3]D)(dst[to : to+3])
		d[0] = D(a.at(x[0]*u + x[1]*v + x[2]*w + x[3]))
		d[1] = D(b.at(y[0]*u + y[1]*v + y[2]*w + y[3]))
		d[2] = D(c.at(z[0]*u + z[1]*v + z[2]*w + z[3]))
		from, to = from+m.in.step, to+m.out.step
	}
}

// matrixRows returns the row function of two depths.
func matrixRows(from, to Depth, k *streamed, m *matrix16) any {
	switch {
	case from == Depth8 && to == Depth8:
		return blockRow(k, matrixBlock[uint8, uint8](m))
	case from == Depth8:
		return blockRow(k, matrixBlock[uint16, uint8](m))
	case to == Depth8:
		return blockRow(k, matrixBlock[uint8, uint16](m))
	}
	return blockRow(k, matrixBlock[uint16, uint16](m))
}

func matrixBlock[D, S uint8 | uint16](m *matrix16) func(_ *block, dst []D, src []S, n int) {
	return func(_ *block, dst []D, src []S, n int) { matrixRow(m, dst, src, n) }
}
