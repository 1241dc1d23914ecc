package tone

import (
	"math"

	"example.org/primaries/colorimetry"
)

// hlgA is the one constant of the camera curve that is printed; b and c follow
// from it. Source: ITU-R BT.2100-2, table 5.
const hlgA = 0.17883277

func hlgB() float64 { return 1 - 4*hlgA }
func hlgC() float64 { return 0.5 - hlgA*math.Log(4*hlgA) }

// HLGCamera is the camera curve of hybrid log-gamma: from a signal back to the
// light of the scene, 0 to 1. It is a square up to half the signal and an
// exponential above. [HLG] is what a display makes of the signal.
//
// Below 0 both directions answer 0; above 1 the formula goes on. The printed
// constant makes Light(1) 1 within 3e-8.
//
// Source: ITU-R BT.2100-2, table 5.
type HLGCamera struct{}

// Light returns the relative scene light of a signal.
func (HLGCamera) Light(signal float64) float64 {
	if signal <= 0.5 {
		signal = math.Max(signal, 0)
		return signal * signal / 3
	}
	return finite((math.Exp((signal-hlgC())/hlgA) + hlgB()) / 12)
}

// Signal returns the signal of a relative scene light.
func (HLGCamera) Signal(light float64) float64 {
	if light <= 1.0/12 {
		return math.Sqrt(3 * math.Max(light, 0))
	}
	return finite(hlgA*math.Log(12*light-hlgB()) + hlgC())
}

// Slope returns the derivative of Light.
func (HLGCamera) Slope(signal float64) float64 {
	switch {
	case signal < 0:
		return 0
	case signal <= 0.5:
		return 2 * signal / 3
	}
	return finite(math.Exp((signal-hlgC())/hlgA) / (12 * hlgA))
}

// String returns "hlg-camera".
func (HLGCamera) String() string { return "hlg-camera" }

// HLG is the display curve of hybrid log-gamma for greys: the camera curve
// undone, then the system gamma that fits the display's luminance. Light is
// relative to the white, so Light(0) = BlackCdM2/WhiteCdM2.
//
// WhiteCdM2 is the nominal peak, 0 meaning 1,000 cd/m²; BlackCdM2 lies at or
// above 0 and below 3^−SystemGamma of the white, about a quarter of it.
// SystemGamma 0 means [HLGGamma] of the white in a surround of 5 cd/m². Any other
// value is no curve, and answers NaN. Colours that are no greys need
// [HLG.Display]: the system gamma acts on luminance, not on channels.
//
// Signals below 0 count as 0; above 1 the formula goes on. Light at or below
// the black has signal 0. Light(1) is 1 within 5e-8; see [HLGCamera].
//
// Source: ITU-R BT.2100-2, table 5 and its notes.
type HLG struct{ WhiteCdM2, BlackCdM2, SystemGamma float64 }

func (c HLG) white() float64 {
	if c.WhiteCdM2 == 0 {
		return 1000
	}
	return c.WhiteCdM2
}

// Gamma returns the system gamma in force, NaN where the parameters are no
// curve.
func (c HLG) Gamma() float64 {
	white, gamma := c.white(), c.SystemGamma
	if !(white > 0 && c.BlackCdM2 >= 0 && gamma >= 0) {
		return math.NaN()
	}
	if gamma == 0 {
		gamma = HLGGamma(white, 0)
	}
	// With β at 1 there is no signal left between black and white.
	if !(3*math.Pow(c.BlackCdM2/white, 1/gamma) < 1) {
		return math.NaN()
	}
	return gamma
}

// lift returns β, the black as a signal.
func (c HLG) lift(gamma float64) float64 {
	if c.BlackCdM2 == 0 || gamma != gamma {
		return gamma * 0
	}
	return math.Sqrt(3 * math.Pow(c.BlackCdM2/c.white(), 1/gamma))
}

// Light returns the light of a grey's signal relative to the white.
func (c HLG) Light(signal float64) float64 {
	gamma := c.Gamma()
	b := c.lift(gamma)
	return finite(power(HLGCamera{}.Light((1-b)*math.Max(signal, 0)+b), gamma))
}

// Signal returns the signal of a grey's light relative to the white.
func (c HLG) Signal(light float64) float64 {
	gamma := c.Gamma()
	b := c.lift(gamma)
	return math.Max((HLGCamera{}.Signal(power(light, 1/gamma))-b)/(1-b), 0)
}

// Slope returns the derivative of Light.
func (c HLG) Slope(signal float64) float64 {
	if signal < 0 {
		return 0
	}
	gamma := c.Gamma()
	b := c.lift(gamma)
	s := (1-b)*signal + b
	return finite((1 - b) * powerSlope(HLGCamera{}.Light(s), gamma) * HLGCamera{}.Slope(s))
}

