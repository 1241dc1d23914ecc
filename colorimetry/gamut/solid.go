package gamut

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Options say how finely a solid is made. The zero value is the default.
type Options struct {
	// Steps is the number of steps along each edge of the signal cube, even, 2
	// to 128; 0 is 32. With 32 the surface of an sRGB-like display lies within
	// 0.3 of the true one in CIELAB, and the time to make a solid is some
	// 30 ms; both change with the square of Steps.
	Steps int
}

// Solid is all the colours that a device can make, as a closed surface of
// triangles in a [Space]. It does not change and is safe for concurrent use; the
// zero value is empty. [New] makes one.
type Solid struct {
	space     Space
	vertices  []Coordinates
	triangles [][3]int32 // anticlockwise seen from outside
	volume    float64
	tree      tree
	tolerance float64 // of what counts as on the surface
}

// New returns the solid of a device: a pure function from a signal to the
// colour that it makes, on the scale that the space expects. A device's model,
// profile or encoding is one. The surface is where one signal is 0 or 1, which
// holds for devices whose colours change steadily with their three signals.
//
// It is an error if there is no device or no space, if a signal makes no finite
// colour, if the colour has no coordinates (encodings wider than all colours have
// none in CAM16-UCS), if the colours enclose no volume, or if Steps is out of
// range.
func New(device func(colorimetry.RGB) colorimetry.XYZ, s Space, o Options) (*Solid, error) {
	if device == nil || s == nil {
		return nil, fmt.Errorf("gamut: no device or no space; a Codec's XYZ and CIELAB are ones")
	}
	if o.Steps == 0 {
		o.Steps = 32
	}
	n := o.Steps
	if n < 2 || n > 128 || n%2 != 0 {
		return nil, fmt.Errorf("gamut: %d steps; an even number from 2 to 128 is possible", n)
	}
	out := &Solid{space: s}
	index := make([]int32, (n+1)*(n+1)*(n+1)) // of the vertex plus 1, by place in the cube
	vertex := func(at [3]int) (int32, error) {
		place := (at[0]*(n+1)+at[1])*(n+1) + at[2]
		if i := index[place]; i > 0 {
			return i - 1, nil
		}
		signal := colorimetry.RGB{R: float64(at[0]) / float64(n), G: float64(at[1]) / float64(n), B: float64(at[2]) / float64(n)}
		c := device(signal)
		p, ok := s.Coordinates(c)
		if !ok || !p.finite() {
			return 0, fmt.Errorf("gamut: signal %.4g, %.4g, %.4g makes XYZ %.4g, %.4g, %.4g, which has no place in %s; CIELAB has one for every colour", signal.R, signal.G, signal.B, c.X, c.Y, c.Z, s.Name())
		}
		i := int32(len(out.vertices))
		index[place] = i + 1
		out.vertices = append(out.vertices, p)
		return i, nil
	}
	coarse, err := out.mesh(n, 2, vertex)
	if err != nil {
		return nil, err
	}
	if out.triangles, err = out.mesh(n, 1, vertex); err != nil {
		return nil, err
	}
	return out, out.finish(coarse)
}

// mesh returns the triangles of the signal cube's six faces, each square of
// step by step cut in two.
func (s *Solid) mesh(n, step int, vertex func([3]int) (int32, error)) ([][3]int32, error) {
	out := make([][3]int32, 0, 12*(n/step)*(n/step))
	for axis := range 3 {
		u, v := (axis+1)%3, (axis+2)%3
		for _, level := range []int{0, n} {
			for i := 0; i < n; i += step {
				for j := 0; j < n; j += step {
					var corner [4]int32
					for k, d := range [4][2]int{{0, 0}, {step, 0}, {step, step}, {0, step}} {
						var at [3]int
						at[axis], at[u], at[v] = level, i+d[0], j+d[1]
						var err error
						if corner[k], err = vertex(at); err != nil {
							return nil, err
						}
					}
					if level == 0 { // seen from outside the other way round
						corner[1], corner[3] = corner[3], corner[1]
					}
					out = append(out, [3]int32{corner[0], corner[1], corner[2]}, [3]int32{corner[0], corner[2], corner[3]})
				}
			}
		}
	}
	return out, nil
}

// enclosed returns the volume within triangles, below 0 where they are
// clockwise seen from outside.
func (s *Solid) enclosed(triangles [][3]int32) float64 {
	origin := s.vertices[0]
	var sum float64
	for _, t := range triangles {
		a, b, c := s.vertices[t[0]].sub(origin), s.vertices[t[1]].sub(origin), s.vertices[t[2]].sub(origin)
		sum += a.dot(b.cross(c))
	}
	return sum / 6
}

