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
// # Caution
//
// Flashing full-field patches can harm photosensitive people: a session never
// changes patches fast enough for more than three general or saturated-red
// flashes in any second (WCAG 2.3.1, ITU-R BT.1702). Bright static patches
// wear self-luminous panels. Displays for diagnosis, or wherever a wrong colour
// can hurt, fall under their own rules and qualified people.
package measure
