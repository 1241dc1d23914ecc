package pictures

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// picks parts the cells and returns one patch a part.
func picks(cells []*cell, n int, pictures []Picture, o Options) []Pick {
	p := newParting(cells, n, o.Seed)
	// k-means settles within some rounds; the bound keeps the time in sight.
	const rounds = 30
	for range rounds {
		if !p.assign() {
			break
		}
		p.move()
	}
	var out []Pick
	at := map[colorimetry.RGB]int{} // codes of a coarse path may coincide
	for _, r := range p.results() {
		s := r.cell.signal
		if o.Bits > 0 {
			s = s.Quantise(o.Bits)
		}
		share := r.count / p.total
		if i, ok := at[s]; ok {
			out[i].Share += share
			continue
		}
		at[s] = len(out)
		out = append(out, Pick{Patch: chart.Patch{Signal: s}, Picture: pictures[r.cell.mostly()].Name, Share: share})
	}
	slices.SortStableFunc(out, func(a, b Pick) int { return cmp.Compare(b.Share, a.Share) })
	for i := range out {
		out[i].ID = fmt.Sprintf("picture%d", i+1)
	}
	return out
}

// mostly returns the picture that most pixels of the cell come from, the first
// of equals.
func (c *cell) mostly() int {
	best, most := 0, 0.0
	for p, v := range c.from {
		if v > most || v == most && p < best {
			best, most = p, v
		}
	}
	return best
}

// parting is the cells and the parts that they fall into.
type parting struct {
	cells   []*cell
	weight  []float64
	total   float64 // pixels
	centres []colorimetry.Lab
	part    []int     // of each cell; -1 before the first round
	least   []float64 // squared distance of each cell to its centre
}

// newParting starts n parts, fewer where there are fewer cells.
func newParting(cells []*cell, n int, seed uint64) *parting {
	p := &parting{cells: cells, weight: make([]float64, len(cells)), part: make([]int, len(cells)), least: make([]float64, len(cells))}
	for i, c := range cells {
		p.total += c.count
		p.weight[i] = math.Sqrt(c.count)
		p.part[i], p.least[i] = -1, math.Inf(1)
	}
	if n >= len(cells) {
		for _, c := range cells {
			p.centres = append(p.centres, c.lab)
		}
		return p
	}
	rng := rand.New(rand.NewPCG(seed, 0))
	p.begin(slices.Index(p.weight, slices.Max(p.weight)))
	for len(p.centres) < n {
		next := -1
		if len(p.centres)%2 == 1 {
			next = p.furthest()
		}
		if next < 0 {
			next = p.drawn(n, rng)
		}
		if next < 0 {
			break
		}
		p.begin(next)
	}
	return p
}

// begin starts a part at cell i.
func (p *parting) begin(i int) {
	at := p.cells[i].lab
	p.centres = append(p.centres, at)
	for j, c := range p.cells {
		p.least[j] = min(p.least[j], gap(c.lab, at))
	}
}

// rare is the share of all pixels that must lie in a cell and around it for a
// part to start there without the luck of the draw; below it is what noise,
// dust and edges leave.
const rare = 1.0 / 2000

// furthest returns the cell furthest from all centres of those that are not
// too rare, -1 if no such cell is left.
func (p *parting) furthest() int {
	best, far := -1, 0.0
	for i, c := range p.cells {
		if c.crowd >= rare*p.total && p.least[i] > far {
			best, far = i, p.least[i]
		}
	}
	return best
}

// drawn returns a cell drawn with a chance that grows with its weight and its
// squared distance to the centres: of several drawn the one that would leave
// the least of weight times squared distance, as the authors of k-means++
// advise. It returns -1 if every cell is a centre.
func (p *parting) drawn(n int, rng *rand.Rand) int {
	until := make([]float64, len(p.cells))
	var sum float64
	for i, d := range p.least {
		sum += p.weight[i] * d
		until[i] = sum
	}
	if sum == 0 {
		return -1
	}
	best, least := -1, math.Inf(1)
	for range 2 + int(math.Log(float64(n))) {
		// The first cell whose sum is above the number drawn has a distance
		// above 0, since its sum is above its predecessor's.
		x := rng.Float64() * sum
		i, _ := slices.BinarySearchFunc(until, x, func(u, x float64) int {
			if u > x {
				return 1
			}
			return -1
		})
		if i == len(until) {
			continue // x was rounded up to the sum
		}
		var left float64
		for j, c := range p.cells {
			left += p.weight[j] * min(p.least[j], gap(c.lab, p.cells[i].lab))
		}
		if left < least {
			best, least = i, left
		}
	}
	return best
}

// assign gives each cell to the nearest centre and reports whether any changed.
func (p *parting) assign() bool {
	changed := false
	for i, c := range p.cells {
		best, least := 0, math.Inf(1)
		for k, centre := range p.centres {
			if d := gap(c.lab, centre); d < least {
				best, least = k, d
			}
		}
		p.least[i] = least
		if p.part[i] != best {
			p.part[i], changed = best, true
		}
	}
	return changed
}

// move puts each centre into the middle of its cells, and one that has none
// onto the cell that is served worst.
func (p *parting) move() {
	sum := make([]colorimetry.Lab, len(p.centres))
	total := make([]float64, len(p.centres))
	for i, c := range p.cells {
		k, w := p.part[i], p.weight[i]
		total[k] += w
		sum[k].L += w * c.lab.L
		sum[k].A += w * c.lab.A
		sum[k].B += w * c.lab.B
	}
	for k, w := range total {
		if w > 0 {
			p.centres[k] = colorimetry.Lab{L: sum[k].L / w, A: sum[k].A / w, B: sum[k].B / w}
			continue
		}
		worst := 0
		for i, d := range p.least {
			if p.weight[i]*d > p.weight[worst]*p.least[worst] {
				worst = i
			}
		}
		p.centres[k] = p.cells[worst].lab
		p.least[worst] = 0
	}
}

// result is a part: the cell nearest to its centre and the pixels in it.
type result struct {
	cell  *cell
	count float64
}

// results returns the parts that hold a cell.
func (p *parting) results() []result {
	all := make([]result, len(p.centres))
	near := make([]float64, len(p.centres))
	for i, c := range p.cells {
		k := p.part[i]
		r := &all[k]
		r.count += c.count
		if d := gap(c.lab, p.centres[k]); r.cell == nil || d < near[k] {
			r.cell, near[k] = c, d
		}
	}
	return slices.DeleteFunc(all, func(r result) bool { return r.cell == nil })
}

// gap returns the squared distance of a and b in CIELAB.
func gap(a, b colorimetry.Lab) float64 {
	l, m, n := a.L-b.L, a.A-b.A, a.B-b.B
	return l*l + m*m + n*n
}
