package difference

import "math"

// Parts is a colour difference in its parts. All differences are the second
// colour's less the first one's: L > 0 is lighter, C > 0 has more chroma, and
// H > 0 stands counter-clockwise in the a, b plane.
type Parts struct {
	L, C, H    float64 // differences of lightness, chroma and hue
	SL, SC, SH float64 // what the metric divides them by, parametric weights included
	RT         float64 // how chroma and hue interact; 0 save in CIEDE2000
}

// Total returns the difference that p are the parts of.
func (p Parts) Total() float64 {
	l, c, h := p.L/p.SL, p.C/p.SC, p.H/p.SH
	return root(l*l + c*c + h*h + p.RT*c*h)
}

// root returns the square root of a sum of squares: 0 where rounding took it
// below, NaN where it overflowed.
func root(e float64) float64 {
	if e < 0 {
		return 0
	}
	if e > math.MaxFloat64 {
		return math.NaN()
	}
	return math.Sqrt(e)
}

// Row sets dst[i] to f(a[i], b[i]). It panics if dst or b is shorter than a.
// To give f parameters, close over them outside of the loop:
//
//	cmc := func(a, b colorimetry.Lab) float64 { return difference.CMC(a, b, 2, 1) }
//	difference.Row(dst, references, samples, cmc)
//
// For CIEDE2000, CIEDE2000Row is faster.
func Row[C any](dst []float64, a, b []C, f func(a, b C) float64) {
	dst, b = dst[:len(a)], b[:len(a)]
	for i := range a {
		dst[i] = f(a[i], b[i])
	}
}
