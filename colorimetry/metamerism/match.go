package metamerism

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// Display is a display as light: what each channel adds at full, and what is
// there without any.
type Display struct {
	// Primaries are the spectral radiances of red, green and blue at full,
	// without the black, in W/(sr·m²·nm); relative ones on one scale serve too.
	Primaries [3]spectrum.Spectrum
	// Black is the light that is always there. The zero value is none.
	Black spectrum.Spectrum
}

// Light returns the spectrum of the display with its channels at these linear
// amounts, 1 being full: the black and the sum of the primaries.
func (d Display) Light(amounts colorimetry.RGB) spectrum.Spectrum {
	light := d.Black
	for k, a := range [3]float64{amounts.R, amounts.G, amounts.B} {
		light = light.Add(d.Primaries[k].Scale(a))
	}
	return light
}

// seen is a display as an observer sees it.
type seen struct {
	primaries colorimetry.Matrix // from linear amounts
	black     colorimetry.XYZ
}

func see(o spectrum.Observer, d Display) seen {
	return seen{
		colorimetry.Columns(o.Emission(d.Primaries[0]), o.Emission(d.Primaries[1]), o.Emission(d.Primaries[2])),
		o.Emission(d.Black),
	}
}

// at returns the tristimulus values of the display at these amounts.
func (s *seen) at(amounts colorimetry.RGB) colorimetry.XYZ {
	return s.primaries.FromLinear(amounts).Add(s.black)
}

// flat is the volume that the tristimulus values of three primaries must span,
// as a share of what they would at right angles. Those of displays span more
// than a hundredth; near rounding, the answer would be noise.
const flat = 1e-9

// inverse returns the way from tristimulus values without the black to amounts.
func (s *seen) inverse(observer string) (colorimetry.Matrix, error) {
	box := 1.0
	for k := range 3 {
		c := s.primaries.Column(k)
		box *= math.Hypot(math.Hypot(c.X, c.Y), c.Z)
	}
	if !(math.Abs(s.primaries.Det()) > flat*box) || math.IsInf(box, 1) {
		return colorimetry.Matrix{}, fmt.Errorf("metamerism: to observer %.40q the three primaries are not three colours; give those of red, green and blue, over the wavelengths of sight", observer)
	}
	m, err := s.primaries.Inverse()
	if err != nil {
		return m, fmt.Errorf("metamerism: to observer %.40q the three primaries have no scale that can be computed with: %w", observer, err)
	}
	return m, nil
}

// Match returns the linear amounts of d's primaries that observer o would set
// to match a light: 1 is a primary at full. An amount above 1 asks for a
// brighter display, one below 0 for a colour out of its gamut, whose match no
// setting makes. The error is that o does not tell the primaries apart or that
// the result is not finite.
//
// Light and primaries are summed over the wavelengths of o. To match the same
// observer's view of another display, take [NewPair], which allocates nothing
// for a colour.
//
// Source: Grassmann's laws, as CIE 015:2018 builds on them.
func Match(o spectrum.Observer, light spectrum.Spectrum, d Display) (colorimetry.RGB, error) {
	s := see(o, d)
	inverse, err := s.inverse(o.Name)
	if err != nil {
		return colorimetry.RGB{}, err
	}
	c := inverse.ToLinear(o.Emission(light).Sub(s.black))
	if !(colorimetry.XYZ{X: c.R, Y: c.G, Z: c.B}).Finite() {
		return colorimetry.RGB{}, fmt.Errorf("metamerism: to observer %.40q the light or the black is too strong to compute with", o.Name)
	}
	return c, nil
}

// Pair is two displays side by side before one observer. It is immutable and
// safe for concurrent use; [NewPair] makes it.
type Pair struct {
	a, b seen
	toB  colorimetry.Matrix
}

// NewPair returns the displays a and b as observer o sees them. The error is
// that o does not tell b's primaries apart.
func NewPair(o spectrum.Observer, a, b Display) (*Pair, error) {
	p := &Pair{a: see(o, a), b: see(o, b)}
	var err error
	p.toB, err = p.b.inverse(o.Name)
	return p, err
}

// Match returns the linear amounts on b that the observer would set to match
// these amounts on a. Amounts above 1 and below 0 mean what they do in [Match].
func (p *Pair) Match(onA colorimetry.RGB) colorimetry.RGB {
	return p.toB.ToLinear(p.a.at(onA).Sub(p.b.black))
}

// Seen returns the tristimulus values that the observer sees on a and b at
// these linear amounts: cd/m² if the displays' spectra are spectral radiance.
func (p *Pair) Seen(onA, onB colorimetry.RGB) (a, b colorimetry.XYZ) {
	return p.a.at(onA), p.b.at(onB)
}

// White returns the tristimulus values of a at full.
func (p *Pair) White() colorimetry.XYZ { return p.a.at(colorimetry.Gray(1)) }
