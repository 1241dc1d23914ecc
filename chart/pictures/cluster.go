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
	var total float64
	weight := make([]float64, len(cells))
	for i, c := range cells {
		total += c.count
		weight[i] = math.Sqrt(math.Sqrt(c.count))
	}
	centres := begin(cells, weight, min(n, len(cells)), rand.New(rand.NewPCG(o.Seed, 0)))
	part := make([]int, len(cells))
	const most = 30 // rounds; what moves after that moves by less than a cell
	for range most {
		if !assign(cells, centres, part) {
			break
		}
		move(cells, weight, centres, part)
	}
	var out []Pick
	for k, centre := range centres {
		nearest, least, count := -1, math.Inf(1), 0.0
		from := make([]float64, len(pictures))
		for i, c := range cells {
			if part[i] != k {
				continue
			}
			count += c.count
			for p, v := range c.from {
				from[p] += v
			}
			if d := gap(c.lab, centre); d < least {
				nearest, least = i, d
			}
		}
		if nearest < 0 {
			continue
		}
		s := cells[nearest].signal
		if o.Bits > 0 {
			s = s.Quantise(o.Bits)
		}
		most := slices.Index(from, slices.Max(from))
		out = append(out, Pick{Patch: chart.Patch{Signal: s}, Picture: pictures[most].Name, Share: count / total})
	}
	slices.SortStableFunc(out, func(a, b Pick) int { return cmp.Compare(b.Share, a.Share) })
	for i := range out {
		out[i].ID = fmt.Sprintf("picture%d", i+1)
	}
	return out
}

// begin chooses n centres, each with a chance that grows with the squared
// distance to those already chosen.
func begin(cells []*cell, weight []float64, n int, rng *rand.Rand) []colorimetry.Lab {
	heaviest := slices.Index(weight, slices.Max(weight))
	centres := []colorimetry.Lab{cells[heaviest].lab}
	chance := make([]float64, len(cells))
	for i := range chance {
		chance[i] = math.Inf(1)
	}
	for len(centres) < n {
		var sum float64
		last := centres[len(centres)-1]
		for i, c := range cells {
			chance[i] = math.Min(chance[i], weight[i]*gap(c.lab, last))
			sum += chance[i]
		}
		if sum == 0 {
			break
		}
		at, next := rng.Float64()*sum, 0
		for i, v := range chance {
			if at -= v; at < 0 && v > 0 {
				next = i
				break
			}
		}
		centres = append(centres, cells[next].lab)
	}
	return centres
}

// assign gives each cell to the nearest centre and reports whether any changed.
func assign(cells []*cell, centres []colorimetry.Lab, part []int) bool {
	changed := false
	for i, c := range cells {
		best, least := 0, math.Inf(1)
		for k, centre := range centres {
			if d := gap(c.lab, centre); d < least {
				best, least = k, d
			}
		}
		if part[i] != best {
			part[i], changed = best, true
		}
	}
	return changed
}

// move puts each centre into the middle of its cells.
func move(cells []*cell, weight []float64, centres []colorimetry.Lab, part []int) {
	sum := make([]colorimetry.Lab, len(centres))
	total := make([]float64, len(centres))
	for i, c := range cells {
		k, w := part[i], weight[i]
		total[k] += w
		sum[k].L += w * c.lab.L
		sum[k].A += w * c.lab.A
		sum[k].B += w * c.lab.B
	}
	for k, w := range total {
		if w > 0 {
			centres[k] = colorimetry.Lab{L: sum[k].L / w, A: sum[k].A / w, B: sum[k].B / w}
		}
	}
}

// gap returns the squared distance of a and b in CIELAB.
func gap(a, b colorimetry.Lab) float64 {
	l, m, n := a.L-b.L, a.A-b.A, a.B-b.B
	return l*l + m*m + n*n
}
