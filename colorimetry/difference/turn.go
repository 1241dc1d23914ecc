package difference

import (
	"math"
	"sync"
)

// Chroma and hue interact in the blues: CIEDE2000 has the factor
//
//	sin(60°·exp(−((h − 275°)/25°)²))
//
// in its R_T, with h from 0° to 360° and no turn taken off the difference: from
// 0° to 90° the factor is below 1e-23, whereas towards 360° it is still 1e-5.
// Elsewhere it is a smooth function of u = 1 − cos(h − 275°), which the
// direction of the mean hue gives without an arctangent. So it is tabulated as
// a polynomial of degree 7 on each of turnPieces equal parts of u.
const (
	// From u = 1.9, which is 154° away from 275°, the factor is below 1e-16.
	turnEnd    = 1.9
	turnPieces = 200
	turnScale  = turnPieces / turnEnd

	cos275, sin275 = 0.08715574274765817355807, -0.99619469809174553229501
)

// turns holds the coefficients of each piece, in the variable t in [−1, 1].
type turns [turnPieces][8]float64

// turn returns sin(60°·exp(−((h − 275°)/25°)²)) of the hue h whose cosine and
// sine are given.
func turn(cos, sin float64, table *turns) float64 {
	if cos > 0 && sin >= 0 {
		return 0
	}
	u := 1 - (cos*cos275 + sin*sin275)
	if !(u < turnEnd) {
		return u - u // 0, or NaN
	}
	x := math.Max(u, 0) * turnScale // rounding can take u below 0
	i := int(x)
	c := &table[uint(i)%turnPieces]
	t := 2*(x-float64(i)) - 1
	t2 := t * t
	return (c[0] + c[1]*t) + (c[2]+c[3]*t)*t2 + ((c[4]+c[5]*t)+(c[6]+c[7]*t)*t2)*(t2*t2)
}

// turnExact is turn of u by the formula.
func turnExact(u float64) float64 {
	d := 2 * math.Asin(math.Min(1, math.Sqrt(u/2))) / degree
	return math.Sin(60 * degree * math.Exp(-square(d/25)))
}

// turnTable interpolates turnExact at the Chebyshev points of every piece.
var turnTable = sync.OnceValue(func() *turns {
	const n = 8
	var table turns
	for i := range table {
		// Newton's divided differences, then multiplied out.
		var t, d [n]float64
		for k := range n {
			t[k] = math.Cos(math.Pi * (float64(k) + 0.5) / n)
			d[k] = turnExact((float64(i) + (t[k]+1)/2) / turnScale)
		}
		for order := 1; order < n; order++ {
			for k := n - 1; k >= order; k-- {
				d[k] = (d[k] - d[k-1]) / (t[k] - t[k-order])
			}
		}
		c := &table[i]
		for k := n - 1; k >= 0; k-- {
			for j := n - 1; j > 0; j-- {
				c[j] = c[j-1] - t[k]*c[j]
			}
			c[0] = d[k] - t[k]*c[0]
		}
	}
	return &table
})
