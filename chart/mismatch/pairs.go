package mismatch

import (
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// FromPairs returns the four-colour correction from a session's readings of
// red, green, blue and white at full signal with the reference and with the
// instrument, in any order and any number each: readings of one patch are
// averaged. Readings of other patches are not used. The instrument's Raw
// values are taken, the reference's XYZ; their covariances give the
// correction's. It is an error if one of the four is missing, as in
// [FourColour], and, wrapping [ErrUnsupported], where so noisy readings cannot
// support a correction: its standard uncertainty in u'v' exceeds 0.004 at white
// or 0.012 at a primary.
func FromPairs(ref, meas []measure.Reading) (Correction, error) {
	r, err := fourMeans(ref, 1, "the reference", referenceValue)
	if err != nil {
		return Correction{}, err
	}
	m, err := fourMeans(meas, 1, "the instrument", instrumentValue)
	if err != nil {
		return Correction{}, err
	}
	c, err := FourColour(r.xyz, m.xyz)
	if err != nil {
		return Correction{}, err
	}
	if err := c.carry(r, m); err != nil {
		return Correction{}, err
	}
	c.UncertaintyUV, c.UncertaintyY = c.spread(m.xyz[3])
	if err := c.supported(m.xyz[3], m.xyz[:3], defaultMostUV); err != nil {
		return Correction{}, err
	}
	return c, nil
}

// carry adds to c, the four-colour correction from r and m, the covariance that
// their eight readings give to its matrix, by small changes of each component.
func (c *Correction) carry(r, m four) error {
	for i := range 4 {
		for k, side := range []four{r, m} {
			h := 1e-5 * (side.xyz[i].X + side.xyz[i].Y + side.xyz[i].Z)
			var g [3]colorimetry.Matrix
			for j, step := range []colorimetry.XYZ{{X: h}, {Y: h}, {Z: h}} {
				moved := [2][4]colorimetry.XYZ{r.xyz, m.xyz}
				moved[k][i] = moved[k][i].Add(step)
				got, err := FourColour(moved[0], moved[1])
				if err != nil {
					return err
				}
				g[j] = got.Matrix.Add(c.Matrix.Scale(-1)).Scale(1 / h)
			}
			c.Covariance.addGradients(g, side.cov[i])
		}
	}
	return nil
}

// four holds red, green, blue and white with the covariances of their means.
type four struct {
	xyz [4]colorimetry.XYZ
	cov [4]colorimetry.Matrix
}

// What counts of a reading of each instrument.
func referenceValue(m measure.Reading) colorimetry.XYZ  { return m.XYZ }
func instrumentValue(m measure.Reading) colorimetry.XYZ { return m.Raw }

// fourMeans returns the means of red, green, blue and white at a signal.
func fourMeans(readings []measure.Reading, signal float64, whose string, value func(measure.Reading) colorimetry.XYZ) (four, error) {
	signals := [4]colorimetry.RGB{{R: signal}, {G: signal}, {B: signal}, colorimetry.Gray(signal)}
	var f four
	for i, s := range signals {
		n := 0.0
		for _, r := range readings {
			if r.Patch.Signal == s {
				f.xyz[i] = f.xyz[i].Add(value(r))
				f.cov[i] = f.cov[i].Add(r.Covariance)
				n++
			}
		}
		if n == 0 {
			return four{}, fmt.Errorf("mismatch: %s has no reading of signal %v; red, green, blue and white at signal %g are needed", whose, s, signal)
		}
		f.xyz[i] = f.xyz[i].Scale(1 / n)
		f.cov[i] = f.cov[i].Scale(1 / (n * n))
	}
	return f, nil
}
