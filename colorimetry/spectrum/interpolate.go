package spectrum

import (
	"fmt"
	"math"
)

// Interpolation says how a value between samples is found.
type Interpolation int

const (
	// Linear takes straight lines. It is what CIE daylight prescribes between
	// its 10 nm samples, adds no ripple and flattens peaks.
	Linear Interpolation = iota
	// Sprague takes polynomials of fifth order through six neighbours, for
	// equal steps and at least six samples: the choice of CIE 015:2018 for
	// smooth spectra. Beside narrow lines it swings below 0.
	Sprague
	// PCHIP takes cubic pieces that rise and fall only where the samples do,
	// for any steps.
	PCHIP
	// Lagrange takes cubics through the four samples around, parabolas through
	// three in the first and last interval, for any steps: the choice of
	// ASTM E2022 and CIE 167:2005.
	Lagrange
)

// String returns the name of the method in small letters.
func (m Interpolation) String() string {
	switch m {
	case Linear:
		return "linear"
	case Sprague:
		return "sprague"
	case PCHIP:
		return "pchip"
	case Lagrange:
		return "lagrange"
	}
	return fmt.Sprintf("interpolation %d", int(m))
}

// Extrapolation says what stands outside the samples.
type Extrapolation int

const (
	// Usual is Nearest for a reflectance and for Spectrum.Resample, Nothing
	// for light.
	Usual Extrapolation = iota
	// Nearest repeats the sample at the end, as CIE 015:2018 advises for
	// quantities that weren't measured far enough.
	Nearest
	// Nothing is 0.
	Nothing
	// Straight goes on along the line through the two samples at the end. It
	// can fall below 0.
	Straight
	// Refuse makes samples that don't reach far enough an error.
	Refuse
)

// String returns the name of the rule in small letters.
func (e Extrapolation) String() string {
	switch e {
	case Usual:
		return "usual"
	case Nearest:
		return "nearest"
	case Nothing:
		return "nothing"
	case Straight:
		return "straight"
	case Refuse:
		return "refuse"
	}
	return fmt.Sprintf("extrapolation %d", int(e))
}

// or returns e, or what is usual for the quantity.
func (e Extrapolation) or(usual Extrapolation) Extrapolation {
	if e == Usual {
		return usual
	}
	return e
}

// suits says why s can't be interpolated or continued in that way, if so.
func (s Spectrum) suits(m Interpolation, e Extrapolation) error {
	if m < Linear || m > Lagrange || e < Usual || e > Refuse {
		return fmt.Errorf("spectrum: there is no %v or no %v", m, e)
	}
	if m != Sprague || len(s.nm) == 0 {
		return nil
	}
	if len(s.nm) < 6 {
		return fmt.Errorf("spectrum: %d samples; Sprague interpolation needs 6, so take PCHIP or Linear", len(s.nm))
	}
	if _, equal := s.step(); !equal {
		return fmt.Errorf("spectrum: the samples are not equally spaced, which Sprague interpolation needs; take PCHIP or Linear")
	}
	return nil
}

// step returns the distance of neighbouring samples in nm and whether it is
// the same everywhere, to a millionth of itself.
func (s Spectrum) step() (nm float64, equal bool) {
	n := len(s.nm)
	if n < 2 {
		return 0, false
	}
	nm = (s.nm[n-1] - s.nm[0]) / float64(n-1)
	for i, w := range s.nm {
		if math.Abs(w-s.nm[0]-float64(i)*nm) > 1e-6*nm {
			return nm, false
		}
	}
	return nm, true
}

// cursor walks a spectrum along increasing wavelengths.
type cursor struct {
	nm, value []float64
	i         int // the first sample at or above the last wavelength
	between   Interpolation
	beyond    Extrapolation
}

func (s Spectrum) walk(m Interpolation, e Extrapolation) cursor {
	return cursor{s.nm, s.value, 0, m, e}
}

// at returns the value at w, which is no less than the one before.
func (c *cursor) at(w float64) float64 {
	for c.i < len(c.nm) && c.nm[c.i] < w {
		c.i++
	}
	switch i := c.i; {
	case i < len(c.nm) && c.nm[i] == w:
		return c.value[i]
	case i == 0 || i == len(c.nm):
		return c.outside(w)
	case c.between == Sprague:
		return c.sprague(w)
	case c.between == PCHIP:
		return c.pchip(w)
	case c.between == Lagrange:
		return c.lagrange(w)
	default:
		return between(c.nm, c.value, i, w)
	}
}

// between is the straight line that ends at sample i.
func between(nm, value []float64, i int, w float64) float64 {
	t := (w - nm[i-1]) / (nm[i] - nm[i-1])
	return value[i-1] + t*(value[i]-value[i-1])
}

func (c *cursor) outside(w float64) float64 {
	last := len(c.nm) - 1
	if last < 1 || c.beyond == Nothing || c.beyond == Usual {
		return 0
	}
	end, i := 0, 1
	if c.i > 0 {
		end, i = last, last
	}
	if c.beyond == Straight {
		return between(c.nm, c.value, i, w)
	}
	return c.value[end]
}

