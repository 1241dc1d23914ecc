package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Curve is a curve of one channel as tables hold it: a SampledCurve or a
// ParametricCurve.
type Curve interface {
	Value
	// At returns the curve at x, which is clamped to [0, 1].
	At(x float64) float64
}

// Affine is a matrix with an offset: y = Matrix·x + Offset.
type Affine struct {
	Matrix colorimetry.Matrix
	Offset [3]float64
}

// LutAToB is a lutAToBType, from device to connection space: A curves, table, M
// curves, matrix and B curves, in this order. All that is nil is left out; the B
// curves are always there. There are these combinations: B; M, matrix and B; A,
// table and B; all. Source: ICC.1:2022, 10.12.
type LutAToB struct {
	A      []Curve // one for each device channel
	Table  *CLUT   // Bytes or Words
	M      []Curve // three
	Matrix *Affine // clipped to [0, 1] afterwards
	B      []Curve // one for each channel of the connection space
}

// LutBToA is a lutBToAType, from connection space to device: B curves, matrix, M
// curves, table and A curves, in this order, with the same combinations.
// Source: ICC.1:2022, 10.13.
type LutBToA struct {
	B      []Curve
	Matrix *Affine
	M      []Curve
	Table  *CLUT
	A      []Curve
}

// Type returns TypeLutAToB.
func (LutAToB) Type() Signature { return TypeLutAToB }

// Type returns TypeLutBToA.
func (LutBToA) Type() Signature { return TypeLutBToA }

// channels returns the numbers of channels and what is wrong with them.
func (v LutAToB) channels() (in, out int, err error) {
	in, out = len(v.A), len(v.B)
	if in == 0 {
		in = out
	}
	return in, out, lutChannels(v, in, out)
}

// lutChannels checks that the parts of v fit together between in and out
// channels on its two sides.
func lutChannels(v LutAToB, in, out int) error {
	switch {
	case len(v.B) == 0:
		return errors.New("no B curves, which are always there")
	case (v.Table == nil) != (v.A == nil):
		return errors.New("a table and A curves are there together or not at all")
	case (v.Matrix == nil) != (v.M == nil):
		return errors.New("a matrix and M curves are there together or not at all")
	case v.M != nil && (len(v.M) != 3 || len(v.B) != 3):
		return fmt.Errorf("%d M and %d B curves beside a matrix; 3 of each are possible", len(v.M), len(v.B))
	case in > maxChannels || out > maxChannels:
		return fmt.Errorf("%d and %d channels; 16 are possible", in, out)
	}
	return nil
}

// parts returns the parts of v by their names.
func (v LutBToA) parts() LutAToB { return LutAToB{v.A, v.Table, v.M, v.Matrix, v.B} }

func (v LutBToA) channels() (in, out int, err error) {
	out, in, err = v.parts().channels()
	return in, out, err
}

func (v LutAToB) appendTo(b []byte) ([]byte, error) {
	in, out, err := v.channels()
	if err != nil {
		return nil, err
	}
	return v.appendParts(b, TypeLutAToB, in, out)
}

func (v LutBToA) appendTo(b []byte) ([]byte, error) {
	in, out, err := v.channels()
	if err != nil {
		return nil, err
	}
	return v.parts().appendParts(b, TypeLutBToA, in, out)
}

// lutStart is where the first part of a lutAToB or lutBToA may lie.
const lutStart = 32

func (v LutAToB) appendParts(b []byte, sig Signature, in, out int) ([]byte, error) {
	start := len(b)
	b = append(appendType(b, sig), byte(in), byte(out), 0, 0)
	b = append(b, make([]byte, lutStart-12)...)
	begin := func(slot int) {
		for (len(b)-start)%4 != 0 {
			b = append(b, 0)
		}
		binary.BigEndian.PutUint32(b[start+12+4*slot:], uint32(len(b)-start))
	}
	var err error
	if v.A != nil {
		begin(4)
		if b, err = appendCurves(b, start, v.A); err != nil {
			return nil, fmt.Errorf("curves A: %w", err)
		}
		begin(3)
		if b, err = appendCLUT(b, v.Table, in, out); err != nil {
			return nil, err
		}
	}
	if v.M != nil {
		begin(2)
		if b, err = appendCurves(b, start, v.M); err != nil {
			return nil, fmt.Errorf("curves M: %w", err)
		}
		begin(1)
		m, o := v.Matrix.Matrix, v.Matrix.Offset
		if b, err = appendFixed(b, m[0][0], m[0][1], m[0][2], m[1][0], m[1][1], m[1][2], m[2][0], m[2][1], m[2][2], o[0], o[1], o[2]); err != nil {
			return nil, fmt.Errorf("matrix: %w", err)
		}
	}
	begin(0)
	if b, err = appendCurves(b, start, v.B); err != nil {
		return nil, fmt.Errorf("curves B: %w", err)
	}
	if uint64(len(b)-start) > math.MaxUint32 {
		return nil, errors.New("the value is longer than 4 GiB")
	}
	return b, nil
}

