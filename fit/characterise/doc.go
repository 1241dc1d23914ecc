// Package characterise walks the whole job, stage by stage: warm up, correct
// the instrument, look at the display as found, set its controls, make its
// correction curves, measure the chart through them, fit a model, prove it on
// patches the fit never saw, and write the profile.
//
// [Run] takes every stage in order. [Begin] gives a [Walk] whose stages can be
// called one by one, for an application that puts its own windows between
// them; each says what it needs from the stages before it. [FromReadings] is
// the part of the job that needs no display: readings that somebody already
// has.
//
// Everything after the first reading is a pure function of readings, so that a
// run that was killed goes on from its journal to the same bytes. Judging the
// outcome is the business of verify and its report.
//
// # Caution
//
// Measuring shows bright static patches for an hour or so, which wear
// self-luminous panels. Displays for diagnosis, or wherever a wrong colour can
// hurt, fall under their own rules and qualified people; nothing here is an
// acceptance test.
package characterise
