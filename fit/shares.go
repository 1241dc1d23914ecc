package fit

import (
	"math"

	"example.org/primaries/colorimetry"
)

// shares is the coordinates in which a process sees light: the luminance, and by
// how much X and Z exceed it, all over the white's. Lights add in them, and the
// noise of readings, of which the luminance has most, is nearly independent.
type shares struct{ to, from colorimetry.Matrix }

func newShares(white colorimetry.XYZ) shares {
	return shares{
		to:   colorimetry.Matrix{{0, 1 / white.Y, 0}, {1 / white.X, -1 / white.Y, 0}, {0, -1 / white.Y, 1 / white.Z}},
		from: colorimetry.Matrix{{white.X, white.X, 0}, {white.Y, 0, 0}, {white.Z, 0, white.Z}},
	}
}

// rest returns by how much light exceeds base.
func (s *shares) rest(light, base [3]float64) [3]float64 {
	return times(s.to, [3]float64{light[0] - base[0], light[1] - base[1], light[2] - base[2]})
}

// light returns the light of coordinates.
func (s *shares) light(v [3]float64) colorimetry.XYZ {
	return s.from.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]})
}

// labSlopes returns the change of the light v by each coordinate of CIELAB. Light
// a little below 0, as readings of darkness have it, has its place on the
// straight part.
func labSlopes(v, white [3]float64) colorimetry.Matrix {
	// The cube root of CIE 15 goes over into a straight line at cut.
	const cut, slope = 216.0 / 24389, 24389.0 / 27 / 116
	toRoots := colorimetry.Matrix{{1.0 / 116, 1.0 / 500, 0}, {1.0 / 116, 0, 0}, {1.0 / 116, 0, -1.0 / 200}}
	var d [3]float64
	for j := range d {
		d[j] = white[j] / slope
		if share := v[j] / white[j]; share > cut {
			f := math.Cbrt(share)
			d[j] = 3 * f * f * white[j]
		}
	}
	return colorimetry.Diagonal(d[0], d[1], d[2]).Mul(toRoots)
}

func times(m colorimetry.Matrix, v [3]float64) [3]float64 {
	return triple(m.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}))
}

func triple(c colorimetry.XYZ) [3]float64 { return [3]float64{c.X, c.Y, c.Z} }
