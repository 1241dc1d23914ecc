package mismatch

import (
	"context"
	"errors"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// observed makes the tristimulus values of an instrument's spectra anew.
type observed struct {
	inner    measure.Instrument
	observer spectrum.Observer
}

// observedDark is observed for an instrument that has to look into darkness.
type observedDark struct {
	observed
	measure.DarkCalibrator
}

// Observed returns an instrument that reads what instrument reads, with XYZ
// made from its spectra by the given observer: cd/m² where the observer's
// middle function is that of luminance. Its description names the observer, so
// that a run begun with one is not resumed with another. Dark calibration and
// [measure.Restorer] are handed through.
//
// It is an error if instrument does not say that it integrates spectra, or if
// the observer has no name. An integration that comes without a spectrum is an
// error of the instrument.
func Observed(instrument measure.Instrument, observer spectrum.Observer) (measure.Instrument, error) {
	info := instrument.Instrument()
	if !info.Spectral {
		return nil, fmt.Errorf("mismatch: %s gives no spectra, which another observer needs; use an instrument that does, or a correction", info.Name)
	}
	if observer.Name == "" {
		return nil, errors.New("mismatch: the observer has no name; readings must say whose they are")
	}
	o := observed{instrument, observer}
	if dark, ok := instrument.(measure.DarkCalibrator); ok {
		return observedDark{o, dark}, nil
	}
	return o, nil
}

// Instrument describes the instrument and names the observer.
func (o observed) Instrument() measure.InstrumentInfo {
	info := o.inner.Instrument()
	info.Observer = o.observer.Name
	return info
}

// Measure takes one integration.
func (o observed) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	sample, err := o.inner.Measure(ctx, want)
	if err != nil {
		return measure.Sample{}, err
	}
	if sample.Spectrum.Len() == 0 {
		return measure.Sample{}, fmt.Errorf("mismatch: reading %d came without a spectrum, which observer %s needs", want.Reading, o.observer.Name)
	}
	sample.XYZ = o.observer.Emission(sample.Spectrum)
	return sample, nil
}

// Restore tells the instrument where a replayed journal ended, where it wants
// to know.
func (o observed) Restore(ctx context.Context, last measure.Reading) error {
	if r, ok := o.inner.(measure.Restorer); ok {
		return r.Restore(ctx, last)
	}
	return nil
}

// Through returns a copy of readings as another observer sees them: Raw and XYZ
// are made from Spectrum. Covariance stays, since neighbouring observers see
// noise alike; Repeats are left out, since their spectra are not kept, and
// Systematic, since no matrix corrects a spectrum. It is an error if a reading
// has no spectrum.
func Through(observer spectrum.Observer, readings []measure.Reading) ([]measure.Reading, error) {
	out := make([]measure.Reading, len(readings))
	for i, r := range readings {
		if r.Spectrum.Len() == 0 {
			return nil, fmt.Errorf("mismatch: reading %d (%s) has no spectrum; only a spectral instrument's readings can be seen by another observer", r.Index, r.Patch.ID)
		}
		r.Raw = observer.Emission(r.Spectrum)
		r.XYZ, r.Repeats, r.Systematic = r.Raw, nil, colorimetry.Matrix{}
		out[i] = r
	}
	return out, nil
}
