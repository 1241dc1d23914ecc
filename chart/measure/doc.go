// Package measure takes readings: it owns the order "write down the patch,
// show it, let it settle, read it, write down the reading", and everything
// that makes a reading trustworthy.
//
// Screen, Instrument, Controls, Clock and Journal are small interfaces that an
// application implements for its own hardware. [Session] is the only way to
// take a reading: it journals each patch before it is shown and each reading,
// synced, before the next. On resume it first returns the journalled readings
// in order, without touching the display, so that all later logic is a pure
// function of readings; only where the journal ends are controls and curves
// set to the state that was in force and the display shown again.
//
// # Which stage for which worry
//
// All stages read through a session, so that a run that ends anywhere resumes.
// In the order in which a run meets them:
//
//   - Is the display on, does it show the patches, and nothing else? [Inspect]
//     reads eleven patches and names what is wrong as a [Condition]: asleep or
//     covered, slipped, another room light, adjusting itself, clipped, another
//     picture, patches not shown, curves too many or missing. With readings from
//     before it finds more; its documentation lists what readings cannot tell
//     apart.
//   - Has it warmed up? [WarmUp] watches until the trend is certainly small, and
//     tells how long that will take to decide.
//   - Does a patch stand long enough before it is read? [MeasureSettling] finds
//     out, [Session.SetSettling] uses it.
//   - How good is the instrument? [Repeatability] tells from repeats how far it
//     can be trusted, and the noise that all later stages reckon with.
//   - Are readings of the dark good enough? [ReadRequest.Precision] integrates
//     until the uncertainty is as small as wanted.
//   - Does it drift while a chart is read? [Session.ReadChart] corrects readings
//     by the repeats of white and others that chart.Order lays out, with
//     [FitDrift], and states what uncertainty that leaves.
//   - Are patches to be chosen as readings come in? [Session.ReadChartFrom] does
//     for them what ReadChart does for a set; [Session.ReadFrom] reads them alone.
//   - Was a reading wrong? ReadChart reads again what [Suspects] finds, and what
//     scatters.
//   - Did something happen in the middle? ReadChart with ChartOptions.Watch looks
//     again where readings are odd, stops with the condition's name, and when it
//     is mended reads anew what was spoiled.
//   - Is the instrument's dark calibration still good, is the page that shows the
//     patches still seen? The session asks a [DarkCalibrator] before each reading
//     and a [SelfChecker] after it; what the latter does not believe is read
//     again, a few times, before the run stops.
//   - A device that hangs, lies with what is no number, loses samples or is gone
//     gives a [DeviceError]; so does a journal on a full disk. A driver that
//     panics takes the program with it. In every case the run resumes.
//   - What would another program have made of these readings? [Replay] is a
//     journal in the place of devices, [Table] readings in the place of an
//     instrument, and [FromTable] makes readings of a table that somebody else
//     took.
//
// # What resuming asks of the program
//
// A program resumes by opening a session on the journal's lines and running the
// same code again. Whatever that code decides must follow from its options and
// from readings: [Session.Now] is the time of the latest reading, never the
// clock's, and a stage that wants randomness takes it from the seed. The journal
// is checked against every reading, control and curve that is asked for; notes
// are remarks, and free.
//
// A program that leaves early and wants its curves off the display calls
// [Session.Close] or talks to the screen itself, never SetControl or LoadCurves:
// nothing may enter the journal that a later run does not repeat.
//
// # Caution
//
// Flashing full-field patches can harm photosensitive people: a session never
// changes patches fast enough for more than three general or saturated-red
// flashes in any second (WCAG 2.3.1, ITU-R BT.1702). Bright static patches
// wear self-luminous panels. Displays for diagnosis, or wherever a wrong colour
// can hurt, fall under their own rules and qualified people.
package measure
