// Package chart holds patch sets as data: which signals to show, in which
// order, and the tables that patches and readings are exchanged in.
//
// A [Patch] is a device signal with a name. The generators ([Neutral], [Ramps],
// [Secondaries], [Lattice], [Maximin], [Farthest], [Surface], and the
// low-discrepancy sequences [Halton] and [Sobol]) make sets, [Union], [Thin], [Distinct] and
// [Densify] make new ones of them; [Default] is the set for a display that
// nothing is known of, [Apart] the one that proves what was fitted to another.
// [Order] puts a set in the order in which it is measured, and
// [Table] is what CGATS.17 and CSV files hold: [Read], [WriteCGATS],
// [WriteCSV]. CxF/X (ISO 17972) is read: [ReadCxF].
//
// Patches are spaced and ordered by what they look like on a nominal display
// ([Nominal]), since the real one is known only after they were measured; a
// [Space] says in which coordinates. A [CodeRange] is a path of so many bits, of
// the full or the video range, and a [Pace] tells how long a set takes.
//
// Everything here is a pure function of its arguments: equal arguments give
// equal bytes. No function keeps state, and all may be called concurrently.
package chart
