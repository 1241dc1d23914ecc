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
// A model is asked once for each node of a fine grid, and the grid is inverted;
// nodes in gamut are then put right with the model itself. Colours beyond the
// gamut come to the nearest of their own hue.
package profile
