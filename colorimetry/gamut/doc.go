// Package gamut says which colours a device can make: areas and coverage in
// chromaticity diagrams, volumes in uniform spaces, and whether a colour is
// inside.
//
// # Chromaticity
//
// A [Polygon] is an outline in the x, y diagram ([XY]) or in u′, v′ ([UV]):
// three primaries, more of them, or the spectrum locus. [Polygon.Area],
// [Coverage] and [AreaRatio] are the figures that data sheets print. An area
// says nothing of lightness, and flatters a display whose primaries do not add
// up.
//
// # Solids
//
// A [Solid] is all that a device can make, in a [Space]: [CIELAB], [CAM16UCS]
// or [Oklab], or one of yours. [New] follows the surface of the device's signal
// cube. A solid knows its [Solid.Volume], whether it holds a colour
// ([Solid.Contains]), which of its colours is nearest to one outside
// ([Solid.Nearest]), or nearest among those of its hue ([Hues]), how far it
// reaches from a grey ([Hues.Reach]), and how much of another it covers
// ([Solid.Covers]).
//
// Everything here is immutable and safe for concurrent use. What is asked for a
// single colour allocates nothing.
package gamut
