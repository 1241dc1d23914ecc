package chart

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// Space says in which coordinates of the display of [Nominal] patches keep
// their distance and fill the space evenly.
type Space uint8

const (
	// CIELAB is L*, a*, b* under the display's white: [Nominal]. It exaggerates
	// distances between saturated colours, which get more patches for it.
	CIELAB Space = iota
	// CAM16UCS is J′, a′, b′ of CAM16-UCS, in which distances are far closer to
	// what is seen. The white is adapted to, at the luminance and background
	// that package appearance has as its defaults, in an average surround.
	//
	// Source: Li et al., Color Res. Appl. 42(6) 703-718 (2017),
	// doi:10.1002/col.22131.
	CAM16UCS
)

// String returns "CIELAB" or "CAM16-UCS".
func (s Space) String() string {
	if s == CAM16UCS {
		return "CAM16-UCS"
	}
	return "CIELAB"
}

// point is a colour in the coordinates of a Space.
type point struct{ x, y, z float64 }

// gap returns the squared distance between a and b.
func gap(a, b point) float64 {
	l, m, n := a.x-b.x, a.y-b.y, a.z-b.z
	return l*l + m*m + n*n
}

// placer says where in a Space a signal lies. It does not change once it is
// made.
type placer struct {
	display nominal
	model   *appearance.Model // nil for CIELAB
}

func newPlacer(s Space) placer {
	p := placer{display: newNominal()}
	if s == CAM16UCS {
		m, err := appearance.NewCAM16(appearance.Viewing{White: p.display.white})
		if err != nil {
			panic(err) // a white of Y = 1 with every other field at its default
		}
		p.model = m
	}
	return p
}

// at returns the place of s, which is clamped to the signal cube.
func (p placer) at(s colorimetry.RGB) point {
	if p.model == nil {
		c := p.display.lab(s)
		return point{c.L, c.A, c.B}
	}
	c, ok := p.model.Jab(p.display.xyz(s), appearance.UCS())
	if !ok {
		// The nominal primaries are real lights: every mixture has an appearance,
		// and rounding next to black is all that can fail.
		return point{}
	}
	return point{c.J, c.A, c.B}
}

// volume returns the volume of the parallelepiped with edges a−o, b−o, c−o.
func volume(o, a, b, c point) float64 {
	a, b, c = a.minus(o), b.minus(o), c.minus(o)
	return math.Abs(a.x*(b.y*c.z-b.z*c.y) - a.y*(b.x*c.z-b.z*c.x) + a.z*(b.x*c.y-b.y*c.x))
}

func (p point) minus(q point) point { return point{p.x - q.x, p.y - q.y, p.z - q.z} }