// finish turns the triangles outwards and finds volume, tolerance and tree.
// coarse is the same surface of twice the step.
func (s *Solid) finish(coarse [][3]int32) error {
	fine := s.enclosed(s.triangles)
	if fine < 0 {
		for i, t := range s.triangles {
			s.triangles[i] = [3]int32{t[0], t[2], t[1]}
		}
	}
	// What is missing between chord and arc goes with the square of the step.
	s.volume = math.Abs(fine + (fine-s.enclosed(coarse))/3)
	lo, hi := s.vertices[0], s.vertices[0]
	for _, v := range s.vertices {
		lo = Coordinates{math.Min(lo.L, v.L), math.Min(lo.A, v.A), math.Min(lo.B, v.B)}
		hi = Coordinates{math.Max(hi.L, v.L), math.Max(hi.A, v.A), math.Max(hi.B, v.B)}
	}
	extent := hi.sub(lo)
	size := math.Sqrt(extent.dot(extent))
	if !(math.Abs(fine) > 1e-9*size*size*size) || math.IsInf(s.volume, 0) {
		return fmt.Errorf("gamut: the device's colours enclose a volume of %.3g in %s; a solid needs three signals that each change the colour in their own way", fine, s.space.Name())
	}
	s.tolerance = 1e-9 * size
	s.tree.build(s.vertices, s.triangles)
	return nil
}

// Space returns the space that the solid is in.
func (s *Solid) Space() Space { return s.space }

// Volume returns the volume in the space's units cubed: ΔE*ab cubed in CIELAB.
// The part that flat triangles cut off a curved surface is made up for; at the
// default steps what remains for displays is below 1 in 10,000.
func (s *Solid) Volume() float64 { return s.volume }

// Surface returns copies of the solid's corners and of its triangles, each
// three indices of corners, anticlockwise seen from outside with L, A and B as
// right-handed axes.
func (s *Solid) Surface() (corners []Coordinates, triangles [][3]int) {
	corners = append(corners, s.vertices...)
	for _, t := range s.triangles {
		triangles = append(triangles, [3]int{int(t[0]), int(t[1]), int(t[2])})
	}
	return corners, triangles
}

// Contains reports whether a colour is inside the solid or, but for rounding,
// on its surface. NaN is not.
func (s *Solid) Contains(p Coordinates) bool {
	if !p.finite() || len(s.vertices) == 0 {
		return false
	}
	if s.winding(p) != 0 {
		return true
	}
	_, d := s.tree.nearest(p, s.tolerance*s.tolerance)
	return d < s.tolerance*s.tolerance
}

// ContainsXYZ reports whether a colour is inside the solid, as [Solid.Contains].
// A colour without a place in the space is not.
func (s *Solid) ContainsXYZ(c colorimetry.XYZ) bool {
	if len(s.vertices) == 0 {
		return false
	}
	p, ok := s.space.Coordinates(c)
	return ok && s.Contains(p)
}

// Nearest returns the colour of the solid that is nearest to p, and how far
// away it is: p itself and 0 where p is inside. It is NaN for NaN.
func (s *Solid) Nearest(p Coordinates) (nearest Coordinates, distance float64) {
	if !p.finite() || len(s.vertices) == 0 {
		nan := math.NaN()
		return Coordinates{nan, nan, nan}, nan
	}
	if s.winding(p) != 0 {
		return p, 0
	}
	nearest, d := s.tree.nearest(p, math.Inf(1))
	if d < s.tolerance*s.tolerance {
		return p, 0
	}
	return nearest, math.Sqrt(d)
}

// NearestXYZ is [Solid.Nearest] for tristimulus values. ok is false, and the
// result NaN, where c has no place in the space.
func (s *Solid) NearestXYZ(c colorimetry.XYZ) (nearest colorimetry.XYZ, distance float64, ok bool) {
	var p Coordinates
	ok = len(s.vertices) > 0
	if ok {
		p, ok = s.space.Coordinates(c)
	}
	if ok {
		var q Coordinates
		if q, distance = s.Nearest(p); distance == 0 {
			return c, 0, true
		}
		nearest, ok = s.space.XYZ(q)
	}
	if !ok {
		nan := math.NaN()
		return colorimetry.XYZ{X: nan, Y: nan, Z: nan}, nan, false
	}
	return nearest, distance, true
}
