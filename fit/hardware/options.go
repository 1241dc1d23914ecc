package hardware

import (
	"fmt"
	"runtime"
)

// Options describes the table. The zero value asks for one of 12 bits in the full
// range with curves and as many nodes as it needs.
type Options struct {
	// Bits is the depth of the table's values and of its curves: 8, 10, 12 or 16;
	// 0 means 12.
	Bits int
	// Display says in a few words what the table is for, "" for "display".
	Display string
	// Entries is the number of entries of each curve, 16 to 4096; 0 means one for
	// each code of Bits, or 4096.
	Entries int
	// In and Out are the ranges of the signals that enter and leave.
	In, Out Range
	// Nodes is the number of nodes along each edge, 2 to 65; 0 takes the fewest of
	// 17, 33 and 65 whose loss between nodes is at most 0.05 ΔE00 in the mean, 0.5
	// at the most, and 0.3 on greys (own choice: less than is seen), or 65.
	Nodes int
	// PathBits is the depth of the signals that enter and leave: 8, 10, 12 or 16; 0
	// means Bits.
	PathBits int
	// Plain asks for a table without curves, for boxes that have none: nodes lie on
	// equally spaced signals and hold signals.
	Plain bool
	// Reach says what becomes of colours that the display has not.
	Reach Reach
	// WholeScale is for boxes of the limited range that address entries and nodes by
	// all codes, as [Contents] has it. In and Out are then limited, and PathBits is
	// Bits.
	WholeScale bool
	// Workers is the number of goroutines, 0 for as many as processors. The table
	// is the same for any.
	Workers int
}

// filled returns o with its defaults, checked.
func (o Options) filled() (Options, error) {
	set := func(v *int, usual int) {
		if *v == 0 {
			*v = usual
		}
	}
	set(&o.Bits, 12)
	set(&o.PathBits, o.Bits)
	if !depth(o.Bits) || !depth(o.PathBits) {
		return o, fmt.Errorf("hardware: %d bits on a path of %d; give 8, 10, 12 or 16, or 0 for the default", o.Bits, o.PathBits)
	}
	set(&o.Entries, min(1<<o.Bits, maxEntries))
	set(&o.Workers, runtime.GOMAXPROCS(0))
	if o.Display == "" {
		o.Display = "display"
	}
	for _, c := range []struct {
		name      string
		v, lo, hi int
	}{{"entries", o.Entries, 16, maxEntries}, {"workers", o.Workers, 1, 1024}} {
		if c.v < c.lo || c.v > c.hi {
			return o, fmt.Errorf("hardware: %d %s; give %d to %d, or 0 for the default", c.v, c.name, c.lo, c.hi)
		}
	}
	if o.Nodes != 0 && (o.Nodes < minNodes || o.Nodes > maxNodes) {
		return o, fmt.Errorf("hardware: %d nodes along an edge; give %d to %d, or 0 for as many as are needed", o.Nodes, minNodes, maxNodes)
	}
	if o.WholeScale && (o.In != Limited || o.Out != Limited || o.PathBits != o.Bits) {
		return o, fmt.Errorf("hardware: the whole scale of %d bits, from the %s to the %s range of %d bits; make both ranges limited and depths alike", o.Bits, o.In, o.Out, o.PathBits)
	}
	if !o.In.known() || !o.Out.known() || !o.Reach.known() {
		return o, fmt.Errorf("hardware: ranges %d and %d and reach %d; use the constants of this package", o.In, o.Out, o.Reach)
	}
	if !plainText(o.Display) {
		return o, fmt.Errorf("hardware: the display's name %.40q is no text of at most %d bytes without control characters", o.Display, maxName)
	}
	return o, nil
}
