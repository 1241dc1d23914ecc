package aim

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// shareGamut finds the chromaticities that all displays have.
func (s *Shared) shareGamut(group []member) error {
	s.Gamut = gamut.Hull(triangle(group[0].Primaries)...)
	for _, m := range group[1:] {
		clipped, err := s.Gamut.Clip(gamut.Hull(triangle(m.Primaries)...))
		if err != nil {
			return fmt.Errorf("aim: primaries of %s: %w", m.name, err)
		}
		if s.Gamut = gamut.Hull(clipped...); len(s.Gamut) < 3 {
			return errNoCommonWhite
		}
	}
	s.Primaries = largestTriangle(s.Gamut, triangle(group[0].Primaries))
	return nil
}

// largestTriangle returns the largest triangle in a convex outline. Its corners
// are among the outline's, since with two corners fixed the area is linear in
// the third. They are put in the order in which they lie nearest to like.
func largestTriangle(p, like gamut.Polygon) [3]colorimetry.UV {
	var best [3]gamut.Point
	most := -1.0
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			for k := j + 1; k < len(p); k++ {
				if area := (gamut.Polygon{p[i], p[j], p[k]}).Area(); area > most {
					most, best = area, [3]gamut.Point{p[i], p[j], p[k]}
				}
			}
		}
	}
	var out [3]colorimetry.UV
	least := math.Inf(1)
	for _, o := range [6][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		var far float64
		for c := range 3 {
			far += apart(best[o[c]], like[c])
		}
		if far < least {
			least = far
			for c := range 3 {
				out[c] = colorimetry.UV{U: best[o[c]].X, V: best[o[c]].Y}
			}
		}
	}
	return out
}

func apart(p, q gamut.Point) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// centre returns the centre of the smallest circle in u'v' around the displays'
// own whites. Two or three of them lie on it, so that all pairs and triples
// would do; walking towards the farthest by ever shorter steps comes as near as
// the four decimals of a white need, in time that many displays do not blow up.
//
// Source: Badoiu and Clarkson, "Smaller core-sets for balls", SODA 2003, for
// the walk and its bound of radius/√steps.
func centre(group []member) colorimetry.UV {
	own := make([]colorimetry.UV, len(group))
	for i, m := range group {
		own[i] = m.native().UV()
	}
	at := own[0]
	far := func() (p colorimetry.UV) {
		most := -1.0
		for _, q := range own {
			if d := at.Distance(q); d > most {
				most, p = d, q
			}
		}
		return p
	}
	const steps = 10000
	for i := 1; i <= steps; i++ {
		q, f := far(), 1/float64(i+1)
		at = colorimetry.UV{U: at.U + f*(q.U-at.U), V: at.V + f*(q.V-at.V)}
	}
	return at
}

// nearestCommon returns the white nearest to want, in u'v' and to four
// decimals, that all displays can have: on the edge of what they have in
// common, or from there towards its middle as far as blacks and rounding ask.
func nearestCommon(group []member, p gamut.Polygon, want colorimetry.UV) (colorimetry.Chromaticity, bool) {
	edge := want
	if !p.Contains(gamut.Point{X: want.U, Y: want.V}) {
		edge = nearestOnOutline(want, p)
	}
	var mid colorimetry.UV
	for _, q := range p {
		mid.U += q.X / float64(len(p))
		mid.V += q.Y / float64(len(p))
	}
	const steps = 2000
	for i := range steps + 1 {
		f := float64(i) / steps
		uv := colorimetry.UV{U: edge.U + f*(mid.U-edge.U), V: edge.V + f*(mid.V-edge.V)}
		c := roundXY(uv.Chromaticity())
		if _, _, ok := common(group, c); ok {
			return c, true
		}
	}
	return colorimetry.Chromaticity{}, false
}

// nearestOnOutline returns the place on an outline nearest to p.
func nearestOnOutline(p colorimetry.UV, outline gamut.Polygon) colorimetry.UV {
	var best colorimetry.UV
	least := math.Inf(1)
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		dx, dy := b.X-a.X, b.Y-a.Y
		f := ((p.U-a.X)*dx + (p.V-a.Y)*dy) / (dx*dx + dy*dy)
		f = math.Min(math.Max(f, 0), 1)
		q := colorimetry.UV{U: a.X + f*dx, V: a.Y + f*dy}
		if d := p.Distance(q); d < least {
			best, least = q, d
		}
	}
	return best
}
