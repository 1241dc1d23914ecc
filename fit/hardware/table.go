package hardware

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Bounds of a table. 65 nodes an edge, 274,625 in all, are the most that is usual
// (common practice, no source); 4096 entries are one for each code of 12 bits.
const (
	minNodes, maxNodes     = 2, 65
	minEntries, maxEntries = 2, 4096
	maxName                = 1024 // bytes of a text
)

// Contents is what a table is made of. All values are codes of Bits, 0 to
// 2^Bits − 1, whatever the ranges are: the whole scale is the axis of what comes
// next.
type Contents struct {
	Bits int // 8, 10, 12 or 16
	// In and Out are the ranges of the signals that enter and leave, and Path is
	// their depth: 8, 10, 12 or 16 bits; 0 means Bits.
	In, Out Range
	Path    int
	// WholeScale says that a box of the limited range addresses entries and nodes
	// by all codes, and gives codes: the first stands for code 0, black is where
	// its code lies between them. Both ranges are then limited, and Path is Bits.
	// Without it the first stands for black and the last for white.
	WholeScale bool
	// Before and After are the entries of the curves, red, green and blue,
	// equally spaced over their input; 2 to 4096, alike for three channels. Nil
	// is no curve.
	Before, After [3][]uint16
	// Nodes is the number of nodes along each edge, 2 to 65, and Values holds
	// them, blue running fastest, then green, then red.
	Nodes  int
	Values [][3]uint16
	// Source and Display say in a few words what enters and where the rest goes;
	// at most 1024 bytes of UTF-8 without control characters.
	Source, Display string
}

// Table is a three-dimensional table with curves before and after it. It is
// immutable and safe for concurrent use; the zero value holds nothing, and
// passes signals on as they are.
type Table struct {
	bits, path      int
	in, out         Range
	whole           bool         // scale
	before, after   [3][]float64 // codes over the highest code
	lattice         lattice
	source, display string
}

// NewTable returns the table of its contents, which are copied. The error says
// what is out of bounds.
func NewTable(c Contents) (Table, error) {
	c.Path = cmp.Or(c.Path, c.Bits)
	if !depth(c.Bits) || !depth(c.Path) {
		return Table{}, fmt.Errorf("hardware: %d bits on a path of %d; tables have 8, 10, 12 or 16", c.Bits, c.Path)
	}
	if !c.In.known() || !c.Out.known() {
		return Table{}, fmt.Errorf("hardware: ranges %d and %d; there are Full and Limited", c.In, c.Out)
	}
	if c.WholeScale && (c.In != Limited || c.Out != Limited || c.Path != c.Bits) {
		return Table{}, fmt.Errorf("hardware: a table on the whole scale of %d bits, from the %s to the %s range of %d bits; both ranges must be limited and depths alike", c.Bits, c.In, c.Out, c.Path)
	}
	if err := checkNodes(c.Nodes, len(c.Values)); err != nil {
		return Table{}, err
	}
	for _, s := range [2]string{c.Source, c.Display} {
		if !plainText(s) {
			return Table{}, fmt.Errorf("hardware: %.40q is no text of at most %d bytes without control characters", s, maxName)
		}
	}
	t := Table{bits: c.Bits, path: c.Path, in: c.In, out: c.Out, whole: c.WholeScale, source: c.Source, display: c.Display}
	top := t.top()
	scaled := func(v uint16) (float64, error) {
		if float64(v) > top {
			return 0, fmt.Errorf("hardware: the code %d; the highest of %d bits is %.0f", v, c.Bits, top)
		}
		return float64(v) / top, nil
	}
	var err error
	for _, curves := range [2]struct {
		name string
		from [3][]uint16
		to   *[3][]float64
	}{{"before", c.Before, &t.before}, {"after", c.After, &t.after}} {
		for k, from := range curves.from {
			if len(from) != len(curves.from[0]) || len(from) != 0 && (len(from) < minEntries || len(from) > maxEntries) {
				return Table{}, fmt.Errorf("hardware: curves %s the table have %d and %d entries; all three have as many, %d to %d, or none", curves.name, len(curves.from[0]), len(from), minEntries, maxEntries)
			}
			for _, v := range from {
				x, e := scaled(v)
				if e != nil {
					err = e
				}
				curves.to[k] = append(curves.to[k], x)
			}
		}
	}
	t.lattice = lattice{c.Nodes, make([][3]float64, len(c.Values))}
	for i, v := range c.Values {
		for k := range 3 {
			x, e := scaled(v[k])
			if e != nil {
				err = e
			}
			t.lattice.values[i][k] = x
		}
	}
	if err != nil {
		return Table{}, err
	}
	return t, nil
}

// checkNodes says whether that many values belong to that many nodes an edge.
func checkNodes(nodes, values int) error {
	if nodes < minNodes || nodes > maxNodes {
		return fmt.Errorf("hardware: %d nodes along an edge; %d to %d are possible", nodes, minNodes, maxNodes)
	}
	if want := nodes * nodes * nodes; values != want {
		return fmt.Errorf("hardware: %d values for %d nodes along each edge; there must be %d", values, nodes, want)
	}
	return nil
}

