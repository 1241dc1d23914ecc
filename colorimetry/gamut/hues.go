package gamut

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

type oklab struct {
	form     *appearance.OklabForm
	to, from colorimetry.Matrix
}

// Oklab returns Ottosson's uniform space, in the form of CSS, for colours under
// a white, on the scale of that white: they are adapted to D65 as Bradford has
// it. L of the white is 1. Lines of equal hue are straight in it where CIELAB
// bends them, blue's towards purple. It has a place for every colour. The error
// says that the white cannot be adapted.
func Oklab(white colorimetry.XYZ) (Space, error) {
	d65 := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}.XYZ(1)
	to, err := colorimetry.Bradford(white, d65)
	if err != nil {
		return nil, err
	}
	from, err := to.Inverse()
	if err != nil {
		return nil, err
	}
	return oklab{appearance.OklabCSS(), to, from}, nil
}

func (oklab) Name() string { return "Oklab" }

func (s oklab) Coordinates(c colorimetry.XYZ) (Coordinates, bool) {
	p := Coordinates(s.form.Oklab(s.to.Apply(c)))
	return p, p.finite()
}

func (s oklab) XYZ(p Coordinates) (colorimetry.XYZ, bool) {
	c := s.from.Apply(s.form.XYZ(appearance.Oklab(p)))
	return c, c.Finite()
}

// Hues is a solid that is sorted by hue, for questions about colours of one hue.
// It does not change and is safe for concurrent use.
type Hues struct {
	solid *Solid
	bins  [][]int32    // the triangles that are met in each part of the hue circle
	span  [][2]float64 // the least and the largest L of each triangle
}

// hueBins is the number of parts of the hue circle.
const hueBins = 360

// Hues sorts the solid by hue, in some milliseconds.
func (s *Solid) Hues() *Hues {
	h := &Hues{s, make([][]int32, hueBins), make([][2]float64, len(s.triangles))}
	for i, t := range s.triangles {
		a, b, c := s.vertices[t[0]].L, s.vertices[t[1]].L, s.vertices[t[2]].L
		h.span[i] = [2]float64{min(a, b, c), max(a, b, c)}
		first, last := 0, hueBins-1
		if lo, hi := hueRange(s.vertices[t[0]], s.vertices[t[1]], s.vertices[t[2]]); hi-lo < 0.5 {
			// A little more, so that rounding leaves none out.
			first, last = int(math.Floor(lo*hueBins-1e-6)), int(math.Floor(hi*hueBins+1e-6))
		}
		for k := first; k <= last; k++ {
			bin := &h.bins[(k%hueBins+hueBins)%hueBins]
			*bin = append(*bin, int32(i))
		}
	}
	return h
}

