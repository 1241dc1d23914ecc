// Package colorimetry holds the colour types that every other room passes
// around: tristimulus values, chromaticities, CIELAB, CIELUV, device signals,
// 3×3 matrices, white points and chromatic adaptation.
//
//	XYZ    tristimulus values; from it everything below
//	XyY    chromaticity and luminance
//	UV     CIE 1976 u', v'; UV1960 the older diagram of colour temperature
//	Lab    CIELAB; LCh its cylinder: lightness, chroma, hue
//	Luv    CIELUV; LChuv its cylinder
//	RGB    a device signal
//	Matrix three by three numbers
//
// Colours move between whites by an [Adaptation]: [BradfordAdaptation] (with
// the shorthand [Bradford]), [CAT02], [CAT16], [HPE], [XYZScaling] or one of
// your own, complete, in one step with a degree of adaptation, or in two steps.
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
// Where a conversion has no answer, the result is NaN and not an infinity; each
// function says where that is.
//
// The observer is the CIE 1931 standard colorimetric observer unless the
// spectrum that an XYZ was integrated from was weighted with another; an XYZ
// does not carry its observer.
package colorimetry
