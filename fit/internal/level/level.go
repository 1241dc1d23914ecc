// Package level steps light as a display's signals do: the level of a share of
// light says where between dark and bright it lies, 0 to 1.
package level

import "math"

// Power is that of the steps, an ordinary display's.
const Power = 2.4

// A Scale gives light the level ((light + Floor)^(1/Power) − Dark)/Span. The floor
// puts an end to the slope at 0: the larger it is, the fewer bits hold the slope.
// Scales are values, and safe for concurrent use.
type Scale struct {
	Floor, Dark, Span float64
	slope             float64 // at 0
}

// New returns the scale of a floor above 0, as a share of the light at 1.
func New(floor float64) Scale {
	dark := math.Pow(floor, 1/Power)
	span := math.Pow(1+floor, 1/Power) - dark
	return Scale{floor, dark, span, dark / floor / Power / span}
}

// Of returns the level of light, 0 at 0 and 1 at 1; below 0 it goes on along a
// line.
func (s Scale) Of(light float64) float64 {
	if light <= 0 {
		return s.slope * light
	}
	return (math.Pow(light+s.Floor, 1/Power) - s.Dark) / s.Span
}

// Light is the inverse of Of.
func (s Scale) Light(level float64) float64 {
	if level <= 0 {
		return level / s.slope
	}
	return math.Pow(level*s.Span+s.Dark, Power) - s.Floor
}

// Slope returns the derivative of Of at light.
func (s Scale) Slope(light float64) float64 {
	if light <= 0 {
		return s.slope
	}
	return math.Pow(light+s.Floor, 1/Power) / (light + s.Floor) / Power / s.Span
}

// Tables is the scale of tables in files and devices: 16 bits hold its slope.
var Tables = New(1e-3)
