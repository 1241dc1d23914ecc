// Package tone holds tone-response curves: the functions that lead from a
// device signal to relative light and back.
//
// [Curve] is the one interface. The named curves are the closed forms of the
// standards; [Sampled] is a monotone curve through measured points; [Channels]
// is three sampled tables, one a channel, the form in which correction curves
// are loaded into a display path and kept in a profile.
//
//	Linear, Power, LStar                no curve, a power law, CIE lightness
//	SRGB, ROMM                          encodings of pictures
//	BT1886                              television displays, white and black
//	BT709, BT2020, HLGCamera            cameras
//	PQ, HLG                             high dynamic range
//	GSDF                                DICOM's function of just-noticeable steps
//	Parametric                          the five forms of ICC profiles
//	Lift, Stretch                       any curve on a display with light in its black
//
// [Parse] reads all of them from text, as String writes it. Every curve has an
// exact inverse and a slope.
//
// Signals and relative light both run from 0 to 1. A curve's own documentation
// says what it answers outside that range; no answer is ever infinite, and NaN
// gives NaN.
package tone