func plainText(s string) bool {
	if len(s) > maxName {
		return false
	}
	for _, r := range s {
		if r < ' ' || r == 0x7f || r == '\ufffd' || r == 0xfffe || r == 0xffff {
			return false
		}
	}
	return true
}

// Identity returns a table of n nodes an edge, 2 to 65, that passes every signal
// on but for rounding to its bits: 8, 10, 12 or 16. It panics for others.
func Identity(n, bits int) Table {
	if n < minNodes || n > maxNodes || !depth(bits) {
		panic(fmt.Sprintf("hardware: an identity of %d nodes and %d bits", n, bits))
	}
	c := Contents{Bits: bits, Nodes: n}
	top := float64(uint(1)<<bits) - 1
	for i := range n * n * n {
		var v [3]uint16
		for k, at := range [3]int{i / (n * n), i / n % n, i % n} {
			v[k] = uint16(math.Round(float64(at) / float64(n-1) * top))
		}
		c.Values = append(c.Values, v)
	}
	t, err := NewTable(c)
	if err != nil {
		panic(err)
	}
	return t
}

// Contents returns a copy of what t is made of.
func (t Table) Contents() Contents {
	c := Contents{Bits: t.bits, Path: t.path, In: t.in, Out: t.out, WholeScale: t.whole, Nodes: t.lattice.n, Source: t.source, Display: t.display}
	top := t.top()
	for k := range 3 {
		for _, v := range t.before[k] {
			c.Before[k] = append(c.Before[k], uint16(math.Round(v*top)))
		}
		for _, v := range t.after[k] {
			c.After[k] = append(c.After[k], uint16(math.Round(v*top)))
		}
	}
	for _, v := range t.lattice.values {
		c.Values = append(c.Values, [3]uint16{uint16(math.Round(v[0] * top)), uint16(math.Round(v[1] * top)), uint16(math.Round(v[2] * top))})
	}
	return c
}

// Nodes returns the number of nodes along each edge, 0 of the zero Table.
func (t Table) Nodes() int { return t.lattice.n }

// Bits returns the depth of the table's values and of its curves.
func (t Table) Bits() int { return t.bits }

// Path returns the ranges and the depth of the signals that enter and leave.
func (t Table) Path() (in, out Range, bits int) { return t.in, t.out, t.path }

// Entries returns the number of entries of the curves before and after the
// table, 0 where there are none.
func (t Table) Entries() (before, after int) { return len(t.before[0]), len(t.after[0]) }

// Source returns what enters the table.
func (t Table) Source() string { return t.source }

// Display returns what the table is for.
func (t Table) Display() string { return t.display }

// top is the highest code.
func (t Table) top() float64 { return float64(uint(1)<<t.bits) - 1 }

// Apply returns the device signal for a source signal, both as shares of the way
// from black to white. Signals are limited to [0, 1], NaN to 0; nothing is
// rounded but the table's own values.
func (t Table) Apply(s colorimetry.RGB) colorimetry.RGB {
	v := [3]float64{limit(s.R), limit(s.G), limit(s.B)}
	if t.lattice.n == 0 {
		return colorimetry.RGB{R: v[0], G: v[1], B: v[2]}
	}
	w := t.window()
	for k := range v {
		v[k] = along(t.before[k], w.share(v[k]))
	}
	v = t.lattice.at(v)
	for k := range v {
		v[k] = limit(w.signal(along(t.after[k], v[k])))
	}
	return colorimetry.RGB{R: v[0], G: v[1], B: v[2]}
}

// window returns where on the scale of the table black and white lie.
func (t Table) window() window { return newWindow(t.whole, t.bits) }

// Through returns the device signal that a path of the table's depth makes of a
// source signal: rounded to a code as it enters, and again as it leaves.
func (t Table) Through(s colorimetry.RGB) colorimetry.RGB {
	if t.lattice.n == 0 {
		return t.Apply(s)
	}
	return t.out.round(t.Apply(t.in.round(s, t.path)), t.path)
}

// Digest returns a short name for exactly these values, the texts left out: the
// first 16 hex digits of their SHA-256.
func (t Table) Digest() string { return hex.EncodeToString(t.sum()[:8]) }

func (t Table) sum() []byte {
	c := t.Contents()
	h := sha256.New()
	word := func(v uint16) { h.Write(binary.BigEndian.AppendUint16(nil, v)) }
	for _, v := range []int{c.Bits, c.Path, int(c.In), int(c.Out), scaleWord(t.whole), c.Nodes, len(c.Before[0]), len(c.After[0])} {
		word(uint16(v))
	}
	for k := range 3 {
		for _, v := range c.Before[k] {
			word(v)
		}
		for _, v := range c.After[k] {
			word(v)
		}
	}
	for _, v := range c.Values {
		for _, x := range v {
			word(x)
		}
	}
	return h.Sum(nil)
}

// scaleWord stands for the scale of a table in its digest.
func scaleWord(whole bool) int {
	if whole {
		return 1
	}
	return 0
}
