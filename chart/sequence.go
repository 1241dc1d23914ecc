package chart

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"sort"

	"example.org/primaries/colorimetry"
)

// Halton returns n patches that follow the Halton sequence of bases 2, 3 and 5:
// cheap, even at any n, and a longer set begins with the shorter one. See
// [Sobol] for what they are even in, and for o.
//
// Seed 0 is the sequence as published, whose first patch is black; other seeds
// give every digit of every base a permutation of its own, which keeps its
// evenness. Bases this small need no leaps or permutations against
// correlation between channels.
//
// Source: J. H. Halton, Numer. Math. 2, 84-90 (1960), doi:10.1007/BF01386213;
// permutations by lot: A. B. Owen, arXiv:1706.02808 (2017).
func Halton(n int, o Options) Set { return sequence(n, o, haltonCube(o.Seed)) }

// Sobol returns n patches that follow the Sobol' sequence in three dimensions:
// more even than [Halton], most so where n is a power of two, and a longer set
// begins with the shorter one.
//
// The patches are even in the volume of the nominal display's gamut in o.Space:
// every part of it gets the share of patches that it has of the volume. Since
// there is little volume in the dark, few are dark; and none lies on the
// surface but by chance: [Union] with [Ramps] or [Surface] serves both. [Maximin]
// keeps patches farther apart.
//
// Seed 0 is the sequence as published, whose first patch is black; other seeds
// scramble it in nested fashion, which keeps its evenness. Where o.Bits names a
// path, patches that fall on the codes of an earlier one are passed over; there
// are fewer than n only where the path has hardly more signals. o.Ramps has no
// effect. The panics are those of [Maximin].
//
// Source: I. M. Sobol', USSR Comput. Math. Math. Phys. 7(4) 86-112 (1967), with
// the direction numbers of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30(5)
// 2635-2654 (2008), doi:10.1137/070709359; scrambling: A. B. Owen, in Monte
// Carlo and Quasi-Monte Carlo Methods in Scientific Computing, 299-317 (1995).
func Sobol(n int, o Options) Set { return sequence(n, o, sobolCube(o.Seed)) }

// sequence returns n different patches from points of the unit cube.
func sequence(n int, o Options, cube func(i int) [3]float64) Set {
	if n < 1 {
		return nil
	}
	even := newEvenMap(o.Space)
	set := make(Set, 0, n)
	seen := make(map[colorimetry.RGB]bool, n)
	// The sequence repeats itself on a shallow path only. A path is as good as
	// used up where thousands of points, and dozens for each patch, bring no more.
	for i := 0; len(set) < n && i < 64*n+4096; i++ {
		s := o.onPath(even.signal(cube(i)))
		if !seen[s] {
			seen[s] = true
			set = append(set, Patch{Signal: s})
		}
	}
	return set
}

// haltonCube returns the point i of a Halton sequence of bases 2, 3 and 5 in
// the unit cube, scrambled by a seed other than 0.
func haltonCube(seed uint64) func(i int) [3]float64 {
	bases := [3]int{2, 3, 5}
	if seed == 0 {
		return func(i int) [3]float64 {
			return [3]float64{halton(i-1, bases[0]), halton(i-1, bases[1]), halton(i-1, bases[2])}
		}
	}
	rng := rand.New(rand.NewPCG(seed, 2))
	var digits [3][][]int // by base and place: the permutation of the digit
	for c, base := range bases {
		// As many places as stay clear of rounding up to 1.
		for span := 1; span < 1<<28; span *= base {
			digits[c] = append(digits[c], rng.Perm(base))
		}
	}
	return func(i int) (u [3]float64) {
		for c, base := range bases {
			f, rest := 1.0, i
			for _, perm := range digits[c] {
				f /= float64(base)
				u[c] += f * float64(perm[rest%base])
				rest /= base
			}
		}
		return u
	}
}

// sobolBits is how many bits the points of the Sobol' sequence have, as many as
// keep it from repeating over more patches than anyone measures.
const sobolBits = 32

// sobolCube returns the point i of the Sobol' sequence, in the order of Gray's
// code as it is commonly listed, in the unit cube; scrambled by a seed other
// than 0.
func sobolCube(seed uint64) func(i int) [3]float64 {
	// Joe and Kuo's table: degree and inner coefficients of the primitive
	// polynomial, and the first direction numbers. Dimension 1 is the van der
	// Corput sequence, all of whose numbers are 1.
	direction := [3][sobolBits]uint32{
		sobolDirections(0, 0, nil),
		sobolDirections(1, 0, []uint32{1}),
		sobolDirections(2, 1, []uint32{1, 3}),
	}
	var keys [3]uint64
	for c := range keys {
		keys[c] = mix(mix(seed) + uint64(c))
	}
	return func(i int) (u [3]float64) {
		gray := uint32(i) ^ uint32(i)>>1
		for c := range u {
			var x uint32
			for rest := gray; rest != 0; rest &= rest - 1 {
				x ^= direction[c][bits.TrailingZeros32(rest)]
			}
			if seed != 0 {
				x = scramble(x, keys[c])
			}
			u[c] = float64(x) / (1 << sobolBits)
		}
		return u
	}
}

