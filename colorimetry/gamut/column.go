package gamut

import (
	"math"
	"slices"
)

// crossing is where a column of one A and B passes through the surface: into
// the solid (+1) or out of it (−1) on the way up.
type crossing struct {
	l    float64
	step int
}

// crosses returns where the column through q passes through the triangle.
//
// A column through a shared side or corner must be seen to pass through one of
// the neighbours only. So q is thought of as shifted by an infinitely small
// amount in A and a yet smaller one in B, and a side's direction is always
// taken from the corner of lower index, which makes rounding the same for both
// neighbours.
func (f *facet) crosses(q Coordinates) (crossing, bool) {
	var weight [3]float64
	turn := 0
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		a, b, flip := f.p[j], f.p[k], 1
		if f.id[j] > f.id[k] {
			a, b, flip = b, a, -1
		}
		v := (b.A-a.A)*(q.B-a.B) - (b.B-a.B)*(q.A-a.A)
		side := direction(v)
		if side == 0 {
			side = -direction(b.B - a.B)
		}
		if side == 0 {
			side = direction(b.A - a.A)
		}
		weight[i] = math.Abs(v)
		if side *= flip; i == 0 {
			turn = side
		} else if side != turn {
			return crossing{}, false
		}
	}
	total := weight[0] + weight[1] + weight[2]
	if turn == 0 || total == 0 { // the triangle stands upright
		return crossing{}, false
	}
	l := (weight[0]*f.p[0].L + weight[1]*f.p[1].L + weight[2]*f.p[2].L) / total
	// Seen from above, an outside that faces up is anticlockwise in A, B.
	return crossing{l, -turn}, true
}

func direction(v float64) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// holds reports whether the column through q can meet the box.
func (b *box) holds(q Coordinates) bool {
	return b.lo.A <= q.A && q.A <= b.hi.A && b.lo.B <= q.B && q.B <= b.hi.B
}

// winding returns how many times the surface encloses p, by the crossings of
// the column below it.
func (s *Solid) winding(p Coordinates) int {
	var stack [depth]int32
	count := 0
	for n := 1; n > 0; {
		n--
		i := stack[n]
		b := &s.tree.boxes[i]
		if !b.holds(p) || b.lo.L > p.L {
			continue
		}
		if b.count == 0 {
			stack[n], stack[n+1] = b.first, i+1
			n += 2
			continue
		}
		for k := b.first; k < b.first+b.count; k++ {
			if c, ok := s.tree.facets[k].crosses(p); ok && c.l <= p.L {
				count += c.step
			}
		}
	}
	return count
}

// spans appends to dst the stretches of the column through q that are inside
// the solid, bottom and top in turn.
func (s *Solid) spans(dst []float64, q Coordinates, scratch []crossing) ([]float64, []crossing) {
	scratch = scratch[:0]
	var stack [depth]int32
	for n := 1; n > 0; {
		n--
		i := stack[n]
		b := &s.tree.boxes[i]
		if !b.holds(q) {
			continue
		}
		if b.count == 0 {
			stack[n], stack[n+1] = b.first, i+1
			n += 2
			continue
		}
		for k := b.first; k < b.first+b.count; k++ {
			if c, ok := s.tree.facets[k].crosses(q); ok {
				scratch = append(scratch, c)
			}
		}
	}
	slices.SortFunc(scratch, func(a, b crossing) int { return direction(a.l - b.l) })
	count := 0
	for _, c := range scratch {
		before := count
		if count += c.step; (before == 0) != (count == 0) {
			dst = append(dst, c.l)
		}
	}
	return dst[:len(dst)/2*2], scratch
}

// columns is the number of columns along A and along B by which overlaps are
// measured.
const columns = 256

// Covers returns the share of another solid's volume that s covers, 0 to 1.
// Both are in the same space, under the same white; it is NaN where the spaces
// have different names, or where other is empty.
//
// Both are cut into the same 256 by 256 columns, whose lengths are exact. For
// displays the result is good to 1 in 1000.
func (s *Solid) Covers(other *Solid) float64 {
	if len(s.vertices) == 0 || len(other.vertices) == 0 || s.space.Name() != other.space.Name() {
		return math.NaN()
	}
	b := other.tree.boxes[0]
	var mine, theirs []float64
	var scratch []crossing
	var common, all float64
	for i := range columns {
		for j := range columns {
			q := Coordinates{
				A: b.lo.A + (float64(i)+0.5)/columns*(b.hi.A-b.lo.A),
				B: b.lo.B + (float64(j)+0.5)/columns*(b.hi.B-b.lo.B),
			}
			if theirs, scratch = other.spans(theirs[:0], q, scratch); len(theirs) == 0 {
				continue
			}
			mine, scratch = s.spans(mine[:0], q, scratch)
			for k := 0; k < len(theirs); k += 2 {
				all += theirs[k+1] - theirs[k]
				for m := 0; m < len(mine); m += 2 {
					common += math.Max(0, math.Min(theirs[k+1], mine[m+1])-math.Max(theirs[k], mine[m]))
				}
			}
		}
	}
	return common / all
}
