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

// farthestDuv is how far from the locus a correlated colour temperature means
// something.
const farthestDuv = 0.05

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
	sum, _, _ := planck(1e6 / kelvin)
	return sum.Chromaticity(), nil
}

// PlanckianSpectrum returns the relative spectrum of a black body, 100 at
// 560 nm, 300 to 830 nm at 1 nm; limits and source as [Planckian].
func PlanckianSpectrum(kelvin float64) (Spectrum, error) {
	if !(kelvin >= lowestPlanckian && kelvin <= highestPlanckian) {
		return Spectrum{}, fmt.Errorf("spectrum: a black body of %g K is outside %d to %.0f K", kelvin, lowestPlanckian, highestPlanckian)
	}
	top := planckLaw(560, secondRadiation/kelvin)
	return tabulate(func(nm float64) float64 { return 100 * planckLaw(nm, secondRadiation/kelvin) / top }), nil
}

// planck returns the tristimulus values of a black body, on a scale of no
// meaning, and their first and second derivative by the reciprocal temperature
// in mired (10⁶/K), along which the locus runs evenly.
func planck(mired float64) (sum, slope, bend colorimetry.XYZ) {
	c := cie1931().spectra
	x, y, z := c[0].value, c[1].value, c[2].value
	for i, nm := range c[0].nm {
		k := secondRadiation / 1e6 / nm
		g := 1 / math.Expm1(k*mired)
		r := 560 / nm
		r2 := r * r
		power := r2 * r2 * r * g
		fall := -power * k * (1 + g)
		turn := -fall * k * (1 + 2*g)
		sum = sum.Add(colorimetry.XYZ{X: power * x[i], Y: power * y[i], Z: power * z[i]})
		slope = slope.Add(colorimetry.XYZ{X: fall * x[i], Y: fall * y[i], Z: fall * z[i]})
		bend = bend.Add(colorimetry.XYZ{X: turn * x[i], Y: turn * y[i], Z: turn * z[i]})
	}
	return sum, slope, bend
}

// locusPoint is a place on the Planckian locus in the CIE 1960 diagram with
// the first and second derivative by mired.
type locusPoint struct{ mired, u, v, du, dv, ddu, ddv float64 }

func locusAt(mired float64) locusPoint {
	c, d, e := planck(mired)
	n, dn, ddn := c.X+15*c.Y+3*c.Z, d.X+15*d.Y+3*d.Z, e.X+15*e.Y+3*e.Z
	u, v := 4*c.X/n, 6*c.Y/n
	du, dv := (4*d.X-u*dn)/n, (6*d.Y-v*dn)/n
	return locusPoint{mired, u, v, du, dv, (4*e.X - 2*du*dn - u*ddn) / n, (6*e.Y - 2*dv*dn - v*ddn) / n}
}

// offset returns the place at a distance of duv to the left of p, which is
// above the locus.
func (p locusPoint) offset(duv float64) (u, v float64) {
	speed := math.Hypot(p.du, p.dv)
	return p.u - duv*p.dv/speed, p.v + duv*p.du/speed
}

// ahead returns how far (u, v) stands ahead of p, projected on the locus, and
// how that changes along it.
func (p locusPoint) ahead(u, v float64) (f, slope float64) {
	du, dv := u-p.u, v-p.v
	return du*p.du + dv*p.dv, du*p.ddu + dv*p.ddv - p.du*p.du - p.dv*p.dv
}

// blend returns the place at mired between a and b on the curve of fifth order
// that has both their derivatives. It is within 10⁻¹² of the locus.
func blend(a, b locusPoint, mired float64) locusPoint {
	h := b.mired - a.mired
	t := (mired - a.mired) / h
	u, du, ddu := hermite(t, h, a.u, a.du, a.ddu, b.u, b.du, b.ddu)
	v, dv, ddv := hermite(t, h, a.v, a.dv, a.ddv, b.v, b.dv, b.ddv)
	return locusPoint{mired, u, v, du, dv, ddu, ddv}
}

