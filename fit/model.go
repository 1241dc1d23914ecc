package fit

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Model is a display as a function of its signal. Signals are limited to
// [0, 1] before use. Implementations are immutable and safe for concurrent
// use.
type Model interface {
	// Name names the kind of model in a few words, as reports print it.
	Name() string
	// XYZ returns the colour shown at signal, absolute, in cd/m².
	XYZ(signal colorimetry.RGB) colorimetry.XYZ
	// Jacobian returns ∂XYZ/∂signal: column c holds the change of X, Y and Z
	// in cd/m² per unit of channel c.
	Jacobian(signal colorimetry.RGB) colorimetry.Matrix
	// Covariance returns the covariance of the predicted XYZ, in (cd/m²)²: how
	// well the readings determine the colour at signal, if the display is of the
	// model's kind: what the kind cannot follow is in it as far as the readings
	// scatter by more than their noise. The noise of a new reading comes on top.
	Covariance(signal colorimetry.RGB) colorimetry.Matrix
}

// Separable is a Model of the form K + Σ P_c·t_c(d_c): the form that a matrix
// profile can hold.
type Separable interface {
	Model
	// Black returns K, the colour at signal 0, in cd/m².
	Black() colorimetry.XYZ
	// White returns the colour at full signal, in cd/m².
	White() colorimetry.XYZ
	// Primaries returns the matrix whose columns are P_c: the light that each
	// channel adds to the black at full signal, in cd/m².
	Primaries() colorimetry.Matrix
	// Curve returns t_c of channel 0, 1 or 2 (red, green, blue): 0 at signal
	// 0, 1 at full signal.
	Curve(channel int) tone.Curve
}
