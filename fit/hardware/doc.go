// Package hardware makes tables for displays and boxes that hold one of their
// own: three dimensions of nodes, with curves before and after, from a source
// signal to the device signal that shows what the source means.
//
// [Build] makes a [Table] of a model of the display and of what the signal is
// to mean ([Want]): an encoding such as sRGB, or an aim on the display's own
// primaries. [Diagnostics] tells what is left between the two, by the model,
// with the table's size and its rounding in it. [Correct] goes on from there: it
// loads the table through your [Loader], reads colours through it, learns what
// the model did not know, and makes a better table, a few times over.
//
//	table, told, err := hardware.Build(ctx, model, hardware.Want{Space: rgb.SRGB()}, hardware.Options{Bits: 10})
//	...
//	err = hardware.WriteCLF(file, table)
//
// # What a table does
//
// A signal goes through three curves, one a channel, then between the nodes of
// the table by tetrahedra, then through three curves again. The curves before
// lead from the signal to a level, which steps light as a display's signals do,
// whatever the source's tone; the curves after lead from a level to the signal
// that the channel needs for a grey of that level. So the nodes lie where they are
// needed, and between two sets of primaries that are alike the table is the
// identity, which is exact between nodes too. A box without curves takes a plain
// table ([Options.Plain]), which needs more nodes.
//
// Signals are told as shares of the way from black to white: 0 is the black
// code and 1 the white one, which are 0 and 1023 at 10 bits in the full range and
// 64 and 940 in the limited one ([Limited]). The nodes lie between those two, as a
// Range in the file sees to; a box that addresses nodes by all codes takes a table
// on the whole scale ([Options.WholeScale]).
//
// # Greys
//
// Equal signals mean greys. They have the luminance that the aim's tone says and
// the white's chromaticity, down to where a channel of the display would have to
// be darker than its own black; from there on down they go over to that black.
// They run along the table's diagonal, where it is the identity, so that the curves
// alone decide on them, however many nodes there are; and they never fall.
//
// # Hybrid log-gamma
//
// HLG ([rgb.BT2100HLG], or tone.HLG in the aim) means the light of a scene, of
// which a display makes its own by a system gamma on the scene's luminance. The
// gamma follows the white's luminance LW in cd/m²: from 400 to 2,000 it is
// 1.2 + 0.42·log10(LW/1000), ITU-R BT.2100-2, note 5f; beyond them
// 1.2·1.111^log2(LW/1000), Report ITU-R BT.2390, so 0.85 at 100 cd/m². Each
// doubling of the surround's 5 cd/m² ([Want].SurroundCdM2) takes it by 0.98. It
// acts on the three channels together, so that it is in the nodes of the table,
// and only greys are in the curves alone. The scene's luminance is that of the
// source's primaries. Above the display's black the signal is lifted, as the
// standard has it.
//
// # Colours out of reach
//
// The source may mean colours that the display has not. They come to the nearest
// that it has, of the same hue ([ReachHue]), and are told apart in every figure.
//
// # Files
//
// [WriteCLF] writes Common LUT Format in the form that suits both the Academy's
// version 3 and SMPTE ST 2136-1, [WriteCSV] a table of codes. Both come back to the
// bit.
//
// # Caution
//
// A table in a display changes everything that the display shows, also to people
// who do not know of it; keep the way back. Displays for diagnosis, or wherever a
// wrong colour can hurt, fall under their own rules and qualified people.
package hardware
