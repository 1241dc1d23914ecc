package measure

import (
	"context"
	"errors"
	"fmt"
	"time"

	"example.org/primaries/colorimetry/tone"
)

// SetControl brings a control of the display to a step. It takes effect at
// once; during replay it is remembered, and only the last step of each control
// reaches the display when the journal ends. The journal keeps the change. It
// is an error if there is no such control or step; where the display does not
// take it, nothing has changed for the session.
func (s *Session) SetControl(ctx context.Context, name string, step int) error {
	if err := s.checkControl(name, step); err != nil {
		return err
	}
	c := controlRecord{name, step}
	err := s.change(ctx, entry{Control: &c}, func() error { return s.turn(ctx, c) })
	if err != nil {
		return err
	}
	for i := range s.steps {
		if s.steps[i].Name == name {
			s.steps[i].Step = step
			return nil
		}
	}
	s.steps = append(s.steps, c)
	return nil
}

func (s *Session) checkControl(name string, step int) error {
	for _, c := range s.header.Controls {
		if c.Name == name {
			if step < c.Min || step > c.Max {
				return fmt.Errorf("measure: %s has the steps %d to %d, not %d", name, c.Min, c.Max, step)
			}
			return nil
		}
	}
	return fmt.Errorf("measure: the display has no control named %q", name)
}

// LoadCurves puts correction curves in force; the zero Channels takes them
// away. A Screen that is a CurveLoader holds them, else the session applies
// them to each signal. Like a control, they are only remembered during replay.
func (s *Session) LoadCurves(ctx context.Context, curves tone.Channels) error {
	c := curvesRecord{curves.Digest(), curves.Len()}
	err := s.change(ctx, entry{Curves: &c}, func() error { return s.load(ctx, curves) })
	if err == nil {
		s.curves = curves
	}
	return err
}

// Rest waits on the clock, with the last patch shown. It is free during replay.
func (s *Session) Rest(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil || s.Replaying() {
		return err
	}
	if err := s.usable(); err != nil {
		return err
	}
	if err := s.bringUp(ctx); err != nil {
		return err
	}
	_, err := guarded(ctx, s, -1, func(ctx context.Context) (struct{}, error) {
		return struct{}{}, s.setup.Clock.Sleep(ctx, d)
	})
	return device(ctx, "clock", "resting", err)
}

// change makes a change of state: it must be the journal's next event where
// there is one, is made unless it is replayed, and is then written down.
func (s *Session) change(ctx context.Context, e entry, act func() error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := s.usable(); err != nil {
		return err
	}
	if s.pending != nil {
		return fmt.Errorf("measure: reading %d was begun and not taken; take it before anything else changes", s.pending.Index)
	}
	known := s.cursor < len(s.events)
	if known {
		if err := s.expect(event{control: e.Control, curves: e.Curves}); err != nil {
			return err
		}
	}
	if !s.Replaying() {
		if err := s.bringUp(ctx); err != nil {
			return err
		}
		if err := act(); err != nil {
			return err
		}
	}
	s.disturbed = true
	if known {
		s.cursor++
		return nil
	}
	return s.append(e, false)
}

// expect says what is wrong if want is not the journal's next event.
func (s *Session) expect(want event) error {
	e := s.events[s.cursor]
	if e.patch != nil && want.patch != nil && *e.patch == *want.patch ||
		e.control != nil && want.control != nil && *e.control == *want.control ||
		e.curves != nil && want.curves != nil && *e.curves == *want.curves {
		return nil
	}
	return &JournalError{e.line, fmt.Sprintf("it goes on with %v, and the run now wants %v", e, want),
		"resume with the same options, inputs and build, or begin a new run", ErrOtherRun}
}

// String tells an event in a few words, for errors.
func (e event) String() string {
	switch {
	case e.patch != nil:
		return fmt.Sprintf("reading %d (%s, signal %s, %d integrations, curves %s)", e.patch.Index, e.patch.Stage, signalText(e.patch.Patch.Signal), e.patch.Integrations, e.patch.Curves)
	case e.control != nil:
		return fmt.Sprintf("%s at step %d", e.control.Name, e.control.Step)
	default:
		return fmt.Sprintf("curves %s", e.curves.Digest)
	}
}

// Close ends the session and, where it has touched a screen that holds curves,
// takes them off it. That is not written to the journal: the run can be
// resumed. To leave curves in force do without Close; there is nothing else to
// release.
func (s *Session) Close(ctx context.Context) error {
	if errors.Is(s.broken, errClosed) {
		return nil
	}
	s.broken = errClosed
	if !s.live || s.curves.Len() == 0 {
		return nil
	}
	return s.load(ctx, tone.Channels{})
}

// Ready puts the hardware into the state in which the last reading was taken,
// where a replay has not done so yet because nothing was left to read: a run
// that was resumed when all readings were in its journal ends with controls and
// curves as they were made, like any other.
func (s *Session) Ready(ctx context.Context) error {
	if s.broken != nil {
		return s.broken
	}
	return s.bringUp(ctx)
}

// bringUp puts the hardware into the state in which the last reading was taken:
// controls, curves, patch; then it tells simulated devices the time. It does so
// once, before the first thing that is not replayed.
func (s *Session) bringUp(ctx context.Context) error {
	if s.live {
		return nil
	}
	for _, c := range s.steps {
		if err := s.turn(ctx, c); err != nil {
			return err
		}
	}
	if err := s.load(ctx, s.curves); err != nil {
		return err
	}
	if n := len(s.readings); n > 0 {
		last := s.readings[n-1]
		if err := s.show(ctx, last.Patch.Signal, s.longestSettle()); err != nil {
			return err
		}
		devices := []any{s.setup.Clock, s.setup.Screen, s.setup.Instrument, s.setup.Reference, s.setup.Controls}
		for _, d := range devices {
			if r, ok := d.(Restorer); ok {
				if err := r.Restore(ctx, last); err != nil {
					return &DeviceError{"simulated device", "going back to the journal's end", err}
				}
			}
		}
	}
	s.live = true
	return nil
}
