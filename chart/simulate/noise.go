package simulate

import (
	"math/rand/v2"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// eye says which instrument looks. It is part of the key of its noise, so that
// a reference reading never shares the noise of the reading it is paired with.
type eye uint64

const (
	filterEye   eye = 1
	spectralEye eye = 2
	arrayEye    eye = 3
	outlying    eye = 1 << 8 // beside an instrument's own: the choice of its outliers
)

// disturb returns one integration's reading of the light c: normal deviates of
// n's standard deviations on x, on y and on Y (in proportion), then on X, Y
// and Z (the floor). Readings of darkness may come out below 0; cutting them
// off would make their averages too high.
func disturb(c colorimetry.XYZ, n measure.Noise, r *rand.Rand) colorimetry.XYZ {
	// All six deviates are drawn always, so that what one kind of noise does
	// never depends on another's being switched on.
	var d [6]float64
	for i := range d {
		d[i] = r.NormFloat64()
	}
	if p := c.Chromaticity(); c.Y > 0 && p.Y > 0 {
		p.X += n.Chromaticity * d[0]
		p.Y += n.Chromaticity * d[1]
		if p.Y > 0 {
			c = p.XYZ(c.Y * (1 + n.Luminance*d[2]))
		}
	}
	return c.Add(colorimetry.XYZ{X: d[3], Y: d[4], Z: d[5]}.Scale(n.FloorCdM2))
}

// deviates returns the random source of one integration: a function of its
// arguments only.
func deviates(seed uint64, e eye, reading, repeat int) *rand.Rand {
	k := scramble(seed)
	k = scramble(k ^ uint64(e))
	k = scramble(k ^ uint64(reading))
	k = scramble(k ^ uint64(repeat))
	return rand.New(rand.NewPCG(k, scramble(k)))
}

// scramble is a bijection on 64 bits whose output bits each depend on all
// input bits, so that neighbouring keys give unrelated sources.
//
// Source: Steele, Lea, Flood, Fast splittable pseudorandom number generators,
// OOPSLA 2014, doi:10.1145/2660193.2660195: the increment by the golden ratio
// and the second of its mixers (constants from memory).
func scramble(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9
	z = (z ^ (z >> 27)) * 0x94d049bb133111eb
	return z ^ (z >> 31)
}
