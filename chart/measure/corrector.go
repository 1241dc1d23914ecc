package measure

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// Corrector takes what the instrument reported to what a better one would have
// reported, as the corrections of chart/mismatch do. Correct must depend on
// nothing but its argument: a replay asks again.
type Corrector interface {
	Correct(raw colorimetry.XYZ) Corrected
}

// Corrected is a reading after an instrument correction.
type Corrected struct {
	XYZ colorimetry.XYZ // in the unit of what was corrected, cd/m²
	// Slope is the derivative of XYZ by the components as read: row i, column j
	// is that of component i by component j. It carries the noise along.
	Slope colorimetry.Matrix
	// Systematic is the covariance of XYZ, in (cd/m²)², that comes from the
	// correction's own error.
	Systematic colorimetry.Matrix
}

// plainCorrection is a matrix that counts as free of error.
type plainCorrection colorimetry.Matrix

func (m plainCorrection) Correct(raw colorimetry.XYZ) Corrected {
	return Corrected{XYZ: colorimetry.Matrix(m).Apply(raw), Slope: colorimetry.Matrix(m)}
}

// SetCorrector makes c the instrument correction of all readings from now on,
// nil none: XYZ is the corrected Raw, Covariance its noise carried along, and
// Systematic what the correction's own error means for it, which is the same in
// every reading: no average makes it smaller, no repeat shows it. Readings of
// the reference are not corrected. It is not written to the journal, being a
// function of what is.
func (s *Session) SetCorrector(c Corrector) { s.correction = c }

// SetCorrection is [Session.SetCorrector] for a matrix that counts as free of
// error: XYZ = m·Raw. Through a matrix that is not finite or has no inverse, the
// zero Matrix above all, nothing can be read: each Read is an error, until another
// correction is set.
func (s *Session) SetCorrection(m colorimetry.Matrix) { s.correction = plainCorrection(m) }

// Correction returns the matrix that [Session.SetCorrection] put in force, the
// identity where there is none.
func (s *Session) Correction() colorimetry.Matrix {
	if m, ok := s.correction.(plainCorrection); ok {
		return colorimetry.Matrix(m)
	}
	return colorimetry.Identity()
}

// SystematicUV returns the standard deviation of the reading's place in the
// u'v' diagram that the correction's error stands for, as [Reading.SpreadUV]
// does that of noise.
func (r Reading) SystematicUV() float64 {
	r.Covariance = r.Systematic
	return r.SpreadUV()
}

// correctable says why nothing can be read through the matrix in force.
func (s *Session) correctable() error {
	m, ok := s.correction.(plainCorrection)
	if !ok {
		return nil
	}
	if _, err := colorimetry.Matrix(m).Inverse(); err != nil || !finite(colorimetry.Matrix(m)) {
		return fmt.Errorf("measure: the instrument correction %v has no inverse, so that different lights would read the same; set another, or the identity", m)
	}
	return nil
}
