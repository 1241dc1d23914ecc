package measure

import (
	"context"
	"errors"
	"fmt"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry/spectrum"
)

// ReadRequest says what to read.
type ReadRequest struct {
	Stage     string // which part of the run the reading belongs to, at most 256 bytes
	Patch     chart.Patch
	Averages  int       // integrations, 1 to 1000; 0 = Setup.Averages
	Precision Precision // takes as many integrations as it needs, in place of Averages
	Reference bool      // with Setup.Reference instead of the instrument
	// Settle is how long the display gets to settle before the reading, in whole
	// ms and never below the 350 ms that the flash limit asks for; 0 = by the step
	// of lightness from the reading before, see SetSettling.
	Settle time.Duration
}

const (
	maxRetries = 3
	retryPause = 2 * time.Second
)

// Read takes one reading, or returns the journal's where the run is replayed.
//
// It writes the patch to the journal, shows it, lets it settle, measures, and
// writes the reading, synced, before it returns. Where a [SelfChecker] says that
// a condition spoiled the reading, or passing trouble, the patch is shown and
// measured again, up to three times, before that is an error. When ctx ends, Read returns at
// once with the context's error; all readings before are safe, and this one is
// taken again, under the same index, by the next Read, which must ask for the
// same. A device that fails gives a *[DeviceError], a journal that does not
// take the reading likewise, with the reading beside it: after that the session
// takes no more, and the run is to be resumed. A journal that goes on with
// something else than this request gives a *[JournalError] that wraps
// [ErrOtherRun].
func (s *Session) Read(ctx context.Context, req ReadRequest) (Reading, error) {
	if err := ctx.Err(); err != nil {
		return Reading{}, err
	}
	if err := s.usable(); err != nil {
		return Reading{}, err
	}
	if err := s.correctable(); err != nil {
		return Reading{}, err
	}
	p, err := s.plan(req)
	if err != nil {
		return Reading{}, err
	}
	if s.Replaying() {
		if err := s.expect(event{patch: &p}); err != nil {
			return Reading{}, err
		}
		s.cursor++
		s.disturbed = false
		return s.keep(p, *s.events[s.cursor-1].reading), nil
	}
	if s.pending != nil && *s.pending != p {
		return Reading{}, fmt.Errorf("measure: reading %d (%s, signal %s) was begun and not taken; take it before another", p.Index, s.pending.Stage, signalText(s.pending.Patch.Signal))
	}
	if s.cursor < len(s.events) {
		// The journal tells of a change of controls or curves that this run did
		// not make.
		return Reading{}, s.expect(event{patch: &p})
	}
	if err := s.bringUp(ctx); err != nil {
		return Reading{}, err
	}
	if err := s.append(entry{Patch: &p}, false); err != nil {
		return Reading{}, err
	}
	s.pending = &p
	r, err := s.take(ctx, p)
	if err != nil {
		return Reading{}, err
	}
	s.pending, s.disturbed = nil, false
	err = s.append(entry{Reading: &r}, true)
	return s.keep(p, r), err
}

// plan turns a request into the line that announces it.
func (s *Session) plan(req ReadRequest) (patchRecord, error) {
	p := patchRecord{
		Index: len(s.readings), Stage: req.Stage, Patch: req.Patch,
		Integrations: req.Averages, Curves: s.curves.Digest(),
	}
	switch {
	case req.Precision.wanted():
		want, err := req.Precision.withDefaults()
		if err != nil {
			return p, err
		}
		if req.Averages != 0 {
			return p, fmt.Errorf("measure: %d averages and a precision are wanted; ask for one of them", req.Averages)
		}
		p.Integrations, p.Most, p.Luminance, p.UV = want.Least, want.Most, want.Luminance, want.UV
	case p.Integrations == 0:
		p.Integrations = max(s.setup.Averages, 1)
	}
	p.SettleMS = int(min(req.Settle.Milliseconds(), longestSettleMS+1))
	if req.Reference {
		p.Channel = ChannelReference
		if s.setup.Reference == nil {
			return p, errors.New("measure: a reading with the reference is wanted, and there is none; set Setup.Reference")
		}
	}
	if !plainText(p.Stage) || !plainText(p.Patch.ID) {
		return p, fmt.Errorf("measure: stage %.40q or patch name %.40q is no text of at most %d bytes", p.Stage, p.Patch.ID, maxText)
	}
	if err := p.check(); err != nil {
		return p, fmt.Errorf("measure: patch %q: %w", p.Patch.ID, err)
	}
	return p, nil
}

