package icc

import (
	"encoding/binary"
	"fmt"
	"math"
)

// maxChannels is the most channels that a table can have: the grid of a CLUT
// has room for 16.
const maxChannels = 16

// CLUT is a table of colours over a grid: of lut8, lut16, lutAToB, lutBToA and
// multiprocess values. Entries are stored node by node, Outputs entries each,
// the last input channel running fastest.
type CLUT struct {
	Grid    []int // points along each input channel, 1 to 255; 16 channels at most
	Outputs int   // channels of an entry, 1 to 16

	// One of these holds the entries, at the width at which they are stored.
	Bytes  []uint8   // 255 means 1
	Words  []uint16  // 65535 means 1
	Floats []float32 // as they are; in multiprocess values only
}

// entries returns how many numbers the table holds.
func (c *CLUT) entries() int { return len(c.Bytes) + len(c.Words) + len(c.Floats) }

// nodes returns the number of nodes of a grid, 0 where it exceeds limit or a
// channel has no point.
func nodes(grid []int, limit int) int {
	n := 1
	for _, g := range grid {
		if g < 1 || g > limit/n {
			return 0
		}
		n *= g
	}
	return n
}

// check tells what keeps the table from being written or evaluated.
func (c *CLUT) check() error {
	if len(c.Grid) < 1 || len(c.Grid) > maxChannels || c.Outputs < 1 || c.Outputs > maxChannels {
		return fmt.Errorf("table from %d channels to %d; 1 to 16 are possible", len(c.Grid), c.Outputs)
	}
	for i, g := range c.Grid {
		if g < 1 || g > 255 {
			return fmt.Errorf("table with %d grid points in channel %d; 1 to 255 are possible", g, i+1)
		}
	}
	n := nodes(c.Grid, math.MaxInt/(8*maxChannels))
	kinds := 0
	for _, l := range []int{len(c.Bytes), len(c.Words), len(c.Floats)} {
		if l > 0 {
			kinds++
		}
	}
	if n == 0 || kinds != 1 || c.entries() != n*c.Outputs {
		return fmt.Errorf("table with a grid of %v and %d outputs holds %d entries in %d kinds; it needs %d in one", c.Grid, c.Outputs, c.entries(), kinds, n*c.Outputs)
	}
	return nil
}

func (c *CLUT) appendEntries(b []byte) []byte {
	b = append(b, c.Bytes...)
	b = appendWords(b, c.Words)
	return appendFloats(b, c.Floats)
}

func appendWords(b []byte, v []uint16) []byte {
	for _, w := range v {
		b = binary.BigEndian.AppendUint16(b, w)
	}
	return b
}

func appendFloats(b []byte, v []float32) []byte {
	for _, f := range v {
		b = binary.BigEndian.AppendUint32(b, math.Float32bits(f))
	}
	return b
}

// readGrid reads the 16 bytes of a grid of n channels.
func readGrid(r *reader, n int) []int {
	at := r.off
	b := r.take(maxChannels)
	if b == nil || !r.charge(int64(8*n)) {
		return nil
	}
	grid := make([]int, n)
	for i := range grid {
		if grid[i] = int(b[i]); grid[i] == 0 {
			r.fail(at+i, fmt.Errorf("table without a grid point in channel %d", i+1))
			return nil
		}
	}
	return grid
}

// channels checks the numbers of channels of a table.
func (r *reader) channels(in, out int) bool {
	if r.err == nil && (in < 1 || in > maxChannels || out < 1 || out > maxChannels) {
		r.fail(8, fmt.Errorf("table from %d channels to %d; 1 to 16 are possible", in, out))
	}
	return r.err == nil
}

// table reads the entries of a table, each width bytes wide; 4 means floating
// point.
func (r *reader) table(grid []int, outputs, width int) CLUT {
	c := CLUT{Grid: grid, Outputs: outputs}
	if r.err != nil {
		return c
	}
	n := nodes(grid, r.limits.Nodes)
	if n == 0 {
		r.fail(r.off, fmt.Errorf("table with a grid of %v exceeds the limit of %d nodes", grid, r.limits.Nodes))
		return c
	}
	entries := int64(n) * int64(outputs)
	if entries*int64(width) > int64(r.left()) {
		r.fail(r.off, fmt.Errorf("table of %d entries of %d bytes does not fit into the %d bytes left", entries, width, r.left()))
		return c
	}
	if !r.charge(entries * int64(width)) {
		return c
	}
	switch width {
	case 1:
		c.Bytes = append(make([]uint8, 0, entries), r.take(int(entries))...)
	case 2:
		c.Words = r.words(int(entries))
	default:
		c.Floats = r.floats(int(entries))
	}
	return c
}

// floats reads n 32-bit floating-point numbers, for which room was made
// before. It is an error if one is not finite.
func (r *reader) floats(n int) []float32 {
	at := r.off
	out := make([]float32, n)
	b := r.take(4 * n)
	for i := 0; i+3 < len(b); i += 4 {
		f := math.Float32frombits(binary.BigEndian.Uint32(b[i:]))
		if f-f != 0 {
			r.fail(at+i, fmt.Errorf("%v is not finite", f))
			return nil
		}
		out[i/4] = f
	}
	return out
}
