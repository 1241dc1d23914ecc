// Package curves makes correction curves in a closed loop: it reads the
// display as it is, solves for the curves that bring its greys to an aim,
// loads them, reads the greys through them and corrects, a few times over.
//
// # How a pass learns
//
// What the loop corrects is not the last reading but the estimate: a model of
// the display as found, times a smooth function of the signal for what the
// model misses, a channel. Each reading of each pass says something about
// that function, weighted by its covariance; a Gaussian process with the
// model's own uncertainty as prior combines them (Rasmussen & Williams,
// Gaussian Processes for Machine Learning, 2006, chapter 2). So a pass cannot
// chase noise, and passes add up like averages.
//
// # What can be had
//
// Curves only take light away, so that the luminance is limited by the
// weakest channel at the aim's white; and a channel never goes below its own
// black. Both limits are computed and reported.
package curves
