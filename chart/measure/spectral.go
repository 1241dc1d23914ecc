package measure

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry/spectrum"
)

// maxSpectrum bounds the samples of a spectrum in a journal: 0.25 nm steps over
// 1,000 nm fit, and its line stays far below maxLine.
const maxSpectrum = 4096

// spectrumRecord is a spectrum as a journal keeps it: at equal steps, or at
// listed wavelengths, in nm. Values are rounded to single precision, a part in
// ten million, which no instrument reaches.
type spectrumRecord struct {
	FromNM float64   `json:"from_nm,omitempty"`
	StepNM float64   `json:"step_nm,omitempty"`
	NM     []float64 `json:"nm,omitempty"`
	Values []float32 `json:"values"`
}

// newSpectrumRecord returns what the journal keeps of the mean of spectra, all
// given at the same wavelengths; nil where they are all darkness, the sign of
// an instrument that gives none.
func newSpectrumRecord(spectra []spectrum.Spectrum) (*spectrumRecord, error) {
	nm, sum := spectra[0].Samples()
	for _, s := range spectra[1:] {
		more, v := s.Samples()
		if len(more) != len(nm) {
			return nil, fmt.Errorf("it returned spectra of %d and of %d samples within one reading", len(nm), len(more))
		}
		for i := range v {
			if more[i] != nm[i] {
				return nil, fmt.Errorf("it returned spectra at other wavelengths within one reading, %g and %g nm", nm[i], more[i])
			}
			sum[i] += v[i]
		}
	}
	if len(nm) == 0 {
		return nil, nil
	}
	r := &spectrumRecord{Values: make([]float32, len(sum))}
	for i, v := range sum {
		r.Values[i] = float32(v / float64(len(spectra)))
	}
	if step := nm[1] - nm[0]; evenly(nm, step) {
		r.FromNM, r.StepNM = nm[0], step
	} else {
		r.NM = nm
	}
	_, err := r.spectrum()
	return r, err
}

// evenly reports whether the wavelengths are exactly those that spectrumRecord
// makes of their first and the step.
func evenly(nm []float64, step float64) bool {
	for i, w := range nm {
		if w != nm[0]+float64(float64(i)*step) {
			return false
		}
	}
	return true
}

// spectrum returns the spectrum that r keeps, or says why it is none.
func (r *spectrumRecord) spectrum() (spectrum.Spectrum, error) {
	n := len(r.Values)
	if n < 2 || n > maxSpectrum {
		return spectrum.Spectrum{}, fmt.Errorf("a spectrum of %d samples; 2 to %d are possible", n, maxSpectrum)
	}
	nm, values := r.NM, make([]float64, n)
	if (nm != nil) == (r.StepNM != 0 || r.FromNM != 0) {
		return spectrum.Spectrum{}, errors.New("a spectrum has steps or a list of wavelengths")
	}
	if nm == nil {
		nm = make([]float64, n)
		for i := range nm {
			nm[i] = r.FromNM + float64(float64(i)*r.StepNM)
		}
	}
	for i, v := range r.Values {
		if values[i] = float64(v); math.IsInf(values[i], 0) || math.IsNaN(values[i]) {
			return spectrum.Spectrum{}, fmt.Errorf("a spectrum with the value %g", v)
		}
	}
	return spectrum.New(nm, values)
}
