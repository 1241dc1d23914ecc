package hardware_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/hardware"
	"github.com/google/go-cmp/cmp"
)

// randomTable returns a table without any order in it.
func randomTable(t testing.TB, nodes, bits, entries int, in, out hardware.Range, seed uint64) hardware.Table {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 5))
	code := func() uint16 { return uint16(rng.IntN(1 << bits)) }
	c := hardware.Contents{Bits: bits, Path: 10, In: in, Out: out, Nodes: nodes, Source: "sRGB, tone srgb", Display: `display "A" & <B> é`}
	for k := range 3 {
		for range entries {
			c.Before[k], c.After[k] = append(c.Before[k], code()), append(c.After[k], code())
		}
	}
	for range nodes * nodes * nodes {
		c.Values = append(c.Values, [3]uint16{code(), code(), code()})
	}
	table, err := hardware.NewTable(c)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func randomSignals(n int, seed uint64) []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(seed, 6))
	out := make([]colorimetry.RGB, n)
	for i := range out {
		out[i] = colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}
	}
	return out
}

func apart(a, b colorimetry.RGB) float64 {
	return math.Max(math.Abs(a.R-b.R), math.Max(math.Abs(a.G-b.G), math.Abs(a.B-b.B)))
}

// Between nodes that lie on codes the identity is exact, elsewhere it is off by
// half a code at most.
func TestIdentity(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		nodes, bits int
		most        float64
	}{{2, 8, 1e-15}, {4, 10, 1e-15}, {17, 12, 0.5 / 4095}, {33, 16, 0.5 / 65535}, {65, 10, 0.5 / 1023}} {
		table := hardware.Identity(c.nodes, c.bits)
		for _, s := range append(randomSignals(500, 1), colorimetry.RGB{}, colorimetry.Gray(1), colorimetry.RGB{R: 1}) {
			if d := apart(table.Apply(s), s); d > c.most*(1+1e-9) {
				t.Errorf("%d nodes of %d bits: %v comes out %g off", c.nodes, c.bits, s, d)
			}
		}
	}
	var none hardware.Table
	if s := (colorimetry.RGB{R: 0.2, G: 0.4, B: 2}); none.Apply(s) != s.Clamp() || none.Through(s) != s.Clamp() {
		t.Error("the zero table changes signals")
	}
	if s := (colorimetry.RGB{R: math.NaN(), G: -1, B: math.Inf(1)}); hardware.Identity(3, 10).Apply(s) != (colorimetry.RGB{B: 1}) {
		t.Errorf("%v comes out as %v", s, hardware.Identity(3, 10).Apply(s))
	}
}

// The matrices T1 to T6 of the Academy's Common LUT Format specification, version
// 3, appendix A, as the two corners whose difference each share multiplies.
// Corners are numbered as there: R0G0B0, R0G1B0, R1G0B0, R1G1B0, then the same
// with B1.
var tetrahedra = [6][3][2]int{ // shares of blue, red, green
	{{4, 0}, {6, 4}, {7, 6}},
	{{4, 0}, {7, 5}, {5, 4}},
	{{5, 1}, {7, 5}, {1, 0}},
	{{6, 2}, {2, 0}, {7, 6}},
	{{7, 3}, {2, 0}, {3, 2}},
	{{7, 3}, {3, 1}, {1, 0}},
}

func TestTetrahedra(t *testing.T) {
	t.Parallel()
	table := randomTable(t, 2, 16, 0, hardware.Full, hardware.Full, 1)
	v := table.Contents().Values // blue fastest
	corner := func(i, c int) float64 {
		b, r, g := i>>2, i>>1&1, i&1
		return float64(v[r*4+g*2+b][c]) / 65535
	}
	used := [6]int{}
	for _, s := range randomSignals(2000, 2) {
		kind := 5
		switch {
		case s.B > s.R && s.R > s.G:
			kind = 0
		case s.B > s.G && s.G > s.R:
			kind = 1
		case s.G > s.B && s.B > s.R:
			kind = 2
		case s.R > s.B && s.B > s.G:
			kind = 3
		case s.R > s.G && s.G > s.B:
			kind = 4
		}
		used[kind]++
		got := table.Apply(s)
		for c, g := range [3]float64{got.R, got.G, got.B} {
			want := corner(0, c)
			for k, share := range [3]float64{s.B, s.R, s.G} {
				p := tetrahedra[kind][k]
				want += share * (corner(p[0], c) - corner(p[1], c))
			}
			if math.Abs(g-want) > 1e-12 {
				t.Fatalf("%v in tetrahedron %d: channel %d is %g, want %g", s, kind+1, c, g, want)
			}
		}
	}
	for k, n := range used {
		if n < 100 {
			t.Errorf("tetrahedron %d was met %d times", k+1, n)
		}
	}
}

