package gamut

import (
	"math"
	"slices"
)

// tree finds triangles quickly: boxes that hold boxes that hold triangles.
type tree struct {
	boxes  []box
	facets []facet
}

// facet is a triangle with its corners at hand. The indices tell which corners
// it shares with others.
type facet struct {
	p  [3]Coordinates
	id [3]int32
}

type box struct {
	lo, hi Coordinates
	first  int32 // facet of a leaf, or the second box of two; the first follows at once
	count  int32 // facets of a leaf, 0 for two boxes
}

// leafSize is the most facets that a box without boxes holds.
const leafSize = 4

func (t *tree) build(vertices []Coordinates, triangles [][3]int32) {
	t.facets = make([]facet, len(triangles))
	for i, v := range triangles {
		t.facets[i] = facet{[3]Coordinates{vertices[v[0]], vertices[v[1]], vertices[v[2]]}, v}
	}
	t.split(0, len(t.facets))
}

// split makes the boxes of the facets from first to last, halving them along
// the longest side.
func (t *tree) split(first, last int) {
	b := box{lo: Coordinates{math.Inf(1), math.Inf(1), math.Inf(1)}, hi: Coordinates{math.Inf(-1), math.Inf(-1), math.Inf(-1)}}
	for i := first; i < last; i++ {
		for _, p := range t.facets[i].p {
			b.lo = Coordinates{math.Min(b.lo.L, p.L), math.Min(b.lo.A, p.A), math.Min(b.lo.B, p.B)}
			b.hi = Coordinates{math.Max(b.hi.L, p.L), math.Max(b.hi.A, p.A), math.Max(b.hi.B, p.B)}
		}
	}
	me := len(t.boxes)
	t.boxes = append(t.boxes, b)
	if last-first <= leafSize {
		t.boxes[me].first, t.boxes[me].count = int32(first), int32(last-first)
		return
	}
	side := b.hi.sub(b.lo)
	key := func(f facet) float64 { return f.p[0].L + f.p[1].L + f.p[2].L }
	switch {
	case side.A >= side.L && side.A >= side.B:
		key = func(f facet) float64 { return f.p[0].A + f.p[1].A + f.p[2].A }
	case side.B >= side.L:
		key = func(f facet) float64 { return f.p[0].B + f.p[1].B + f.p[2].B }
	}
	slices.SortFunc(t.facets[first:last], func(f, g facet) int {
		if a, b := key(f), key(g); a < b {
			return -1
		} else if a > b {
			return 1
		}
		return slices.Compare(f.id[:], g.id[:])
	})
	middle := (first + last) / 2
	t.split(first, middle)
	t.boxes[me].first = int32(len(t.boxes))
	t.split(middle, last)
}

// depth bounds the boxes that wait: one a level, and 2¹⁸ facets at most make
// fewer than 24 levels.
const depth = 64

// waiting is a box to look into, and the square of its distance.
type waiting struct {
	square float64
	box    int32
}

// nearest returns the place on the surface nearest to p and the square of its
// distance, if that is below limit; else limit and no place.
func (t *tree) nearest(p Coordinates, limit float64) (at Coordinates, square float64) {
	var stack [depth]waiting
	stack[0] = waiting{t.boxes[0].away(p), 0}
	for n := 1; n > 0; {
		n--
		next := stack[n]
		if next.square >= limit {
			continue
		}
		b := &t.boxes[next.box]
		if b.count > 0 {
			for k := b.first; k < b.first+b.count; k++ {
				q := t.facets[k].nearest(p)
				d := q.sub(p)
				if s := d.dot(d); s < limit {
					at, limit = q, s
				}
			}
			continue
		}
		near, far := waiting{box: next.box + 1}, waiting{box: b.first}
		near.square, far.square = t.boxes[near.box].away(p), t.boxes[far.box].away(p)
		if far.square < near.square {
			near, far = far, near
		}
		if far.square < limit {
			stack[n] = far
			n++
		}
		stack[n] = near // it is looked into next
		n++
	}
	return at, limit
}

// away returns the square of p's distance from the box.
func (b *box) away(p Coordinates) float64 {
	l, m, n := beyond(p.L, b.lo.L, b.hi.L), beyond(p.A, b.lo.A, b.hi.A), beyond(p.B, b.lo.B, b.hi.B)
	return l*l + m*m + n*n
}

// beyond returns how far v is outside lo to hi.
func beyond(v, lo, hi float64) float64 {
	if v < lo {
		return lo - v
	}
	if v > hi {
		return v - hi
	}
	return 0
}

// nearest returns the place of the triangle nearest to p: a corner, on a side,
// or in the plane, by the signs of the barycentric coordinates.
//
// Source: Ericson, Real-Time Collision Detection (2005), 5.1.5, for the regions.
func (f *facet) nearest(p Coordinates) Coordinates {
	a, b, c := f.p[0], f.p[1], f.p[2]
	ab, ac := b.sub(a), c.sub(a)
	ap, bp, cp := p.sub(a), p.sub(b), p.sub(c)
	d1, d2 := ab.dot(ap), ac.dot(ap)
	if d1 <= 0 && d2 <= 0 {
		return a
	}
	d3, d4 := ab.dot(bp), ac.dot(bp)
	if d3 >= 0 && d4 <= d3 {
		return b
	}
	d5, d6 := ab.dot(cp), ac.dot(cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	vc := d1*d4 - d3*d2
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		return a.plus(d1/(d1-d3), ab)
	}
	vb := d5*d2 - d1*d6
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return a.plus(d2/(d2-d6), ac)
	}
	va := d3*d6 - d5*d4
	if va <= 0 && d4 >= d3 && d5 >= d6 {
		return b.plus((d4-d3)/((d4-d3)+(d5-d6)), c.sub(b))
	}
	total := va + vb + vc
	return a.plus(vb/total, ab).plus(vc/total, ac)
}
