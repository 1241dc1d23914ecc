package icc

import (
	"bytes"
	"encoding/binary"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"github.com/google/go-cmp/cmp"
)

func chroma(v ...float64) []colorimetry.Chromaticity {
	var out []colorimetry.Chromaticity
	for i := 0; i < len(v); i += 2 {
		out = append(out, colorimetry.Chromaticity{X: v[i], Y: v[i+1]})
	}
	return out
}

// curves returns three different rising curves of n entries.
func curves(t testing.TB, n int) tone.Channels {
	t.Helper()
	var c [3][]float64
	for k := range c {
		c[k] = make([]float64, n)
		for i := range c[k] {
			c[k][i] = math.Pow(float64(i)/float64(n-1), 0.9+0.1*float64(k))
		}
	}
	out, err := tone.NewChannels(c[0], c[1], c[2])
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func codes(c tone.Channels) [3][]uint16 {
	r, g, b := c.Codes()
	return [3][]uint16{r, g, b}
}

// What was in force while measuring comes back to the bit.
func TestVideoCurvesKeepChannels(t *testing.T) {
	for _, n := range []int{2, 3, 256, 1024, 4096} {
		c := curves(t, n)
		b, err := NewVideoCurves(c).appendTo(nil)
		if err != nil {
			t.Fatal(err)
		}
		v, err := decodeOne(b)
		if err != nil {
			t.Fatal(err)
		}
		got, err := v.(VideoCurves).Channels()
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(codes(c), codes(got)); d != "" || got.Digest() != c.Digest() {
			t.Errorf("%d entries differ: %s", n, d)
		}
	}
	// Every 16-bit value survives the way through float64.
	for first := 0; first < 65536; first += 4096 {
		v := VideoCurves{Table: [][]uint16{make([]uint16, 4096)}}
		for i := range v.Table[0] {
			v.Table[0][i] = uint16(first + i)
		}
		c, err := v.Channels()
		if err != nil {
			t.Fatal(err)
		}
		if r, _, b := c.Codes(); !cmp.Equal(r, v.Table[0]) || !cmp.Equal(b, v.Table[0]) {
			t.Fatalf("codes from %d on change", first)
		}
	}
}

// Layout as Little CMS (open source) writes it: kind, channels, entries, bytes
// an entry, then one channel after the other.
func TestVideoCurvesLayout(t *testing.T) {
	b, err := VideoCurves{Table: [][]uint16{{0, 0x1234}, {1, 2}, {3, 0xffff}}}.appendTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	want := "vcgt\x00\x00\x00\x00\x00\x00\x00\x00\x00\x03\x00\x02\x00\x02" + "\x00\x00\x12\x34\x00\x01\x00\x02\x00\x03\xff\xff"
	if string(b) != want {
		t.Errorf("% x\nwant\n% x", b, want)
	}
}

func TestVideoFormula(t *testing.T) {
	v := VideoCurves{Formula: [3]VideoFormula{{1, 0, 1}, {2, 0, 1}, {1, 0.25, 0.75}}}
	c, err := v.Channels()
	if err != nil {
		t.Fatal(err)
	}
	got := c.Apply(colorimetry.Gray(0.5))
	// 1024 samples leave less than 1e-5 between them and the formula.
	if math.Abs(got.R-0.5) > 1e-5 || math.Abs(got.G-0.25) > 1e-5 || math.Abs(got.B-0.5) > 1e-5 {
		t.Errorf("at one half the formulas give %v, want 0.5, 0.25, 0.5", got)
	}
}

// The one broken size that readers repair.
func TestVideoCurvesBrokenSize(t *testing.T) {
	b := append([]byte("vcgt\x00\x00\x00\x00\x00\x00\x00\x00\x00\x03\x01\x00\x00\x01"), bytes.Repeat([]byte{0x12, 0x34}, 768)...)
	b = append(b, make([]byte, brokenSize-len(b))...)
	v, err := decodeOne(b)
	if err != nil {
		t.Fatal(err)
	}
	if got := v.(VideoCurves); got.Bits != 16 || got.Table[2][255] != 0x1234 {
		t.Errorf("read with %d bits, last entry %04x", got.Bits, got.Table[2][255])
	}
}

func TestVideoCurvesFallingTable(t *testing.T) {
	if _, err := (VideoCurves{Table: [][]uint16{{2, 1}}}).Channels(); err == nil {
		t.Error("a falling table became tone.Channels")
	}
}

func TestVideoCurvesLyingCounts(t *testing.T) {
	for _, head := range [][4]uint16{{3, 65535, 2, 0}, {1, 2, 2, 0}, {0, 2, 2, 0}, {2, 0, 1, 0}, {3, 1, 4, 0}, {65535, 65535, 65535, 0}} {
		b := []byte("vcgt\x00\x00\x00\x00\x00\x00\x00\x00")
		for _, h := range head[:3] {
			b = binary.BigEndian.AppendUint16(b, h)
		}
		if v, err := decodeOne(append(b, 0, 0, 0)); err == nil {
			t.Errorf("%v was read as %+v", head, v)
		}
	}
}