// spragueEnd holds the rule by which two samples are set beyond each end, so
// that six neighbours are always there.
//
// Source: T. B. Sprague (1880) in CIE 167:2005, table V, as public code of
// several authors has it.
var spragueEnd = [2][6]float64{
	{508, -540, 488, -367, 144, -24},      // one step beyond
	{884, -1960, 3033, -2648, 1080, -180}, // two steps beyond
}

// neighbour returns sample i, which may stand two steps beyond either end.
func (c *cursor) neighbour(i int) float64 {
	n := len(c.value)
	var sum float64
	switch {
	case i < 0:
		for k, f := range spragueEnd[-i-1] {
			sum += f * c.value[k]
		}
	case i >= n:
		for k, f := range spragueEnd[i-n] {
			sum += f * c.value[n-1-k]
		}
	default:
		return c.value[i]
	}
	return sum / 209
}

// sprague is the polynomial of fifth order that has, at both samples beside w,
// the value, slope and curvature of the fourth-order polynomial through the
// five samples around each.
func (c *cursor) sprague(w float64) float64 {
	i := c.i - 1
	a, b, p := c.neighbour(i-2), c.neighbour(i-1), c.value[i]
	q, d, e := c.value[i+1], c.neighbour(i+2), c.neighbour(i+3)
	t := (w - c.nm[i]) / (c.nm[i+1] - c.nm[i])
	a1 := 2*a - 16*b + 16*q - 2*d
	a2 := -a + 16*b - 30*p + 16*q - d
	a3 := -9*a + 39*b - 70*p + 66*q - 33*d + 7*e
	a4 := 13*a - 64*b + 126*p - 124*q + 61*d - 12*e
	a5 := -5*a + 25*b - 50*p + 50*q - 25*d + 5*e
	return p + t*(a1+t*(a2+t*(a3+t*(a4+t*a5))))/24
}

// pchip is the cubic with the slopes of Fritsch and Butland's rule at both
// samples beside w.
//
// Source: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5(2) 300-304 (1984);
// at the ends the three-point rule limited as in Kahaner, Moler and Nash,
// Numerical Methods and Software (1989).
func (c *cursor) pchip(w float64) float64 {
	i := c.i - 1
	h := c.nm[i+1] - c.nm[i]
	t := (w - c.nm[i]) / h
	p, q := c.value[i], c.value[i+1]
	m, n := h*c.slope(i), h*c.slope(i+1)
	return p + t*(m+t*(3*(q-p)-2*m-n+t*(2*(p-q)+m+n)))
}

// slope returns the slope at sample i.
func (c *cursor) slope(i int) float64 {
	last := len(c.nm) - 1
	chord := func(k int) (h, d float64) {
		h = c.nm[k+1] - c.nm[k]
		return h, (c.value[k+1] - c.value[k]) / h
	}
	switch {
	case last == 1:
		_, d := chord(0)
		return d
	case i == 0:
		h0, d0 := chord(0)
		h1, d1 := chord(1)
		return endSlope(h0, h1, d0, d1)
	case i == last:
		h0, d0 := chord(last - 1)
		h1, d1 := chord(last - 2)
		return endSlope(h0, h1, d0, d1)
	}
	h0, d0 := chord(i - 1)
	h1, d1 := chord(i)
	if d0 == 0 || d1 == 0 || (d0 > 0) != (d1 > 0) {
		return 0
	}
	// Scaled by the larger chord, so that tiny spectra don't overflow 1/d.
	big := math.Max(math.Abs(d0), math.Abs(d1))
	w0, w1 := 2*h1+h0, h1+2*h0
	lo, hi := d0/big, d1/big
	return (w0 + w1) / (w0*hi + w1*lo) * lo * hi * big
}

// endSlope is the slope at an end whose neighbouring chords, nearest first,
// have widths h0, h1 and slopes d0, d1.
func endSlope(h0, h1, d0, d1 float64) float64 {
	d := ((2*h0+h1)*d0 - h0*d1) / (h0 + h1)
	switch {
	case d == 0 || (d > 0) != (d0 > 0) || d0 == 0:
		return 0
	case (d0 > 0) != (d1 > 0) && math.Abs(d) > 3*math.Abs(d0):
		return 3 * d0
	}
	return d
}

// lagrangeNodes returns the first of the samples whose polynomial runs between
// samples k and k+1 of n, and their number.
func lagrangeNodes(k, n int) (first, nodes int) {
	switch {
	case n < 3:
		return 0, n
	case k == 0:
		return 0, 3
	case k == n-2:
		return n - 3, 3
	}
	return k - 1, 4
}

// lagrange is the polynomial through the samples around w.
func (c *cursor) lagrange(w float64) float64 {
	first, nodes := lagrangeNodes(c.i-1, len(c.nm))
	var sum float64
	for j := first; j < first+nodes; j++ {
		share := c.value[j]
		for m := first; m < first+nodes; m++ {
			if m != j {
				share *= (w - c.nm[m]) / (c.nm[j] - c.nm[m])
			}
		}
		sum += share
	}
	return sum
}
