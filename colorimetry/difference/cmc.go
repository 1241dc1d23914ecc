package difference

import (
	"math"

	"example.org/primaries/colorimetry"
)

// CMC returns the CMC(l:c) difference of a sample from a reference, both CIELAB
// under the same white (the formula was made for D65 and the 10° observer). It
// is not symmetric. By custom l:c is 2:1 where a sample is accepted or refused
// and 1:1 where the difference is just visible. It is NaN where one of l and c is
// not above 0.
//
// Source: F. J. J. Clarke, R. McDonald, B. Rigg, J. Soc. Dyers Colour. 100(4)
// 128-132 (1984), doi:10.1111/j.1478-4408.1984.tb00969.x; ISO 105-J03.
func CMC(reference, sample colorimetry.Lab, l, c float64) float64 {
	c1 := math.Sqrt(reference.A*reference.A + reference.B*reference.B)
	c2 := math.Sqrt(sample.A*sample.A + sample.B*sample.B)
	sl, sc, sh := cmcWeights(reference, c1)
	if !(l > 0 && c > 0) {
		return math.NaN()
	}
	dl, dc := (sample.L-reference.L)/(l*sl), (c2-c1)/(c*sc)
	return root(dl*dl + dc*dc + hueSquare(reference, sample, c1, c2)/(sh*sh))
}

// CMCParts returns the parts of CMC.
func CMCParts(reference, sample colorimetry.Lab, l, c float64) Parts {
	p := cylinder(reference.L, reference.A, reference.B, sample.L, sample.A, sample.B)
	sl, sc, sh := cmcWeights(reference, math.Sqrt(reference.A*reference.A+reference.B*reference.B))
	p.SL, p.SC, p.SH = l*sl, c*sc, sh
	return p
}

// Directions of 164° and 345°, between which greens, blues and purples lie, and
// of the phases that hues have inside and outside.
const (
	cos164, sin164 = -0.96126169593831886191649704855706, 0.27563735581699918564997157461130
	cos345, sin345 = 0.96592582628906828674974319972890, -0.25881904510252076234889883762405
	cos168, sin168 = -0.97814760073380563792856674786960, 0.20791169081775933710174228440513
	cos35, sin35   = 0.81915204428899178968448838591684, 0.57357643635104609610803191282616
)

func cmcWeights(reference colorimetry.Lab, chroma float64) (sl, sc, sh float64) {
	sl = 0.511
	if !(reference.L < 16) {
		sl = 0.040975 * reference.L / (1 + 0.01765*reference.L)
	}
	sc = 0.0638*chroma/(1+0.0131*chroma) + 0.638
	cos, sin := 1.0, 0.0
	if chroma != 0 {
		cos, sin = reference.A/chroma, reference.B/chroma
	}
	t := 0.36 + math.Abs(0.4*(cos*cos35-sin*sin35))
	// Counter-clockwise of 164° or clockwise of 345°; the two are 181° apart, so
	// that either is enough.
	if cos164*sin-sin164*cos >= 0 || cos*sin345-sin*cos345 >= 0 {
		t = 0.56 + math.Abs(0.2*(cos*cos168-sin*sin168))
	}
	c4 := square(chroma * chroma)
	f := math.Sqrt(c4 / (c4 + 1900))
	return sl, sc, sc * (f*t + 1 - f)
}
