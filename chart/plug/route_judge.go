package plug

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
)

// Limits of the route check, this project's own choices.
const (
	// PairLimit is the difference in u'v' from which a wide pair counts as
	// different, unless noise explains more: about the least that an eye sees
	// between two fields.
	PairLimit = 0.004
	// pairSigmas is how many standard uncertainties noise is given.
	pairSigmas = 4
	// primariesLimit is how far beyond sRGB's triangle, in x and y, primaries
	// may be read that lie in it: twice the 0.01 that filters without a correction for the
	// display are reported to miss.
	primariesLimit = 0.02
	// rampLimit is the same for the light of greys, a share of it.
	rampLimit = 0.06
)

// judge says what the readings show, and what the browser takes the display
// for.
func (r *routeReadings) judge(gamut string) Route {
	out := Route{Gamut: gamut, State: RoutePlain}
	ideal := r.ideal()
	for c := range r.wide {
		d, noise := r.distance(r.page[c], r.wide[c])
		if c == 0 || d/pairBound(noise) > out.Pair/pairBound(out.PairNoise) {
			out.Pair, out.PairNoise = d, noise
		}
		// Colours converted to the display's own profile are sRGB's, and the
		// wide ones lie as far out as display and P3 both allow.
		apart := r.light(r.wide[c]).UV().Distance(ideal[c].UV())
		out.Expected = math.Max(out.Expected, math.Min(apart, ideal[c].UV().Distance(r.wideIdeal(c).UV())))
	}
	for c := range r.page {
		out.Primaries = math.Max(out.Primaries, beyond(r.light(r.page[c]), ideal))
	}
	var rampSRGB bool
	out.Ramp, rampSRGB = r.rampOff()
	inside := out.Primaries <= primariesLimit
	pair := fmt.Sprintf("red or green of Display P3 lies %.4f in u'v' from the page's own, ± %.4f; a converted route would show %.4f on this display", out.Pair, out.PairNoise, out.Expected)
	switch {
	case out.Pair > pairBound(out.PairNoise):
		out.State = RouteConverted
		whose := "to a profile that is not this display's"
		if inside && rampSRGB {
			whose = "to this display's profile"
		}
		out.Sentence = fmt.Sprintf("colours are converted %s: %s, where a plain route shows no difference", whose, pair)
	case gamut == "p3" || gamut == "rec2020":
		out.State = RouteConverted
		out.Sentence = fmt.Sprintf("colours are converted: the browser takes the display for a wide one (%s), though it cuts wide colours off (%s)", gamut, pair)
	case inside && rampSRGB:
		out.State = RouteUntold
		out.Sentence = fmt.Sprintf("Whether the page's colours are converted cannot be told: the display shows what sRGB asks for, primaries no further out than %.3f in x and y and greys within %.1f %% of light. If it does so by itself, a conversion changes next to nothing. If it does so by its profile, the run describes display and profile together: set the display's profile in the system to sRGB to be sure.", out.Primaries, 100*out.Ramp)
	default:
		out.Sentence = fmt.Sprintf("The page's colours reach the display as they are: %s.", pair)
		if out.Expected < PairLimit {
			out.Sentence = fmt.Sprintf("The page's colours reach the display as they are, as far as can be told: it has next to no colours beyond sRGB, where a conversion does no harm, and its greys differ from sRGB by up to %.0f %% of light, which no conversion by its true profile would leave.", 100*out.Ramp)
		}
	}
	return out
}

// pairBound returns the difference in u'v' that a pair of a noise must exceed.
func pairBound(noise float64) float64 { return math.Max(PairLimit, pairSigmas*noise) }

// light returns what a reading has beyond the black.
func (r *routeReadings) light(of measure.Reading) colorimetry.XYZ { return of.XYZ.Sub(r.black.XYZ) }

// ideal returns red, green and blue of sRGB under the display's white, as a
// conversion to its profile would have them, relative to it.
func (r *routeReadings) ideal() (out [3]colorimetry.XYZ) {
	for c := range out {
		out[c] = r.under(rgb.SRGB(), c)
	}
	return out
}

// beyond returns how far a colour lies outside the triangle of three others, in
// x and y; 0 inside.
func beyond(c colorimetry.XYZ, triangle [3]colorimetry.XYZ) float64 {
	p, far := c.Chromaticity(), 0.0
	for i := range triangle {
		// Red, green and blue go round anticlockwise: outside is to the right.
		a, b := triangle[i].Chromaticity(), triangle[(i+1)%3].Chromaticity()
		dx, dy := b.X-a.X, b.Y-a.Y
		far = math.Max(far, ((p.X-a.X)*dy-(p.Y-a.Y)*dx)/math.Hypot(dx, dy))
	}
	return far
}

// wideIdeal returns red or green of Display P3 likewise.
func (r *routeReadings) wideIdeal(c int) colorimetry.XYZ { return r.under(rgb.DisplayP3(), c) }

// under returns a primary of an encoding, adapted from its white to the
// display's as profiles do it. Where the white is none, the primary as it is.
func (r *routeReadings) under(s rgb.Space, c int) colorimetry.XYZ {
	m, err := s.Matrix()
	if err != nil {
		return colorimetry.XYZ{} // the encodings used here have one
	}
	white := r.light(r.white)
	adapt, err := colorimetry.Bradford(s.White.XYZ(1), white.Scale(1/white.Y))
	if err != nil {
		return m.Column(c)
	}
	return adapt.Apply(m.Column(c))
}

// distance returns how far two readings lie apart in u'v', and the standard
// uncertainty of that, were all the noise in the direction of the difference:
// for red nearly all of it lies along u'.
func (r *routeReadings) distance(a, b measure.Reading) (d, noise float64) {
	d = r.light(a).UV().Distance(r.light(b).UV())
	return d, math.Sqrt(r.uvVariance(a) + r.uvVariance(b))
}

// uvVariance returns the variance in u' plus that in v' that the noise of a
// reading gives.
func (r *routeReadings) uvVariance(of measure.Reading) float64 {
	at := r.light(of)
	step := 1e-4 * at.Y
	var ju, jv [3]float64
	for i, d := range [3]colorimetry.XYZ{{X: step}, {Y: step}, {Z: step}} {
		up, down := at.Add(d).UV(), at.Sub(d).UV()
		ju[i], jv[i] = (up.U-down.U)/(2*step), (up.V-down.V)/(2*step)
	}
	var sum float64
	for i := range 3 {
		for k := range 3 {
			sum += of.Covariance[i][k] * (ju[i]*ju[k] + jv[i]*jv[k])
		}
	}
	return sum
}

// rampOff returns the largest share by which a grey's light differs from that
// of sRGB, and whether all of them agree with it as far as their noise tells.
func (r *routeReadings) rampOff() (worst float64, fits bool) {
	fits = true
	whole := r.light(r.white).Y
	for i, code := range rampCodes {
		want := tone.SRGB{}.Light(code/255) * whole
		off := math.Abs(r.light(r.ramp[i]).Y-want) / want
		noise := math.Sqrt(r.ramp[i].Covariance[1][1]+r.black.Covariance[1][1]) / want
		worst = math.Max(worst, off)
		if !(off <= rampLimit+pairSigmas*noise) {
			fits = false
		}
	}
	return worst, fits
}
