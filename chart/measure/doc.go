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
// [Repeatability] tells from repeats how far an instrument can be trusted, and
// the noise that later stages reckon with.
//
// [WarmUp] watches a display until it is stable; [FromTable] makes readings of
// a table that somebody else took, where there is no session.
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
