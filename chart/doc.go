// Package chart holds patch sets as data: which signals to show, in which
// order, and the tables that patches and readings are exchanged in.
//
// A [Patch] is a device signal with a name. The generators ([Neutral], [Ramps],
// [Lattice], [Maximin], [Apart]) make sets, [Order] puts one in the order in
// which it is measured, and [Table] is what CGATS.17 and CSV files hold.
package chart