// hermite returns the value and two derivatives at share t of an interval of
// width h, of the polynomial of fifth order through those at both ends.
func hermite(t, h, p, dp, ddp, q, dq, ddq float64) (y, dy, ddy float64) {
	c1, c2 := h*dp, h*h*ddp/2
	// What is missing at the far end after the Taylor polynomial from p.
	d0, d1, d2 := q-p-c1-c2, h*dq-c1-2*c2, h*h*ddq-2*c2
	c3, c4, c5 := 10*d0-4*d1+d2/2, -15*d0+7*d1-d2, 6*d0-3*d1+d2/2
	y = p + t*(c1+t*(c2+t*(c3+t*(c4+t*c5))))
	dy = (c1 + t*(2*c2+t*(3*c3+t*(4*c4+t*5*c5)))) / h
	ddy = (2*c2 + t*(6*c3+t*(12*c4+t*20*c5))) / (h * h)
	return y, dy, ddy
}

// coarseLocus is the locus from just above the highest to just below the
// lowest correlated colour temperature, so close that neighbours bracket the
// nearest place: each 5 mired, closer at the hot end, where it is bent more.
var coarseLocus = sync.OnceValue(func() []locusPoint {
	var p []locusPoint
	for m := 1e6 / highestCCT * 0.5; m < 1e6/lowestCCT+10; m += math.Max(1, math.Min(m/8, 5)) {
		p = append(p, locusAt(m))
	}
	return p
})

// nearestOnLocus returns the place on the locus nearest to (u, v), within or
// at the end of the coarse table.
func nearestOnLocus(u, v float64) locusPoint {
	table := coarseLocus()
	best, nearest := 0, math.Inf(1)
	for i := range table {
		p := &table[i]
		if d := (u-p.u)*(u-p.u) + (v-p.v)*(v-p.v); d < nearest {
			best, nearest = i, d
		}
	}
	// The nearest place is ahead of the nearest entry or behind it.
	if f, _ := table[best].ahead(u, v); f < 0 {
		best--
	}
	if best < 0 || best == len(table)-1 {
		return table[max(best, 0)]
	}
	a, b := table[best], table[best+1]
	lo, hi := a.mired, b.mired
	p := blend(a, b, (lo+hi)/2)
	for range 60 {
		f, slope := p.ahead(u, v)
		if f > 0 {
			lo = p.mired
		} else {
			hi = p.mired
		}
		next := p.mired - f/slope
		if !(next > lo && next < hi) { // Newton's step left the bracket
			next = (lo + hi) / 2
		}
		step := math.Abs(next - p.mired)
		p = blend(a, b, next)
		if step < 1e-13*next {
			break
		}
	}
	return p
}

// CCT returns the correlated colour temperature of c in K and Duv, its signed
// distance from the Planckian locus in the CIE 1960 diagram, positive above it
// (greenish). The nearest place on the locus is searched for, not
// approximated: kelvin is good to a billionth of itself. [FromCCT] is the way
// back.
//
// Far from the locus both numbers come with [ErrFarFromLocus]. Any other error
// comes without numbers: c is not finite or not a colour, or the temperature is
// outside 1000 K to 100,000 K.
//
// Source: CIE 015:2018 and ANSI C78.377-2015 (Duv) for the definitions.
func CCT(c colorimetry.Chromaticity) (kelvin, duv float64, err error) {
	if !(c.X >= 0 && c.X <= 1 && c.Y > 0 && c.Y <= 1) {
		return 0, 0, fmt.Errorf("spectrum: x = %g, y = %g is no chromaticity of a light", c.X, c.Y)
	}
	uv := c.UV()
	u, v := uv.U, uv.V*2/3
	p := nearestOnLocus(u, v)
	if kelvin = 1e6 / p.mired; kelvin < lowestCCT*(1-1e-9) || kelvin > highestCCT*(1+1e-9) {
		return 0, 0, fmt.Errorf("spectrum: x = %g, y = %g has no correlated colour temperature from %d K to %d K", c.X, c.Y, lowestCCT, highestCCT)
	}
	// The offset square to the locus, in which an error along it doesn't show.
	duv = (p.du*(v-p.v) - p.dv*(u-p.u)) / math.Hypot(p.du, p.dv)
	if math.Abs(duv) > farthestDuv {
		return kelvin, duv, ErrFarFromLocus
	}
	return kelvin, duv, nil
}
