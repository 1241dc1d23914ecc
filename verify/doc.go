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
// # Caution
//
// A verdict of this package is no acceptance test. Displays for diagnosis, or
// wherever a wrong colour can hurt, fall under their own rules (DICOM PS3.14,
// AAPM TG-270, local codes) and qualified people.
package verify
