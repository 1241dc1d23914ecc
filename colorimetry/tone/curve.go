package tone

// Curve is a strictly or weakly increasing function from a signal in [0, 1] to
// relative light in [0, 1]. Implementations are immutable and safe for
// concurrent use.
type Curve interface {
	// Light returns the relative light of a signal.
	Light(signal float64) float64
	// Signal returns the signal of a relative light: the inverse of Light.
	// Where Light is flat it returns the lowest such signal.
	Signal(light float64) float64
	// Slope returns the derivative of Light at signal.
	Slope(signal float64) float64
	// String names the curve as Parse reads it, for instance "power 2.2".
	String() string
}
