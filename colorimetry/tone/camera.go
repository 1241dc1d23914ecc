package tone

import "math"

// camera is the shape that ROMM and the camera curves of television share: a
// straight line up to a knee, then a power of the light with an offset.
type camera struct {
	slope    float64 // of the line, signal over light
	knee     float64 // light where the line ends
	offset   float64 // α − 1
	exponent float64
}

func (c camera) signal(light float64) float64 {
	if light < c.knee {
		return math.Max(light, 0) * c.slope
	}
	return finite((1+c.offset)*math.Pow(light, c.exponent) - c.offset)
}

// light inverts signal. Where the printed constants leave a gap between line
// and power, signals in it give the light of the knee.
func (c camera) light(signal float64) float64 {
	if signal <= c.slope*c.knee {
		return math.Max(signal, 0) / c.slope
	}
	return finite(math.Max(math.Pow((signal+c.offset)/(1+c.offset), 1/c.exponent), c.knee))
}

func (c camera) slopeAt(signal float64) float64 {
	switch {
	case signal < 0:
		return 0
	case signal <= c.slope*c.knee:
		return 1 / c.slope
	case signal < c.signal(c.knee):
		return 0
	}
	return finite(math.Pow((signal+c.offset)/(1+c.offset), 1/c.exponent-1) / (c.exponent * (1 + c.offset)))
}

// BT709 is the camera curve of BT.709 and BT.601: it leads from a signal back
// to the light of the scene. Displays do not follow it; they follow [BT1886].
//
// Below 0 both directions answer 0; above 1 the formula goes on. As printed,
// the camera never makes a signal between 0.081 and 0.08125; those signals
// give the light of the junction, 0.018, so that Light never falls. Signal
// follows the standard there and answers the upper one.
//
// Source: ITU-R BT.709-6, item 1.2; ITU-R BT.601-7. BT.2020 prints the
// same curve for 10 bits.
type BT709 struct{}

func (BT709) camera() camera { return camera{4.5, 0.018, 0.099, 0.45} }

// Light returns the relative scene light of a camera signal.
func (c BT709) Light(signal float64) float64 { return c.camera().light(signal) }

// Signal returns the camera signal of a relative scene light.
func (c BT709) Signal(light float64) float64 { return c.camera().signal(light) }

// Slope returns the derivative of Light.
func (c BT709) Slope(signal float64) float64 { return c.camera().slopeAt(signal) }

// String returns "bt709".
func (BT709) String() string { return "bt709" }

// BT2020 is the camera curve of BT.2020: from a signal back to the light of the
// scene. Bits says which rounding of its two constants is meant: 10 for the
// pair of 10-bit systems (the curve of [BT709]), 12 for that of 12-bit systems,
// and 0, or anything else, for the pair in full, which joins line and power
// without a step in height or slope. Displays follow [BT1886].
//
// Below 0 both directions answer 0; above 1 the formula goes on. At the knee of
// the two rounded pairs see [BT709].
//
// Source: ITU-R BT.2020-2, table 4; the full pair is the solution of the two
// equations in its note, here to 15 digits.
type BT2020 struct{ Bits int }

func (c BT2020) camera() camera {
	switch c.Bits {
	case 10:
		return BT709{}.camera()
	case 12:
		return camera{4.5, 0.0181, 0.0993, 0.45}
	}
	return camera{4.5, 0.018053968510807, 0.09929682680944, 0.45}
}

// Light returns the relative scene light of a camera signal.
func (c BT2020) Light(signal float64) float64 { return c.camera().light(signal) }

// Signal returns the camera signal of a relative scene light.
func (c BT2020) Signal(light float64) float64 { return c.camera().signal(light) }

// Slope returns the derivative of Light.
func (c BT2020) Slope(signal float64) float64 { return c.camera().slopeAt(signal) }

// String returns "bt2020", "bt2020 10" or "bt2020 12".
func (c BT2020) String() string {
	switch c.Bits {
	case 10:
		return "bt2020 10"
	case 12:
		return "bt2020 12"
	}
	return "bt2020"
}

// ROMM is the curve of ROMM RGB: a straight line up to 1/32 of the signal, then
// a power of 1.8. The two meet exactly.
//
// Below 0 both directions answer 0; above 1 the formula goes on.
//
// Source: ISO 22028-2:2013.
type ROMM struct{}

func (ROMM) camera() camera { return camera{16, 1.0 / 512, 0, 1 / 1.8} }

// Light returns the relative light of a ROMM RGB signal.
func (c ROMM) Light(signal float64) float64 { return c.camera().light(signal) }

// Signal returns the ROMM RGB signal of a relative light.
func (c ROMM) Signal(light float64) float64 { return c.camera().signal(light) }

// Slope returns the derivative of Light.
func (c ROMM) Slope(signal float64) float64 { return c.camera().slopeAt(signal) }

// String returns "romm".
func (ROMM) String() string { return "romm" }
