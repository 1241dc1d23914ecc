package verify

import (
	"errors"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
)

// References: what an Accuracy is measured against.
const (
	// Relative puts each side under its own white: errors of the white and of
	// the luminance scale cancel.
	Relative = "relative"
	// Absolute puts both sides under one stated white, so that errors of the
	// white and of the luminance count in full.
	Absolute = "absolute"
)

// Bases: where the other side of an Accuracy comes from.
const (
	// AsRead compares with readings: their noise is part of every figure.
	AsRead = "as read"
	// AgainstTruth compares with what a simulator knows without noise.
	AgainstTruth = "against the simulator's truth"
)

// Accuracy is how far predicted or wanted colours lie from what was read, in
// CIEDE2000 units with kL = kC = kH = 1.
type Accuracy struct {
	Reference  string     `json:"reference"` // Relative or Absolute
	Basis      string     `json:"basis"`     // AsRead or AgainstTruth
	White      string     `json:"white"`     // the reference white, in words
	DeltaE2000 Statistics `json:"delta_e_2000"`
	// Averages is the number of integrations in the median reading other than
	// white, 0 where nothing was read; WhiteAverages that of the white that
	// relative figures refer to. A reading that keeps no repeats counts as 1.
	Averages      int `json:"averages"`
	WhiteAverages int `json:"white_averages"`
	// NoiseFloor is what a perfect prediction would have shown on average:
	// nothing is subtracted from DeltaE2000.
	NoiseFloor Floor `json:"noise_floor"`
	// Spread is the standard deviation of each statistic if the readings were
	// taken again.
	Spread Floor `json:"spread"`
	// Systematic says that the floor and the spread hold the readings'
	// systematic error and Shared: in full where the figure is absolute, and where it is
	// relative what of it does not cancel against the white.
	Systematic bool      `json:"systematic,omitempty"`
	Strata     []Stratum `json:"strata"`
	Patches    []Error   `json:"patches,omitempty"` // in the order of the readings
}

// Error is one patch's part in an Accuracy.
type Error struct {
	ID         string          `json:"id,omitempty"`
	Signal     colorimetry.RGB `json:"signal"`
	Want       colorimetry.Lab `json:"want"` // predicted or asked for
	Got        colorimetry.Lab `json:"got"`  // read, or the truth
	DeltaE2000 float64         `json:"delta_e_2000"`
}

// ProfileAccuracy is the answer to "does the profile tell the truth".
type ProfileAccuracy struct {
	Relative Accuracy `json:"relative"`
	Absolute Accuracy `json:"absolute"`
	// True and TrueAbsolute are against the simulator's noiseless truth,
	// relative and absolute; nil where nobody knows it.
	True         *Accuracy `json:"true,omitempty"`
	TrueAbsolute *Accuracy `json:"true_absolute,omitempty"`
}

// AimAccuracy is the answer to "was the aim reached": the same patches as
// found and with curves, absolute. Nil means that it was not measured.
type AimAccuracy struct {
	Before *Accuracy `json:"before"`
	After  *Accuracy `json:"after"`
}

// Predict gives the absolute XYZ, cd/m², of a signal: a profile's bytes, an
// aim, or a simulator's truth.
type Predict func(colorimetry.RGB) colorimetry.XYZ

// Options steer a comparison. The zero value is the default.
type Options struct {
	// Seed keys the noise trials: same readings and seed, same floor.
	Seed uint64
	// Trials is the number of simulated repetitions behind a noise floor; 0
	// means 500, which leaves it within 1 % of its limit for 100 patches.
	Trials int
	// White is the reading of the display's white that relative figures refer
	// to. Nil means the mean of the set's own readings of signal 1, 1, 1.
	White *measure.Reading
	// Correction tells how the systematic errors of the readings go together:
	// the covariance of the matrix of the instrument correction that their
	// Systematic comes from. Nil means unknown: see [Causes].
	Correction *mismatch.MatrixCovariance
	// Shared is a standard uncertainty that all readings have in common beyond
	// their Systematic, such as that of an instrument whose readings are not
	// corrected. It enters the floor and the spread of absolute figures, since
	// relative ones cancel most of it. Zero means unknown.
	Shared measure.Noise
}

// ErrNoWhite is returned where relative figures are asked for and no reading
// of the display's white is at hand.
var ErrNoWhite = errors.New("verify: relative figures need a reading of white: read the signal 1, 1, 1 in the set or give Options.White")

// Profile compares readings with what a profile predicts for their signals,
// absolute XYZ in cd/m², and returns the relative and the absolute figures.
//
// Relative: CIELAB of each side under its own white, the readings under the
// white as measured, the predictions under the prediction for signal 1, 1, 1.
// Absolute: CIELAB of both sides under the predicted white.
//
// The error names the reading or the prediction that is not a number, or is
// ErrNoWhite.
func Profile(predict Predict, readings []measure.Reading, o Options) (ProfileAccuracy, error) {
	c, err := compare(predict, readings, o)
	if err != nil {
		return ProfileAccuracy{}, err
	}
	if err := c.findWhite(o); err != nil {
		return ProfileAccuracy{}, err
	}
	return ProfileAccuracy{Relative: c.accuracy(Relative, o), Absolute: c.accuracy(Absolute, o)}, nil
}

// Aim compares readings with the colours, absolute XYZ in cd/m², that an aim
// asks for. Both sides are put under the aim's white, want(1, 1, 1), so a
// missed white or luminance counts in full. The error names the reading or
// the colour that is not a number.
func Aim(want Predict, readings []measure.Reading, o Options) (Accuracy, error) {
	c, err := compare(want, readings, o)
	if err != nil {
		return Accuracy{}, err
	}
	return c.accuracy(Absolute, o), nil
}

// Truth compares predictions with what a simulator knows, both absolute XYZ in
// cd/m², for the given signals, and returns the relative figures (each side
// under its own white) and the absolute ones (both under the predicted white).
// Nothing is read, so the noise floor is 0: what is left is the error of the
// prediction. The absolute figures include the error of the instrument that
// the prediction was built from.
func Truth(predict, truth Predict, signals []colorimetry.RGB, o Options) (relative, absolute Accuracy, err error) {
	white := colorimetry.Gray(1)
	readings := make([]measure.Reading, len(signals))
	for i, s := range signals {
		readings[i].Index = i
		readings[i].Patch.Signal = s
		readings[i].XYZ = truth(s)
	}
	o.White = &measure.Reading{XYZ: truth(white)}
	o.White.Patch.Signal = white
	o.Shared, o.Correction = measure.Noise{}, nil
	c, err := compare(predict, readings, o)
	if err != nil {
		return Accuracy{}, Accuracy{}, err
	}
	c.other = "true"
	if err := c.findWhite(o); err != nil {
		return Accuracy{}, Accuracy{}, err
	}
	relative, absolute = c.accuracy(Relative, o), c.accuracy(Absolute, o)
	for _, a := range []*Accuracy{&relative, &absolute} {
		a.Basis, a.Averages, a.WhiteAverages = AgainstTruth, 0, 0
		a.NoiseFloor.Known, a.Spread.Known = true, true
		for i := range a.Strata {
			a.Strata[i].NoiseFloor.Known = true
		}
	}
	return relative, absolute, nil
}

// name tells a reading apart in an error or in Statistics.Worst.
func name(r measure.Reading) string {
	s := r.Patch.Signal
	if r.Patch.ID != "" {
		return r.Patch.ID
	}
	return fmt.Sprintf("%.4g, %.4g, %.4g", s.R, s.G, s.B)
}
