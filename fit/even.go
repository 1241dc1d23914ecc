package fit

import (
	"math"

	"example.org/primaries/colorimetry"
)

// even is CIELAB with its derivatives: the coordinates in which what a model
// leaves over is equally serious everywhere. Light a little below 0, as
// readings of darkness have it, has its place on the straight part.
type even struct{ white [3]float64 }

// The cube root of CIE 15 goes over into a straight line at cutShare.
const (
	cutShare  = 216.0 / 24389
	cutSlope  = 24389.0 / 27 / 116
	cutOffset = 16.0 / 116
)

// root returns f of CIE 15 and its slope.
func root(v float64) (f, slope float64) {
	if v <= cutShare {
		return cutSlope*v + cutOffset, cutSlope
	}
	f = math.Cbrt(v)
	return f, 1 / (3 * f * f)
}

// unroot is the inverse of root, with its slope.
func unroot(f float64) (v, slope float64) {
	if v = (f - cutOffset) / cutSlope; v <= cutShare {
		return v, 1 / cutSlope
	}
	return f * f * f, 3 * f * f
}

// fromRoots leads from the three roots to L*, a*, b*, toRoots back (L* without
// its 16, which no difference has).
var (
	fromRoots = colorimetry.Matrix{{0, 116, 0}, {500, -500, 0}, {0, 200, -200}}
	toRoots   = colorimetry.Matrix{{1.0 / 116, 1.0 / 500, 0}, {1.0 / 116, 0, 0}, {1.0 / 116, 0, -1.0 / 200}}
)

// place returns the coordinates of the light v.
func (e even) place(v [3]float64) [3]float64 {
	var f [3]float64
	for j := range f {
		f[j], _ = root(v[j] / e.white[j])
	}
	return times(fromRoots, f)
}

// slopes returns the derivatives of the coordinates by the light.
func (e even) slopes(v [3]float64) colorimetry.Matrix {
	var d [3]float64
	for j := range d {
		_, s := root(v[j] / e.white[j])
		d[j] = s / e.white[j]
	}
	return fromRoots.Mul(colorimetry.Diagonal(d[0], d[1], d[2]))
}

// light returns the light at coordinates p and its derivatives by them.
func (e even) light(p [3]float64) ([3]float64, colorimetry.Matrix) {
	f := times(toRoots, p)
	var v, d [3]float64
	for j := range v {
		x, s := unroot(f[j])
		v[j], d[j] = x*e.white[j], s*e.white[j]
	}
	return v, colorimetry.Diagonal(d[0], d[1], d[2]).Mul(toRoots)
}

func times(m colorimetry.Matrix, v [3]float64) [3]float64 {
	return triple(m.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}))
}

func triple(c colorimetry.XYZ) [3]float64 { return [3]float64{c.X, c.Y, c.Z} }
