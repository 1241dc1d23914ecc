package tone

import (
	"fmt"
	"math"
)

// The indices that PS3.14 tabulates.
const (
	gsdfTop = 1023 // the highest index
	gsdfLow = 1    // the lowest index
)

// GSDFLuminance returns the luminance in cd/m² of a just-noticeable-difference
// index from 1 to 1023 of the grayscale standard display function. ok is false,
// and the luminance NaN, for an index outside that range.
//
// Displays for diagnosis fall under rules of their own and a qualified medical
// physicist; a figure from here is no acceptance test.
//
// Source: DICOM PS3.14, equation 7-1. The standard's printed table ends at
// 3993.4040, the equation with its printed coefficients at 3993.3296.
func GSDFLuminance(index float64) (cdM2 float64, ok bool) {
	if !(index >= gsdfLow && index <= gsdfTop) {
		return math.NaN(), false
	}
	return gsdf(index), true
}

// GSDFIndex returns the just-noticeable-difference index of a luminance in
// cd/m²: the exact inverse of [GSDFLuminance]. ok is false, and the index NaN,
// outside 0.0499818 to 3993.3296 cd/m².
//
// Source: DICOM PS3.14, equation 7-1, inverted by iteration.
func GSDFIndex(cdM2 float64) (index float64, ok bool) {
	lo, hi := gsdf(gsdfLow), gsdf(gsdfTop)
	if !(cdM2 >= lo && cdM2 <= hi) {
		return math.NaN(), false
	}
	return gsdfInverse(cdM2), true
}

// GSDFIndexFitted returns the index by the polynomial that the standard itself
// prints for programs. It differs from the exact inverse by 0.092 at most. ok is
// false, and the index NaN, for luminances outside the range of [GSDFIndex].
//
// Source: DICOM PS3.14, clause 7, the equation of the inverse.
func GSDFIndexFitted(cdM2 float64) (index float64, ok bool) {
	if lo, hi := gsdf(gsdfLow), gsdf(gsdfTop); !(cdM2 >= lo && cdM2 <= hi) {
		return math.NaN(), false
	}
	return gsdfFitted(cdM2), true
}

// gsdf is equation 7-1.
func gsdf(j float64) float64 {
	x := math.Log(j)
	over, under, _, _ := gsdfTerms(x)
	return math.Pow(10, over/under)
}

// gsdfTerms returns the two polynomials of equation 7-1 in ln j, and their
// derivatives.
func gsdfTerms(x float64) (over, under, dOver, dUnder float64) {
	const (
		a, b, c, d, e = -1.3011877, -2.5840191e-2, 8.0242636e-2, -1.0320229e-1, 1.3646699e-1
		f, g, h, k, m = 2.8745620e-2, -2.5468404e-2, -3.1978977e-3, 1.2992634e-4, 1.3635334e-3
	)
	over = a + x*(c+x*(e+x*(g+x*m)))
	under = 1 + x*(b+x*(d+x*(f+x*(h+x*k))))
	dOver = c + x*(2*e+x*(3*g+x*4*m))
	dUnder = b + x*(2*d+x*(3*f+x*(4*h+x*5*k)))
	return over, under, dOver, dUnder
}

// gsdfFitted is clause 7, the equation of the inverse.
func gsdfFitted(cdM2 float64) float64 {
	coefficients := [...]float64{71.498068, 94.593053, 41.912053, 9.8247004, 0.28175407, -1.1878455, -0.18014349, 0.14710899, -0.017046845}
	x, y := math.Log10(cdM2), 0.0
	for i := len(coefficients) - 1; i >= 0; i-- {
		y = y*x + coefficients[i]
	}
	return y
}

// gsdfInverse solves equation 7-1 in ln j by Newton's rule from clause 7, the equation of the inverse,
// which is near enough for three or four steps to reach the last digits.
func gsdfInverse(cdM2 float64) float64 {
	want := math.Log10(cdM2)
	x := math.Log(math.Min(math.Max(gsdfFitted(cdM2), gsdfLow), gsdfTop))
	for range 8 {
		over, under, dOver, dUnder := gsdfTerms(x)
		step := (over/under - want) / ((dOver*under - over*dUnder) / (under * under))
		x -= step
		if math.Abs(step) < 1e-15 {
			break
		}
	}
	return math.Min(math.Max(math.Exp(x), gsdfLow), gsdfTop)
}

