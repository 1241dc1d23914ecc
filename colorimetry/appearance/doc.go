// Package appearance predicts how a colour looks: the colour appearance models
// CIECAM02 and CAM16 with every correlate, and the uniform spaces Oklab,
// Jzazbz and ICtCp.
//
// # The models
//
// A [Model] stands for a viewing situation, which [Viewing] describes: the
// white, the luminance that the eye is adapted to, the background and the
// surround. [NewCAM16] and [NewCIECAM02] make one. [Model.Appearance] takes a
// tristimulus value to its lightness, brightness, chroma, colourfulness,
// saturation and hue, [Model.XYZ] goes back from any lightness, any chroma and
// a hue, and [Model.Jab] and [Model.FromJab] go to and from the uniform
// coordinates CAM02-UCS and CAM16-UCS (or their -LCD and -SCD relatives, which
// [Uniform] selects).
//
// # The spaces
//
// Oklab takes relative XYZ under D65; two sets of matrices are in print, and
// [OklabFirst] and [OklabCSS] say which is meant. Jzazbz and ICtCp take light
// in cd/m².
//
// # Sources
//
// Each function names the standard or paper that its formulas are published in.
// CIE 159, CIE 248 and the journals were not opened for this: formulas and
// constants are as open programs have them, and what holds them are the worked
// examples of those publications and three independent libraries, in the tests.
//
// # Domain
//
// Every function of a colour that can leave its domain returns a second value
// ok. Where it is false the colour is NaN in every field. No function returns
// an infinity or allocates, and all may be called from several goroutines at
// once. In particular no model here clips: a colour beyond the spectrum locus
// has an appearance as far as the formulas carry, and ok = false beyond.
package appearance
