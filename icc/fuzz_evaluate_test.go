package icc

import (
	"encoding/binary"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
)

// dice makes values of bytes, zeros when they run out.
type dice []byte

func (d *dice) byte() byte {
	if len(*d) == 0 {
		return 0
	}
	b := (*d)[0]
	*d = (*d)[1:]
	return b
}

// n returns a number below k.
func (d *dice) n(k int) int { return int(d.byte()) % k }

func (d *dice) u16() uint16 { return uint16(d.byte())<<8 | uint16(d.byte()) }

func (d *dice) u32() uint32 { return uint32(d.u16())<<16 | uint32(d.u16()) }

// fixed returns a number as s15Fixed16 holds it, often near 1.
func (d *dice) fixed() float64 {
	if d.n(2) == 0 {
		return float64(int16(d.u16())) / 8192
	}
	return float64(int32(d.u32())) / 65536
}

// float returns any float32, NaN and infinity among them.
func (d *dice) float() float32 {
	if d.n(4) != 0 {
		return float32(int16(d.u16())) / 8192
	}
	return math.Float32frombits(d.u32())
}

func (d *dice) floats(n int) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = d.float()
	}
	return out
}

func (d *dice) xyz() colorimetry.XYZ {
	return colorimetry.XYZ{X: d.fixed(), Y: d.fixed(), Z: d.fixed()}
}

func (d *dice) rows() (m colorimetry.Matrix) {
	for i := range 9 {
		m[i/3][i%3] = d.fixed()
	}
	return m
}

func (d *dice) curve() Curve {
	if d.n(2) == 0 {
		return ParametricCurve{d.n(5), d.fixed(), d.fixed(), d.fixed(), d.fixed(), d.fixed(), d.fixed(), d.fixed()}
	}
	c := make(SampledCurve, d.n(6))
	for i := range c {
		c[i] = d.u16()
	}
	return c
}

func (d *dice) curves(n int) []Curve {
	out := make([]Curve, n)
	for i := range out {
		out[i] = d.curve()
	}
	return out
}

func (d *dice) clut(grid []int, outputs, width int) CLUT {
	c := CLUT{Grid: grid, Outputs: outputs}
	for range nodes(grid, 1<<20) * outputs {
		switch width {
		case 1:
			c.Bytes = append(c.Bytes, d.byte())
		case 2:
			c.Words = append(c.Words, d.u16())
		default:
			c.Floats = append(c.Floats, d.float())
		}
	}
	return c
}

// grid returns a grid that is not too large, of 1 to 3 points a channel.
func (d *dice) grid(channels int) []int {
	g := make([]int, channels)
	for i := range g {
		g[i] = 1 + d.n(3)
		if i > 4 {
			g[i] = 1 + d.n(2)
		}
	}
	return g
}

func (d *dice) words(channels, entries int) [][]uint16 {
	out := make([][]uint16, channels)
	for i := range out {
		out[i] = make([]uint16, entries)
		for k := range out[i] {
			out[i][k] = d.u16()
		}
	}
	return out
}

// table returns a table of any type between two numbers of channels.
func (d *dice) table(in, out int, toPCS bool) Value {
	switch d.n(4) {
	case 0:
		v := Lut8{Matrix: d.rows(), Table: d.clut(even(in, 1+d.n(2)), out, 1)}
		for range in {
			v.Input = append(v.Input, make([]uint8, 256))
			v.Input[0][d.byte()] = d.byte()
		}
		for range out {
			v.Output = append(v.Output, make([]uint8, 256))
			v.Output[0][d.byte()] = d.byte()
		}
		return v
	case 1:
		return Lut16{d.rows(), d.words(in, 2+d.n(3)), d.clut(even(in, 1+d.n(2)), out, 2), d.words(out, 2+d.n(3))}
	case 2:
		device, side := in, out
		if !toPCS {
			device, side = out, in
		}
		v := LutAToB{B: d.curves(side)}
		if in != out || d.n(2) == 0 {
			c := d.clut(d.grid(in), out, 1+d.n(2))
			v.A, v.Table = d.curves(device), &c
		}
		if side == 3 && d.n(2) == 0 {
			v.M, v.Matrix = d.curves(3), &Affine{d.rows(), [3]float64{d.fixed(), d.fixed(), d.fixed()}}
		}
		if toPCS {
			return v
		}
		return LutBToA{v.B, v.Matrix, v.M, v.Table, v.A}
	}
	return d.elements(in, out)
}

func (d *dice) elements(in, out int) MultiProcess {
	v := MultiProcess{Inputs: in, Outputs: out}
	now := in
	for range d.n(4) {
		next := 1 + d.n(5)
		v.Elements = append(v.Elements, d.element(now, next))
		_, now = v.Elements[len(v.Elements)-1].Channels()
	}
	return MultiProcess{in, out, append(v.Elements, MatrixElement{now, d.floats(now * out), d.floats(out)})}
}

