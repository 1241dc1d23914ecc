package chart

import (
	"math"
	"math/rand/v2"

	"example.org/primaries/colorimetry"
)

// Maximin returns n patches that keep their distance from each other: those of
// the ramps of o.Ramps levels and the eight corners of the signal cube first,
// the others placed one after another where the distance to the nearest patch
// is largest, then each moved once more to where it is largest now. Distance
// is that of o.Space, CIELAB unless it says otherwise, on the display of
// [Nominal].
//
// Where n is too small for the ramps, they are left out; where it is below 8,
// the first n corners remain. There are fewer than n patches where a path of
// o.Bits has no more different signals among the places tried. It panics if
// o.Bits is no depth of the path ([CodeRange]).
func Maximin(n int, o Options) Set {
	fixed := o.start(n)
	if n <= len(fixed) {
		return fixed[:max(n, 0)]
	}
	return spread(fixed, n-len(fixed), o)
}

// start returns what sets of n patches that keep their distance begin with.
func (o Options) start(n int) Set {
	if o.Ramps > 1 {
		if r := o.quantise(Union(Ramps(o.Ramps), corners())); len(r) <= n {
			return r
		}
	}
	return corners()
}

// Default returns the characterisation set of about n patches for a display
// that nothing is known of yet, named c1, c2, …. Of 175 patches 33 are greys,
// 60 reds, greens and blues, 24 cyans, magentas and yellows, all spaced by
// lightness and closer together in the dark, and 58 fill the space between
// them as [Maximin] does; other numbers are split in the same shares. The
// shares serve a display whose channels are nearly independent, where the tone
// of each channel is what most needs readings.
//
// Below 24 patches it is Maximin(n, o). There are fewer than n patches only
// where the path's depth has no more different signals to offer.
func Default(n int, o Options) Set {
	if n < 24 {
		return Number(Maximin(n, o), "c")
	}
	share := func(f float64) int { return int(math.Round(f * float64(n))) }
	one := share(20.0/175) + 1  // with black, which the ramps share
	mixed := share(8.0/175) + 1 // likewise
	ramps := Union(
		Neutral(max(share(33.0/175), 2)),
		Ramp(colorimetry.RGB{R: 1}, one), Ramp(colorimetry.RGB{G: 1}, one), Ramp(colorimetry.RGB{B: 1}, one),
		Secondaries(mixed),
	)
	ramps = o.quantise(ramps)
	return Number(spread(ramps, n-len(ramps), o), "c")
}

// Apart returns n patches, named p1, p2, …, for proving what was fitted to
// from: none is in from, and each keeps its distance from all of from and from
// the others. A twelfth are greys, one in each of as many equal bands of
// lightness and there as far as can be from the patches around it; three
// sixteenths are reds, greens and blues chosen likewise; the rest are placed
// in the whole cube as [Maximin] does. There are fewer than n only where a
// path of o.Bits has no more different signals among the places tried.
func Apart(from Set, n int, o Options) Set {
	if n < 1 {
		return nil
	}
	f := newFiller(from, candidates(n, o), o.Space)
	var chosen Set
	take := func(axis colorimetry.RGB, count int) {
		for k := range count {
			if p, ok := f.farthestOnBand(axis, k, count, o); ok {
				chosen = append(chosen, p)
				f.add(p.Signal)
			}
		}
	}
	take(colorimetry.Gray(1), n/12)
	take(colorimetry.RGB{R: 1}, n/16)
	take(colorimetry.RGB{G: 1}, n/16)
	take(colorimetry.RGB{B: 1}, n/16)
	chosen = append(chosen, f.fill(n-len(chosen))...)
	return Number(chosen, "p")
}

// spread returns fixed and n patches more, far from it and from each other.
func spread(fixed Set, n int, o Options) Set {
	out := append(Set(nil), fixed...)
	return append(out, newFiller(fixed, candidates(n, o), o.Space).fill(n)...)
}

// corners returns the eight corners of the signal cube, the most useful first.
func corners() Set {
	return Set{
		{Signal: colorimetry.Gray(1)}, {Signal: colorimetry.Gray(0)},
		{Signal: colorimetry.RGB{R: 1}}, {Signal: colorimetry.RGB{G: 1}}, {Signal: colorimetry.RGB{B: 1}},
		{Signal: colorimetry.RGB{G: 1, B: 1}}, {Signal: colorimetry.RGB{R: 1, B: 1}}, {Signal: colorimetry.RGB{R: 1, G: 1}},
	}
}

