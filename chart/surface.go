package chart

import (
	"math"
	"math/rand/v2"

	"example.org/primaries/colorimetry"
)

// Surface returns n patches on the surface of the signal cube, at least one
// channel of each being 0 or 1, where a display's gamut ends: the eight corners
// first, then patches on the twelve edges, then on the six faces. Edges and
// faces are filled as [Maximin] fills the cube, evenly in o.Space. The edges get
// as many as they have on a cube whose faces carry square grids: of n = 6m² + 2
// patches 12·(m − 1), which is a quarter of 386 and half of 26.
//
// Below 8 the first n corners remain; there are fewer than n patches only where
// a path of o.Bits has no more different signals on the surface among the places
// tried. o.Seed varies edges and faces, o.Ramps has no effect, and the panics
// are those of Maximin.
func Surface(n int, o Options) Set {
	out := corners()
	if n <= len(out) {
		return out[:max(n, 0)]
	}
	steps := math.Sqrt(float64(n-2) / 6)
	onEdges := min(int(math.Round(12*(steps-1))), n-len(out))
	out = append(out, newFiller(out, edgePlaces(n, o), o.Space).fill(onEdges)...)
	return append(out, newFiller(out, facePlaces(n, o), o.Space).fill(n-len(out))...)
}

// edgePlaces returns places on the edges of the signal cube, equally spaced in
// lightness and shifted by the seed.
func edgePlaces(n int, o Options) []colorimetry.RGB {
	count := 128 + n // an edge: ten and more for each patch that it gets
	shift := rand.New(rand.NewPCG(o.Seed, 3)).Float64()
	out := make([]colorimetry.RGB, 0, 12*count)
	for run := range 3 {
		for _, ends := range [4][2]float64{{0, 0}, {0, 1}, {1, 0}, {1, 1}} {
			for i := range count {
				v := lightnessSignal(100 * (float64(i) + shift) / float64(count))
				out = append(out, o.onPath(onCube(run, v, ends[0], ends[1])))
			}
		}
	}
	return out
}

// facePlaces returns places on the faces of the signal cube, equally spaced in
// lightness: on each the Sobol' sequence of the seed.
func facePlaces(n int, o Options) []colorimetry.RGB {
	count := 2048 + 2*n // a face, so that there are as many as Maximin tries
	cube := sobolCube(o.Seed)
	out := make([]colorimetry.RGB, 0, 6*count)
	for i := range count {
		// Half a step keeps seed 0, which begins with 0, off the edges.
		half := 0.5 / float64(count)
		u := cube(i)
		v, w := lightnessSignal(100*(u[0]*(1-half)+half)), lightnessSignal(100*(u[1]*(1-half)+half))
		for across := range 3 {
			for _, end := range [2]float64{0, 1} {
				out = append(out, o.onPath(onCube(across, end, v, w)))
			}
		}
	}
	return out
}

// onCube returns the signal with a on the channel of the given number and b, c
// on the two that follow it in the circle red, green, blue.
func onCube(channel int, a, b, c float64) colorimetry.RGB {
	switch channel {
	case 0:
		return colorimetry.RGB{R: a, G: b, B: c}
	case 1:
		return colorimetry.RGB{R: c, G: a, B: b}
	}
	return colorimetry.RGB{R: b, G: c, B: a}
}
