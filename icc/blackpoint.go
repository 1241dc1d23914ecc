package icc

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// perceptualBlack is the black of the reference medium of version 4, relative
// to its white. Source: ICC.1:2022, 6.3.3 (the figures as Little CMS has them).
func perceptualBlack() colorimetry.XYZ {
	return colorimetry.XYZ{X: 0.00336, Y: 0.0034731, Z: 0.00287}
}

// maxBlack is the highest L* that a black is taken for.
const maxBlack = 50

// BlackPoint returns the darkest colour that a profile's device makes, as
// black point compensation takes it, relative XYZ under D50: of neutral hue and
// with an L* of at most 50. It is 0 for profiles without a device.
//
// Perceptual and saturation tables of version 4 have the black of the
// reference medium. In the relative intent of a printing CMYK profile, whose
// fullest ink is not what it prints for black, it is the black that its own
// perceptual table chooses. It is an error if the intent is not defined, or if the
// profile has no way to the connection space.
//
// Source: ISO 18619:2015, whose text was not opened, as open descriptions of it
// and of Little CMS's behaviour have it.
func BlackPoint(p *Profile, intent Intent) (colorimetry.XYZ, error) {
	if intent > Absolute {
		return colorimetry.XYZ{}, fmt.Errorf("icc: %v; perceptual, relative, saturation and absolute are defined", intent)
	}
	l, fixed, err := blackL(p, intent)
	if err != nil || fixed != (colorimetry.XYZ{}) {
		return fixed, err
	}
	return grey(l), nil
}

// grey returns the neutral of an L*.
func grey(l float64) colorimetry.XYZ { return colorimetry.Lab{L: l}.XYZ(colorimetry.D50()) }

// blackL returns the L* of a profile's black, or the black itself where it is
// given.
func blackL(p *Profile, intent Intent) (l float64, fixed colorimetry.XYZ, err error) {
	switch p.Header.Class {
	case ClassLink, ClassAbstract, ClassNamedColor:
		return 0, fixed, nil
	}
	tables := p.choose(toElements, toTables, intent).value != nil
	if p.Header.Version.Major() == 4 && (intent == Perceptual || intent == Saturation) {
		if tables {
			return 0, perceptualBlack(), nil
		}
		intent = Relative
	}
	device, n := darkest(p.Header.Space)
	if intent == Relative && p.Header.Class == ClassOutput && p.Header.Space == SpaceCMYK {
		from, err := FromPCS(p, Options{Intent: Perceptual, PCS: SpaceLab})
		if err != nil {
			return 0, fixed, err
		}
		// What a perceptual table of version 4 makes black is the black of the
		// reference medium.
		var black [3]float64
		if p.Header.Version.Major() == 4 {
			black[0] = perceptualBlack().Lab(colorimetry.D50()).L
		}
		from.Eval(device[:n], black[:])
	}
	to, err := ToPCS(p, Options{Intent: intent, PCS: SpaceLab})
	if err != nil {
		return 0, fixed, err
	}
	var lab [3]float64
	to.Eval(lab[:], device[:n])
	return math.Max(0, math.Min(lab[0], maxBlack)), fixed, nil
}

// darkest returns the device values of the darkest colour of a space, as far as
// its name tells, and how many they are: no light, or all of the ink.
func darkest(space Signature) (device vec, n int) {
	n = Channels(space)
	switch space {
	case SpaceGray, SpaceRGB, SpaceXYZ, SpaceLab:
		return device, n
	}
	for i := range device[:n] {
		device[i] = 1
	}
	return device, n
}

// outputBlack returns the black onto which colours are moved that go to p's
// device: where tables lead there, what they really make of dark greys.
func outputBlack(p *Profile, o Options) (colorimetry.XYZ, error) {
	l, fixed, err := blackL(p, o.Intent)
	if err != nil || fixed != (colorimetry.XYZ{}) {
		return fixed, err
	}
	if p.choose(fromElements, fromTables, o.Intent).value == nil {
		return grey(l), nil
	}
	switch p.Header.Space {
	case SpaceGray, SpaceRGB, SpaceCMYK:
	default:
		return grey(l), nil
	}
	from, err := FromPCS(p, Options{Intent: o.Intent, PCS: SpaceLab, Interpolation: o.Interpolation})
	if err != nil {
		return fixed, err
	}
	to, err := ToPCS(p, Options{Intent: o.Intent, PCS: SpaceLab, Interpolation: o.Interpolation})
	if err != nil {
		return fixed, err
	}
	return grey(shoulder(from, to, l, o.Intent)), nil
}

