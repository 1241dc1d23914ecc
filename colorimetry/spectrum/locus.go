package spectrum

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"example.org/primaries/colorimetry"
)

// ErrFarFromLocus comes with a correlated colour temperature that means little
// because its chromaticity is more than 0.05 from the Planckian locus.
//
// Source: CIE 015:2018, clause on correlated colour temperature.
var ErrFarFromLocus = errors.New("spectrum: chromaticity is more than 0.05 from the Planckian locus")

// secondRadiation is the constant c2 of Planck's law in nm·K, as the
// International Temperature Scale of 1990 has it and CIE 015:2018 uses it.
const secondRadiation = 1.4388e7

// Limits of the temperatures in K that are answered.
const (
	lowestPlanckian, highestPlanckian = 500, 1e6
	lowestCCT, highestCCT             = 1000, 100000
	lowestDaylight, highestDaylight   = 4000, 25000
)

// Planckian returns the chromaticity of a black body of a temperature from
// 500 K to 10⁶ K, for the CIE 1931 observer.
//
// Source: Planck's law in CIE 015:2018, c2 = 0.014388 m·K, summed at 1 nm.
func Planckian(kelvin float64) (colorimetry.Chromaticity, error) {
	if !(kelvin >= lowestPlanckian && kelvin <= highestPlanckian) {
		return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: a black body of %g K is outside %d to %.0f K", kelvin, lowestPlanckian, highestPlanckian)
	}
	sum, _ := planck(1e6 / kelvin)
	return sum.Chromaticity(), nil
}

// PlanckianSpectrum returns the relative spectrum of a black body, 100 at
// 560 nm, 300 to 830 nm at 1 nm; limits and source as [Planckian].
func PlanckianSpectrum(kelvin float64) (Spectrum, error) {
	if !(kelvin >= lowestPlanckian && kelvin <= highestPlanckian) {
		return Spectrum{}, fmt.Errorf("spectrum: a black body of %g K is outside %d to %.0f K", kelvin, lowestPlanckian, highestPlanckian)
	}
	law := func(nm float64) float64 {
		return math.Pow(560/nm, 5) / math.Expm1(secondRadiation/(nm*kelvin))
	}
	nm, value := make([]float64, 531), make([]float64, 531)
	for i := range nm {
		nm[i] = float64(300 + i)
		value[i] = 100 * law(nm[i]) / law(560)
	}
	return New(nm, value)
}

// planck returns the tristimulus values of a black body, on a scale of no
// meaning, and their derivative by the reciprocal temperature in mired
// (10⁶/K), along which the locus runs evenly.
func planck(mired float64) (sum, slope colorimetry.XYZ) {
	c := cie1931()
	x, y, z := c[0].value, c[1].value, c[2].value
	for i, nm := range c[0].nm {
		k := secondRadiation / 1e6 / nm
		e := math.Expm1(k * mired)
		r := 560 / nm
		r2 := r * r
		power := r2 * r2 * r / e
		fall := -power * k * (1 + 1/e)
		sum = sum.Add(colorimetry.XYZ{X: power * x[i], Y: power * y[i], Z: power * z[i]})
		slope = slope.Add(colorimetry.XYZ{X: fall * x[i], Y: fall * y[i], Z: fall * z[i]})
	}
	return sum, slope
}

// locusPoint is a place on the Planckian locus in the CIE 1960 diagram and the
// direction in which it runs, per mired.
type locusPoint struct{ mired, u, v, du, dv float64 }

func locusAt(mired float64) locusPoint {
	c, d := planck(mired)
	n, dn := c.X+15*c.Y+3*c.Z, d.X+15*d.Y+3*d.Z
	u, v := 4*c.X/n, 6*c.Y/n
	return locusPoint{mired, u, v, (4*d.X - u*dn) / n, (6*d.Y - v*dn) / n}
}

// along returns how far (u, v) stands ahead of p, projected on the locus.
func (p locusPoint) along(u, v float64) float64 { return (u-p.u)*p.du + (v-p.v)*p.dv }

// locusStep is the step in mired of the coarse search: the locus is so little
// curved that neighbours bracket the nearest place.
const locusStep = 5

// coarseLocus is the locus from just above the highest to just below the
// lowest correlated colour temperature.
var coarseLocus = sync.OnceValue(func() []locusPoint {
	var p []locusPoint
	for m := 1e6 / highestCCT * 0.5; m < 1e6/lowestCCT+2*locusStep; m += locusStep {
		p = append(p, locusAt(m))
	}
	return p
})

// CCT returns the correlated colour temperature of c in K and Duv, its signed
// distance from the Planckian locus in the CIE 1960 diagram, positive above it
// (greenish). The nearest place on the locus is searched for, not
// approximated.
//
// Far from the locus both numbers come with [ErrFarFromLocus]. Any other error
// comes without numbers: c is not finite or not a colour, or the temperature is
// outside 1000 K to 100,000 K.
//
// Source: CIE 015:2018 and ANSI C78.377-2015 (Duv) for the definitions.
func CCT(c colorimetry.Chromaticity) (kelvin, duv float64, err error) {
	uv := c.UV()
	u, v := uv.U, uv.V*2/3
	if !(c.X >= 0 && c.X <= 1 && c.Y > 0 && c.Y <= 1) {
		return 0, 0, fmt.Errorf("spectrum: x = %g, y = %g is no chromaticity of a light", c.X, c.Y)
	}
	table := coarseLocus()
	best, nearest := 0, math.Inf(1)
	for i, p := range table {
		if d := math.Hypot(u-p.u, v-p.v); d < nearest {
			best, nearest = i, d
		}
	}
	lo, hi := table[max(best-1, 0)], table[min(best+1, len(table)-1)]
	p := nearestOnLocus(lo, hi, u, v)
	if kelvin = 1e6 / p.mired; kelvin < lowestCCT*(1-1e-9) || kelvin > highestCCT*(1+1e-9) {
		return 0, 0, fmt.Errorf("spectrum: x = %g, y = %g has no correlated colour temperature from %d K to %d K", c.X, c.Y, lowestCCT, highestCCT)
	}
	duv = math.Hypot(u-p.u, v-p.v)
	if p.du*(v-p.v)-p.dv*(u-p.u) < 0 {
		duv = -duv
	}
	if math.Abs(duv) > 0.05 {
		return kelvin, duv, ErrFarFromLocus
	}
	return kelvin, duv, nil
}

// nearestOnLocus returns the place between lo and hi where (u, v) stands
// square to the locus, by the method of false position with the Illinois rule;
// an end where there is none between them.
func nearestOnLocus(lo, hi locusPoint, u, v float64) locusPoint {
	fl, fh := lo.along(u, v), hi.along(u, v)
	if fl <= 0 {
		return lo
	}
	if fh >= 0 {
		return hi
	}
	p := lo
	side := 0
	for range 60 {
		p = locusAt((lo.mired*fh - hi.mired*fl) / (fh - fl))
		f := p.along(u, v)
		switch {
		case f == 0 || hi.mired-lo.mired < 1e-11*p.mired:
			return p
		case f > 0:
			if p.mired == lo.mired {
				return p
			}
			lo, fl = p, f
			if side == 1 {
				fh /= 2
			}
			side = 1
		default:
			if p.mired == hi.mired {
				return p
			}
			hi, fh = p, f
			if side == -1 {
				fl /= 2
			}
			side = -1
		}
	}
	return p
}
