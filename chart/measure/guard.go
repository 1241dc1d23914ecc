package measure

import (
	"context"
	"fmt"
	"time"
)

// defaultDarkTimeout is what a person gets to cover an instrument and to put it
// back. Common practice, no source.
const defaultDarkTimeout = 30 * time.Minute

// calibrateDark sees to it that the dark calibration of an instrument that has
// one holds at the session's clock.
func (s *Session) calibrateDark(ctx context.Context, name string, instrument Instrument) error {
	dark, ok := instrument.(DarkCalibrator)
	if !ok {
		return nil
	}
	until := dark.DarkCalibration()
	now := s.setup.Clock.Now()
	if until.After(now) {
		return nil
	}
	evidence := "the instrument has none yet"
	if !until.IsZero() {
		evidence = fmt.Sprintf("it held until %s, and it is %s", until.UTC().Format(time.DateTime), now.UTC().Format(time.DateTime))
	}
	limit := s.setup.DarkTimeout
	if limit == 0 {
		limit = defaultDarkTimeout
	}
	_, err := guarded(ctx, s, limit, func(ctx context.Context) (struct{}, error) {
		return struct{}{}, dark.CalibrateDark(ctx)
	})
	if ctx.Err() != nil {
		return ctx.Err()
	}
	remedy := "cover the instrument as its maker says, calibrate it, put it back and resume"
	if err == nil {
		if dark.DarkCalibration().After(s.setup.Clock.Now()) {
			return nil
		}
		evidence += ", and a new one did not take"
	} else {
		evidence += fmt.Sprintf(", and a new one failed: %v", err)
	}
	return &DeviceError{name, "dark calibration", &ConditionError{Condition: DarkExpired, Evidence: evidence, Remedy: remedy, Err: err}}
}

// checkScreen asks a screen that can tell whether the patch was seen as it
// should be while it was read.
func (s *Session) checkScreen(ctx context.Context, p patchRecord) error {
	checker, ok := s.setup.Screen.(SelfChecker)
	if !ok {
		return nil
	}
	_, err := guarded(ctx, s, s.setup.Timeout, func(ctx context.Context) (struct{}, error) {
		return struct{}{}, checker.CheckScreen(ctx)
	})
	return device(ctx, "screen", fmt.Sprintf("reading %d, signal %s, is not kept", p.Index, signalText(p.Patch.Signal)), err)
}