// take shows the patch and measures it, and does both again where the screen
// says that it was not seen as it should be and that may pass.
func (s *Session) take(ctx context.Context, p patchRecord) (readingRecord, error) {
	name, instrument := "instrument", s.setup.Instrument
	if p.Channel == ChannelReference {
		name, instrument = ChannelReference, s.setup.Reference
	}
	if err := s.calibrateDark(ctx, name, instrument); err != nil {
		return readingRecord{}, err
	}
	retries := 0
	for try := 0; ; try++ {
		r, err := s.attempt(ctx, p, name, instrument, try > 0)
		if retries += r.Retries; err != nil {
			return readingRecord{}, err
		}
		if err = s.checkScreen(ctx, p); err == nil {
			r.Retries = retries
			return r, nil
		}
		var met *ConditionError
		if ctx.Err() != nil || try == maxRetries || !errors.As(err, &met) && !errors.Is(err, ErrTransient) {
			return readingRecord{}, err
		}
		retries++
		if err := s.setup.Clock.Sleep(ctx, retryPause); err != nil {
			return readingRecord{}, err
		}
	}
}

// attempt shows the patch and takes its integrations.
func (s *Session) attempt(ctx context.Context, p patchRecord, name string, instrument Instrument, again bool) (readingRecord, error) {
	if err := s.present(ctx, p, again); err != nil {
		return readingRecord{}, err
	}
	r := readingRecord{Index: p.Index}
	var spectra []spectrum.Spectrum
	for i := 0; !s.enough(p, r.Repeats); i++ {
		want := Request{Reading: p.Index, Repeat: i, Signal: p.Patch.Signal}
		sample, retries, err := s.integrate(ctx, name, instrument, want)
		if err != nil {
			return readingRecord{}, err
		}
		r.Repeats = append(r.Repeats, sample.XYZ)
		spectra = append(spectra, sample.Spectrum)
		r.Retries += retries
	}
	var err error
	if r.Spectrum, err = newSpectrumRecord(spectra); err != nil {
		return readingRecord{}, &DeviceError{name, fmt.Sprintf("reading %d, signal %s", p.Index, signalText(p.Patch.Signal)), err}
	}
	r.Raw = mean(r.Repeats)
	r.Time = s.setup.Clock.Now().Round(0).UTC()
	if r.Time.Before(s.Now()) {
		// A machine's clock that was set back must not make time run backwards
		// within the run: later stages fit against it.
		r.Time = s.Now()
	}
	return r, nil
}

// present shows the patch and lets it settle: where it is shown again as long as
// at a run's start, since nobody knows what stood there, and where the time to
// settle was asked for, after the patch before, so that the step is the same.
func (s *Session) present(ctx context.Context, p patchRecord, again bool) error {
	settle := time.Duration(p.SettleMS) * time.Millisecond
	n := len(s.readings)
	switch {
	case settle == 0 && again:
		settle = s.longestSettle()
	case settle == 0:
		settle = s.settleTime(p.Patch.Signal)
	case again && n > 0:
		if err := s.show(ctx, s.readings[n-1].Patch.Signal, s.longestSettle()); err != nil {
			return err
		}
	}
	return s.show(ctx, p.Patch.Signal, settle)
}

