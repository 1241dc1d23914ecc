// Package mismatch corrects a filter colorimeter for the difference between
// its filters and the standard observer.
//
// The error of a filter colorimeter depends on the spectra it looks at, so a
// correction holds for one kind of display. Which one to make:
//
//   - from paired readings of red, green, blue and white with a reference
//     instrument: [FromPairs] with a session's readings, [FourColour] with bare
//     numbers;
//   - from pairs of any lights: [Fit], weighted by their noise, with residuals
//     and misfit, or [LeastSquares], the plain method of ASTM E1455;
//   - without pairs, from the instrument's sensitivities and the spectra of the
//     display's primaries: [FromSource];
//   - where primaries change their spectra with their drive, as they do on
//     self-luminous panels: [FromLevels] from pairs at several signals, or
//     [FromSpectra]. Their [Levels] is more than one matrix;
//   - where nothing is known of the panel: [ForUnknown].
//
// A correction states the covariance of its matrix, where it is known, and
// [measure.Session.SetCorrector] puts what follows from it into every reading,
// apart from the reading's noise. [Correction.WithUncertainty] adds what pairs
// cannot show. Pairs that cannot support a correction are refused.
//
// [Saved] keeps a correction as JSON with the instrument, the display and the
// date for which it holds.
//
// [Index] and [Factor] are the spectral mismatch index f1′ and the correction
// factor of ISO/CIE 19476: the one ranks instruments, the other tells what one
// does on a given light.
//
// An instrument that returns spectra needs none of them: [Observed] makes it an
// instrument of any named observer, and [Through] looks at its readings once
// more through another.
//
// But for Levels all corrections are a 3×3 matrix: corrected XYZ = Matrix · XYZ
// as read.
package mismatch
