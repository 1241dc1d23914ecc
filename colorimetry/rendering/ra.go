package rendering

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// Rendering is the result of [ColourRendering].
type Rendering struct {
	// Ra is the general index, the mean of R1 to R8: 100 for the reference
	// itself, below 0 for lights that distort strongly.
	Ra float64
	// R holds the special indices, R[0] being R1 and R[8] R9, the strong red.
	R [14]float64
	// Kelvin is the temperature of the reference, Duv the light's distance from
	// the Planckian locus. Beyond ±0.0054 CIE 13.3 calls the index of less
	// meaning.
	Kelvin, Duv float64
}

// ColourRendering returns the colour rendering indices of a light, whose
// spectrum needs no scale. Sums are taken at 5 nm, at 1 nm where the light was
// measured more finely; outside the light's range it is 0.
//
// It is an error if the range does not include 400 to 700 nm or if the light has
// no temperature from 1000 to 25,000 K. One that wraps
// spectrum.ErrFarFromLocus comes with the figures: the light is too far from
// the Planckian locus for them to mean much.
//
// Source: CIE 13.3-1995, clauses 5 and 6 (clause numbers from memory); daylight
// as CIE 015:2018 has it, its two factors rounded.
func ColourRendering(light spectrum.Spectrum) (Rendering, error) {
	test, err := prepare(light)
	if err != nil {
		return Rendering{}, err
	}
	kelvin, duv, far := test.temperature()
	if kelvin == 0 {
		return Rendering{}, far
	}
	o, samples := spectrum.CIE1931(), spectrum.TestColours()
	reference, err := test.reference(kelvin, 5000, 5000, o)
	if err != nil {
		return Rendering{}, err
	}
	seen, testWhite, err := test.colours(o, samples)
	if err != nil {
		return Rendering{}, err
	}
	ref, refWhite, err := reference.colours(o, samples)
	if err != nil {
		return Rendering{}, err
	}
	out := Rendering{Kelvin: kelvin, Duv: duv}
	k, r := uv1960(testWhite), uv1960(refWhite)
	for i := range out.R {
		u1, v1, w1 := wuv(uv1960(ref[i]), ref[i].Y, r)
		u2, v2, w2 := wuv(adapt(uv1960(seen[i]), k, r), seen[i].Y, r)
		out.R[i] = 100 - 4.6*math.Sqrt((u1-u2)*(u1-u2)+(v1-v2)*(v1-v2)+(w1-w2)*(w1-w2))
		if i < 8 {
			out.Ra += out.R[i] / 8
		}
	}
	return out, far
}

// uv is a chromaticity of the CIE 1960 diagram, in which the index is defined.
type uv struct{ u, v float64 }

func uv1960(c colorimetry.XYZ) uv {
	d := c.X + 15*c.Y + 3*c.Z
	return uv{4 * c.X / d, 6 * c.Y / d}
}

// adapt takes the chromaticity of a sample from the light k to the reference r,
// by the von Kries transformation as CIE 13.3 writes it.
func adapt(s, k, r uv) uv {
	cd := func(p uv) (c, d float64) { return (4 - p.u - 10*p.v) / p.v, (1.708*p.v + 0.404 - 1.481*p.u) / p.v }
	cs, ds := cd(s)
	ck, dk := cd(k)
	cr, dr := cd(r)
	c, d := cr/ck*cs, dr/dk*ds
	n := 16.518 + 1.481*c - d
	return uv{(10.872 + 0.404*c - 4*d) / n, 5.520 / n}
}

// wuv returns the coordinates of the CIE 1964 uniform space U*, V*, W*.
func wuv(p uv, y float64, white uv) (u, v, w float64) {
	w = 25*math.Cbrt(100*y) - 17
	return 13 * w * (p.u - white.u), 13 * w * (p.v - white.v), w
}
