package tone

// Linear is the curve whose signal is the light itself, as in files of scene
// light. Unlike Power{1} it passes values below 0 on, which such files use for
// colours outside their primaries.
//
// Source: SMPTE ST 2065-1 encodes so.
type Linear struct{}

// Light returns signal.
func (Linear) Light(signal float64) float64 { return finite(signal) }

// Signal returns light.
func (Linear) Signal(light float64) float64 { return finite(light) }

// Slope returns 1, or NaN for NaN.
func (Linear) Slope(signal float64) float64 { return finite(signal)*0 + 1 }

// String returns "linear".
func (Linear) String() string { return "linear" }