// hueRange returns the hues between which a triangle lies, in turns; more than
// half a turn apart where the axis of greys may pass through it.
func hueRange(a, b, c Coordinates) (lo, hi float64) {
	lo = math.Atan2(a.B, a.A) / (2 * math.Pi)
	hi = lo
	from := lo
	for _, p := range []Coordinates{b, c} {
		v := math.Atan2(p.B, p.A) / (2 * math.Pi)
		v -= math.Round(v - from)
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	return lo, hi
}

// edge is where a half-plane of one hue passes through a triangle: the chroma
// and lightness of one end, and the way to the other.
type edge struct{ c, l, dc, dl float64 }

// halve returns where the half-plane of a hue passes through a triangle.
func halve(p [3]Coordinates, sin, cos float64) (edge, bool) {
	var side [3]float64
	for i, q := range p {
		side[i] = q.B*cos - q.A*sin
	}
	var at [2][2]float64
	n := 0
	for i := range 3 {
		j := (i + 1) % 3
		if side[i] < 0 == (side[j] < 0) || n == 2 {
			continue
		}
		f := side[i] / (side[i] - side[j])
		q := p[i].plus(f, p[j].sub(p[i]))
		at[n] = [2]float64{q.A*cos + q.B*sin, q.L}
		n++
	}
	if n < 2 || at[0][0] < 0 && at[1][0] < 0 {
		return edge{}, false
	}
	for i := range 2 { // what lies beyond the axis belongs to the opposite hue
		if o := 1 - i; at[i][0] < 0 {
			f := at[i][0] / (at[i][0] - at[o][0])
			at[i] = [2]float64{0, at[i][1] + f*(at[o][1]-at[i][1])}
		}
	}
	return edge{at[0][0], at[0][1], at[1][0] - at[0][0], at[1][1] - at[0][1]}, true
}

// Nearest returns the colour of the solid that is nearest to p among those of
// p's hue, and how far away it is: p itself and 0 where p is inside. Where the
// solid has no colour of that hue it is [Solid.Nearest]. It is NaN for NaN.
func (h *Hues) Nearest(p Coordinates) (nearest Coordinates, distance float64) {
	if !p.finite() || len(h.solid.vertices) == 0 || h.solid.winding(p) != 0 {
		return h.solid.Nearest(p)
	}
	chroma := math.Hypot(p.A, p.B)
	sin, cos := 0.0, 1.0
	if chroma > 0 {
		sin, cos = p.B/chroma, p.A/chroma
	}
	least, c, l := math.Inf(1), 0.0, 0.0
	for _, i := range h.bin(sin, cos) {
		if away := beyond(p.L, h.span[i][0], h.span[i][1]); away*away >= least {
			continue
		}
		t := h.solid.triangles[i]
		e, ok := halve([3]Coordinates{h.solid.vertices[t[0]], h.solid.vertices[t[1]], h.solid.vertices[t[2]]}, sin, cos)
		if !ok {
			continue
		}
		ec, el := e.closest(chroma, p.L)
		if d := (ec-chroma)*(ec-chroma) + (el-p.L)*(el-p.L); d < least {
			least, c, l = d, ec, el
		}
	}
	if math.IsInf(least, 1) {
		return h.solid.Nearest(p)
	}
	nearest = Coordinates{l, c * cos, c * sin}
	return nearest, math.Sqrt(least)
}

// closest returns the place on the edge that is nearest to a chroma and a
// lightness.
func (e edge) closest(chroma, l float64) (nearC, nearL float64) {
	f, size := 0.0, e.dc*e.dc+e.dl*e.dl
	if size > 0 {
		f = min(max(((chroma-e.c)*e.dc+(l-e.l)*e.dl)/size, 0), 1)
	}
	return e.c + f*e.dc, e.l + f*e.dl
}

// Reach returns how far the solid reaches from the grey of lightness l towards p
// and beyond, as a multiple of p's distance from that grey: above 1 for what is
// inside, 1 on the surface, below 1 for what is outside. Where the line leaves
// the solid more than once, the last time counts. It is NaN where it nowhere
// does, as for a grey outside, and where p is that grey or NaN.
func (h *Hues) Reach(l float64, p Coordinates) float64 {
	chroma, up := math.Hypot(p.A, p.B), p.L-l
	if !p.finite() || !(math.Abs(l) < math.Inf(1)) || chroma == 0 && up == 0 {
		return math.NaN()
	}
	sin, cos := 0.0, 1.0
	if chroma > 0 {
		sin, cos = p.B/chroma, p.A/chroma
	}
	most := math.NaN()
	for _, i := range h.bin(sin, cos) {
		if lo, hi := h.span[i][0], h.span[i][1]; up == 0 && (l < lo-1e-9 || l > hi+1e-9) ||
			up > 0 && l > hi || up < 0 && l < lo {
			continue
		}
		t := h.solid.triangles[i]
		e, ok := halve([3]Coordinates{h.solid.vertices[t[0]], h.solid.vertices[t[1]], h.solid.vertices[t[2]]}, sin, cos)
		if !ok {
			continue
		}
		if r, ok := e.along(chroma, up, l); ok && !(r <= most) {
			most = r
		}
	}
	return most
}

// bin returns the triangles that the half-plane of a hue may meet.
func (h *Hues) bin(sin, cos float64) []int32 {
	if len(h.bins) == 0 {
		return nil
	}
	k := int(math.Floor(math.Atan2(sin, cos) / (2 * math.Pi) * hueBins))
	return h.bins[(k%hueBins+hueBins)%hueBins]
}

// along returns where the edge is met by the line from chroma 0 and lightness l,
// in steps of chroma and up.
func (e edge) along(chroma, up, l float64) (float64, bool) {
	d := e.dc*up - e.dl*chroma
	if d == 0 {
		return 0, false
	}
	// The ends of neighbours must not leave a gap by rounding.
	const slack = 1e-9
	f := (chroma*(e.l-l) - up*e.c) / d
	r := (e.dc*(e.l-l) - e.dl*e.c) / d
	return r, f >= -slack && f <= 1+slack && r > 0
}