// integrate takes one integration, trying again where the trouble may pass.
func (s *Session) integrate(ctx context.Context, name string, instrument Instrument, want Request) (Sample, int, error) {
	for try := 0; ; try++ {
		sample, err := guarded(ctx, s, s.setup.Timeout, func(ctx context.Context) (Sample, error) {
			return instrument.Measure(ctx, want)
		})
		if err == nil {
			err = sample.check()
		}
		if err == nil {
			return sample, try, nil
		}
		if ctx.Err() != nil {
			return Sample{}, try, ctx.Err()
		}
		if !errors.Is(err, ErrTransient) || try == maxRetries {
			return Sample{}, try, &DeviceError{name, fmt.Sprintf("reading %d, signal %s", want.Reading, signalText(want.Signal)), err}
		}
		if err := s.setup.Clock.Sleep(ctx, retryPause); err != nil {
			return Sample{}, try, err
		}
	}
}

// keep completes a reading with what follows from it and the session's state,
// and files it. It is the same for a live and for a replayed one.
func (s *Session) keep(p patchRecord, rec readingRecord) Reading {
	r, unusual := s.weigh(newReading(p, rec), &s.pool[poolOf(p)])
	if rec.Retries > 0 {
		r.Flags = append(r.Flags, FlagRetried)
	}
	if unusual {
		r.Flags = append(r.Flags, FlagScattered)
	}
	if r.Raw.Y < s.info(r.Channel).LowestCdM2 {
		r.Flags = append(r.Flags, FlagTooDark)
	}
	s.readings = append(s.readings, r)
	return r
}

// weigh gives a reading its covariance and the correction in force. Its repeats
// enter the pool; unusual says that they stand out of it.
func (s *Session) weigh(r Reading, pool *scatter) (weighed Reading, unusual bool) {
	one := s.info(r.Channel).Noise.Assumed().Covariance(r.Raw, 1)
	factor, unusual := pool.add(r.Repeats, r.Raw, one)
	r.Covariance = one.Scale(factor / float64(len(r.Repeats)))
	if s.correction != nil && r.Channel == "" {
		c := s.correction.Correct(r.Raw)
		r.XYZ, r.Systematic = c.XYZ, c.Systematic
		r.Covariance = c.Slope.Mul(r.Covariance).Mul(c.Slope.Transpose())
	}
	return r, unusual
}

// info describes the instrument of a channel.
func (s *Session) info(channel string) InstrumentInfo {
	if channel == ChannelReference {
		return *s.header.Reference
	}
	return s.header.Instrument
}

// poolOf returns which pool of repeats a patch adds to.
func poolOf(p patchRecord) int {
	if p.Channel == ChannelReference {
		return 1
	}
	return 0
}

// ReadSet reads a set of patches in the order given, with a number of averages
// each (0 = Setup.Averages), and reports progress. Where it fails it returns
// the readings so far with the error.
func (s *Session) ReadSet(ctx context.Context, stage string, set []chart.Patch, averages int) ([]Reading, error) {
	out := make([]Reading, 0, len(set))
	var pace pace
	for i, p := range set {
		replayed := s.Replaying()
		r, err := s.Read(ctx, ReadRequest{Stage: stage, Patch: p, Averages: averages})
		if err != nil {
			return out, err
		}
		out = append(out, r)
		pace.add(r.Time, replayed)
		s.progress(Progress{Stage: stage, Done: i + 1, Total: len(set), Left: pace.left(len(set) - i - 1), Replayed: replayed})
	}
	return out, nil
}

func (s *Session) progress(p Progress) {
	if s.setup.Progress != nil {
		s.setup.Progress(p)
	}
}

// pace estimates what is left from what the live readings took.
type pace struct {
	first, last time.Time
	count       int
}

func (p *pace) add(t time.Time, replayed bool) {
	if replayed {
		return
	}
	if p.count == 0 {
		p.first = t
	}
	p.last = t
	p.count++
}

func (p *pace) left(n int) time.Duration {
	if p.count < 2 {
		return 0
	}
	return p.last.Sub(p.first) / time.Duration(p.count-1) * time.Duration(n)
}
