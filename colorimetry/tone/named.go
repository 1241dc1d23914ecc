package tone

import (
	"math"

	"example.org/primaries/colorimetry"
)

// Power is the pure power law: light = signal^Gamma. Gamma is above 0 and has
// no unit; the zero value is no curve.
//
// Below 0 both directions answer 0; above 1 the formula goes on.
type Power struct{ Gamma float64 }

// Light returns signal^Gamma.
func (p Power) Light(signal float64) float64 { return power(signal, p.Gamma) }

// Signal returns light^(1/Gamma).
func (p Power) Signal(light float64) float64 { return power(light, 1/p.Gamma) }

// Slope returns Gamma·signal^(Gamma−1); at 0 it is +Inf where Gamma < 1.
func (p Power) Slope(signal float64) float64 { return powerSlope(signal, p.Gamma) }

// String returns for instance "power 2.2".
func (p Power) String() string { return "power " + number(p.Gamma) }

func power(v, gamma float64) float64 {
	if v <= 0 {
		return 0
	}
	return math.Pow(v, gamma)
}

func powerSlope(v, gamma float64) float64 {
	switch {
	case v < 0:
		return 0
	case math.IsNaN(v):
		return v // where gamma is 1, Pow would answer 1
	}
	return gamma * math.Pow(v, gamma-1)
}

// SRGB is the curve of sRGB: a short straight line, then a power of 2.4.
//
// Below 0 both directions answer 0; above 1 the formula goes on. The two
// printed thresholds (0.04045 and 0.0031308) are rounded, so within 3e-8 of
// the junction the two directions are not exact inverses.
//
// Source: IEC 61966-2-1:1999 with Amendment 1:2003.
type SRGB struct{}

const (
	srgbSignalKnee = 0.04045
	srgbLightKnee  = 0.0031308
	srgbLine       = 12.92
	srgbOffset     = 0.055
	srgbGamma      = 2.4
)

// Light returns the relative light of an sRGB signal.
func (SRGB) Light(signal float64) float64 {
	if signal <= srgbSignalKnee {
		return math.Max(signal, 0) / srgbLine
	}
	return math.Pow((signal+srgbOffset)/(1+srgbOffset), srgbGamma)
}

// Signal returns the sRGB signal of a relative light.
func (SRGB) Signal(light float64) float64 {
	if light <= srgbLightKnee {
		return math.Max(light, 0) * srgbLine
	}
	return (1+srgbOffset)*math.Pow(light, 1/srgbGamma) - srgbOffset
}

// Slope returns the derivative of Light.
func (SRGB) Slope(signal float64) float64 {
	switch {
	case signal < 0:
		return 0
	case signal <= srgbSignalKnee:
		return 1 / srgbLine
	}
	return srgbGamma / (1 + srgbOffset) * math.Pow((signal+srgbOffset)/(1+srgbOffset), srgbGamma-1)
}

// String returns "srgb".
func (SRGB) String() string { return "srgb" }

// LStar is the curve whose signal is CIE lightness: signal = L*/100.
//
// Below 0 both directions answer 0; above 1 the formula goes on.
//
// Source: ISO/CIE 11664-4:2019, the definition of L*.
type LStar struct{}

// Light returns the relative luminance of lightness 100·signal.
func (LStar) Light(signal float64) float64 {
	return colorimetry.LightnessInverse(100 * math.Max(signal, 0))
}

// Signal returns the lightness of a relative luminance, divided by 100.
func (LStar) Signal(light float64) float64 {
	return math.Max(colorimetry.Lightness(math.Max(light, 0))/100, 0)
}

// Slope returns the derivative of Light.
func (LStar) Slope(signal float64) float64 {
	const kappa = 24389.0 / 27.0
	switch {
	case signal < 0:
		return 0
	case signal <= 0.08: // L* = 8, where the cube begins
		return 100 / kappa
	}
	f := (100*signal + 16) / 116
	return 300.0 / 116.0 * f * f
}

// String returns "lstar".
func (LStar) String() string { return "lstar" }

// BT709 is the camera curve of BT.709: it leads from a signal back to the
// light of the scene. Displays do not follow it; they follow [BT1886].
//
// Below 0 both directions answer 0; above 1 the formula goes on. As printed,
// the camera never makes a signal between 0.081 and 0.08125; those signals
// give the light of the junction, 0.018, so that Light never falls. Signal
// follows the standard there and answers the upper one.
//
// Source: ITU-R BT.709-6, item 1.2. BT.2020 prints the same curve for 10 bits.
type BT709 struct{}

const (
	bt709LightKnee = 0.018
	bt709Line      = 4.5
	bt709Offset    = 0.099
	bt709Gamma     = 0.45
)

// Light returns the relative scene light of a camera signal.
func (BT709) Light(signal float64) float64 {
	if signal <= bt709Line*bt709LightKnee {
		return math.Max(signal, 0) / bt709Line
	}
	return math.Max(math.Pow((signal+bt709Offset)/(1+bt709Offset), 1/bt709Gamma), bt709LightKnee)
}

// Signal returns the camera signal of a relative scene light.
func (BT709) Signal(light float64) float64 {
	if light < bt709LightKnee {
		return math.Max(light, 0) * bt709Line
	}
	return (1+bt709Offset)*math.Pow(light, bt709Gamma) - bt709Offset
}

// Slope returns the derivative of Light.
func (c BT709) Slope(signal float64) float64 {
	switch {
	case signal < 0:
		return 0
	case signal <= bt709Line*bt709LightKnee:
		return 1 / bt709Line
	case signal < c.Signal(bt709LightKnee):
		return 0
	}
	return math.Pow((signal+bt709Offset)/(1+bt709Offset), 1/bt709Gamma-1) / (bt709Gamma * (1 + bt709Offset))
}

// String returns "bt709".
func (BT709) String() string { return "bt709" }
