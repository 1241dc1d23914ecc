package characterise

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry/spectrum"
)

// How an instrument is corrected.
const (
	FromPairs   = "pairs"  // paired readings with Measure.Reference
	FromSource  = "source" // synthesised from sensitivities and the panel's light source
	FromSaved   = "saved"  // a correction that was made before
	Uncorrected = "none"
)

// Correction says how the instrument is corrected. The zero value takes pairs
// where there is a reference, else the source, where Sensitivities are known,
// else none; with Saved it takes that.
type Correction struct {
	Kind string // FromPairs, FromSource, FromSaved, Uncorrected or ""
	// Saved is a correction that was made before, for the very instrument and
	// display of the run: that of another unit is refused. It takes the place of
	// pairs.
	Saved *mismatch.Saved
	// Source is the key of one of spectrum.PanelSources; "" is the unknown
	// source: white LEDs are assumed, and the spread over all sources is the
	// correction's uncertainty.
	Source string
	// Sensitivities are the instrument's, in the order X, Y, Z; nil where they
	// are not known.
	Sensitivities *[3]spectrum.Spectrum
}

// CorrectInstrument finds the correction of the instrument's spectral mismatch
// and puts it in force for all later readings.
func (w *Walk) CorrectInstrument(ctx context.Context) error {
	end := w.begin(measure.StagePairs)
	var c mismatch.Correction
	var err error
	switch w.setup.correction() {
	case FromPairs:
		c, err = w.pairs(ctx)
	case FromSource:
		c, err = w.fromSource()
	case FromSaved:
		w.useSaved(end)
		return nil
	default:
		w.warn("The instrument's readings are not corrected for this display's spectrum: white and colours may be off by what its filters miss.")
		end("The instrument is used as it is.")
		return nil
	}
	if err != nil {
		return err
	}
	w.session.SetCorrector(c)
	w.result.Correction = &c
	end(fmt.Sprintf("Instrument correction by the %s; standard uncertainty of white %.4f in u'v'.", c.Note, c.UncertaintyUV))
	return nil
}

// correction returns the kind of correction, the default filled in.
func (s Setup) correction() string {
	switch {
	case s.Correction.Kind != "":
		return s.Correction.Kind
	case s.Correction.Saved != nil:
		return FromSaved
	case s.Measure.Reference != nil:
		return FromPairs
	case s.Correction.Sensitivities != nil:
		return FromSource
	}
	return Uncorrected
}

// checkCorrection says why the instrument cannot be corrected as it is to be.
func (s Setup) checkCorrection() error {
	kind, saved := s.correction(), s.Correction.Saved
	if (kind == FromSaved) != (saved != nil) {
		return fmt.Errorf("characterise: correction %q, and a saved one is given: %t; give one for %q and for no other", kind, saved != nil, FromSaved)
	}
	switch kind {
	case FromPairs:
		if s.Measure.Reference == nil {
			return errors.New("characterise: a correction from pairs needs a reference instrument")
		}
	case FromSource:
		if s.Correction.Sensitivities == nil {
			return errors.New("characterise: a correction by the light source needs the instrument's sensitivities")
		}
		if key := s.Correction.Source; key != "" && !slices.Contains(Sources(), key) {
			return fmt.Errorf("characterise: light source %q is not known; there are %q", key, Sources())
		}
	case FromSaved:
		return saved.Fits(s.Measure.Instrument.Instrument(), s.Measure.Screen.Screen().Name)
	case Uncorrected:
	default:
		return fmt.Errorf("characterise: correction %q is not known; there are %s, %s, %s and %s", kind, FromPairs, FromSource, FromSaved, Uncorrected)
	}
	return nil
}

// clocksApart is how far the clocks of two computers may be apart without a word.
const clocksApart = 24 * time.Hour