// Black and white codes of ITU-R BT.709-6 (8 and 10 bits) and BT.2100-2, table 9
// (10 and 12 bits), as others cite them.
func TestLimitedRange(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ bits, black, white int }{{8, 16, 235}, {10, 64, 940}, {12, 256, 3760}} {
		if b, w := hardware.Limited.Codes(c.bits); b != c.black || w != c.white {
			t.Errorf("%d bits: black %d and white %d, want %d and %d", c.bits, b, w, c.black, c.white)
		}
		if b, w := hardware.Full.Codes(c.bits); b != 0 || w != 1<<c.bits-1 {
			t.Errorf("%d bits: full range from %d to %d", c.bits, b, w)
		}
	}
	content := hardware.Identity(2, 16).Contents()
	content.In, content.Out, content.Path = hardware.Limited, hardware.Limited, 10
	table, err := hardware.NewTable(content)
	if err != nil {
		t.Fatal(err)
	}
	// 876 steps lie between 64 and 940.
	for i := range 877 {
		s := colorimetry.Gray(float64(i) / 876)
		if d := apart(table.Through(colorimetry.Gray((float64(i)+0.4)/876)), s); d > 1e-12 {
			t.Errorf("code %d comes out %g off", 64+i, d)
		}
	}
}

func TestContents(t *testing.T) {
	t.Parallel()
	table := randomTable(t, 5, 12, 40, hardware.Limited, hardware.Full, 3)
	again, err := hardware.NewTable(table.Contents())
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(table.Contents(), again.Contents()); d != "" || again.Digest() != table.Digest() {
		t.Errorf("contents come back changed: %s", d)
	}
	changed := table.Contents()
	changed.Values[7][1] ^= 1
	if other, err := hardware.NewTable(changed); err != nil || other.Digest() == table.Digest() {
		t.Errorf("another value, the same digest (%v)", err)
	}
	if table.Contents().Values[7][1] == changed.Values[7][1] {
		t.Error("contents are not a copy")
	}
	before, after := table.Entries()
	in, out, path := table.Path()
	if table.Nodes() != 5 || table.Bits() != 12 || before != 40 || after != 40 || in != hardware.Limited || out != hardware.Full || path != 10 || table.Source() == "" || table.Display() == "" {
		t.Errorf("%d nodes, %d bits, %d and %d entries, from %v to %v, path of %d bits", table.Nodes(), table.Bits(), before, after, in, out, path)
	}
}

func TestNewTableRefuses(t *testing.T) {
	t.Parallel()
	for says, spoil := range map[string]func(*hardware.Contents){
		"11 bits":       func(c *hardware.Contents) { c.Bits = 11 },
		"path of 9":     func(c *hardware.Contents) { c.Path = 9 },
		"whole scale":   func(c *hardware.Contents) { c.WholeScale = true },
		"ranges":        func(c *hardware.Contents) { c.In = 2 },
		"1 nodes":       func(c *hardware.Contents) { c.Nodes = 1 },
		"66 nodes":      func(c *hardware.Contents) { c.Nodes = 66 },
		"there must be": func(c *hardware.Contents) { c.Values = c.Values[1:] },
		"code 1024":     func(c *hardware.Contents) { c.Values[3][2] = 1024 },
		"code 2000":     func(c *hardware.Contents) { c.After[2][0] = 2000 },
		"curves before": func(c *hardware.Contents) { c.Before[1] = c.Before[1][1:] },
		"curves after":  func(c *hardware.Contents) { c.After = [3][]uint16{{1}, {1}, {1}} },
		"no text":       func(c *hardware.Contents) { c.Source = "a\nb" },
		"control":       func(c *hardware.Contents) { c.Display = strings.Repeat("x", 2000) },
	} {
		c := randomTable(t, 3, 10, 20, hardware.Full, hardware.Full, 4).Contents()
		spoil(&c)
		if _, err := hardware.NewTable(c); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("want %q, got %v", says, err)
		}
	}
}
