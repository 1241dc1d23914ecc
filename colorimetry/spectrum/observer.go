package spectrum

import "example.org/primaries/colorimetry"

// Observer is a colorimetric observer: three colour-matching functions of
// wavelength. It is immutable and safe for concurrent use.
type Observer struct {
	Name             string
	XBar, YBar, ZBar Spectrum
}

// maxEfficacy is the luminous efficacy Km in lm/W that turns watts weighted
// with the y function into lumens.
//
// Source: ISO/CIE 23539:2023; BIPM, SI Brochure, 9th edition (2019).
const maxEfficacy = 683

// CIE1931 returns the CIE 1931 standard colorimetric observer (2°), 360 to
// 830 nm at 1 nm.
//
// Source: ISO/CIE 11664-1:2019.
func CIE1931() Observer {
	c := cie1931()
	return Observer{"CIE 1931 2°", c[0], c[1], c[2]}
}

// Emission returns the absolute tristimulus values in cd/m² of light whose
// spectral radiance s is in W/(sr·m²·nm), summed as [Spectrum.Integral] says.
// A relative spectrum gives relative values that are right among each other.
func (o Observer) Emission(s Spectrum) colorimetry.XYZ {
	return colorimetry.XYZ{X: s.Integral(o.XBar), Y: s.Integral(o.YBar), Z: s.Integral(o.ZBar)}.Scale(maxEfficacy)
}