// useSaved puts the saved correction in force, without a reading.
func (w *Walk) useSaved(end func(string)) {
	saved := w.setup.Correction.Saved
	w.session.SetCorrector(saved.Corrector())
	c := saved.Correction
	if now := w.session.Now(); saved.Date.After(now.Add(clocksApart)) {
		w.warn("The correction's date, %s, is after that of this run, %s: one of the two clocks was wrong, and how old the correction is nothing tells.", saved.Date.UTC().Format("2 January 2006"), now.UTC().Format("2 January 2006"))
	}
	if c.Note == "" {
		c.Note = "method " + c.Kind
	}
	c.Note += ", made on " + saved.Date.UTC().Format("2 January 2006") + " and saved"
	w.result.Correction = &c
	end(fmt.Sprintf("Instrument correction by the %s; standard uncertainty of white %.4f in u'v' as it was stated then.", c.Note, c.UncertaintyUV))
}

// pairAverages is the number of integrations of each instrument for each
// colour of a pair: enough to bring the noise of a white in u'v' (0.00097 for
// one integration of σ 0.001 in x and y) below 0.0002.
const pairAverages = 32

// pairs reads red, green, blue and white with both instruments.
func (w *Walk) pairs(ctx context.Context) (mismatch.Correction, error) {
	var ref, meas []measure.Reading
	for _, p := range pairPatches() {
		for _, reference := range []bool{true, false} {
			r, err := w.session.Read(ctx, measure.ReadRequest{Stage: measure.StagePairs, Patch: p, Averages: pairAverages, Reference: reference})
			if err != nil {
				return mismatch.Correction{}, err
			}
			if reference {
				ref = append(ref, r)
			} else {
				meas = append(meas, r)
			}
		}
	}
	c, err := mismatch.FromPairs(ref, meas)
	if err != nil {
		return c, err
	}
	// What the reference's certificate leaves open is common to all pairs.
	info := w.setup.Measure.Reference.Instrument()
	c = c.WithUncertainty(meas[3].Raw, math.Sqrt2*info.CertificateUV, info.CertificateLuminance)
	own := w.result.Instrument
	w.result.Saved = &mismatch.Saved{
		Correction: c, Instrument: own.Name, Serial: own.Serial, Reference: info.Name,
		Display: w.result.Screen.Name, Date: w.session.Now(),
	}
	return c, nil
}

func pairPatches() [4]chart.Patch {
	return [4]chart.Patch{
		{ID: "pair red", Signal: red}, {ID: "pair green", Signal: green}, {ID: "pair blue", Signal: blue}, {ID: "pair white", Signal: white},
	}
}

// fromSource makes the correction from spectra, without a reading.
func (w *Walk) fromSource() (mismatch.Correction, error) {
	set := w.setup.Correction
	observer, sources := spectrum.CIE1931(), spectrum.PanelSources()
	unknown, err := mismatch.ForUnknown(*set.Sensitivities, sources, observer)
	if err != nil {
		return unknown, err
	}
	if set.Source == "" {
		w.warn("The panel's light source is not known: blue-pumped white LEDs are assumed, and the white may be off by about %.4f in u'v'.", unknown.UncertaintyUV)
		return unknown, nil
	}
	s := sources[slices.IndexFunc(sources, func(s spectrum.PanelSource) bool { return s.Key == set.Source })] // checked at the start
	c, err := mismatch.FromSource(*set.Sensitivities, s.Primaries, observer)
	if err != nil {
		return c, err
	}
	eye, p := *set.Sensitivities, s.Primaries
	white := spectrum.Observer{XBar: eye[0], YBar: eye[1], ZBar: eye[2]}.Emission(p[0].Add(p[1]).Add(p[2]))
	// A typical spectrum is not this panel's: what another panel's correction
	// leaves is reported as about 0.004 in u'v' (common practice, no source).
	return c.WithUncertainty(white, 0.004, 0), nil
}

// Sources returns the keys of the light sources that Correction.Source may
// name.
func Sources() []string {
	var keys []string
	for _, s := range spectrum.PanelSources() {
		keys = append(keys, s.Key)
	}
	return keys
}
