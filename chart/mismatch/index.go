package mismatch

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry/spectrum"
)

// The range over which indices are summed, at 1 nm: ISO/CIE 19476:2014 leaves
// the visible range to V(λ) and gives ultraviolet and infrared response indices
// of their own (from memory).
const (
	indexFromNM = 380
	indexToNM   = 780
)

// Index returns f1′, the general V(λ) mismatch index of a photometer or of an
// instrument's Y channel, as a share:
//
//	f1′ = ∫|s*(λ) − V(λ)| dλ / ∫V(λ) dλ
//
// where s* is the relative sensitivity s scaled so that it reads CIE standard
// illuminant A right. 0 is a perfect match. It ranks instruments; it does not
// tell the error on a given display, for which there is [Factor]. It is an
// error if the sensitivity gives illuminant A no reading.
//
// Source: ISO/CIE 19476:2014, the definition of f1′ (from memory), and CIE 69
// before it.
func Index(sensitivity spectrum.Spectrum) (float64, error) {
	return indexOf(sensitivity, spectrum.Photopic())
}

// Indices returns, for the X, Y and Z channels of an instrument, the index of
// [Index] with the observer's own functions in the place of V(λ). For Y of the
// CIE 1931 observer it is f1′. Errors as there.
func Indices(sensitivities [3]spectrum.Spectrum, obs spectrum.Observer) ([3]float64, error) {
	var out [3]float64
	for i, want := range []spectrum.Spectrum{obs.XBar, obs.YBar, obs.ZBar} {
		var err error
		if out[i], err = indexOf(sensitivities[i], want); err != nil {
			return [3]float64{}, fmt.Errorf("%w (channel %c)", err, "XYZ"[i])
		}
	}
	return out, nil
}

func indexOf(sensitivity, want spectrum.Spectrum) (float64, error) {
	a := spectrum.IlluminantA()
	var lit, read, off, whole float64
	for nm := indexFromNM; nm <= indexToNM; nm++ {
		w := float64(nm)
		lit += a.At(w) * want.At(w)
		read += a.At(w) * sensitivity.At(w)
	}
	scale := lit / read
	if !(scale > 0) || math.IsInf(scale, 0) {
		return 0, errors.New("mismatch: the sensitivity reads nothing of illuminant A; give it between 380 and 780 nm, in nm")
	}
	for nm := indexFromNM; nm <= indexToNM; nm++ {
		w := float64(nm)
		off += math.Abs(scale*sensitivity.At(w) - want.At(w))
		whole += want.At(w)
	}
	return off / whole, nil
}

// Factor returns the spectral mismatch correction factor of a photometer for a
// light: what its reading of that light has to be multiplied by when it was
// calibrated with another,
//
//	F = ∫S(λ)V(λ)dλ · ∫C(λ)s(λ)dλ / (∫S(λ)s(λ)dλ · ∫C(λ)V(λ)dλ),
//
// S being the light and C the calibration's, on any scale; the zero Spectrum
// for C means CIE standard illuminant A. Lights are taken along straight lines
// between their samples and summed at 1 nm. It is an error if one of the sums is
// not above 0.
//
// Source: ISO/CIE 19476:2014, spectral mismatch correction factor F* (from
// memory).
func Factor(sensitivity, light, calibration spectrum.Spectrum) (float64, error) {
	if calibration.Len() == 0 {
		calibration = spectrum.IlluminantA()
	}
	return factorOf(sensitivity, spectrum.Photopic(), light, calibration)
}

// Factors is [Factor] for the X, Y and Z channels of an instrument and an
// observer's own functions: the reading's error in each of X, Y and Z without
// any matrix.
func Factors(sensitivities [3]spectrum.Spectrum, obs spectrum.Observer, light, calibration spectrum.Spectrum) ([3]float64, error) {
	if calibration.Len() == 0 {
		calibration = spectrum.IlluminantA()
	}
	var out [3]float64
	for i, want := range []spectrum.Spectrum{obs.XBar, obs.YBar, obs.ZBar} {
		var err error
		if out[i], err = factorOf(sensitivities[i], want, light, calibration); err != nil {
			return [3]float64{}, fmt.Errorf("%w (channel %c)", err, "XYZ"[i])
		}
	}
	return out, nil
}

func factorOf(sensitivity, want, light, calibration spectrum.Spectrum) (float64, error) {
	seen, calibrated := light.Integral(sensitivity), calibration.Integral(sensitivity)
	true1, true2 := light.Integral(want), calibration.Integral(want)
	if !(seen > 0 && calibrated > 0 && true1 > 0 && true2 > 0) {
		return 0, errors.New("mismatch: the light or the calibration's gives no reading; give spectra that overlap with the sensitivity, in nm")
	}
	return true1 * calibrated / (seen * true2), nil
}
