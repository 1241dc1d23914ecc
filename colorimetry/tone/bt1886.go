package tone

import "math"

// BT1886 is the reference display curve of television: a power of 2.4 whose
// signal carries a constant, chosen so that signal 0 gives the display's own
// black. Light is relative to the white, so Light(0) = BlackCdM2/WhiteCdM2.
//
// WhiteCdM2 and BlackCdM2 are luminances in cd/m²; the black is at least 0 and
// below the white; with any others the curve answers NaN. The zero value is the
// curve of a display without light in its black: a plain power of 2.4. Signals below 0 count as 0; above 1 the
// formula goes on. Light at or below the black has signal 0.
//
// Source: ITU-R BT.1886 (2011), annex 1.
type BT1886 struct{ WhiteCdM2, BlackCdM2 float64 }

const bt1886Gamma = 2.4

// terms returns the two parameters of annex 1, the gain divided by the white.
func (c BT1886) terms() (gain, offset float64) {
	switch {
	case c.BlackCdM2 == 0 && c.WhiteCdM2 >= 0:
		return 1, 0
	case !(c.BlackCdM2 > 0 && c.BlackCdM2 < c.WhiteCdM2):
		return math.NaN(), math.NaN()
	}
	root := math.Pow(c.BlackCdM2/c.WhiteCdM2, 1/bt1886Gamma)
	return math.Pow(1-root, bt1886Gamma), root / (1 - root)
}

// Light returns the light of a signal relative to the white.
func (c BT1886) Light(signal float64) float64 {
	gain, offset := c.terms()
	return finite(gain * power(math.Max(signal, 0)+offset, bt1886Gamma))
}

// Signal returns the signal of a light relative to the white.
func (c BT1886) Signal(light float64) float64 {
	gain, offset := c.terms()
	return math.Max(power(light/gain, 1/bt1886Gamma)-offset, 0)
}

// Slope returns the derivative of Light.
func (c BT1886) Slope(signal float64) float64 {
	if signal < 0 {
		return 0
	}
	gain, offset := c.terms()
	return finite(gain * powerSlope(signal+offset, bt1886Gamma))
}

// String returns "bt1886", or with luminances for instance
// "bt1886 100 0.05": white, then black, in cd/m².
func (c BT1886) String() string {
	if c == (BT1886{}) {
		return "bt1886"
	}
	return "bt1886 " + number(c.WhiteCdM2) + " " + number(c.BlackCdM2)
}
