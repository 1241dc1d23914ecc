// Package mismatch corrects a filter colorimeter for the difference between
// its filters and the standard observer.
//
// The error of a filter colorimeter depends on the spectra it looks at, so a
// correction holds for one kind of display. [FourColour] and [LeastSquares]
// make it from paired readings of the same patches with a reference
// instrument, [FromPairs] does so from a session's readings with their
// uncertainty; [FromSource] makes it from the instrument's sensitivities and
// the spectra of the display's primaries, and [ForUnknown] from those of
// typical panels where nothing better is known.
//
// An instrument that returns spectra needs none of them: [Observed] makes it an
// instrument of any named observer, and [Through] looks at its readings once
// more through another.
//
// All corrections are a 3×3 matrix: corrected XYZ = Matrix · XYZ as read.
package mismatch
