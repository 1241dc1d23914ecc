// Package fit makes models of a display out of readings: functions from a
// device signal to the colour that the display shows, with their derivatives
// and their uncertainty, and the way back from a colour to a signal.
//
// [Additive] and [GainOffsetGamma] fit one kind of model each; [Best] fits all
// candidates, judges them on readings that they did not see, and says in its
// [Evidence] what each reached and why one was chosen. [Invert] finds the
// signal of a colour.
//
// # The additive model
//
// A display whose channels do not disturb each other shows
//
//	XYZ = K + Σ P_c · t_c(d_c)
//
// where K is its black, P_c the light that channel c adds at full signal and
// t_c a curve from 0 to 1. [Additive] fits all of it at once to all readings:
// each reading weighs what its covariance says, the curves are smooth as far
// as the readings themselves ask for it (restricted likelihood, zone by zone,
// so that a bend in the dark does not roughen the bright part), they never
// fall, the black stays within what light can be, and a reading far from its
// neighbours loses its weight.
//
// # What channels do to each other
//
// Where the sum does not hold, [Residual] adds to the additive model a smooth
// function of all three channels, learnt from what the additive model leaves
// over. It is no [Separable]: [Invert] takes it, a matrix profile does not, and so
// [Best] does not offer it.
//
// All readings are absolute, in cd/m², taken through the curves in force; a
// model says nothing about another state of the display.
package fit
