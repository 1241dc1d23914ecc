package icc

import (
	"errors"
	"fmt"

	"example.org/primaries/colorimetry"
)

// Lut8 is a lut8Type: matrix, input tables, a table over a grid and output
// tables, with 8 bits. The matrix is the identity unless the input is XYZ of the
// connection space. Source: ICC.1:2022, 10.11.
type Lut8 struct {
	Matrix colorimetry.Matrix
	Input  [][]uint8 // 256 entries a channel
	Table  CLUT      // Bytes, equally many points in each channel
	Output [][]uint8 // 256 entries a channel
}

// Lut16 is a lut16Type: as Lut8, with 16 bits. Its L*a*b* of the connection
// space has the encoding of version 2, 0xFF00 meaning L* = 100, in profiles of
// version 4 too. Source: ICC.1:2022, 10.10.
type Lut16 struct {
	Matrix colorimetry.Matrix
	Input  [][]uint16 // 2 to 4096 entries a channel, equally many in each
	Table  CLUT       // Words, equally many points in each channel
	Output [][]uint16 // 2 to 4096 entries a channel, equally many in each
}

// Type returns TypeLut8.
func (Lut8) Type() Signature { return TypeLut8 }

// Type returns TypeLut16.
func (Lut16) Type() Signature { return TypeLut16 }

const (
	lut8Entries     = 256
	maxLut16Entries = 4096
)

func (v Lut8) appendTo(b []byte) ([]byte, error) {
	if err := v.check(); err != nil {
		return nil, err
	}
	b, err := appendLut(b, TypeLut8, v.Matrix, &v.Table)
	if err != nil {
		return nil, err
	}
	for _, t := range v.Input {
		b = append(b, t...)
	}
	b = v.Table.appendEntries(b)
	for _, t := range v.Output {
		b = append(b, t...)
	}
	return b, nil
}

// check tells what keeps the value from being written or evaluated.
func (v Lut8) check() error {
	if v.Table.Bytes == nil {
		return errors.New("table without Bytes, which type mft1 has")
	}
	for _, t := range append(v.Input[:len(v.Input):len(v.Input)], v.Output...) {
		if len(t) != lut8Entries {
			return fmt.Errorf("channel table of %d entries; it has 256", len(t))
		}
	}
	return checkLut(&v.Table, len(v.Input), len(v.Output))
}

func (v Lut16) appendTo(b []byte) ([]byte, error) {
	if err := v.check(); err != nil {
		return nil, err
	}
	b, err := appendLut(b, TypeLut16, v.Matrix, &v.Table)
	if err != nil {
		return nil, err
	}
	b = appendPair(b, len(v.Input[0]), len(v.Output[0]))
	for _, t := range v.Input {
		b = appendWords(b, t)
	}
	b = v.Table.appendEntries(b)
	for _, t := range v.Output {
		b = appendWords(b, t)
	}
	return b, nil
}

// check tells what keeps the value from being written or evaluated.
func (v Lut16) check() error {
	if v.Table.Words == nil {
		return errors.New("table without Words, which type mft2 has")
	}
	for _, side := range [][][]uint16{v.Input, v.Output} {
		for _, t := range side {
			if n := len(t); n < 2 || n > maxLut16Entries || n != len(side[0]) {
				return fmt.Errorf("channel tables of %d and %d entries; all on one side have the same, 2 to 4096", len(side[0]), n)
			}
		}
	}
	return checkLut(&v.Table, len(v.Input), len(v.Output))
}

// checkLut checks the table of either type.
func checkLut(t *CLUT, inputs, outputs int) error {
	if err := t.check(); err != nil {
		return err
	}
	if inputs != len(t.Grid) || outputs != t.Outputs {
		return fmt.Errorf("%d input and %d output tables around a table from %d channels to %d", inputs, outputs, len(t.Grid), t.Outputs)
	}
	for _, g := range t.Grid {
		if g != t.Grid[0] {
			return fmt.Errorf("grid %v; here each channel has equally many points", t.Grid)
		}
	}
	return nil
}

// appendLut appends what both types begin with.
func appendLut(b []byte, sig Signature, m colorimetry.Matrix, t *CLUT) ([]byte, error) {
	b = append(appendType(b, sig), byte(len(t.Grid)), byte(t.Outputs), byte(t.Grid[0]), 0)
	return appendFixed(b, m[0][0], m[0][1], m[0][2], m[1][0], m[1][1], m[1][2], m[2][0], m[2][1], m[2][2])
}

// lutHead reads what both types begin with.
func lutHead(r *reader) (grid []int, outputs int, m colorimetry.Matrix) {
	in, out, points := int(r.u8()), int(r.u8()), int(r.u8())
	r.take(1)
	for i := range 9 {
		m[i/3][i%3] = r.fixed()
	}
	if !r.channels(in, out) || !r.charge(int64(8*in)) {
		return nil, 0, m
	}
	if points == 0 {
		r.fail(10, errors.New("table without a grid point"))
		return nil, 0, m
	}
	grid = make([]int, in)
	for i := range grid {
		grid[i] = points
	}
	return grid, out, m
}

// sliceHeader is what a slice takes besides its entries.
const sliceHeader = 24

func readLut8(r *reader) Value {
	grid, out, m := lutHead(r)
	v := Lut8{Matrix: m}
	v.Input = r.channelBytes(len(grid))
	v.Table = r.table(grid, out, 1)
	v.Output = r.channelBytes(out)
	return v
}

func readLut16(r *reader) Value {
	grid, out, m := lutHead(r)
	n, k := int(r.u16()), int(r.u16())
	if r.err == nil && (n < 2 || n > maxLut16Entries || k < 2 || k > maxLut16Entries) {
		r.fail(48, fmt.Errorf("channel tables of %d and %d entries; 2 to 4096 are possible", n, k))
	}
	v := Lut16{Matrix: m}
	v.Input = r.channelWords(len(grid), n)
	v.Table = r.table(grid, out, 2)
	v.Output = r.channelWords(out, k)
	return v
}

func (r *reader) channelBytes(channels int) [][]uint8 {
	if r.err != nil || !r.charge(int64(channels)*(lut8Entries+sliceHeader)) {
		return nil
	}
	out := make([][]uint8, channels)
	for i := range out {
		out[i] = append([]uint8(nil), r.take(lut8Entries)...)
	}
	return out
}

func (r *reader) channelWords(channels, entries int) [][]uint16 {
	if r.err != nil {
		return nil
	}
	if 2*channels*entries > r.left() {
		r.fail(r.off, fmt.Errorf("%d tables of %d entries do not fit into the %d bytes left", channels, entries, r.left()))
		return nil
	}
	if !r.charge(int64(channels) * int64(2*entries+sliceHeader)) {
		return nil
	}
	out := make([][]uint16, channels)
	for i := range out {
		out[i] = r.words(entries)
	}
	return out
}