func (d *dice) element(in, out int) Element {
	switch d.n(4) {
	case 0:
		return MatrixElement{in, d.floats(in * out), d.floats(out)}
	case 1:
		return CLUTElement{d.clut(d.grid(in), out, 4)}
	case 2:
		return ReservedElement{ElementBeginACS, in, 0}
	}
	s := make(CurveSet, in)
	for i := range s {
		s[i] = d.segments()
	}
	return s
}

func (d *dice) segments() (c SegmentedCurve) {
	n := 1 + d.n(4)
	at := float32(-1)
	for i := range n {
		if i > 0 {
			at += float32(d.n(4)) / 4
			c.Breaks = append(c.Breaks, at)
		}
		if i > 0 && i < n-1 && d.n(2) == 0 {
			c.Segments = append(c.Segments, Segment{Samples: d.floats(1 + d.n(3))})
			continue
		}
		f := d.n(3)
		c.Segments = append(c.Segments, Segment{Function: f, Parameters: d.floats(formulaParameters[f])})
	}
	return c
}

// profile returns a profile of any class with tables, matrices and curves.
func (d *dice) profile() *Profile {
	classes := []Signature{ClassDisplay, ClassInput, ClassOutput, ClassLink, ClassSpace, ClassAbstract}
	spaces := []Signature{SpaceRGB, SpaceGray, SpaceCMYK, SpaceLab, SpaceXYZ, 0x32434c52, 0x36434c52} // 2CLR, 6CLR
	p := bare([]Version{V2, V4}[d.n(2)], classes[d.n(len(classes))], spaces[d.n(len(spaces))], spaces[3+d.n(2)])
	h := &p.Header
	h.Flags, h.Intent = uint32(d.byte()), Intent(d.n(4))
	if h.Class == ClassAbstract {
		h.Space = spaces[3+d.n(2)]
	}
	if h.Class == ClassLink {
		h.PCS = spaces[d.n(len(spaces))]
	}
	if d.n(4) == 0 {
		p.Set(TagMediaWhite, XYZArray{d.xyz()})
	}
	what := d.byte()
	n, m := Channels(h.Space), Channels(h.PCS)
	if what&1 != 0 {
		p.Set(toTables[d.n(3)], d.table(n, m, true))
	}
	if what&2 != 0 {
		p.Set(fromTables[d.n(3)], d.table(m, n, false))
	}
	if what&4 != 0 {
		p.Set(toElements[d.n(4)], d.elements(n, m))
	}
	if what&8 != 0 {
		p.Set(fromElements[d.n(4)], d.elements(m, n))
	}
	if what&16 != 0 {
		p.Set(TagGrayCurve, d.curve())
	}
	if what&32 != 0 {
		for i, sig := range lightTags {
			if i < 3 {
				p.Set(sig, XYZArray{d.xyz()})
			} else {
				p.Set(sig, d.curve())
			}
		}
	}
	return p
}

// evaluateMade uses a profile made of bytes, and holds its colours against those
// of what comes back from encoding and decoding it.
func evaluateMade(t testing.TB, b []byte) {
	d := dice(b)
	p := d.profile()
	useCheck(t, p)
	useWay(t, p, ownWay(p))
	e, err := p.Encode()
	if err != nil {
		return // NaN and infinity are computed with, and not written
	}
	q, err := Decode(e)
	if err != nil {
		if hasBadFloats(p) {
			return
		}
		t.Fatalf("what was written cannot be read: %v", err)
	}
	useCheck(t, q)
	a, err1 := Join(ownWay(p), p)
	c, err2 := Join(ownWay(q), q)
	if (err1 == nil) != (err2 == nil) {
		t.Fatalf("before encoding: %v; after: %v", err1, err2)
	}
	if err1 != nil {
		return
	}
	var in, x, y vec
	for i := range in {
		in[i] = float64(d.byte()) / 255
	}
	a.Eval(x[:], in[:])
	c.Eval(y[:], in[:])
	if x != y {
		t.Fatalf("%v is %v before encoding and %v after", in, x, y)
	}
}

// hasBadFloats reports whether elements of p hold numbers that are not finite,
// which are refused when read.
func hasBadFloats(p *Profile) bool {
	for _, t := range p.Tags {
		if _, ok := t.Value.(MultiProcess); !ok {
			continue
		}
		b, err := t.Value.appendTo(nil)
		for i := 0; err == nil && i+4 <= len(b); i += 4 {
			if f := math.Float32frombits(binary.BigEndian.Uint32(b[i:])); f-f != 0 {
				return true
			}
		}
	}
	return false
}

// FuzzEvaluate computes colours through profiles made of random bytes: small
// tables, curves and elements of every kind, with numbers that hurt.
func FuzzEvaluate(f *testing.F) {
	f.Add([]byte{})
	for i := range 64 {
		b := make([]byte, 400)
		x := uint32(i + 1)
		for k := range b {
			x = x*1664525 + 1013904223
			b[k] = byte(x >> 24)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) > 4096 {
			return
		}
		evaluateMade(t, b)
	})
}
