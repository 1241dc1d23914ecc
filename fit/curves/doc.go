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
// Where the readings show a tone that is uneven from code to code, no grey
// tells of its neighbours: the later passes then read every grey that this can
// turn, code by code, and those whose codes were chosen anew.
//
// # Rounding
//
// The three channels of a grey are rounded together. Rounded each by itself,
// they leave a grey with the chance of three fractions; of the codes next to
// each other, curves take those whose colour is nearest to the aim in u'v' and
// luminance, in a sequence in which no channel ever falls. For this a curve has
// an entry for each code of the path, up to 1024.
//
// What that leaves is the quantisation floor of the path. TestGrays makes the
// table of greys against it, on paths of 6, 8 and 10 bits. The dithering that a
// panel of fewer than 8 bits adds by itself is unknown and not reckoned with.
//
// # What can be had
//
// Curves only take light away, so that the luminance is limited by the
// weakest channel at the aim's white; and a channel never goes below its own
// black. Both limits are computed and reported, and grey by grey in
// Result.Levels. Below the signal at which a channel reaches its black the
// greys go over to the native black, in luminance after the tone.
//
// # What it costs
//
// A table before a path of few bits merges greys: [Grade] counts them and the
// largest step that is left, beside the greys' error. Where the table takes
// much of a channel's light, a control of the display does the same for
// nothing: each 15 % of a channel's light is 7 % of its 8-bit codes under a
// power of 2.2.
package curves
