package tone

import (
	"math"

	"example.org/primaries/colorimetry"
)

// Power is the pure power law: light = signal^Gamma. Gamma is above 0 and has
// no unit; with any other it is no curve, the zero value neither, and answers
// NaN.
//
// Below 0 both directions answer 0; above 1 the formula goes on.
type Power struct{ Gamma float64 }

// Light returns signal^Gamma.
func (p Power) Light(signal float64) float64 { return power(signal, p.Gamma) }

// Signal returns light^(1/Gamma).
func (p Power) Signal(light float64) float64 { return power(light, 1/p.Gamma) }

// Slope returns Gamma·signal^(Gamma−1); at 0 it has no end where Gamma < 1, and
// NaN is returned.
func (p Power) Slope(signal float64) float64 { return powerSlope(signal, p.Gamma) }

// String returns for instance "power 2.2".
func (p Power) String() string { return "power " + number(p.Gamma) }

func power(v, gamma float64) float64 {
	if !(gamma > 0) || math.IsInf(gamma, 1) {
		return math.NaN()
	}
	if v <= 0 {
		return 0
	}
	return finite(math.Pow(v, gamma))
}

func powerSlope(v, gamma float64) float64 {
	switch {
	case !(gamma > 0):
		return math.NaN()
	case v < 0:
		return 0
	case math.IsNaN(v):
		return v // where gamma is 1, Pow would answer 1
	}
	return finite(gamma * math.Pow(v, gamma-1))
}

// SRGB is the curve of sRGB: a short straight line, then a power of 2.4.
//
// Below 0 both directions answer 0; above 1 the formula goes on. The standard
// prints rounded thresholds, 0.04045 for the signal and 0.0031308 for the
// light. Here Signal takes its threshold from the other one, 0.04045/12.92, so
// that it gives back every signal; it departs from the printed one by less than
// 3e-8, and only for light from 0.0031308 to 0.0031308073. At the junction the
// power begins 2.4e-9 above the line: light in that gap has signal 0.04045.
//
// Source: IEC 61966-2-1:1999 with Amendment 1:2003.
type SRGB struct{}

const (
	srgbSignalKnee = 0.04045
	srgbLine       = 12.92
	srgbOffset     = 0.055
	srgbGamma      = 2.4
)

// Light returns the relative light of an sRGB signal.
func (SRGB) Light(signal float64) float64 {
	if signal <= srgbSignalKnee {
		return math.Max(signal, 0) / srgbLine
	}
	return finite(math.Pow((signal+srgbOffset)/(1+srgbOffset), srgbGamma))
}

// Signal returns the sRGB signal of a relative light.
func (SRGB) Signal(light float64) float64 {
	if light <= srgbSignalKnee/srgbLine {
		return math.Max(light, 0) * srgbLine
	}
	return finite(math.Max((1+srgbOffset)*math.Pow(light, 1/srgbGamma)-srgbOffset, srgbSignalKnee))
}

// Slope returns the derivative of Light.
func (SRGB) Slope(signal float64) float64 {
	switch {
	case signal < 0:
		return 0
	case signal <= srgbSignalKnee:
		return 1 / srgbLine
	}
	return finite(srgbGamma / (1 + srgbOffset) * math.Pow((signal+srgbOffset)/(1+srgbOffset), srgbGamma-1))
}

// String returns "srgb".
func (SRGB) String() string { return "srgb" }

// LStar is the curve whose signal is CIE lightness: signal = L*/100.
//
// Below 0 both directions answer 0; above 1 the formula goes on, to a light of
// 1e9 and NaN beyond.
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
	return finite(300.0 / 116.0 * f * f)
}

// String returns "lstar".
func (LStar) String() string { return "lstar" }