// GSDF is the curve of a display that follows the grayscale standard display
// function: equal steps of the signal are equal steps of the
// just-noticeable-difference index, seen with the ambient light that its
// screen reflects. Light is relative to the white and without the ambient
// light, so Light(0) is black over white. [NewGSDF] makes one; the zero value
// is no curve and answers NaN.
//
// Signals below 0 count as 0, above 1 as 1; light beyond black and white has
// their signals.
//
// Source: DICOM PS3.14, clause 7 and annex D.
type GSDF struct{ white, black, ambient, low, high float64 }

// NewGSDF returns the curve of a display whose white and black, measured in the
// dark, and whose reflected ambient light are luminances in cd/m². Black and
// ambient are at least 0. It is an error if black and ambient together lie
// below 0.05 cd/m², where the function begins, or white and ambient above
// 3993.3 cd/m², where it ends, or if black is not below white.
func NewGSDF(whiteCdM2, blackCdM2, ambientCdM2 float64) (GSDF, error) {
	if !(blackCdM2 >= 0 && ambientCdM2 >= 0 && blackCdM2 < whiteCdM2) {
		return GSDF{}, fmt.Errorf("tone: gsdf has white %g, black %g and ambient light %g cd/m²; black must be below white and none below 0", whiteCdM2, blackCdM2, ambientCdM2)
	}
	low, inside := GSDFIndex(blackCdM2 + ambientCdM2)
	if !inside {
		return GSDF{}, fmt.Errorf("tone: gsdf has %g cd/m² in its black with ambient light; the function runs from 0.05 to 3993.3", blackCdM2+ambientCdM2)
	}
	high, inside := GSDFIndex(whiteCdM2 + ambientCdM2)
	if !inside {
		return GSDF{}, fmt.Errorf("tone: gsdf has %g cd/m² in its white with ambient light; the function runs from 0.05 to 3993.3", whiteCdM2+ambientCdM2)
	}
	return GSDF{whiteCdM2, blackCdM2, ambientCdM2, low, high}, nil
}

// Index returns the just-noticeable-difference index of a signal, ambient light
// included.
func (c GSDF) Index(signal float64) float64 {
	if c.white == 0 {
		return math.NaN()
	}
	return c.low + math.Min(math.Max(signal, 0), 1)*(c.high-c.low)
}

// Light returns the light of a signal relative to the white.
func (c GSDF) Light(signal float64) float64 {
	switch {
	case c.white == 0:
		return math.NaN()
	case signal >= 1:
		return 1
	case signal <= 0:
		return c.black / c.white
	}
	return math.Min(math.Max((gsdf(c.Index(signal))-c.ambient)/c.white, c.black/c.white), 1)
}

// Signal returns the signal of a light relative to the white.
func (c GSDF) Signal(light float64) float64 {
	switch {
	case c.white == 0 || math.IsNaN(light):
		return math.NaN()
	case light <= c.black/c.white:
		return 0
	case light >= 1:
		return 1
	}
	return math.Min(math.Max((gsdfInverse(light*c.white+c.ambient)-c.low)/(c.high-c.low), 0), 1)
}

// Slope returns the derivative of Light, 0 outside 0 to 1.
func (c GSDF) Slope(signal float64) float64 {
	switch {
	case c.white == 0:
		return math.NaN()
	case signal < 0 || signal > 1:
		return 0
	}
	j := c.Index(signal)
	over, under, dOver, dUnder := gsdfTerms(math.Log(j))
	return gsdf(j) * math.Ln10 * (dOver*under - over*dUnder) / (under * under) / j * (c.high - c.low) / c.white
}

// String returns for instance "gsdf 400 0.4 0.1": white, black and ambient in
// cd/m².
func (c GSDF) String() string {
	return "gsdf " + number(c.white) + " " + number(c.black) + " " + number(c.ambient)
}
