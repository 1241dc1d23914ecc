// Package simulate holds displays and instruments as physics, for tests, for
// trying a procedure without hardware, and for the answers that only a
// simulation knows: the true colour behind a noisy reading.
//
// A [Spec] is a display's measured or invented figures: the spectra of its
// three primaries and one tone curve a channel. [New] switches it on as a
// [Display], which is a screen that holds curves ([measure.Screen],
// [measure.CurveLoader]) and has stepped controls ([measure.Controls]).
// [Display.Colorimeter] and [Display.Spectroradiometer] are the instruments
// that look at it and [Display.Clock] is its time, in which nothing sleeps.
//
// # What is real and what is invented
//
// The three embedded displays ([ReferenceOLED], [WideGamutLCD], [CRT]) are
// additive reconstructions from published measurements: spectra of the
// primaries at full drive and tone levels (ISETCAM/isetcam, data/displays,
// MIT). No measurement of their whites or greys was published. All else is
// invented and said to be so where it is defined: warm-up, controls, the
// colorimeter's sensitivities, durations.
//
// # The model
//
// A signal enters at the path's depth, passes the curves in force and leaves
// them at the path's depth. Channel c then makes the light
//
//	brightness · warmth_c · (leak_c + gain_c · (tone_c(signal_c) − leak_c))
//
// times the spectrum of its primary, where leak_c = tone_c(0): what a channel
// lets through in the dark is real light, and only the brightness lowers it.
// The lights add. A [Spec] may say how channels interact ([Coupling], [Supply],
// [WhiteSubpixel]); those of the embedded displays do not, those of the invented
// ones ([CoupledLCD], [SaggingPanel], [FourSubpixels]) do.
//
// # Determinism
//
// Noise is a function of the seed, the instrument, the index of the reading
// and the number of the repeat; warm-up is a function of the simulated time
// since switch-on; only measuring and sleeping take simulated time. Nothing
// else is remembered, so a run that is restored after any reading continues to
// the bit as if it had never stopped.
package simulate
