// Package simulate holds displays and instruments as physics, for tests, for
// trying a procedure without hardware, and for the answers that only a
// simulation knows: the true colour behind a noisy reading.
//
// A [Spec] is a display's measured or invented figures: the spectra of its
// three primaries, one tone curve a channel, how the channels interact, and
// nuisances. [New] switches it on as a [Display], which is a screen that holds
// curves ([measure.Screen], [measure.CurveLoader]) and has stepped controls
// ([measure.Controls]). [Display.Clock] is its time, in which nothing sleeps.
//
// Where specs come from:
//   - [Panel.Spec]: the embedded measurements; [Measured] switches one on
//   - [Example.Spec]: invented displays of many kinds; [Invented]
//   - [Typical]: a typical light source
//   - [ReadSpec]: tables of spectra and tones; [ReadJSON]: a file of ours, which
//     [Spec.WriteJSON] writes
//   - [Spec.Troubled] puts every nuisance on top
//
// What looks at the display: [Display.Colorimeter] and
// [Display.Spectroradiometer], plain; [Display.ColorimeterWith] and
// [Display.SpectroradiometerWith] with counts, outliers, spectra, observers,
// dark calibrations and all that an instrument states of itself.
//
// What goes wrong: a [Mishap] spoils readings while every device does its duty
// (Options.Mishaps); [Faulty] and [FaultyScreen] wrap any device of any origin
// in faults of its own.
//
// # What is real and what is invented
//
// The three embedded displays ([ReferenceOLED], [WideGamutLCD], [CRT]) are
// additive reconstructions from published measurements: spectra of the
// primaries at full drive and tone levels (ISETCAM/isetcam, data/displays,
// MIT). No measurement of their whites or greys was published. All else is
// invented and said to be so where it is defined: warm-up, controls,
// interaction, nuisances and their figures, the colorimeter's sensitivities,
// noise of spectra, durations. The laws are those of physics at their simplest
// (a capacitive divider, a resistor, a power limit, a square wave, ρE/π), their
// constants are no one's.
//
// # The model
//
// A signal enters at the path's depth, passes the curves in force and leaves
// them at the path's depth; a gamut mode ([Mode]) turns it into the signal v of
// the panel. Then, for channel c:
//
//	u_c = v_c + Σ_k Coupling[c][k]·(v_k − v_c) + offset_c drive
//	x_c = leak_c + gain_c·(tone_c(u_c) − leak_c)          asked for
//	w   = Share·max(0, min_c (x_c − leak_c))              by the white sub-pixel,
//	x_c ← x_c − Relief·w                                  which relieves the others
//
// where leak_c = tone_c(0): what a channel lets through in the dark is real
// light, and only the brightness lowers it. The controls of the black make the
// offset ([Offset]), 0 from the factory; a drive below 0 counts as 0. The patch draws
//
//	D = brightness·(Σ_c Currents_c·x_c + Current·w)       of the full current,
//	L = window·D + (1 − window)·D of the surround         and the picture
//	f = min(1, (From/L)^Exponent)                         what dimming leaves
//	V = 1/(1 + Sag·f·D)                                   voltage of the supply
//
// and the channel gives, of its primary's spectrum at full drive,
//
//	brightness · f · V^Sensitivity_c · x_c · field_c(place) · warmth_c(t) · drift_c(t)
//
// while the white sub-pixel gives w of its own, times the same factors, those
// of the channels averaged. A liquid-crystal cell turns light of the wavelength
// λ by a phase that goes as 1/λ and lets sin² of half of it through, so that a
// half-open cell favours short waves: with λ_c the primary's mean wavelength,
// x_c = sin²(φ) and the change with 1/λ taken as a straight line,
//
//	x_c becomes x_c + Dispersion_c·φ·sin(2φ)·(λ_c/λ − 1)
//
// which at full drive is x_c again. The lights add, and with them Reflectance·E/π of
// the room's. Factors whose figures are zero are exactly 1: the embedded
// displays are additive to the last bit.
//
// [Display.Truth] is that for a display in its reference state, where warmth
// and drift are 1; [Display.TruthAt] has them as they are at a time. Both are
// settled, and free of noise, flicker and mishaps.
//
// An instrument takes the light of the middle of its integration, in which each
// source has not quite left what it gave under the patch before ([Settling]);
// flicker multiplies it by the mean of the square wave over the integration. A filter
// colorimeter weighs it by three sensitivities, adds noise, counts; a
// spectroradiometer lets it through its passband, adds noise at each
// wavelength, and weighs that by its observer. Outliers and the offset of an
// expired dark calibration come last.
//
// # Determinism
//
// Noise and outliers are functions of the seed, the instrument, the index of
// the reading and the number of the repeat; warm-up, drift, flicker and mishaps
// of the simulated time since the start, the reading and what is shown; only
// measuring and sleeping take simulated time. Beside what it was told last
// (signal and when, the signal before, controls, curves, place) and a dark calibration,
// which a session renews by itself, nothing is remembered, so a run that is
// restored after any reading continues to the bit as if it had never stopped.
// Faults alone count calls, as real trouble does; they return at the same
// readings.
package simulate
