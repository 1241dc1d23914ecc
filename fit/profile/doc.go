// Package profile writes a fitted model down as an ICC profile, with the
// adaptation from the measured white, its luminance and the correction curves in
// force: as a matrix and three curves, or, where channels disturb each other, as
// tables.
//
// [Build] makes the bytes and says what they lose against the model;
// [Predictor] reads bytes back and tells which light they promise for a
// signal, so that a proof judges the file and not the model behind it.
//
// # Tables
//
// Each channel has a curve, its light along the greys, and a level, which steps
// light as a display's signals do. Between the levels of signals and those of
// the light that they make, a table only has to hold what the channels do to
// each other, and is exact where that is nothing. The way back is the same: XYZ,
// a matrix to the light of an RGB that is wider than the display's, curves to
// levels, a table whose nodes lie on the display's own 0 and 1, and curves to
// signals.
//
// Where the nodes cannot lie there, as in version 2, whose matrix has no offset,
// and where colours beyond the display count for more, as in perceptual tables,
// the axes are wider primaries' and the table holds light. Their curves are bent
// at the nodes alone, so that light is linear in between, and what is linear in
// light comes back exactly, whichever way the gamut's surface runs.
//
// A model is asked once for each node of a fine grid, and the grid is inverted;
// nodes of colorimetric tables in gamut are then put right with the model
// itself. Nodes beyond the gamut whose cells its surface crosses hold places
// beyond 0 and 1, which the last curves cut off.
//
// # Intents
//
// The colorimetric tables hold the display as measured, black included. A colour
// beyond the gamut becomes the nearest of its own hue in Oklab, or, if
// Options.Mapping asks for it, the one of its own lightness and hue; a step from
// the relative to the absolute intent is the white alone.
//
// The perceptual tables to signals leave colours alone that the display has well
// inside, and move those towards its surface and beyond together, so that
// BT.2020 fits in: lightness and hue stay, and so do greys. In version 4 their
// black is that of the reference medium (ICC.1:2022, 6.3.3), in version 2 the
// display's own, or 0 with Options.BlackPoint. The perceptual table from signals
// says what the display shows, on that black, and undoes no softening: a picture
// that was made for this display and looked at on it is to keep what was seen.
// The saturation tables are the perceptual ones.
//
// # A matrix instead
//
// Every table profile has a matrix and curves for programs that read no tables,
// with the same white and greys; Diagnostics.Choice says what they alone would
// lose, and so whether tables are worth their size. Whether a display that was
// fitted as additive is so can be seen in the evidence of the fit, not here.
package profile
