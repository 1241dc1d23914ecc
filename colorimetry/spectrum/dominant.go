package spectrum

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// ErrNoHue says that a chromaticity is the white itself, so that it has no
// dominant wavelength.
var ErrNoHue = errors.New("spectrum: the chromaticity is the white's, which has no dominant wavelength")

// The spectrum locus is closed by the straight line of purples between these
// wavelengths. Beyond them it stands still but for the rounding of the tables.
//
// Source: common practice; CIE 015:2018 names no ends.
const violetNM, redNM = 380, 700

// Dominant is a chromaticity seen from a white: in which direction, and how
// far.
type Dominant struct {
	// WavelengthNM is the wavelength of the monochromatic light that makes the
	// colour in mixture with the white: 380 to 700 nm, less if the observer's
	// functions end before. If there is none, because the colour is a purple,
	// Complementary is true, and the mixture of colour and monochromatic light
	// makes the white.
	WavelengthNM  float64
	Complementary bool
	// Boundary is where the ray from the white through the colour meets the
	// spectrum locus, or for purples the line that closes it.
	Boundary colorimetry.Chromaticity
	// ExcitationPurity is the colour's distance from the white over the
	// boundary's: 0 at the white, 1 at the boundary.
	ExcitationPurity float64
	// ColorimetricPurity is the boundary light's share of the luminance of a
	// mixture with the white, 0 to 1; NaN for a chromaticity without luminance,
	// y not above 0.
	ColorimetricPurity float64
}

// Dominant returns the dominant wavelength and the purities of c as o sees it
// beside white, both from o's tristimulus values.
//
// At the white itself the error is [ErrNoHue]. It is an error too if c or the
// white is not finite, if the white is not inside the spectrum locus, or if
// o's functions don't reach over at least three of the wavelengths from 380 to
// 700 nm. A chromaticity outside the locus, which no light has, is answered
// with a purity above 1.
//
// Source: CIE 015:2018, clause on dominant wavelength and purity; CIE S 017
// (International Lighting Vocabulary) for the terms.
func (o Observer) Dominant(c, white colorimetry.Chromaticity) (Dominant, error) {
	dx, dy := c.X-white.X, c.Y-white.Y
	if math.IsNaN(dx-dx) || math.IsNaN(dy-dy) {
		return Dominant{}, fmt.Errorf("spectrum: x = %g, y = %g beside white %g, %g; all must be finite", c.X, c.Y, white.X, white.Y)
	}
	if dx == 0 && dy == 0 {
		return Dominant{}, ErrNoHue
	}
	ahead, behind, err := o.boundary(white, dx, dy)
	if err != nil {
		return Dominant{}, err
	}
	d := Dominant{WavelengthNM: ahead.nm, Boundary: ahead.at, ExcitationPurity: 1 / ahead.far}
	if ahead.purple {
		d.WavelengthNM, d.Complementary = behind.nm, true
	}
	if math.IsInf(d.ExcitationPurity, 0) {
		return Dominant{}, fmt.Errorf("spectrum: x = %g, y = %g is too far from every light", c.X, c.Y)
	}
	d.ColorimetricPurity = math.NaN()
	if share := d.ExcitationPurity * d.Boundary.Y / c.Y; c.Y > 0 && !math.IsInf(share, 0) {
		d.ColorimetricPurity = share
	}
	return d, nil
}

// FromDominant returns the chromaticity of that dominant wavelength and
// excitation purity beside white: the way back from [Observer.Dominant]. With
// complementary the wavelength is that of the complementary light.
//
// It is an error if the wavelength is outside 380 to 700 nm or o's functions,
// if the purity is not in 0 to 1, if the white is not inside the spectrum
// locus, or if no purple has that complementary wavelength.
//
// Source: as [Observer.Dominant].
func (o Observer) FromDominant(wavelengthNM float64, complementary bool, excitationPurity float64, white colorimetry.Chromaticity) (colorimetry.Chromaticity, error) {
	edge, ok := o.Monochromatic(wavelengthNM)
	if !ok || wavelengthNM < violetNM || wavelengthNM > redNM {
		return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: dominant wavelength %g nm; %d to %d nm within the observer's range are possible", wavelengthNM, violetNM, redNM)
	}
	if !(excitationPurity >= 0 && excitationPurity <= 1) {
		return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: excitation purity %g; 0 to 1 is possible", excitationPurity)
	}
	_, behind, err := o.boundary(white, edge.X-white.X, edge.Y-white.Y)
	if err != nil {
		return colorimetry.Chromaticity{}, err
	}
	if complementary {
		if !behind.purple && !behind.corner {
			return colorimetry.Chromaticity{}, fmt.Errorf("spectrum: no purple is complementary to %g nm beside this white; %.1f nm is", wavelengthNM, behind.nm)
		}
		edge = behind.at
	}
	return colorimetry.Chromaticity{
		X: white.X + excitationPurity*(edge.X-white.X),
		Y: white.Y + excitationPurity*(edge.Y-white.Y),
	}, nil
}

