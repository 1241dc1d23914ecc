// Package metamerism says how differently people see what a standard observer
// calls the same colour.
//
// Two lights that match for one eye differ for the next where their spectra
// differ: lenses yellow with age, the pigment before the fovea varies, and so
// do the cones.
//
// # Who looks
//
// A [Physiology] is one pair of eyes: age, field of view, and how its lens,
// macula and cones depart from the average. [Physiology.Cones] are its cone
// fundamentals, [Physiology.Observer] is it as a colorimetric observer.
// [Categories] are ten typical pairs of eyes, [Population] draws as many as
// you like, [Observers] makes observers of them. [StandardDeviate] is the CIE's
// older answer.
//
// # What they see
//
//   - [Compare] takes two lights and says how far apart a set of observers see
//     them.
//   - [CompareDisplays] takes two displays, sets the second to the first's
//     colours for a reference observer, and says how far apart the others see
//     the two screens.
//   - [Match] is the setting of a display's primaries that a given observer
//     would choose to match a light; [NewPair] serves many colours of two
//     displays, without allocation.
//
// In every [Spread], Shift is what the observers agree on, and Scatter is what
// no setting can mend.
//
// These are models of trichromats with normal colour vision, not of anybody in
// particular, and no test of colour vision.
package metamerism
