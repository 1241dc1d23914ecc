// Package rendering says how truly a light shows the colours of surfaces: the
// colour rendering index of CIE 13.3 ([ColourRendering]: Ra, and R1 to R14) and
// the colour fidelity index of CIE 224 ([ColourFidelity]: Rf). [DaylightSimulator]
// grades a booth's lamp as ISO/CIE 23603 does, given that standard's specimens.
// [BoothLimits] are the published conditions for judging prints and displays,
// as data with their source and how sure it is.
//
// Both indices compare the light with a reference of the same correlated colour
// temperature: a full radiator where it is low, daylight where it is high. Far
// from the Planckian locus there is no such reference, and the figures lose
// their meaning: every result carries Duv, the distance.
//
// Lights are relative spectra over 380 to 780 nm, at least 400 to 700. Sums are
// taken at 5 nm, at which the samples are published, and at 1 nm for lights that
// were measured more finely.
package rendering
