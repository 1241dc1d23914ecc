package gamut

import (
	"errors"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// Point is a place in a chromaticity diagram: x, y or u′, v′.
type Point struct{ X, Y float64 }

// Polygon is an outline in a chromaticity diagram, its corners in order round
// about, either way; the last is joined to the first. An outline that crosses
// itself has no area of use.
type Polygon []Point

// XY returns the outline with these corners in the x, y diagram.
func XY(corners ...colorimetry.Chromaticity) Polygon {
	p := make(Polygon, len(corners))
	for i, c := range corners {
		p[i] = Point(c)
	}
	return p
}

// UV returns the outline with these corners in the u′, v′ diagram. The spectrum
// locus and gamuts of additive mixtures have straight sides in both diagrams.
func UV(corners ...colorimetry.Chromaticity) Polygon {
	p := make(Polygon, len(corners))
	for i, c := range corners {
		v := c.UV()
		p[i] = Point{v.U, v.V}
	}
	return p
}

// cross returns twice the signed area of the triangle a, b, c: above 0 where
// they stand anticlockwise.
func cross(a, b, c Point) float64 {
	return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
}

// signed returns the area, below 0 where the corners run clockwise.
func (p Polygon) signed() float64 {
	var sum float64
	for i := 2; i < len(p); i++ {
		sum += cross(p[0], p[i-1], p[i])
	}
	return sum / 2
}

// Area returns the area, 0 for fewer than three corners, NaN where a corner is
// NaN or too far away.
func (p Polygon) Area() float64 {
	a := math.Abs(p.signed())
	if math.IsInf(a, 0) {
		return math.NaN()
	}
	return a
}

// Contains reports whether q is inside or, but for rounding, on the outline. NaN
// is not.
func (p Polygon) Contains(q Point) bool {
	if q.X != q.X || q.Y != q.Y {
		return false
	}
	inside := false
	for i, b := range p {
		a := p[(i+len(p)-1)%len(p)]
		side := cross(a, b, q)
		if length := math.Hypot(b.X-a.X, b.Y-a.Y); math.Abs(side) <= 1e-12*length {
			along := (q.X-a.X)*(b.X-a.X) + (q.Y-a.Y)*(b.Y-a.Y)
			if along >= -1e-12*length && along <= length*(length+1e-12) {
				return true
			}
		}
		if (a.Y > q.Y) != (b.Y > q.Y) && (side > 0) == (b.Y > a.Y) {
			inside = !inside
		}
	}
	return inside
}

// Overlap returns the area that p and q have in common. Neither need be convex.
//
// Each outline is the sum of the triangles between its first corner and its
// sides, those that run the other way counting negative; so the overlap is the
// sum over pairs of triangles.
func Overlap(p, q Polygon) float64 {
	var sum float64
	for i := 2; i < len(p); i++ {
		for j := 2; j < len(q); j++ {
			sum += common([3]Point{p[0], p[i-1], p[i]}, [3]Point{q[0], q[j-1], q[j]})
		}
	}
	// Rounding leaves some 1e-17 where nothing is in common.
	return math.Max(0, sum*sign(p.signed())*sign(q.signed()))
}

func sign(v float64) float64 {
	if v < 0 {
		return -1
	}
	return 1
}

// common returns the area common to two triangles, times the product of the
// directions they run in.
func common(a, b [3]Point) float64 {
	direction := sign(cross(a[0], a[1], a[2]))
	turn := cross(b[0], b[1], b[2])
	if turn < 0 {
		b[1], b[2] = b[2], b[1]
		direction = -direction
	}
	if turn == 0 {
		return 0
	}
	var first, second [8]Point // three corners, and one more a cut at most
	in, out := append(first[:0], a[:]...), second[:0]
	for i, to := range b {
		out = cut(out[:0], in, b[(i+2)%3], to)
		in, out = out, in
	}
	return direction * Polygon(in).Area()
}

// cut appends to dst what of outline p lies left of the line from a to b, or
// on it.
func cut(dst, p []Point, a, b Point) []Point {
	for i, to := range p {
		from := p[(i+len(p)-1)%len(p)]
		f, t := cross(a, b, from), cross(a, b, to)
		if (f < 0) != (t < 0) {
			k := f / (f - t)
			dst = append(dst, Point{from.X + k*(to.X-from.X), from.Y + k*(to.Y-from.Y)})
		}
		if !(t < 0) {
			dst = append(dst, to)
		}
	}
	return dst
}

// Clip returns the outline of what p and a convex window have in common, for
// drawing: no corners where that is nothing. p need not be convex; where it
// falls apart the pieces stay joined along the window's edge. It is an error if
// the window is not convex.
//
// Source: Sutherland and Hodgman, Commun. ACM 17(1) 32-42 (1974).
func (p Polygon) Clip(window Polygon) (Polygon, error) {
	n := len(window)
	turn := sign(window.signed())
	convex := n >= 3
	for i := range window {
		convex = convex && turn*cross(window[i], window[(i+1)%n], window[(i+2)%n]) >= 0
	}
	if !convex {
		return nil, errors.New("gamut: the window to clip by is not convex; its Hull is")
	}
	out := slices.Clone(p)
	for i := range window {
		a, b := window[i], window[(i+1)%n]
		if turn < 0 {
			a, b = b, a
		}
		out = cut(nil, out, a, b)
	}
	return out, nil
}

// Coverage returns the share of the reference's area that p covers, 0 to 1: the
// overlap over the reference. It is NaN where the reference has no area.
func Coverage(p, reference Polygon) float64 {
	area := reference.Area()
	if area == 0 {
		return math.NaN()
	}
	return math.Min(1, Overlap(p, reference)/area)
}

// AreaRatio returns p's area over the reference's, overlapping or not. It can
// be above 1, and says little where the two stand apart: see [Coverage]. It is
// NaN where the reference has no area.
func AreaRatio(p, reference Polygon) float64 {
	area := reference.Area()
	if area == 0 {
		return math.NaN()
	}
	return p.Area() / area
}

// Hull returns the convex outline around points, anticlockwise, for gamuts of
// more than three primaries or of measured mixtures. Points on its sides, and
// points that are NaN, are left out; there may be fewer than three corners.
//
// Source: Andrew, Inf. Process. Lett. 9(5) 216-219 (1979).
func Hull(points ...Point) Polygon {
	sorted := slices.DeleteFunc(slices.Clone(points), func(p Point) bool { return p.X != p.X || p.Y != p.Y })
	slices.SortFunc(sorted, func(a, b Point) int {
		switch {
		case a.X < b.X || a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	sorted = slices.Compact(sorted)
	if len(sorted) < 3 {
		return sorted
	}
	var hull Polygon
	for range 2 { // the lower side, then backwards the upper
		start := len(hull)
		for _, p := range sorted {
			for len(hull) > start+1 && cross(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		hull = hull[:len(hull)-1] // it begins the other side
		slices.Reverse(sorted)
	}
	return hull
}
