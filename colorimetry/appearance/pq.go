package appearance

import "math"

// Constants of the perceptual quantiser.
//
// Source: SMPTE ST 2084:2014; ITU-R BT.2100-2.
const (
	pqM1     = 2610.0 / 16384
	pqM2     = 2523.0 / 32
	pqC1     = 3424.0 / 4096
	pqC2     = 2413.0 / 128
	pqC3     = 2392.0 / 128
	pqPeak   = 10000.0
	jzazbzM2 = 1.7 * pqM2 // Safdar et al. (2017)
)

// encodePQ returns the code of light in cd/m², with m2 as the outer exponent;
// NaN below 0.
func encodePQ(light, m2 float64) float64 {
	y := pow(light/pqPeak, pqM1)
	return pow((pqC1+pqC2*y)/(1+pqC3*y), m2)
}

// decodePQ undoes encodePQ. As in the standard, codes from 0 to black's count
// as black. It returns NaN below 0 and where no light is so strong.
func decodePQ(code, m2 float64) float64 {
	v := pow(code, 1/m2)
	d := pqC2 - pqC3*v
	if !(d > 0) {
		return math.NaN()
	}
	if n := v - pqC1; n < 0 {
		return 0
	}
	return pqPeak * pow((v-pqC1)/d, 1/pqM1)
}
