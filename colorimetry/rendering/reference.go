package rendering

import (
	"errors"
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// summation is that of both indices: the samples are published at 5 nm.
func summation() spectrum.Summation { return spectrum.Summation{StepNM: 5, FromNM: 380, ToNM: 780} }

// temperature returns the correlated colour temperature and Duv of a light,
// by the 1931 observer, as both publications ask.
func temperature(light spectrum.Spectrum) (kelvin, duv float64, err error) {
	white, err := spectrum.CIE1931().White(light, summation())
	if err != nil {
		return 0, 0, fmt.Errorf("rendering: %w", err)
	}
	kelvin, duv, err = spectrum.CCT(white.Chromaticity())
	if err != nil && !errors.Is(err, spectrum.ErrFarFromLocus) {
		return 0, 0, fmt.Errorf("rendering: %w", err)
	}
	return kelvin, duv, err
}

// blend returns the reference light of a temperature: a full radiator below
// low, daylight above high, between them a mixture that changes evenly, each
// part normalised to the same luminance by o.
func blend(kelvin, low, high float64, o spectrum.Observer) (spectrum.Spectrum, error) {
	if kelvin < low {
		return spectrum.PlanckianSpectrum(kelvin)
	}
	day, err := spectrum.DaylightSpectrum(kelvin)
	if err != nil || kelvin >= high {
		return day, err
	}
	radiator, err := spectrum.PlanckianSpectrum(kelvin)
	if err != nil {
		return radiator, err
	}
	share := (high - kelvin) / (high - low)
	parts := [2]spectrum.Spectrum{}
	for i, part := range []spectrum.Spectrum{radiator, day} {
		part, err = part.Resample(spectrum.Resampling{FromNM: 380, ToNM: 780, StepNM: 5})
		if err != nil {
			return part, err
		}
		y, err := o.EmissionWith(part, summation())
		if err != nil {
			return part, err
		}
		parts[i] = part.Scale(1 / y.Y)
	}
	return parts[0].Scale(share).Add(parts[1].Scale(1 - share)), nil
}

// colours returns the samples under a light, relative, and the light's white.
func colours(o spectrum.Observer, light spectrum.Spectrum, samples []spectrum.Sample) ([]colorimetry.XYZ, colorimetry.XYZ, error) {
	w, err := o.Weights(light, summation())
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
