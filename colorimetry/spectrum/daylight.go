package spectrum

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Daylight returns the chromaticity of a phase of daylight whose correlated
// colour temperature is cct, 4000 K to 25,000 K.
//
// D65 is the phase of 6504 K and D50 that of 5003 K: their names are older
// than today's value of the constant c2, and 6500 K becomes
// 6500·1.4388/1.4380. The polynomials are fits, so that CCT of the result is
// some kelvins off cct.
//
// Source: CIE 015:2018, 4.1.2; ISO/CIE 11664-2:2022.
func Daylight(cct float64) (colorimetry.Chromaticity, error) {
	if !(cct >= lowestDaylight && cct <= highestDaylight) {
		return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: daylight of %g K is outside %d to %d K", cct, lowestDaylight, highestDaylight)
	}
	r := 1000 / cct
	var x float64
	if cct <= 7000 {
		x = ((-4.6070*r+2.9678)*r+0.09911)*r + 0.244063
	} else {
		x = ((-2.0064*r+1.9018)*r+0.24748)*r + 0.237040
	}
	return colorimetry.Chromaticity{X: x, Y: (-3.000*x+2.870)*x - 0.275}, nil
}

// DaylightSpectrum returns the relative spectrum of that phase of daylight,
// 100 at 560 nm, 300 to 830 nm at 10 nm, between which straight lines are the
// standard's own rule. The two factors are rounded to three decimals as the
// standard asks. cct is limited as in [Daylight].
//
// Source: CIE 015:2018, 4.1.2; Judd, MacAdam and Wyszecki, J. Opt. Soc. Am.
// 54(8) 1031-1040 (1964).
func DaylightSpectrum(cct float64) (Spectrum, error) {
	c, err := Daylight(cct)
	if err != nil {
		return Spectrum{}, err
	}
	round := func(v float64) float64 { return math.Round(v*1000) / 1000 }
	m := 0.0241 + 0.2562*c.X - 0.7341*c.Y
	m1 := round((-1.3515 - 1.7703*c.X + 5.9114*c.Y) / m)
	m2 := round((0.0300 - 31.4424*c.X + 30.0717*c.Y) / m)
	s := daylight().spectra
	return s[0].Add(s[1].Scale(m1)).Add(s[2].Scale(m2)), nil
}
