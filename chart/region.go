package chart

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// Region is a part of the signal cube: it reports whether a signal lies inside.
// [Ball], [LightnessSlab] and [HueSector] make regions of colour; any function
// of a signal is one too. It must give equal answers for equal signals.
type Region func(colorimetry.RGB) bool

// Ball returns the region of colours no farther than radius ΔE*ab from centre on
// the display of [Nominal].
func Ball(centre colorimetry.Lab, radius float64) Region {
	display, c := newNominal(), point{centre.L, centre.A, centre.B}
	return func(s colorimetry.RGB) bool {
		p := display.lab(s)
		return gap(point{p.L, p.A, p.B}, c) <= radius*radius
	}
}

// LightnessSlab returns the region of colours whose lightness L* on the display
// of [Nominal] is from low to high, 0 to 100, both included.
func LightnessSlab(low, high float64) Region {
	display := newNominal()
	return func(s colorimetry.RGB) bool {
		l := display.lab(s).L
		return l >= low && l <= high
	}
}

// HueSector returns the region of colours whose CIELAB hue on the display of
// [Nominal] is met on the way from one angle up to the other, in degrees and
// both included, and whose chroma C*ab is at least minChroma. From 330 to 30 is
// the sector around 0; any angle in degrees is a hue. Greys have the hue that
// rounding gives them: a minChroma above 0 leaves them out.
func HueSector(from, to, minChroma float64) Region {
	display := newNominal()
	width := turn(to - from)
	if to-from >= 360 {
		width = 360
	}
	return func(s colorimetry.RGB) bool {
		c := display.lab(s).LCh()
		return c.C >= minChroma && turn(c.H-from) <= width
	}
}

// turn returns an angle in degrees, [0, 360).
func turn(degrees float64) float64 {
	d := math.Mod(degrees, 360)
	if d < 0 {
		d += 360
	}
	return d
}

// MaxDensity is the largest factor of [Densify].
const MaxDensity = 1000

// Densify returns set and more patches after it, so that the region holds factor
// times as many as before: to measure closely where a profile was found wanting.
// The new ones are placed as [Maximin] does, far from those of set, inside the
// region or not, and from each other, in o.Space; they are named d1, d2, … where
// set has no such name. A factor of 1 adds nothing.
//
// A region in which set has no patch is taken as holding one. There are fewer
// where the region, or a path of o.Bits, has no more different signals among the
// places tried; none in particular where set has no patch there and the region
// is so small (less than about a ten-thousandth of the cube) that no place tried
// falls into it. It panics if factor is not from 1 to MaxDensity, if it asks for
// more than 20,000 patches more, and as Maximin does.
func Densify(set Set, in Region, factor float64, o Options) Set {
	if !(factor >= 1 && factor <= MaxDensity) {
		panic(fmt.Sprintf("chart: Densify by %g; 1 to %d are possible", factor, MaxDensity))
	}
	out := slices.Clone(set)
	var inside []colorimetry.RGB
	for _, p := range set {
		if in(p.Signal) {
			inside = append(inside, p.Signal)
		}
	}
	more := math.Round((factor - 1) * math.Max(float64(len(inside)), 1))
	// Each new patch is held against each place tried, 16 and more a patch: more
	// would take minutes.
	const most = 20000
	if more > most {
		panic(fmt.Sprintf("chart: Densify by %g would add %g patches to the region; %d are possible", factor, more, most))
	}
	if more == 0 {
		return out
	}
	added := newFiller(set, placesIn(in, inside, int(more), o), o.Space).fill(int(more))
	return append(out, nameFree(set, added, "d")...)
}

// box is a part of the cube whose axes are the lightness of each channel, 0 to 1.
type box struct{ low, high [3]float64 }

// placesIn returns places inside a region for n patches: of the whole cube or,
// where too few of its places are in the region, of a box around what was found
// there, which known begins.
func placesIn(in Region, known []colorimetry.RGB, n int, o Options) []colorimetry.RGB {
	want := 4096 + 16*n
	cube := sobolCube(o.Seed)
	bounds := box{high: [3]float64{1, 1, 1}}
	found := slices.Clone(known)
	// Each round tries enough for the sequence to meet a region of the size that
	// Densify names; four close in on any region that is of one piece.
	for range 4 {
		var places []colorimetry.RGB
		for i := 0; i < 16*want && len(places) < want; i++ {
			if s := o.onPath(bounds.place(cube(i), i%3 == 0)); in(s) {
				places = append(places, s)
			}
		}
		found = append(found, places...)
		if len(places) >= want || len(found) == 0 {
			break
		}
		bounds = boxAround(found)
	}
	return found
}

// place returns the signal at u, in [0, 1), of the way through the box. With
// onFace it is moved to the nearest face of the cube that the box touches, since
// gamuts, and most regions of interest, are bounded by the faces.
func (b box) place(u [3]float64, onFace bool) colorimetry.RGB {
	face, at, nearest := -1, 0.0, 1.0
	for c := range u {
		u[c] = b.low[c] + u[c]*(b.high[c]-b.low[c])
		if b.low[c] == 0 && u[c] < nearest {
			face, at, nearest = c, 0, u[c]
		}
		if b.high[c] == 1 && 1-u[c] < nearest {
			face, at, nearest = c, 1, 1-u[c]
		}
	}
	if onFace && face >= 0 {
		u[face] = at
	}
	return colorimetry.RGB{R: lightnessSignal(100 * u[0]), G: lightnessSignal(100 * u[1]), B: lightnessSignal(100 * u[2])}
}

// boxAround returns the box that holds signals, with a margin of half its width,
// and of at least one unit of lightness, on every side inside the cube.
func boxAround(signals []colorimetry.RGB) box {
	b := box{low: [3]float64{1, 1, 1}}
	for _, s := range signals {
		s = s.Clamp()
		for c, v := range [3]float64{s.R, s.G, s.B} {
			l := colorimetry.Lightness(math.Pow(v, nominalGamma)) / 100
			b.low[c], b.high[c] = min(b.low[c], l), max(b.high[c], l)
		}
	}
	for c := range b.low {
		margin := max((b.high[c]-b.low[c])/2, 0.01)
		b.low[c], b.high[c] = max(b.low[c]-margin, 0), min(b.high[c]+margin, 1)
	}
	return b
}
