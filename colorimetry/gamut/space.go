package gamut

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// Coordinates is a colour in a [Space]: L the lightness, A and B the two
// chromatic coordinates. A [colorimetry.Lab] converts to it and back by a plain
// Go conversion.
type Coordinates struct{ L, A, B float64 }

// Space is a uniform colour space, in which volumes and distances mean
// something. Its methods must be pure. ok is false where a colour has no
// coordinates, or coordinates no colour.
type Space interface {
	Name() string
	Coordinates(colorimetry.XYZ) (c Coordinates, ok bool)
	XYZ(Coordinates) (c colorimetry.XYZ, ok bool)
}

type cielab struct{ white colorimetry.XYZ }

// CIELAB returns CIELAB under a white, on the scale of the device's colours.
func CIELAB(white colorimetry.XYZ) Space { return cielab{white} }

func (cielab) Name() string { return "CIELAB" }

func (s cielab) Coordinates(c colorimetry.XYZ) (Coordinates, bool) {
	p := Coordinates(c.Lab(s.white))
	return p, p.finite()
}

func (s cielab) XYZ(p Coordinates) (colorimetry.XYZ, bool) {
	c := colorimetry.Lab(p).XYZ(s.white)
	return c, c.Finite()
}

type uniform struct{ model *appearance.Model }

// CAM16UCS returns the uniform space of a colour appearance model: CAM16-UCS of
// one that appearance.NewCAM16 made, CAM02-UCS of one by
// appearance.NewCIECAM02. The device's colours are on the scale of the model's
// white.
func CAM16UCS(m *appearance.Model) Space { return uniform{m} }

func (s uniform) Name() string {
	if s.model.Name() == "CIECAM02" {
		return "CAM02-UCS"
	}
	return "CAM16-UCS"
}

func (s uniform) Coordinates(c colorimetry.XYZ) (Coordinates, bool) {
	j, ok := s.model.Jab(c, appearance.UCS())
	return Coordinates{j.J, j.A, j.B}, ok
}

func (s uniform) XYZ(p Coordinates) (colorimetry.XYZ, bool) {
	return s.model.FromJab(appearance.Jab{J: p.L, A: p.A, B: p.B}, appearance.UCS())
}

func (p Coordinates) finite() bool { s := p.L + p.A + p.B; return s-s == 0 }

func (p Coordinates) sub(q Coordinates) Coordinates {
	return Coordinates{p.L - q.L, p.A - q.A, p.B - q.B}
}

func (p Coordinates) plus(k float64, q Coordinates) Coordinates {
	return Coordinates{p.L + k*q.L, p.A + k*q.A, p.B + k*q.B}
}

func (p Coordinates) dot(q Coordinates) float64 { return p.L*q.L + p.A*q.A + p.B*q.B }

func (p Coordinates) cross(q Coordinates) Coordinates {
	return Coordinates{p.A*q.B - p.B*q.A, p.B*q.L - p.L*q.B, p.L*q.A - p.A*q.L}
}