// String returns "hlg", or for instance "hlg 1000 0.005", white and black in
// cd/m², and the system gamma after them where one was set.
func (c HLG) String() string {
	if c == (HLG{}) {
		return "hlg"
	}
	s := "hlg " + number(c.white()) + " " + number(c.BlackCdM2)
	if c.SystemGamma > 0 {
		s += " " + number(c.SystemGamma)
	}
	return s
}

// hlgLuma are the shares of the BT.2100 primaries in the scene's luminance.
// Source: ITU-R BT.2100-2, table 5 prints these four digits.
func hlgLuma(c colorimetry.RGB) float64 { return 0.2627*c.R + 0.6780*c.G + 0.0593*c.B }

// Display returns the light of the three primaries in cd/m² (white: WhiteCdM2
// in each) that a display shows for an HLG signal, the system gamma acting on
// the scene's luminance.
//
// Source: ITU-R BT.2100-2, table 5, the reference OOTF and EOTF.
func (c HLG) Display(signal colorimetry.RGB) colorimetry.RGB {
	gamma := c.Gamma()
	b := c.lift(gamma)
	light := func(s float64) float64 { return HLGCamera{}.Light((1-b)*math.Max(s, 0) + b) }
	scene := colorimetry.RGB{R: light(signal.R), G: light(signal.G), B: light(signal.B)}
	k := 0.0
	if y := hlgLuma(scene); y != 0 {
		k = c.white() * math.Pow(y, gamma-1)
	}
	return colorimetry.RGB{R: finite(k * scene.R), G: finite(k * scene.G), B: finite(k * scene.B)}
}

// Encode returns the HLG signal for which a display shows light, in cd/m² a
// primary as Display returns it: its exact inverse for signals from 0.
func (c HLG) Encode(light colorimetry.RGB) colorimetry.RGB {
	gamma := c.Gamma()
	b := c.lift(gamma)
	k := 0.0
	if y := hlgLuma(light) / c.white(); y > 0 {
		k = math.Pow(y, (1-gamma)/gamma) / c.white()
	}
	if math.IsNaN(light.R + light.G + light.B) {
		k = math.NaN()
	}
	signal := func(v float64) float64 { return math.Max((HLGCamera{}.Signal(k*v)-b)/(1-b), 0) }
	return colorimetry.RGB{R: signal(light.R), G: signal(light.G), B: signal(light.B)}
}

// HLGGamma returns the system gamma for a display of nominal peak whiteCdM2
// whose surround has the luminance surroundCdM2, 0 meaning the reference of
// 5 cd/m². From 400 to 2,000 cd/m² it is the formula of BT.2100, beyond them
// the extended one of BT.2390; the two are equal at 1,000 and differ by 0.011
// at 400 and 0.007 at 2,000 cd/m². A peak or surround that is not above 0, or
// not finite, gives NaN.
//
// Source: ITU-R BT.2100-2, note 5f; Report ITU-R BT.2390, the section
// on the HLG system gamma (section number differs between editions; the
// surround's factor, 0.98 for each doubling, from memory).
func HLGGamma(whiteCdM2, surroundCdM2 float64) float64 {
	if surroundCdM2 == 0 {
		surroundCdM2 = 5
	}
	gamma := HLGGammaExtended(whiteCdM2)
	if whiteCdM2 >= 400 && whiteCdM2 <= 2000 {
		gamma = HLGGammaBT2100(whiteCdM2)
	}
	if !(surroundCdM2 > 0) {
		return math.NaN()
	}
	return finite(gamma * math.Pow(0.98, math.Log2(surroundCdM2/5)))
}

// HLGGammaBT2100 returns 1.2 + 0.42·log10(whiteCdM2/1000), which the standard
// states for 400 to 2,000 cd/m². NaN for a white not above 0.
//
// Source: ITU-R BT.2100-2, note 5f.
func HLGGammaBT2100(whiteCdM2 float64) float64 {
	if !(whiteCdM2 > 0) {
		return math.NaN()
	}
	return finite(1.2 + 0.42*math.Log10(whiteCdM2/1000))
}

// HLGGammaExtended returns 1.2·1.111^log2(whiteCdM2/1000), for displays outside
// the range of BT.2100. NaN for a white not above 0.
//
// Source: Report ITU-R BT.2390, the section on the HLG system gamma.
func HLGGammaExtended(whiteCdM2 float64) float64 {
	if !(whiteCdM2 > 0) {
		return math.NaN()
	}
	return finite(1.2 * math.Pow(1.111, math.Log2(whiteCdM2/1000)))
}
