package chart

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"

	"example.org/primaries/colorimetry"
)

// defaultAnchorEvery is how many patches lie between two whites. At about 5 s
// a patch that is a look at the drift every two minutes, often enough to
// follow a display that warms up over ten.
const defaultAnchorEvery = 20

// OrderOptions steer [Order]. The zero value is the default.
type OrderOptions struct {
	// Seed varies the order. Equal seeds give equal orders.
	Seed uint64
	// AnchorEvery is how many patches lie between two repeats of white; 0
	// means 20, below 0 adds none.
	AnchorEvery int
	// Anchors are further patches that are repeated through the run: what shows a
	// drift of single channels, or of the dark. All of them come after the first
	// and the last white, since the ends of a drift are known worst, and one, in
	// turn, after each other white. They are named like white, by their ID or
	// "anchor", and a number. nil adds none.
	Anchors Set
}

// Order returns the patches of set in the order in which they are best
// measured, with repeats of white at the start, the end and about every
// AnchorEvery patches between, named white1, white2, … (with a suffix where
// set has such a name).
//
// The run is cut into rounds. Each gets patches of all lightnesses, so that no
// level is measured early or late on the whole and the display's average load
// stays even; a round goes down from bright to dark and up again, so that a
// steady drift inside it cancels too, jumps are short and no dark patch
// follows a bright one at once. What remains of a drift is spread over all
// colours, and the whites show it.
//
// Lightness is that of [Nominal]. Order keeps repeats in set.
func Order(set Set, o OrderOptions) Set {
	every := o.AnchorEvery
	if every <= 0 {
		every = defaultAnchorEvery
	}
	rng := rand.New(rand.NewPCG(o.Seed, 1))
	anchors := newAnchors(set, o.Anchors)
	var out Set
	for i, round := range rounds(set, every, rng) {
		if o.AnchorEvery >= 0 {
			out = append(out, anchors.next(i == 0)...)
		}
		out = append(out, downAndUp(round, rng)...)
	}
	if o.AnchorEvery >= 0 {
		out = append(out, anchors.next(true)...)
	}
	return out
}

// rounds deals set into the fewest rounds of at most every patches, brightest
// first in each: patches of neighbouring lightness go to different rounds, by
// lot.
func rounds(set Set, every int, rng *rand.Rand) []Set {
	count := (len(set) + every - 1) / every
	out := make([]Set, count)
	var lot []int
	for i, p := range brightestFirst(set, rng) {
		if i%count == 0 {
			lot = rng.Perm(count)
		}
		out[lot[i%count]] = append(out[lot[i%count]], p)
	}
	return out
}

// brightestFirst returns set sorted by falling lightness, equals by lot.
func brightestFirst(set Set, rng *rand.Rand) Set {
	type weighed struct {
		Patch
		lightness float64
	}
	display := newNominal()
	list := make([]weighed, len(set))
	for i, p := range set {
		list[i] = weighed{p, display.lab(p.Signal).L}
	}
	rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	slices.SortStableFunc(list, func(a, b weighed) int { return cmp.Compare(b.lightness, a.lightness) })
	out := make(Set, len(list))
	for i, w := range list {
		out[i] = w.Patch
	}
	return out
}

// downAndUp orders patches that are given brightest first: of each two that
// follow each other one goes on the way down, the other on the way up, by lot.
func downAndUp(round Set, rng *rand.Rand) Set {
	var down, up Set
	for pair := range slices.Chunk(round, 2) {
		first := rng.IntN(2)
		if len(pair) == 1 {
			down = append(down, pair[0])
			break
		}
		down = append(down, pair[first])
		up = append(up, pair[1-first])
	}
	slices.Reverse(up)
	return append(down, up...)
}

// anchors names the repeats of white and of the other anchors.
type anchors struct {
	taken  map[string]bool
	others Set
	count  map[string]int // by name
	turn   int
}

func newAnchors(set, others Set) *anchors {
	a := &anchors{taken: make(map[string]bool), others: others, count: make(map[string]int)}
	for _, p := range set {
		a.taken[p.ID] = true
	}
	return a
}

// next returns white and, of the other anchors, all or the one whose turn it
// is.
func (a *anchors) next(all bool) Set {
	out := Set{a.name("white", colorimetry.Gray(1))}
	n := min(1, len(a.others))
	if all {
		n = len(a.others)
	}
	for range n {
		p := a.others[a.turn%len(a.others)]
		a.turn++
		name := p.ID
		if name == "" {
			name = "anchor"
		}
		out = append(out, a.name(name, p.Signal))
	}
	return out
}

func (a *anchors) name(prefix string, signal colorimetry.RGB) Patch {
	a.count[prefix]++
	id := fmt.Sprintf("%s%d", prefix, a.count[prefix])
	for a.taken[id] {
		id += "a"
	}
	a.taken[id] = true
	return Patch{ID: id, Signal: signal}
}