// sobolDirections returns the direction numbers of one dimension, scaled to
// sobolBits bits, by the recurrence of its polynomial of the given degree.
func sobolDirections(degree int, inner uint32, first []uint32) (v [sobolBits]uint32) {
	for k := range v {
		switch {
		case degree == 0:
			v[k] = 1 << (sobolBits - 1 - k)
		case k < degree:
			v[k] = first[k] << (sobolBits - 1 - k)
		default:
			v[k] = v[k-degree] ^ v[k-degree]>>degree
			for j := 1; j < degree; j++ {
				if inner>>(degree-1-j)&1 != 0 {
					v[k] ^= v[k-j]
				}
			}
		}
	}
	return v
}

// scramble turns over each bit of x or not, by a lot that depends on the bits
// above it: Owen's nested scrambling in base 2.
func scramble(x uint32, key uint64) uint32 {
	out := x
	for k := range sobolBits {
		above := uint64(x) >> (sobolBits - k) // the k highest bits
		if mix(key^(above|1<<k))&1 != 0 {     // the mark tells apart lengths
			out ^= 1 << (sobolBits - 1 - k)
		}
	}
	return out
}

// mix returns a number in which every bit of x has its say: the output function
// of SplitMix64.
//
// Source: Steele, Lea, Flood, Proc. OOPSLA 2014, 453-472,
// doi:10.1145/2660193.2660195; constants of the public-domain reference code.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// evenCells is how many cells an edge of the signal cube is cut into: the
// density of patches is right on average in each.
const evenCells = 32

// evenMap takes the unit cube to the signal cube so that equal volumes of the
// first become equal volumes of a Space: red by the running total of the volume
// over all greens and blues, green by that at the red, blue by that at both
// (Rosenblatt, Ann. Math. Stat. 23, 470-472 (1952)). Channels are cut into equal
// steps of lightness.
type evenMap struct {
	red   [evenCells + 1]float64
	green [evenCells][evenCells + 1]float64
	blue  [evenCells][evenCells][evenCells + 1]float64
}

func newEvenMap(in Space) *evenMap {
	const side = evenCells + 1
	place := newPlacer(in)
	var level [side]float64
	for i := range level {
		level[i] = lightnessSignal(100 * float64(i) / evenCells)
	}
	nodes := make([]point, 0, side*side*side)
	for _, r := range level {
		for _, g := range level {
			for _, b := range level {
				nodes = append(nodes, place.at(colorimetry.RGB{R: r, G: g, B: b}))
			}
		}
	}
	node := func(r, g, b int) point { return nodes[(r*side+g)*side+b] }
	m := new(evenMap)
	for r := range evenCells {
		for g := range evenCells {
			for b := range evenCells {
				// The mean of what the edges from two opposite corners span.
				v := volume(node(r, g, b), node(r+1, g, b), node(r, g+1, b), node(r, g, b+1)) +
					volume(node(r+1, g+1, b+1), node(r, g+1, b+1), node(r+1, g, b+1), node(r+1, g+1, b))
				m.blue[r][g][b+1] = m.blue[r][g][b] + v
			}
			m.green[r][g+1] = m.green[r][g] + m.blue[r][g][evenCells]
		}
		m.red[r+1] = m.red[r] + m.green[r][evenCells]
	}
	return m
}

// signal returns the signal that u, in [0, 1), becomes.
func (m *evenMap) signal(u [3]float64) colorimetry.RGB {
	i, r := share(&m.red, u[0])
	j, g := share(&m.green[i], u[1])
	_, b := share(&m.blue[i][j], u[2])
	return colorimetry.RGB{R: lightnessSignal(100 * r), G: lightnessSignal(100 * g), B: lightnessSignal(100 * b)}
}

// share returns where, 0 to 1 of the way, the running total reaches the share u
// of its end, and in which cell.
func share(total *[evenCells + 1]float64, u float64) (cell int, at float64) {
	want := u * total[evenCells]
	cell = sort.Search(evenCells-1, func(i int) bool { return total[i+1] > want })
	within := (want - total[cell]) / (total[cell+1] - total[cell])
	return cell, (float64(cell) + math.Min(within, 1)) / evenCells
}
