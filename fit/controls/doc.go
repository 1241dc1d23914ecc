// Package controls guides a display's own stepped controls towards an aim:
// brightness first, then the gains towards the white, then brightness again
// if the gains moved it, then the black, where the aim names one and the
// display has a control of it, and once more gains, brightness and black as long
// as that moved the white.
//
// Every decision is a function of readings alone, so that a run that was
// killed goes the same way again when its journal is replayed. Every move is
// also a sentence, for displays whose controls a person turns.
//
// # How it ends
//
// A control ends where its reading is at the aim, as near as Options says and
// the readings' noise lets it be known, or at the step that was proved nearest:
// its neighbour on the other side of the aim was read too, and the difference
// of the two misses is more than twice its own uncertainty. Where even
// Options.MostAverages integrations of both do not tell them apart, it ends at
// the likelier one and says so. Nothing goes back to a step that it left but
// for that.
//
// The responses of the controls are learned as they are used: from step to
// step light changes by an unknown amount, which differs among the steps of one
// control as much as the readings say. What remains comes with a standard
// uncertainty that is that of the readings' noise; where channels interact, as
// behind a supply that sags, the primaries themselves change with brightness,
// which it does not know of.
//
// TestManySeeds counts how often the nearest step is found, how many moves and
// readings it takes and how often the intervals hold the truth; TestBlack does
// the same for the black.
//
// # The black
//
// A common control of the black is set by luminance, offsets of the channels by
// each channel's share of the aim's white. Both stop at the highest step at
// which the display is at its own black: below it nothing gets darker but the
// darkest greys are lost.
//
// # Controls or curves
//
// The controls are preferred to correction curves for whatever they can do:
// what they do costs no levels. They need not be exact, since the curves take
// up the rest.
package controls
