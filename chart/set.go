package chart

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Set is a list of patches.
type Set = []Patch

// Options steer the generators. The zero value is the default.
type Options struct {
	// Bits is the depth of the path in bits a channel, 1 to 16: signals fall
	// on its codes. 0 leaves them continuous.
	Bits int
	// Narrow says that the path of Bits has codes of the narrow (video) range,
	// so that fewer signals are possible: [CodeRange]. Without Bits it has no
	// effect.
	Narrow bool
	// Space is what patches are even in. The zero value is CIELAB.
	Space Space
	// Seed varies the space-filling patches. Equal seeds give equal sets.
	Seed uint64
	// Ramps is the number of levels, black included, of the neutral, red,
	// green and blue ramps that Maximin starts from; below 2 it starts from
	// the eight corners of the signal cube alone.
	Ramps int
}

// darkDensity bends the spacing of ramps: level k of n has the lightness
// 100·(k/(n−1))^darkDensity. 1 would be equal steps of lightness; more puts
// levels closer together in the dark, where a display's tone departs most from
// any formula and where one code is the largest share of the light.
const darkDensity = 1.4

// rampLevel returns the signal of a ramp at position t, 0 to 1 from black to
// the ramp's end, on a nominal display of gamma 2.2.
func rampLevel(t float64) float64 {
	return lightnessSignal(100 * math.Pow(t, darkDensity))
}

// lightnessSignal returns the signal at which a nominal display of gamma 2.2
// shows the CIE lightness l of its white. 0 and 100 give exactly 0 and 1.
func lightnessSignal(l float64) float64 {
	switch {
	case l <= 0:
		return 0
	case l >= 100:
		return 1
	}
	return math.Pow(colorimetry.LightnessInverse(l), 1/nominalGamma)
}

// Ramp returns n patches from black to the signal to, both included, along the
// straight line between them. They are spaced by the lightness, relative to
// the ramp's end, that a display of gamma 2.2 would show, and closer together
// in the dark. One patch is the end alone; n below 1 gives none.
func Ramp(to colorimetry.RGB, n int) Set {
	if n < 1 {
		return nil
	}
	set := make(Set, n)
	for k := range set {
		t := 1.0
		if n > 1 {
			t = float64(k) / float64(n-1)
		}
		v := rampLevel(t)
		set[k].Signal = colorimetry.RGB{R: v * to.R, G: v * to.G, B: v * to.B}
	}
	return set
}

// Neutral returns the ramp of n greys from black to white, R = G = B.
func Neutral(n int) Set { return Ramp(colorimetry.Gray(1), n) }

// Ramps returns the ramps of white, red, green and blue with n levels each,
// black, which they share, once: 4n − 3 patches for n of 2 or more.
func Ramps(n int) Set {
	return Union(Neutral(n), Ramp(colorimetry.RGB{R: 1}, n), Ramp(colorimetry.RGB{G: 1}, n), Ramp(colorimetry.RGB{B: 1}, n))
}

// Secondaries returns the ramps of cyan, magenta and yellow with n levels
// each, black, which they share, once: 3n − 2 patches for n of 2 or more.
func Secondaries(n int) Set {
	return Union(Ramp(colorimetry.RGB{G: 1, B: 1}, n), Ramp(colorimetry.RGB{R: 1, B: 1}, n), Ramp(colorimetry.RGB{R: 1, G: 1}, n))
}

// Lattice returns the n³ signals of a lattice with n equally spaced values on
// each channel, 0 and 1 included, blue running fastest. n = 1 gives white
// alone, n below 1 nothing.
func Lattice(n int) Set {
	if n < 1 {
		return nil
	}
	if n == 1 {
		return Set{{Signal: colorimetry.Gray(1)}}
	}
	level := func(i int) float64 { return float64(i) / float64(n-1) }
	set := make(Set, 0, n*n*n)
	for r := range n {
		for g := range n {
			for b := range n {
				set = append(set, Patch{Signal: colorimetry.RGB{R: level(r), G: level(g), B: level(b)}})
			}
		}
	}
	return set
}

// Union returns the patches of all sets in order, a signal that came before
// left out.
func Union(sets ...Set) Set {
	var all Set
	seen := make(map[colorimetry.RGB]bool)
	for _, set := range sets {
		for _, p := range set {
			if !seen[p.Signal] {
				seen[p.Signal] = true
				all = append(all, p)
			}
		}
	}
	return all
}

// Quantise returns a copy of set with every signal on the nearest code of a
// path of the given bits a channel, 1 to 16. It keeps repeats; follow it by
// Union to drop patches that have become equal. It panics if bits is outside
// its range.
func Quantise(set Set, bits int) Set {
	if bits < 1 || bits > 16 {
		panic(fmt.Sprintf("chart: Quantise to %d bits; 1 to 16 are possible", bits))
	}
	out := make(Set, len(set))
	for i, p := range set {
		out[i] = Patch{ID: p.ID, Signal: p.Signal.Quantise(bits)}
	}
	return out
}

// quantise is Quantise without repeats, and nothing for 0 bits.
func (o Options) quantise(set Set) Set {
	if o.Bits == 0 {
		return set
	}
	return Union(o.path().Quantise(set))
}

// Number returns a copy of set in which each patch is named by prefix and its
// position from 1, padded with zeros to equal length.
func Number(set Set, prefix string) Set {
	width := len(fmt.Sprint(len(set)))
	out := make(Set, len(set))
	for i, p := range set {
		out[i] = Patch{ID: fmt.Sprintf("%s%0*d", prefix, width, i+1), Signal: p.Signal}
	}
	return out
}
