package spectrum

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Mired returns the reciprocal of a temperature, 10⁶/kelvin, in which equal
// steps look about equally large. It is NaN for a temperature not above 0.
func Mired(kelvin float64) float64 {
	if m := 1e6 / kelvin; m > 0 && !math.IsInf(m, 1) {
		return m
	}
	return math.NaN()
}

// Kelvin returns the temperature in K whose reciprocal is mired, NaN where that
// is not above 0.
func Kelvin(mired float64) float64 { return Mired(mired) }

// FromCCT returns the chromaticity that has this correlated colour temperature
// in K and this Duv, its signed distance from the Planckian locus in the
// CIE 1960 diagram: the way back from [CCT].
//
// It is an error if kelvin is outside 1000 K to 100,000 K or duv outside ±0.05,
// or if no light has that chromaticity: lights of less than 2500 K, say, cannot
// be 0.02 above the locus. The locus is nowhere bent with a radius below 0.10,
// so that no two answers meet.
//
// Source: CIE 015:2018 and ANSI C78.377-2015 (Duv) for the definitions.
func FromCCT(kelvin, duv float64) (colorimetry.Chromaticity, error) {
	if !(kelvin >= lowestCCT && kelvin <= highestCCT && math.Abs(duv) <= farthestDuv) {
		return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: %g K, Duv %g; %d to %d K and Duv of ±%g are possible", kelvin, duv, lowestCCT, highestCCT, farthestDuv)
	}
	u, v := locusAt(1e6 / kelvin).offset(duv)
	c := colorimetry.UV{U: u, V: 1.5 * v}.Chromaticity()
	if !(c.X >= 0 && c.Y > 0 && c.X+c.Y <= 1) {
		return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: no light has %g K and Duv %g", kelvin, duv)
	}
	return c, nil
}

// PlanckianLocus returns the chromaticities of n black bodies from fromK to
// toK, in equal steps of mired; limits and source as [Planckian]. n is 2 to
// 65536.
func PlanckianLocus(fromK, toK float64, n int) ([]colorimetry.Chromaticity, error) {
	return locus(fromK, toK, n, Planckian)
}

// DaylightLocus returns the chromaticities of n phases of daylight from fromK
// to toK, in equal steps of mired; limits and source as [Daylight]. n is 2 to
// 65536.
func DaylightLocus(fromK, toK float64, n int) ([]colorimetry.Chromaticity, error) {
	return locus(fromK, toK, n, Daylight)
}

func locus(fromK, toK float64, n int, at func(kelvin float64) (colorimetry.Chromaticity, error)) ([]colorimetry.Chromaticity, error) {
	if n < 2 || n > maxSamples {
		return nil, fmt.Errorf("spectrum: %d points on a locus; 2 to %d are possible", n, maxSamples)
	}
	out := make([]colorimetry.Chromaticity, n)
	for i := range out {
		t := float64(i) / float64(n-1)
		kelvin := 1 / ((1-t)/fromK + t/toK)
		switch i { // the ends as given, not rounded out of range
		case 0:
			kelvin = fromK
		case n - 1:
			kelvin = toK
		}
		var err error
		if out[i], err = at(kelvin); err != nil {
			return nil, err
		}
	}
	return out, nil
}
