// Package fit makes models of a display out of readings: functions from a
// device signal to the colour that the display shows, with their derivatives
// and their uncertainty, and the way back from a colour to a signal.
//
// [Best] fits every kind of model, judges each on readings that it did not see,
// and says in its [Evidence] what each reached and why one was chosen; [Of] fits
// one kind by its name ([Kinds]). [Invert] finds the signal of a colour.
// [Adaptive] says which patches to read next, and [Since] makes use of an earlier
// run.
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
// neighbours loses its weight. [GainOffsetGamma] has powers for curves. Both are
// [Separable]: a matrix profile can hold them.
//
// # What channels do to each other
//
// Where the sum does not hold, a [ResidualModel] adds functions that are learnt
// from what the additive model leaves over:
//
//	XYZ = K + Σ P_c·t_c + Σ f_c(u_c)                     drifting primaries
//	                    + Σ f_cd(min(u_c, u_d)) + f(min) masking, white sub-pixel
//	                    + Σ f_cd(u_c, u_d)               pairwise interaction
//	                    + f(u_r, u_g, u_b)               all three
//
// of the levels u of the channels. They are random functions, most likely smooth
// and most likely nothing, which the readings make definite: Gaussian processes.
// How large each kind of them is, how smooth, and what none explains, the readings
// say as well. The kinds of model differ in which of them they have; the last,
// that of [Residual], has all. The kind with cells has those of one, two and three
// channels with straight lines between levels a third apart, for displays that go
// in steps. None is Separable: it takes a table profile to hold one.
//
// # Wild readings
//
// A reading that all others contradict loses its weight. Among readings of one
// channel alone it would bend the curve that nothing else tells of, and so a model
// without those that stand out from their ramp is held against one with them. A
// wild reading that is the only one at the end of a ramp is found if it is off by
// more than a tenth or so; reading white, black and the primaries twice finds any.
//
// # How sure a model is
//
// Covariance says how well the readings determine a colour, by their own
// covariances, enlarged where they scatter by more; the noise of a new reading
// comes on top. The systematic error of the readings, that of the instrument
// correction, is the same in all of them: it makes none weigh less, is not in
// Covariance, and belongs to what is said of the colour in the end (package
// verify). [Joint] models say how their errors at two signals belong
// together, which is what planning the next patches takes.
//
// All readings are absolute, in cd/m², taken through the curves in force; a
// model says nothing about another state of the display.
package fit
