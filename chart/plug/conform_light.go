package plug

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

const (
	// Luminance from which on chance does not carry a light out of the locus.
	surelyLit = 1 // cd/m²
	// Luminance that no display is known to reach: the perceptual quantiser's
	// codes end at 10,000 cd/m² (SMPTE ST 2084, from memory), and this is
	// twice that.
	beyondDisplays = 20000 // cd/m²
)

// credible tells what is wrong with a light as an instrument gave it: a colour
// that no light has, or a unit that is not cd/m². white says that a display's
// white was shown.
func credible(c colorimetry.XYZ, white bool) error {
	if white && !(c.X > 0 && c.Y > 0 && c.Z > 0) {
		return wrong(`give absolute XYZ in cd/m², in the order X, Y, Z; all three of a white are above 0`, "white has XYZ of %.4g, %.4g and %.4g cd/m²", c.X, c.Y, c.Z)
	}
	if c.Y < surelyLit {
		return nil
	}
	xy := c.Chromaticity()
	seen, err := spectrum.CIE1931().Dominant(xy, colorimetry.D65().Chromaticity())
	if err == nil && seen.ExcitationPurity > 1 {
		return wrong(`give XYZ of the CIE 1931 observer, in the order X, Y, Z, and no other numbers such as x, y, Y or RGB`,
			"the chromaticity x = %.4f, y = %.4f lies outside the spectrum locus, where no light has its", xy.X, xy.Y)
	}
	if c.Y > beyondDisplays {
		return wrong(`is this in cd/m²? Give luminance, no illuminance, counts or mcd/m²`, "the luminance is %.6g cd/m², and no display is known to reach %d", c.Y, beyondDisplays)
	}
	return nil
}