// appendCurves appends curves one after another, each padded to four bytes from
// start.
func appendCurves(b []byte, start int, curves []Curve) ([]byte, error) {
	for i, c := range curves {
		switch c.(type) {
		case SampledCurve, ParametricCurve:
		default:
			return nil, fmt.Errorf("curve %d is a %T; SampledCurve and ParametricCurve are possible", i+1, c)
		}
		var err error
		if b, err = c.appendTo(b); err != nil {
			return nil, fmt.Errorf("curve %d: %w", i+1, err)
		}
		for (len(b)-start)%4 != 0 {
			b = append(b, 0)
		}
	}
	return b, nil
}

// appendCLUT appends the table of a lutAToB or lutBToA between in and out
// channels.
func appendCLUT(b []byte, c *CLUT, in, out int) ([]byte, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	if len(c.Grid) != in || c.Outputs != out {
		return nil, fmt.Errorf("table from %d channels to %d between %d and %d", len(c.Grid), c.Outputs, in, out)
	}
	var grid [maxChannels]byte
	for i, g := range c.Grid {
		grid[i] = byte(g)
	}
	width := byte(2)
	switch {
	case c.Bytes != nil:
		width = 1
	case c.Floats != nil:
		return nil, errors.New("a table of floating-point numbers; Bytes and Words are possible here")
	}
	b = append(append(b, grid[:]...), width, 0, 0, 0)
	return c.appendEntries(b), nil
}

func readLutAToB(r *reader) Value {
	in, out, off := lutOffsets(r)
	return readParts(r, in, out, off, in, out)
}

func readLutBToA(r *reader) Value {
	in, out, off := lutOffsets(r)
	v := readParts(r, in, out, off, out, in)
	return LutBToA{v.B, v.Matrix, v.M, v.Table, v.A}
}

// lutOffsets reads the channels and the places of B curves, matrix, M curves,
// table and A curves.
func lutOffsets(r *reader) (in, out int, off [5]uint32) {
	in, out = int(r.u8()), int(r.u8())
	r.take(2)
	for i := range off {
		off[i] = r.u32()
	}
	r.channels(in, out)
	return in, out, off
}

// readParts reads the parts at their places; a is the number of device
// channels, b that of the connection space.
func readParts(r *reader, in, out int, off [5]uint32, a, b int) LutAToB {
	var v LutAToB
	v.B = r.curves(off[0], b)
	if off[1] != 0 || off[2] != 0 {
		v.Matrix = readAffine(r, off[1])
		v.M = r.curves(off[2], 3)
	}
	if off[3] != 0 || off[4] != 0 {
		if r.seek(off[3]) {
			grid := readGrid(r, in)
			width := int(r.u8())
			r.take(3)
			if r.err == nil && width != 1 && width != 2 {
				r.fail(r.off-4, fmt.Errorf("table entries of %d bytes; 1 and 2 are defined", width))
			}
			t := r.table(grid, out, width)
			v.Table = &t
		}
		v.A = r.curves(off[4], a)
	}
	if r.err == nil {
		if err := lutChannels(v, in, out); err != nil {
			r.fail(8, err)
		} else if v.A == nil && in != out {
			r.fail(8, fmt.Errorf("%d channels in and %d out without a table between them", in, out))
		}
	}
	return v
}

func readAffine(r *reader, off uint32) *Affine {
	if !r.seek(off) || !r.charge(96) {
		return nil
	}
	v := &Affine{}
	for i := range 9 {
		v.Matrix[i/3][i%3] = r.fixed()
	}
	for i := range v.Offset {
		v.Offset[i] = r.fixed()
	}
	return v
}

// seek moves to a place given from the first byte of the element. Parts begin
// after the fixed ones.
func (r *reader) seek(off uint32) bool {
	if r.err != nil {
		return false
	}
	if off < lutStart || uint64(off) > uint64(len(r.b)) {
		r.fail(r.off, fmt.Errorf("a part at %d of %d bytes; parts begin at byte 32", off, len(r.b)))
		return false
	}
	r.off = int(off)
	return true
}

// curves reads n curves that follow each other from off.
func (r *reader) curves(off uint32, n int) []Curve {
	if !r.seek(off) || !r.charge(int64(n)*curveCost) {
		return nil
	}
	out := make([]Curve, n)
	for i := range out {
		if out[i] = r.curve(); out[i] == nil {
			return nil
		}
		if over := r.off % 4; over != 0 && r.left() >= 4-over {
			r.off += 4 - over
		}
	}
	return out
}

// curveCost is what a Curve takes besides its entries: the interface and a
// ParametricCurve or a slice behind it.
const curveCost = 80

// curve reads a nested curve, whose type comes first.
func (r *reader) curve() Curve {
	at := r.off
	sig := Signature(r.u32())
	r.take(4)
	var v Value
	switch {
	case r.err != nil:
	case sig == TypeCurve:
		v = readCurve(r)
	case sig == TypeParametricCurve:
		v = readParametric(r)
	default:
		r.fail(at, fmt.Errorf("curve of type %v; curv and para are possible", sig))
	}
	if r.err != nil {
		return nil
	}
	return v.(Curve)
}
