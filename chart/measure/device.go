package measure

import (
	"context"
	"fmt"
	"math"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Dwell is how long every patch stays at the least. Three flashes in a second
// are the most that is allowed (WCAG 2.3.1, ITU-R BT.1702); a flash is a pair of
// opposed changes. With no more than three changes in any second, a session
// keeps to half of that, and so must whoever shows patches without one.
const Dwell = 350 * time.Millisecond

const (
	defaultSettle  = 400 * time.Millisecond
	defaultTimeout = 2 * time.Minute
	// grace is the moment that a device gets to end a call when it is told to:
	// too short to be noticed by whoever interrupts.
	grace = 100 * time.Millisecond
	// afterChange is what a display gets, on top, to take up new controls or
	// curves. Common practice, no source.
	afterChange = time.Second
)

func (s *Session) turn(ctx context.Context, c controlRecord) error {
	_, err := guarded(ctx, s, -1, func(ctx context.Context) (struct{}, error) {
		return struct{}{}, s.setup.Controls.Set(ctx, c.Name, c.Step)
	})
	return device(ctx, "controls", fmt.Sprintf("%s to step %d", c.Name, c.Step), err)
}

// load hands curves to a screen that holds them itself. It also does so with no
// curves at all, so that a run begins in a known state.
func (s *Session) load(ctx context.Context, curves tone.Channels) error {
	loader, ok := s.setup.Screen.(CurveLoader)
	if !ok {
		return nil
	}
	_, err := guarded(ctx, s, s.setup.Timeout, func(ctx context.Context) (struct{}, error) {
		return struct{}{}, loader.LoadCurves(ctx, curves)
	})
	return device(ctx, "screen", "loading curves", err)
}

// show brings a signal to the screen, through the curves where the screen does
// not hold them, and lets it settle.
func (s *Session) show(ctx context.Context, signal colorimetry.RGB, settle time.Duration) error {
	out := signal
	if _, ok := s.setup.Screen.(CurveLoader); !ok && s.curves.Len() > 0 {
		out = s.curves.Apply(signal).Quantise(s.bits())
	}
	rested := s.dwelt
	s.dwelt = false
	limit := s.setup.Timeout
	if limit > 0 {
		limit += Dwell
	}
	_, err := guarded(ctx, s, limit, func(ctx context.Context) (struct{}, error) {
		if !rested {
			// What stands there, from before the session or from a call that
			// was cut short, may not have stood long enough yet.
			if err := s.setup.Clock.Sleep(ctx, Dwell); err != nil {
				return struct{}{}, err
			}
		}
		return struct{}{}, s.setup.Screen.Show(ctx, out)
	})
	if err := device(ctx, "screen", fmt.Sprintf("showing signal %s", signalText(signal)), err); err != nil {
		return err
	}
	if err := s.setup.Clock.Sleep(ctx, max(settle, Dwell)); err != nil {
		return err
	}
	s.dwelt = true
	return nil
}

// settleTime returns how long a signal needs after the last one read: as its
// settling was measured, or else the screen's settling time, up to three times that for steps down in lightness,
// since afterglow and slow pixels show most against the dark, and a second more
// after a change of controls or curves. Common practice, no source.
func (s *Session) settleTime(to colorimetry.RGB) time.Duration {
	n := len(s.readings)
	if n == 0 {
		return s.longestSettle()
	}
	from := s.readings[n-1].Patch.Signal
	step := (roughLightness(to) - roughLightness(from)) / 100
	d := time.Duration((1 + 2*max(0, -step)) * float64(s.settle()))
	if s.settling != (Settling{}) {
		d = s.settling.time(step)
	}
	if s.disturbed {
		d += afterChange
	}
	return d
}

func (s *Session) longestSettle() time.Duration { return 3*s.settle() + afterChange }

func (s *Session) settle() time.Duration {
	if ms := s.header.Screen.SettleMS; ms > 0 {
		return time.Duration(ms) * time.Millisecond
	}
	return defaultSettle
}

// roughLightness guesses the L* of a signal, before anything is known of the
// display, with the weights of BT.709 and a power of 2.2.
func roughLightness(c colorimetry.RGB) float64 {
	light := func(v float64) float64 { return math.Pow(v, 2.2) }
	return colorimetry.Lightness(0.2126*light(c.R) + 0.7152*light(c.G) + 0.0722*light(c.B))
}

// guarded makes a call to a device and returns when ctx ends or, in real time,
// limit has passed (0 = two minutes, negative = no limit), even where the
// device does not: a device that heeds its context gets a moment to end by
// itself, one that hangs is left behind. Until such a call has ended no other
// is made, so that a device never sees two at once.
func guarded[T any](ctx context.Context, s *Session, limit time.Duration, call func(context.Context) (T, error)) (T, error) {
	var zero T
	if limit == 0 {
		limit = defaultTimeout
	}
	var expired <-chan time.Time
	if limit > 0 {
		t := time.NewTimer(limit)
		defer t.Stop()
		expired = t.C
	}
	if err := s.idle(ctx, expired); err != nil {
		return zero, err
	}
	type result struct {
		value T
		err   error
	}
	inner, cancel := context.WithCancel(ctx)
	defer cancel()
	done, ended := make(chan result, 1), make(chan struct{})
	s.busy = ended
	go func() {
		defer close(ended)
		v, err := call(inner)
		done <- result{v, err}
	}()
	var err error
	select {
	case r := <-done:
		<-ended
		s.busy = nil
		return r.value, r.err
	case <-ctx.Done():
		err = ctx.Err()
	case <-expired:
		err = fmt.Errorf("%w: it was given %v; check the device and its cable", ErrTimeout, limit)
	}
	cancel()
	moment := time.NewTimer(grace)
	defer moment.Stop()
	select {
	case <-ended:
		s.busy = nil
	case <-moment.C:
	}
	return zero, err
}

// idle waits until no device call that was given up is under way, at most until
// ctx ends or expired fires.
func (s *Session) idle(ctx context.Context, expired <-chan time.Time) error {
	if s.busy == nil {
		return nil
	}
	select {
	case <-s.busy:
		s.busy = nil
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-expired:
		return fmt.Errorf("%w: an earlier call has not ended yet; check the device and its cable", ErrTimeout)
	}
}

// device wraps a device's error; the end of the context is no fault of the
// device.
func device(ctx context.Context, name, doing string, err error) error {
	if err == nil {
		return nil
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	return &DeviceError{name, doing, err}
}
