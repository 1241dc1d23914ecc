package chart

import "example.org/primaries/colorimetry"

// Farthest returns n patches that keep their distance from each other as those
// of [Maximin] do, beginning with the same ramps and corners, but chosen among
// places that are even in the volume of the nominal display's gamut in o.Space,
// points of the Sobol' sequence: farthest-point traversal of the gamut.
//
// Maximin also tries places on the surface, where patches are farthest from
// each other, and puts most of a small set there. That serves a look-up table,
// which cannot reach beyond its patches; a smooth model learns more from the
// inside, where most colours are. examples/sets compares them.
//
// There are fewer than n where Maximin would have fewer. The panics are those of
// Maximin.
//
// Source: T. F. Gonzalez, Theor. Comput. Sci. 38, 293-306 (1985), of the
// traversal.
func Farthest(n int, o Options) Set {
	fixed := o.start(n)
	if n <= len(fixed) {
		return fixed[:max(n, 0)]
	}
	count := 8192 + 8*n
	even, cube := newEvenMap(o.Space), sobolCube(o.Seed)
	places := make([]colorimetry.RGB, count)
	for i := range places {
		places[i] = o.onPath(even.signal(cube(i + 1))) // point 0 is black
	}
	return append(fixed, newFiller(fixed, places, o.Space).fill(n-len(fixed))...)
}
