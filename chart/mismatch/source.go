package mismatch

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// FromSource returns the correction for a display with the given primaries,
// red, green and blue, from the instrument's sensitivities in place of x, y and
// z: functions of wavelength on the scale of an observer's colour-matching
// functions. It holds for every mixture of the primaries. Its uncertainty is
// that of the spectra and sensitivities, which is not known here: it is left 0,
// for [Correction.WithUncertainty] to state.
// The error wraps [ErrDegenerate] where the primaries do not span the colours.
func FromSource(sensitivities, primaries [3]spectrum.Spectrum, obs spectrum.Observer) (Correction, error) {
	ref, seen := lights(obs, primaries), lights(instrument(sensitivities), primaries)
	out := Correction{Kind: KindSource, Condition: condition(seen),
		Note: "the instrument's sensitivities and the spectra of the panel's primaries, observer " + obs.Name}
	inv, err := seen.Inverse()
	if err != nil || !(out.Condition < largestCondition) {
		return Correction{}, fmt.Errorf("mismatch: spectra of the primaries: %w", ErrDegenerate)
	}
	out.Matrix = ref.Mul(inv)
	return out, nil
}

// ForUnknown returns the correction for a panel whose light source is not
// known: that of the first of sources, which should be the most common kind,
// with the spread of all of them as its uncertainty. UncertaintyUV is the root
// mean square distance, and LargestUV the largest, between the corrected and
// the true white of each other source; Covariance is the mean square of what
// sets their own matrices apart from it. It is an error if there are fewer than
// two sources, and as in [FromSource].
func ForUnknown(sensitivities [3]spectrum.Spectrum, sources []spectrum.PanelSource, obs spectrum.Observer) (Correction, error) {
	if len(sources) < 2 {
		return Correction{}, fmt.Errorf("mismatch: %d kinds of panel; a spread needs at least two", len(sources))
	}
	out, err := FromSource(sensitivities, sources[0].Primaries, obs)
	if err != nil {
		return Correction{}, err
	}
	var uv, lum float64
	n := float64(len(sources) - 1)
	for _, s := range sources[1:] {
		white := s.Primaries[0].Add(s.Primaries[1]).Add(s.Primaries[2])
		want, got := obs.Emission(white), out.Apply(instrument(sensitivities).Emission(white))
		d := got.UV().Distance(want.UV())
		if !(want.Y > 0) || math.IsNaN(d) {
			return Correction{}, fmt.Errorf("mismatch: panel %q is dark: %w", s.Key, ErrDegenerate)
		}
		uv += d * d
		lum += (got.Y/want.Y - 1) * (got.Y/want.Y - 1)
		out.LargestUV = math.Max(out.LargestUV, d)
		own, err := FromSource(sensitivities, s.Primaries, obs)
		if err != nil {
			return Correction{}, fmt.Errorf("panel %q: %w", s.Key, err)
		}
		out.Covariance.addGradient(own.Matrix.Add(out.Matrix.Scale(-1)), 1/n)
	}
	out.Kind, out.UncertaintyUV, out.UncertaintyY = KindUnknown, math.Sqrt(uv/n), math.Sqrt(lum/n)
	out.Note = fmt.Sprintf("the panel's light source is not known: %s is assumed, the spread over %d other typical kinds is the uncertainty", sources[0].Description, len(sources)-1)
	return out, nil
}

func instrument(sensitivities [3]spectrum.Spectrum) spectrum.Observer {
	return spectrum.Observer{Name: "instrument", XBar: sensitivities[0], YBar: sensitivities[1], ZBar: sensitivities[2]}
}

// lights returns the matrix whose columns are what obs makes of the primaries.
func lights(obs spectrum.Observer, primaries [3]spectrum.Spectrum) colorimetry.Matrix {
	return colorimetry.Columns(obs.Emission(primaries[0]), obs.Emission(primaries[1]), obs.Emission(primaries[2]))
}
