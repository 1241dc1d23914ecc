// Package rgb holds RGB encodings: a name, three primaries, a white and a
// curve. The matrix to XYZ follows from the primaries and the white by the
// standards' own rule; nothing is a rounded copy.
//
// XYZ is relative here, the encoding's white having Y = 1. No adaptation takes
// place: a D65 encoding gives D65 tristimulus values.
package rgb