// Monochromatic returns the chromaticity of light of one wavelength; NaN and
// false where o's functions are not given or all 0.
func (o Observer) Monochromatic(nm float64) (c colorimetry.Chromaticity, ok bool) {
	e := colorimetry.XYZ{X: o.XBar.At(nm), Y: o.YBar.At(nm), Z: o.ZBar.At(nm)}
	c = e.Chromaticity()
	if math.IsNaN(c.X) || math.IsNaN(c.Y) {
		return colorimetry.Chromaticity{X: math.NaN(), Y: math.NaN()}, false
	}
	return c, true
}

// SpectralLocus returns the chromaticities of monochromatic light from fromNM
// to toNM in steps of stepNM: 380 to 700 nm at 1 nm is the usual outline, which
// a straight line of purples closes. It is an error if the numbers make no
// range or if o has no chromaticity at one of the wavelengths.
//
// Source: CIE 015:2018.
func (o Observer) SpectralLocus(fromNM, toNM, stepNM float64) ([]colorimetry.Chromaticity, error) {
	if err := checkRange(fromNM, toNM, stepNM); err != nil {
		return nil, err
	}
	n := 1 + int(math.Floor((toNM-fromNM)/stepNM+1e-9))
	out := make([]colorimetry.Chromaticity, n)
	for i := range out {
		nm := fromNM + float64(i)*stepNM
		c, ok := o.Monochromatic(nm)
		if !ok {
			return nil, fmt.Errorf("spectrum: the observer has no chromaticity at %g nm", nm)
		}
		out[i] = c
	}
	return out, nil
}

// hit is where a line through the white meets the outline of all lights.
type hit struct {
	nm     float64 // of the spectrum locus
	purple bool    // on the line of purples instead
	corner bool    // where both meet, to a rounding
	at     colorimetry.Chromaticity
	far    float64 // in lengths of the line's direction, below 0 behind
}

// boundary follows a line through white in the direction (dx, dy), ahead and
// behind, to the spectrum locus, straight between wavelengths 1 nm apart, or to
// the line of purples. Where the locus doubles back, as it does by rounding at
// its ends, the farthest place counts. A white that has the outline only on one
// side is not inside.
func (o Observer) boundary(white colorimetry.Chromaticity, dx, dy float64) (ahead, behind hit, err error) {
	lo, hi := o.Range()
	lo, hi = math.Ceil(math.Max(lo, violetNM)), math.Floor(math.Min(hi, redNM))
	f := o.walk()
	var first, last colorimetry.XYZ
	n := 0
	for w := lo; w <= hi; w++ {
		e := f.at(w, 1)
		if !(e.X+e.Y+e.Z > 0) {
			continue
		}
		if n == 0 {
			first = e
		} else if h, ok := cross(white, dx, dy, last, e); ok {
			h.nm += w - 1
			ahead, behind = h.farther(ahead, behind)
		}
		last = e
		n++
	}
	if n < 3 {
		return hit{}, hit{}, fmt.Errorf("spectrum: the observer's functions reach over %d wavelengths of %d to %d nm; 3 are needed", n, violetNM, redNM)
	}
	if h, ok := cross(white, dx, dy, last, first); ok {
		h.nm, h.purple = math.NaN(), true
		ahead, behind = h.farther(ahead, behind)
	}
	for _, end := range [...]colorimetry.XYZ{first, last} {
		c := end.Chromaticity()
		for _, h := range [...]*hit{&ahead, &behind} {
			h.corner = h.corner || math.Hypot(h.at.X-c.X, h.at.Y-c.Y) < 1e-9
		}
	}
	if ahead.far == 0 || behind.far == 0 {
		return hit{}, hit{}, fmt.Errorf("spectrum: the white x = %g, y = %g is not inside the spectrum locus", white.X, white.Y)
	}
	return ahead, behind, nil
}

// farther returns both hits with h in place of the one that it is beyond.
func (h hit) farther(ahead, behind hit) (newAhead, newBehind hit) {
	if h.far > ahead.far {
		return h, behind
	}
	if h.far < behind.far {
		return ahead, h
	}
	return ahead, behind
}

// cross returns where the line meets the outline between the lights a and b,
// nm being the way from a to b, 0 to 1.
func cross(white colorimetry.Chromaticity, dx, dy float64, a, b colorimetry.XYZ) (hit, bool) {
	p, q := a.Chromaticity(), b.Chromaticity()
	ex, ey := q.X-p.X, q.Y-p.Y
	px, py := p.X-white.X, p.Y-white.Y
	det := dx*ey - dy*ex
	if det == 0 {
		return hit{}, false
	}
	t := (px*dy - py*dx) / det
	const gap = 1e-12 // so that no line slips through between two pieces
	if !(t >= -gap && t <= 1+gap) {
		return hit{}, false
	}
	t = math.Max(0, math.Min(t, 1))
	// A mixture of the two lights whose chromaticity is the share t on the way,
	// so that Monochromatic gives the same place.
	s, r := a.X+a.Y+a.Z, b.X+b.Y+b.Z
	return hit{
		nm:  t * s / (r*(1-t) + t*s),
		at:  colorimetry.Chromaticity{X: p.X + t*ex, Y: p.Y + t*ey},
		far: (px*ey - py*ex) / det,
	}, true
}
