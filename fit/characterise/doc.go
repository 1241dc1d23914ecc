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
// # What may be asked for beside
//
// [Setup.Plan] has the patches of the chart chosen as readings come in, by
// [fit.Adaptive], until the error that is expected of a model is as small as was
// asked for, one more batch gains next to nothing, or the chart is as large as it
// may be; the stage's outcome says which. All else is as with a fixed set: white is
// read before the first patch, after each batch and about every 20 patches, drift
// is corrected, what nothing speaks for is read again, conditions are watched, and
// a run that was killed makes the same plan again from its journal. Four things
// are not. The plan goes by the drift that the whites have shown so far, while the
// chart is corrected by that of all readings. What is read again is so after the
// plan is through, which does not see it. A chart that ends after its first 16
// patches, as it may with an earlier run, has too few whites to tell a drift. And
// the expected error is what a smooth interaction leaves open, the noise apart: it
// says nothing of what no such model can follow, which is for the proof to find.
//
// [Setup.Earlier] is an earlier run of the same display and mode. Its readings
// come to the signals that make the same light behind the curves of now; a plan
// begins with what they tell, and so with 16 patches in place of 48. That shortens
// the chart, not the curves, which are made anew. The model is
// that of both runs ([fit.Since]) where it predicts readings of now that were held
// back better than that of now alone, by more than a standard error, and else that
// of now alone; the evidence says so. White and proof are of now in any case.
//
// [Setup.HardwareTable] makes a table for a display or a box that holds one. It is
// for the display without correction curves, which it holds, and the profile for
// the display with them and without it: [HardwareTable] says more. It is made of
// the model, and nothing is read through it; [hardware.Correct] does that for
// displays that can be given tables.
//
// [Correction.Saved] takes the instrument's correction from an earlier run,
// [Result.Saved] of the same instrument looking at the same display. It is refused
// for another one; how far lamp and filters have aged since nothing tells, so that
// pairs are the better choice where the reference is at hand.
//
// [Setup.Profile] has the options of package profile.
//
// What can be seen to be wrong with any of them is an error of [Begin], before the
// first patch.
//
// # Replay
//
// Everything after the first reading is a pure function of readings, so that a
// run that was killed goes on from its journal to the same bytes. Judging the
// outcome is the business of verify and its report.
//
// # Caution
//
// Measuring takes hours, and shows bright static patches all the while, which wear
// self-luminous panels. By the clock of the displays of package simulate, warm-up
// and pairs take half an hour, the chart 20 minutes, the proof 12 and the rest 8.
// The curves take 25 to 40 minutes where the tone is even, and three hours or more
// where it is uneven from code to code, so that greys are read one by one. In all
// that is an hour and a half to two for an LCD, and four to five for the
// self-luminous monitor and the CRT. [Setup.Plan] and [Setup.Earlier] shorten the
// chart and nothing else.
//
// Displays for diagnosis, or wherever a wrong colour can hurt, fall under their own
// rules and qualified people; nothing here is an acceptance test.
package characterise
