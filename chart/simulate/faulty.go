package simulate

import (
	"context"
	"fmt"
	"sync"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Reconnector is what [Faulty] and [FaultyScreen] return, beside the device: a
// cable that can be plugged in again.
type Reconnector interface {
	// Reconnect ends a disconnection that has happened; that fault is over.
	Reconnect()
}

// Faulty returns the instrument i with faults, which happen by the index of the
// reading and so again in a run that is repeated. It is a [Reconnector], a
// [measure.Restorer] where i is one, a [measure.DarkCalibrator] where i is one,
// and safe for concurrent use where i is. It panics if a fault's kind is none
// that an instrument can have, or a figure of it is below 0.
func Faulty(i measure.Instrument, faults ...Fault) measure.Instrument {
	f := &faultyInstrument{of: i, faults: checkFaults("an instrument", faults, instrumentFaults)}
	if dark, ok := i.(measure.DarkCalibrator); ok {
		return &faultyDark{f, dark}
	}
	return f
}

type faultyInstrument struct {
	of     measure.Instrument
	faults []Fault
	cable  cable
}

// cable is the connection of a device and the count of its calls.
type cable struct {
	mu      sync.Mutex
	out     map[int]bool // faults that pulled it out, by their place: true while it is
	reading int          // that is being taken
	repeat  int
	calls   int // of it so far
}

// call counts a call and returns those of the faults that happen at it, or
// that there is no connection.
func (c *cable) call(faults []Fault, reading, repeat int) (now []*Fault, gone bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if reading != c.reading || repeat != c.repeat {
		c.reading, c.repeat, c.calls = reading, repeat, 0
	}
	for n := range faults {
		f := &faults[n]
		if _, over := c.out[n]; over || !f.hits(reading, c.calls) {
			continue
		}
		if f.Kind == Disconnects {
			if c.out == nil {
				c.out = make(map[int]bool)
			}
			c.out[n] = true
		}
		now = append(now, f)
	}
	c.calls++
	for _, out := range c.out {
		gone = gone || out
	}
	return now, gone
}

// plug ends a disconnection: what pulled the cable out is over.
func (c *cable) plug() {
	c.mu.Lock()
	defer c.mu.Unlock()
	for n := range c.out {
		c.out[n] = false
	}
}

// Measure takes an integration, or does what a fault makes of it.
func (f *faultyInstrument) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	now, gone := f.cable.call(f.faults, want.Reading, want.Repeat)
	if gone {
		return measure.Sample{}, fmt.Errorf("simulate: reading %d: %w", want.Reading, ErrDisconnected)
	}
	for _, fault := range now {
		if err := fault.fail(ctx, "instrument"); err != nil {
			return measure.Sample{}, err
		}
	}
	s, err := f.of.Measure(ctx, want)
	if err != nil {
		return s, err
	}
	for _, fault := range now {
		s = fault.spoil(s)
	}
	return s, nil
}

// Instrument describes the instrument, which does not know its faults.
func (f *faultyInstrument) Instrument() measure.InstrumentInfo { return f.of.Instrument() }

// Reconnect plugs the instrument in again.
func (f *faultyInstrument) Reconnect() { f.cable.plug() }

// Restore passes on where a replayed journal ended.
func (f *faultyInstrument) Restore(ctx context.Context, last measure.Reading) error {
	return restore(ctx, f.of, last)
}

func restore(ctx context.Context, device any, last measure.Reading) error {
	if r, ok := device.(measure.Restorer); ok {
		return r.Restore(ctx, last)
	}
	return nil
}

// faultyDark is a faulty instrument that needs dark calibrations.
type faultyDark struct {
	*faultyInstrument
	dark measure.DarkCalibrator
}

func (f *faultyDark) DarkCalibration() time.Time              { return f.dark.DarkCalibration() }
func (f *faultyDark) CalibrateDark(ctx context.Context) error { return f.dark.CalibrateDark(ctx) }

// FaultyScreen returns the screen s with faults, which happen by the number of
// the patch that it shows, from 0; in a run that is resumed the count goes on
// after the last reading. It is a [Reconnector], a [measure.CurveLoader] where s
// is one, and passes on what [measure.SelfChecker] and [measure.Restorer] ask,
// where s answers. It panics like [Faulty].
func FaultyScreen(s measure.Screen, faults ...Fault) measure.Screen {
	f := &faultyScreen{of: s, faults: checkFaults("a screen", faults, screenFaults)}
	if curves, ok := s.(measure.CurveLoader); ok {
		return &faultyLoader{f, curves}
	}
	return f
}

type faultyScreen struct {
	of     measure.Screen
	faults []Fault
	cable  cable

	mu    sync.Mutex
	patch int // number of the next
}

// Show shows a patch, or does what a fault makes of it. A patch that was not
// shown is the same one at the next call.
func (f *faultyScreen) Show(ctx context.Context, signal colorimetry.RGB) error {
	f.mu.Lock()
	patch := f.patch
	f.mu.Unlock()
	now, gone := f.cable.call(f.faults, patch, 0)
	if gone {
		return fmt.Errorf("simulate: showing patch %d: %w", patch, ErrDisconnected)
	}
	ignored := false
	for _, fault := range now {
		if err := fault.fail(ctx, "screen"); err != nil {
			return err
		}
		ignored = ignored || fault.Kind == Ignores
	}
	if !ignored {
		if err := f.of.Show(ctx, signal); err != nil {
			return err
		}
	}
	f.mu.Lock()
	f.patch = patch + 1
	f.mu.Unlock()
	return nil
}

// Screen describes the screen.
func (f *faultyScreen) Screen() measure.ScreenInfo { return f.of.Screen() }

// Reconnect plugs the screen in again.
func (f *faultyScreen) Reconnect() { f.cable.plug() }

// CheckScreen passes on the question, and is content where s has no answer.
func (f *faultyScreen) CheckScreen(ctx context.Context) error {
	if c, ok := f.of.(measure.SelfChecker); ok {
		return c.CheckScreen(ctx)
	}
	return nil
}

// Restore goes on with the patch after the last reading's.
func (f *faultyScreen) Restore(ctx context.Context, last measure.Reading) error {
	f.mu.Lock()
	f.patch = last.Index + 1
	f.mu.Unlock()
	return restore(ctx, f.of, last)
}

// faultyLoader is a faulty screen that holds curves itself.
type faultyLoader struct {
	*faultyScreen
	curves measure.CurveLoader
}

func (f *faultyLoader) LoadCurves(ctx context.Context, curves tone.Channels) error {
	return f.curves.LoadCurves(ctx, curves)
}

var (
	_ measure.Restorer       = (*faultyInstrument)(nil)
	_ measure.DarkCalibrator = (*faultyDark)(nil)
	_ measure.SelfChecker    = (*faultyScreen)(nil)
	_ measure.CurveLoader    = (*faultyLoader)(nil)
	_ Reconnector            = (*faultyInstrument)(nil)
	_ Reconnector            = (*faultyScreen)(nil)
)
