package hardware

import (
	"math"

	"example.org/primaries/colorimetry"
)

// search finds the places at which a display shows given levels. What it learns
// of the display on the way to one colour it uses for the next, which is soon
// found where the two are neighbours. The zero value knows nothing yet.
type search struct {
	display *display
	known   bool
	v, y    [3]float64         // places that were looked at last, and the levels there
	inverse colorimetry.Matrix // of the derivatives of levels by places, as estimated
}

const (
	// found is the largest difference in levels at which places count as found:
	// a fifteenth of a code of 16 bits.
	found = 1e-6
	// nearly is as near as a model whose colours go in steps may leave it: a tenth
	// of a code of 10 bits.
	nearly = 1e-4
	// tries bounds the looks at the model for one colour, patience those before
	// everything is begun anew, and stuck those without getting nearer before what
	// is near enough is taken.
	tries, patience, stuck = 60, 15, 5
	// stride is the longest step of a place.
	stride = 0.3
)

// find returns the places at which the levels are y, and whether there are any.
// They lie outside 0 and 1 for colours beyond the gamut.
//
// Source of the method: Broyden, Math. Comp. 19(92) 577-593 (1965): Newton's
// steps, with derivatives that are put right by each step's outcome.
func (s *search) find(y [3]float64) (v [3]float64, ok bool) {
	if !s.known {
		s.look(y)
	}
	least, nearer := math.Inf(1), 0
	for i := range tries {
		r := minus(y, s.y)
		if e := most(r); e < least {
			if e < least/2 {
				nearer = i
			}
			v, least = s.v, e
		}
		if least < found || least < nearly && i-nearer >= stuck {
			return v, true
		}
		if i > 0 && i%patience == 0 {
			s.look(y)
			continue
		}
		step := times(s.inverse, r)
		if f := most(step) / stride; f > 1 {
			step = [3]float64{step[0] / f, step[1] / f, step[2] / f}
		}
		s.move(step)
	}
	s.known = false
	return v, least < nearly
}

// look begins at places that would be right if channels did not disturb each
// other.
func (s *search) look(v [3]float64) {
	for c := range v {
		v[c] = math.Min(math.Max(v[c], -1), 2)
	}
	s.known, s.v, s.y, s.inverse = true, v, s.display.shown(v), colorimetry.Identity()
}

// move takes a step and learns from it.
func (s *search) move(step [3]float64) {
	next := [3]float64{s.v[0] + step[0], s.v[1] + step[1], s.v[2] + step[2]}
	y := s.display.shown(next)
	gain := times(s.inverse, minus(y, s.y))
	if d := dot(step, gain); math.Abs(d) > 1e-3*dot(step, step) {
		back := times(s.inverse.Transpose(), step)
		for a := range 3 {
			for b := range 3 {
				s.inverse[a][b] += (step[a] - gain[a]) * back[b] / d
			}
		}
	}
	s.v, s.y = next, y
}

func minus(a, b [3]float64) [3]float64 {
	return [3]float64{a[0] - b[0], a[1] - b[1], a[2] - b[2]}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// most returns the largest component by size.
func most(a [3]float64) float64 {
	return math.Max(math.Abs(a[0]), math.Max(math.Abs(a[1]), math.Abs(a[2])))
}

func times(m colorimetry.Matrix, v [3]float64) [3]float64 {
	c := m.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]})
	return [3]float64{c.X, c.Y, c.Z}
}

// within reports whether places are within 0 and 1, give or take more.
func within(v [3]float64, more float64) bool {
	for _, x := range v {
		if !(x >= -more && x <= 1+more) {
			return false
		}
	}
	return true
}
