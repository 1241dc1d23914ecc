// Package profile writes a fitted model down as an ICC profile: a matrix and
// three curves, with the adaptation from the measured white, its luminance and
// the correction curves in force.
//
// [Build] makes the bytes and says what they lose against the model;
// [Predictor] reads bytes back and tells which light they promise for a
// signal, so that a proof judges the file and not the model behind it.
package profile
