// Package rgb holds RGB encodings: a name, three primaries, a white and a
// curve. The matrix to XYZ follows from the primaries and the white by the
// standards' own rule; nothing is a rounded copy.
//
// [Spaces] lists the encodings that have a function here and [Find] looks one
// up; any other is a [Space] literal. [Codec] leads signals to XYZ and back,
// [Conversion] from one encoding to another, [Lab8] 8-bit pixels to CIELAB
// quickly, and [Color] and the models to and from package image/color.
//
// XYZ is relative here, the encoding's white having Y = 1. No adaptation takes
// place: a D65 encoding gives D65 tristimulus values.
package rgb
