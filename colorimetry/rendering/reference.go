package rendering

import (
	"errors"
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// The wavelengths of both indices in nm, and the least that a light must have
// been measured over.
const (
	firstNM, lastNM         = 380, 780
	neededFrom, neededUntil = 400, 700
)

// prepared is a light at the wavelengths of the sum: equal steps of 5 nm, at
// which the samples are published, or of 1 nm where the light is known more
// finely than at 5 nm, so that no line falls between the steps.
type prepared struct {
	spectrum.Spectrum
	stepNM float64
}

func (p prepared) summation() spectrum.Summation {
	return spectrum.Summation{StepNM: p.stepNM, FromNM: firstNM, ToNM: lastNM, Between: spectrum.Sprague}
}

// prepare brings a light to the wavelengths of the sum. Outside its range it is
// 0.
func prepare(light spectrum.Spectrum) (prepared, error) {
	lo, hi := light.Range()
	if lo > neededFrom || hi < neededUntil {
		return prepared{}, fmt.Errorf("rendering: the light reaches from %g to %g nm; measure it over 380 to 780 nm, at least over 400 to 700", lo, hi)
	}
	p := prepared{light, 5}
	nm, _ := light.Samples()
	for i := 1; i < len(nm); i++ {
		if nm[i] > firstNM && nm[i-1] < lastNM && nm[i]-nm[i-1] < 5-1e-6 {
			p.stepNM = 1
			break
		}
	}
	return p.at(light)
}

// at returns another light at p's wavelengths.
func (p prepared) at(light spectrum.Spectrum) (prepared, error) {
	s, err := light.Resample(spectrum.Resampling{FromNM: firstNM, ToNM: lastNM, StepNM: p.stepNM, Beyond: spectrum.Nothing})
	if err != nil {
		return prepared{}, fmt.Errorf("rendering: %w", err)
	}
	return prepared{s, p.stepNM}, nil
}

// temperature returns the correlated colour temperature and Duv of a light,
// by the 1931 observer, as both publications ask.
func (p prepared) temperature() (kelvin, duv float64, err error) {
	white, err := spectrum.CIE1931().White(p.Spectrum, p.summation())
	if err != nil {
		return 0, 0, fmt.Errorf("rendering: the light gives the eye nothing, or less: its spectrum must be above 0 and finite as a whole (%w)", err)
	}
	kelvin, duv, err = spectrum.CCT(white.Chromaticity())
	if err != nil && !errors.Is(err, spectrum.ErrFarFromLocus) {
		return 0, 0, fmt.Errorf("rendering: %w", err)
	}
	return kelvin, duv, err
}

// reference returns the reference light of a temperature at p's wavelengths: a
// full radiator below low, daylight above high, between them a mixture that
// changes evenly, each part normalised to the same luminance by o.
func (p prepared) reference(kelvin, low, high float64, o spectrum.Observer) (prepared, error) {
	fail := func(err error) (prepared, error) {
		return prepared{}, fmt.Errorf("rendering: reference of %g K: %w", kelvin, err)
	}
	var parts []spectrum.Spectrum
	var shares []float64
	add := func(share float64, s spectrum.Spectrum, err error) error {
		parts, shares = append(parts, s), append(shares, share)
		return err
	}
	share := min(1, max(0, (high-kelvin)/(high-low))) // of the full radiator
	if low == high && kelvin < low {
		share = 1
	} else if low == high {
		share = 0
	}
	var err error
	if share > 0 {
		s, e := spectrum.PlanckianSpectrum(kelvin)
		err = add(share, s, e)
	}
	if share < 1 && err == nil {
		s, e := spectrum.DaylightSpectrum(kelvin)
		err = add(1-share, s, e)
	}
	if err != nil {
		return fail(err)
	}
	var sum spectrum.Spectrum
	for i, part := range parts {
		same, err := p.at(part)
		if err != nil {
			return fail(err)
		}
		y, err := o.EmissionWith(same.Spectrum, p.summation())
		if err != nil {
			return fail(err)
		}
		sum = sum.Add(same.Scale(shares[i] / y.Y))
	}
	return prepared{sum, p.stepNM}, nil
}

// colours returns the samples under a light, relative, and the light's white.
func (p prepared) colours(o spectrum.Observer, samples []spectrum.Sample) ([]colorimetry.XYZ, colorimetry.XYZ, error) {
	w, err := o.Weights(p.Spectrum, p.summation())
	if err != nil {
		return nil, colorimetry.XYZ{}, fmt.Errorf("rendering: %w", err)
	}
	out := make([]colorimetry.XYZ, len(samples))
	for i, s := range samples {
		if out[i], err = w.Reflection(s.Reflectance); err != nil {
			return nil, colorimetry.XYZ{}, fmt.Errorf("rendering: sample %s: %w", s.Name, err)
		}
	}
	return out, w.White(), nil
}
