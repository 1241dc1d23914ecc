package icc

import (
	"encoding/binary"
	"fmt"
	"math"

	"example.org/primaries/colorimetry/tone"
)

// formulaEntries is how finely a formula is sampled into tone.Channels.
const formulaEntries = 1024

// NewVideoCurves returns the 16-bit table that holds exactly the entries of c,
// which must not be the zero Channels.
func NewVideoCurves(c tone.Channels) VideoCurves {
	r, g, b := c.Codes()
	return VideoCurves{Table: [][]uint16{r, g, b}, Bits: 16}
}

// Channels returns the curves: a table entry by entry, one channel standing
// for all three, and a formula sampled at 1024 places. It is an error if the
// table falls anywhere or has fewer than 2 or more than 4096 entries, none of
// which tone.Channels can hold.
func (v VideoCurves) Channels() (tone.Channels, error) {
	var c [3][]float64
	for i := range c {
		if v.Table == nil {
			c[i] = v.Formula[i].sample()
			continue
		}
		t := v.Table[0]
		if len(v.Table) == 3 {
			t = v.Table[i]
		}
		c[i] = make([]float64, len(t))
		for j, e := range t {
			c[i][j] = float64(e) / 65535
		}
	}
	out, err := tone.NewChannels(c[0], c[1], c[2])
	if err != nil {
		return tone.Channels{}, fmt.Errorf("icc: tag vcgt: %w", err)
	}
	return out, nil
}

func (f VideoFormula) sample() []float64 {
	out := make([]float64, formulaEntries)
	for i := range out {
		x := float64(i) / (formulaEntries - 1)
		out[i] = clamp((f.Max-f.Min)*math.Pow(x, f.Gamma) + f.Min)
	}
	return out
}

// Type returns TypeVideoCurves.
func (VideoCurves) Type() Signature { return TypeVideoCurves }

func (v VideoCurves) appendTo(b []byte) ([]byte, error) {
	b = appendType(b, TypeVideoCurves)
	if v.Table == nil {
		b = binary.BigEndian.AppendUint32(b, 1)
		var err error
		for _, f := range v.Formula {
			if b, err = appendFixed(b, f.Gamma, f.Min, f.Max); err != nil {
				return nil, err
			}
		}
		return b, nil
	}
	if n := len(v.Table); n != 1 && n != 3 {
		return nil, fmt.Errorf("table of %d channels; 1 or 3 are possible", n)
	}
	if n := len(v.Table[0]); n > math.MaxUint16 {
		return nil, fmt.Errorf("table of %d entries; 65535 are possible", n)
	}
	if v.Bits != 0 && v.Bits != 8 && v.Bits != 16 {
		return nil, fmt.Errorf("table of %d bits; 8 or 16 are possible", v.Bits)
	}
	width := uint16(2)
	if v.Bits == 8 {
		width = 1
	}
	b = binary.BigEndian.AppendUint32(b, 0)
	for _, n := range []uint16{uint16(len(v.Table)), uint16(len(v.Table[0])), width} {
		b = binary.BigEndian.AppendUint16(b, n)
	}
	for i, t := range v.Table {
		if len(t) != len(v.Table[0]) {
			return nil, fmt.Errorf("channel %d has %d entries, channel 0 has %d", i, len(t), len(v.Table[0]))
		}
		for j, e := range t {
			switch {
			case width == 2:
				b = binary.BigEndian.AppendUint16(b, e)
			case e%257 != 0:
				return nil, fmt.Errorf("channel %d, entry %d is %d, which 8 bits cannot hold", i, j, e)
			default:
				b = append(b, byte(e/257))
			}
		}
	}
	return b, nil
}

// The one broken size that common readers repair: 256 entries said to take one
// byte each in a tag long enough for two. Source: Little CMS, which is open
// source, reads it so; it counts 1576 bytes after the type and its reserved
// word.
const (
	brokenEntries = 256
	brokenSize    = 8 + 1576
)

func readVideo(r *reader) Value {
	switch kind := r.u32(); {
	case r.err != nil:
		return nil
	case kind == 1:
		var v VideoCurves
		for i := range v.Formula {
			v.Formula[i] = VideoFormula{r.fixed(), r.fixed(), r.fixed()}
		}
		return v
	case kind != 0:
		r.fail(8, fmt.Errorf("kind %d; 0 (table) and 1 (formula) are defined", kind))
		return nil
	}
	channels, entries, width := r.u16(), r.u16(), r.u16()
	if channels == 3 && entries == brokenEntries && width == 1 && len(r.b) == brokenSize {
		width = 2
	}
	if r.err == nil && (channels != 1 && channels != 3 || width != 1 && width != 2) {
		r.fail(12, fmt.Errorf("table of %d channels and %d bytes an entry; 1 or 3 channels and 1 or 2 bytes are defined", channels, width))
		return nil
	}
	n := r.room(uint32(entries), "table entries", int(channels)*int(width), int(channels)*2)
	v := VideoCurves{Bits: 8 * int(width), Table: make([][]uint16, channels)}
	for c := range v.Table {
		if width == 2 {
			v.Table[c] = r.words(n)
			continue
		}
		v.Table[c] = make([]uint16, n)
		for i, e := range r.take(n) {
			v.Table[c][i] = uint16(e) * 257
		}
	}
	return v
}
