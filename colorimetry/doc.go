// Package colorimetry holds the colour types that every other room passes
// around: tristimulus values, chromaticities, CIELAB, CIELUV, device signals,
// 3×3 matrices, white points and chromatic adaptation.
//
// # Conventions
//
// Every colour is a small struct of float64, passed by value and comparable
// with ==. Nothing in this package allocates, keeps state or panics on a
// number.
//
// XYZ is used on two scales, and every function says which one it takes:
//
//   - absolute: cd/m², as an instrument reads it, Y being the luminance;
//   - relative: divided by the luminance of a white, whose Y is then 1 (not
//     100).
//
// Lab and Luv take the white as an argument on the same scale as the colour;
// there is no hidden default white. RGB is a device signal: 0 is the lowest
// code of the path and 1 the highest.
//
// The observer is the CIE 1931 standard colorimetric observer unless the
// spectrum that an XYZ was integrated from was weighted with another; an XYZ
// does not carry its observer.
package colorimetry
