package profile

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
)

// maxEntries is as many entries as icc.MatrixProfile writes.
const maxEntries = 4096

// lightnessTolerance is the largest miss of the lines between entries that is
// accepted, in L*: the 16-bit step at black, 903/65535, is as large.
const lightnessTolerance = 0.0138

// sample returns the curve with its offset at n equally spaced signals.
func sample(c tone.Curve, offset float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		v := offset + (1-offset)*c.Light(float64(i)/float64(n-1))
		out[i] = math.Min(math.Max(v, 0), 1)
		if i > 0 {
			out[i] = math.Max(out[i], out[i-1])
		}
	}
	out[n-1] = 1
	return out
}

// entries returns the fewest entries at which lines between them miss none of
// the three curves by more than the tolerance. The steps divide those of 8-bit
// signals, so that those always meet an entry.
func entries(m fit.Separable, offsets [3]float64) int {
	for n := 255; n < maxEntries; n *= 2 {
		miss := 0.0
		for c := range 3 {
			miss = math.Max(miss, curveError(m.Curve(c), offsets[c], n+1))
		}
		if miss <= lightnessTolerance || 2*n >= maxEntries {
			return n + 1
		}
	}
	return maxEntries
}

// curveError returns the largest miss of the lines between n entries, in L*.
func curveError(c tone.Curve, offset float64, n int) float64 {
	const between = 4
	t := sample(c, offset, n)
	var miss float64
	for i := 1; i < n; i++ {
		for k := 1; k < between; k++ {
			f := float64(k) / between
			want := offset + (1-offset)*c.Light((float64(i-1)+f)/float64(n-1))
			got := t[i-1] + f*(t[i]-t[i-1])
			miss = math.Max(miss, math.Abs(colorimetry.Lightness(got)-colorimetry.Lightness(want)))
		}
	}
	return miss
}

// nearestMix returns the amounts, none negative, of the primaries' columns that
// come nearest to black by least squares, each component over the white's.
// With three amounts the seven ways of leaving some out can all be tried.
func nearestMix(p colorimetry.Matrix, black, white colorimetry.XYZ) [3]float64 {
	scale := colorimetry.Diagonal(1/white.X, 1/white.Y, 1/white.Z)
	a, b := scale.Mul(p), scale.Apply(black)
	best := [3]float64{}
	least := b.X*b.X + b.Y*b.Y + b.Z*b.Z
	for set := 1; set < 8; set++ {
		// Normal equations; a channel that is left out gets the equation x = 0.
		var n colorimetry.Matrix
		var r [3]float64
		t := a.Transpose()
		for i := range 3 {
			if set>>i&1 == 0 {
				n[i][i] = 1
				continue
			}
			r[i] = t[i][0]*b.X + t[i][1]*b.Y + t[i][2]*b.Z
			for j := range 3 {
				if set>>j&1 == 1 {
					n[i][j] = t[i][0]*a[0][j] + t[i][1]*a[1][j] + t[i][2]*a[2][j]
				}
			}
		}
		inv, err := n.Inverse()
		if err != nil {
			continue
		}
		x := inv.Apply(colorimetry.XYZ{X: r[0], Y: r[1], Z: r[2]})
		if x.X < 0 || x.Y < 0 || x.Z < 0 {
			continue
		}
		d := a.Apply(x).Sub(b)
		if e := d.X*d.X + d.Y*d.Y + d.Z*d.Z; e < least {
			best, least = [3]float64{x.X, x.Y, x.Z}, e
		}
	}
	return best
}