const (
	rampSteps = 256
	// In the relative intent a table that follows dark greys within
	// straightError in the upper four fifths of its range makes them as they
	// are asked for, and its black is the darkest device colour's.
	straightFrom, straightError = 0.2, 4
	// Where it does not, its black lies where a parabola through the
	// shoulder of its response, within these shares of its range, comes down.
	relativeFrom, relativeUntil     = 0.1, 0.5
	perceptualFrom, perceptualUntil = 0.03, 0.25
)

// shoulder returns the L* of the black of tables that compress dark greys.
func shoulder(from, to *Chain, l float64, intent Intent) float64 {
	first := l
	if intent != Relative {
		first = 0
	}
	var asked, got [rampSteps]float64
	var device vec
	for i := range asked {
		asked[i] = 100 * float64(i) / (rampSteps - 1)
		lab := [3]float64{asked[i]}
		from.Eval(device[:], lab[:])
		to.Eval(lab[:], device[:])
		got[i] = lab[0]
	}
	for i := rampSteps - 2; i >= 0; i-- {
		got[i] = math.Min(got[i], got[i+1])
	}
	lo, hi := got[0], got[rampSteps-1]
	if !(lo < hi) {
		return math.Max(0, math.Min(lo, maxBlack))
	}
	begin, end := perceptualFrom, perceptualUntil
	if intent == Relative {
		if straight(asked[:], got[:], lo, hi) {
			return first
		}
		begin, end = relativeFrom, relativeUntil
	}
	var x, y []float64
	for i, g := range got {
		if share := (g - lo) / (hi - lo); share >= begin && share < end {
			x, y = append(x, asked[i]), append(y, share)
		}
	}
	if len(x) < 3 {
		return first
	}
	return math.Max(0, math.Min(root(parabola(x, y)), maxBlack))
}

// straight reports whether greys above the dark end come out as asked for.
func straight(asked, got []float64, lo, hi float64) bool {
	for i, l := range asked {
		if l > lo+straightFrom*(hi-lo) && math.Abs(l-got[i]) >= straightError {
			return false
		}
	}
	return true
}

// parabola returns the coefficients of the least-squares parabola c + b·x + a·x²
// through three points or more.
func parabola(x, y []float64) (a, b, c float64) {
	var m colorimetry.Matrix
	var r colorimetry.XYZ
	for i, v := range x {
		p := [3]float64{1, v, v * v}
		for j := range 3 {
			for k := range 3 {
				m[j][k] += p[j] * p[k]
			}
		}
		r = colorimetry.XYZ{X: r.X + y[i], Y: r.Y + y[i]*v, Z: r.Z + y[i]*v*v}
	}
	inverse, err := m.Inverse()
	if err != nil {
		return 0, 0, 0
	}
	s := inverse.Apply(r)
	return s.Z, s.Y, s.X
}

// root returns where the rising branch of a parabola is 0; 0 where it nowhere
// is.
func root(a, b, c float64) float64 {
	if math.Abs(a) < 1e-10 {
		if b == 0 {
			return 0
		}
		return -c / b
	}
	if d := b*b - 4*a*c; d > 0 {
		return (-b + math.Sqrt(d)) / (2 * a)
	}
	return 0
}

// compensate moves the black that colours have now onto another one, white
// staying where it is.
func (b *builder) compensate(to colorimetry.XYZ) {
	w, from := colorimetry.D50(), b.black
	scale := func(w, from, to float64) (a, o float64) {
		return (to - w) / (from - w), -w * (to - from) / (from - w)
	}
	var m colorimetry.Matrix
	var o [3]float64
	m[0][0], o[0] = scale(w.X, from.X, to.X)
	m[1][1], o[1] = scale(w.Y, from.Y, to.Y)
	m[2][2], o[2] = scale(w.Z, from.Z, to.Z)
	b.push(affine(m, o))
}
