// Package verify judges: it holds what was read against what was predicted or
// wanted, says how far apart they are and how much of that is noise, and
// compares the figures with stated limits.
//
// Three questions never share a figure: was the aim reached ([Aim]); does the
// profile tell the truth ([Profile], and [Truth] where a simulator knows it);
// is the display as it was last month (package verify/history). Every
// [Accuracy] says its reference white, whether it is relative or absolute,
// whether it is as read or against the truth, its count, its averages and the
// figure that noise alone would give.
//
// A reading's Covariance is noise: averages lessen it. Its Systematic, the error
// of the instrument correction, is the same in all readings and is drawn once
// for all of them ([Causes], [Common]). Absolute figures hold it in full,
// relative ones what of it does not cancel against the white. It is never
// subtracted from a figure: it widens what a verdict must leave open.
//
// # Caution
//
// A verdict of this package is no acceptance test. Displays for diagnosis, or
// wherever a wrong colour can hurt, fall under their own rules (DICOM PS3.14,
// AAPM TG-270, local codes) and qualified people.
package verify
