package chart

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// Thin returns n patches of set that keep their distance from each other on the
// display of [Nominal], in the coordinates of in; they keep their names and their
// order. White, black, the primaries and the secondaries stay, in this order of
// precedence, where set has them: they are the corners of the signal cube. Of
// patches that look alike there, repeats among them, the first one counts; where
// set has no more than n that differ, all of those are returned.
func Thin(set Set, n int, in Space) Set {
	if n < 1 {
		return nil
	}
	first := make(map[colorimetry.RGB]int, len(set)) // signal to its first patch
	var signals []colorimetry.RGB
	for i, p := range set {
		s := p.Signal.Clamp()
		if _, ok := first[s]; !ok {
			first[s] = i
			signals = append(signals, s)
		}
	}
	var chosen Set
	for _, c := range corners() {
		if _, ok := first[c.Signal]; ok && len(chosen) < n {
			chosen = append(chosen, c)
		}
	}
	chosen = append(chosen, newFiller(chosen, signals, in).fill(n-len(chosen))...)
	keep := make([]bool, len(set))
	for _, p := range chosen {
		keep[first[p.Signal]] = true
	}
	out := make(Set, 0, len(chosen))
	for i, p := range set {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// Distinct returns set without near-duplicates: patches whose colour on the
// display of [Nominal] is no farther than deltaE, in the coordinates of in, from
// that of one before them that was kept. With deltaE = 0 that drops repeats, and
// signals that [Nominal] clamps to the same; below 0 it drops nothing.
func Distinct(set Set, deltaE float64, in Space) Set {
	place := newPlacer(in)
	var out Set
	var kept []point
	for _, p := range set {
		at := place.at(p.Signal)
		if deltaE >= 0 && anyWithin(kept, at, deltaE) {
			continue
		}
		kept = append(kept, at)
		out = append(out, p)
	}
	return out
}

// anyWithin reports whether a point of list is no farther than d from p.
func anyWithin(list []point, p point, d float64) bool {
	for _, q := range list {
		if gap(p, q) <= d*d {
			return true
		}
	}
	return false
}

// nameFree returns a copy of added in which each patch is named by prefix and a
// number from 1, those that set has passed over.
func nameFree(set, added Set, prefix string) Set {
	taken := make(map[string]bool, len(set))
	for _, p := range set {
		taken[p.ID] = true
	}
	out := make(Set, len(added))
	number := 0
	for i, p := range added {
		for number++; taken[fmt.Sprint(prefix, number)]; number++ {
		}
		out[i] = Patch{ID: fmt.Sprint(prefix, number), Signal: p.Signal}
	}
	return out
}
