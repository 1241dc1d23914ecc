// Package tone holds tone-response curves: the functions that lead from a
// device signal to relative light and back.
//
// [Curve] is the one interface. The named curves ([Power], [SRGB], [BT1886],
// [LStar] …) are the closed forms of the standards; [Sampled] is a monotone
// curve through measured points; [Channels] is three sampled tables, one a
// channel, the form in which correction curves are loaded into a display path
// and kept in a profile.
//
// Signals and relative light both run from 0 to 1. A curve's own documentation
// says what it answers outside that range.
package tone