// candidates returns the places that n patches are chosen from: a Halton
// sequence of bases 2, 3 and 5, shifted by the seed, with every third point
// moved to the nearest face of the cube, since a display's gamut is bounded by
// the faces. Values are equally spaced in lightness.
func candidates(n int, o Options) []colorimetry.RGB {
	// 16,000 places lie about 4 ΔE*ab apart: well inside the 10 to 20 that
	// separate the patches of a usual set; large sets get more.
	count := 16000 + 8*max(n, 0)
	rng := rand.New(rand.NewPCG(o.Seed, 0))
	shift := [3]float64{rng.Float64(), rng.Float64(), rng.Float64()}
	out := make([]colorimetry.RGB, 0, count)
	for i := range count {
		u := [3]float64{halton(i, 2), halton(i, 3), halton(i, 5)}
		nearest := 0
		for c := range u {
			u[c] = math.Mod(u[c]+shift[c], 1)
			if math.Abs(u[c]-0.5) > math.Abs(u[nearest]-0.5) {
				nearest = c
			}
		}
		if i%3 == 0 {
			u[nearest] = math.Round(u[nearest])
		}
		s := colorimetry.RGB{R: lightnessSignal(100 * u[0]), G: lightnessSignal(100 * u[1]), B: lightnessSignal(100 * u[2])}
		out = append(out, o.onPath(s))
	}
	return out
}

// halton returns element i of the van der Corput sequence of a base, in [0, 1).
func halton(i, base int) float64 {
	v, f := 0.0, 1.0
	for i++; i > 0; i /= base {
		f /= float64(base)
		v += f * float64(i%base)
	}
	return v
}

// filler places patches where the distance to the nearest is largest. It knows
// for each candidate which patch is nearest.
type filler struct {
	placer
	signals []colorimetry.RGB // candidates
	places  []point           // theirs
	nearest []float64         // squared distance to the nearest patch
	owner   []int             // which patch that is
	patches []point
}

func newFiller(fixed Set, from []colorimetry.RGB, in Space) *filler {
	f := &filler{
		placer:  newPlacer(in),
		signals: from,
		places:  make([]point, len(from)),
		nearest: make([]float64, len(from)),
		owner:   make([]int, len(from)),
	}
	for i, s := range from {
		f.places[i] = f.at(s)
		f.nearest[i] = math.Inf(1)
	}
	for _, p := range fixed {
		f.add(p.Signal)
	}
	return f
}

// add puts a patch at s.
func (f *filler) add(s colorimetry.RGB) {
	f.patches = append(f.patches, f.at(s))
	f.claim(len(f.patches) - 1)
}

// claim gives patch k the candidates that it is now nearest to.
func (f *filler) claim(k int) {
	p := f.patches[k]
	for i, c := range f.places {
		if d := gap(c, p); d < f.nearest[i] {
			f.nearest[i], f.owner[i] = d, k
		}
	}
}

// release gives the candidates of patch k to the other patches.
func (f *filler) release(k int) {
	for i, c := range f.places {
		if f.owner[i] != k {
			continue
		}
		f.nearest[i] = math.Inf(1)
		for j, p := range f.patches {
			if j == k {
				continue
			}
			if d := gap(c, p); d < f.nearest[i] {
				f.nearest[i], f.owner[i] = d, j
			}
		}
	}
}

// farthest returns the candidate farthest from all patches; ok is false where
// every candidate is a patch already.
func (f *filler) farthest() (i int, ok bool) {
	best := 0.0
	for j, d := range f.nearest {
		if d > best {
			i, best = j, d
		}
	}
	return i, best > 0
}

// fill places up to n patches and moves each once more.
func (f *filler) fill(n int) Set {
	var out Set
	first := len(f.patches)
	for range n {
		i, ok := f.farthest()
		if !ok {
			break
		}
		out = append(out, Patch{Signal: f.signals[i]})
		f.add(f.signals[i])
	}
	for k := range out {
		f.release(first + k)
		i, ok := f.farthest()
		if !ok {
			continue
		}
		out[k].Signal = f.signals[i]
		f.patches[first+k] = f.places[i]
		f.claim(first + k)
	}
	return out
}

// farthestOnBand returns, of the signals on the line from black to axis whose
// lightness relative to the line's end falls in band k of count, the one
// farthest from all patches; ok is false where each is a patch already.
func (f *filler) farthestOnBand(axis colorimetry.RGB, k, count int, o Options) (Patch, bool) {
	const steps = 64 // places tried a band: finer than a 10-bit path where there are ten bands or more
	var found colorimetry.RGB
	best := 0.0
	for i := range steps {
		v := lightnessSignal(100 * (float64(k) + (float64(i)+0.5)/steps) / float64(count))
		s := o.onPath(colorimetry.RGB{R: v * axis.R, G: v * axis.G, B: v * axis.B})
		at, d := f.at(s), math.Inf(1)
		for _, p := range f.patches {
			d = math.Min(d, gap(at, p))
		}
		if d > best {
			found, best = s, d
		}
	}
	return Patch{Signal: found}, best > 0
}
