package measure

import (
	"errors"
	"fmt"
	"strings"
)

// ErrTransient is wrapped by an Instrument's error where another try may help:
// a lost sample, a busy line; and by a [SelfChecker]'s, which may have missed
// the patch for a moment. A session tries up to three times more, with a
// pause on the clock, before it gives up.
var ErrTransient = errors.New("measure: passing trouble")

// ErrOtherRun is wrapped by the error of [Open] and of a replayed call where a
// journal belongs to other options, inputs, devices or another seed than those
// given now.
var ErrOtherRun = errors.New("the journal belongs to another run")

// ErrTimeout is wrapped by a [DeviceError] where a device did not answer in
// time.
var ErrTimeout = errors.New("no answer in time")

// JournalError says that a journal cannot be replayed, on which line, and what
// to do.
type JournalError struct {
	Line    int    // counted from 1; 0 where no single line is to blame
	Problem string // what is wrong
	Remedy  string // what to do about it
	Err     error  // the cause, or nil
}

// Error tells line, problem and remedy in one sentence.
func (e *JournalError) Error() string {
	where := "journal"
	if e.Line > 0 {
		where = fmt.Sprintf("journal, line %d", e.Line)
	}
	return once(fmt.Sprintf("%s: %s; %s", where, e.Problem, e.Remedy))
}

// Unwrap returns the cause.
func (e *JournalError) Unwrap() error { return e.Err }

// DeviceError says that the screen, the instrument, the controls, the clock or
// the journal failed, and during what.
type DeviceError struct {
	Device string // "screen", "instrument", "reference", "controls", "clock" or "journal"
	Doing  string // what was being done
	Err    error
}

// Error tells device, occasion and cause.
func (e *DeviceError) Error() string {
	return once(fmt.Sprintf("%s, %s: %v", e.Device, e.Doing, e.Err))
}

// Unwrap returns the cause.
func (e *DeviceError) Unwrap() error { return e.Err }

// once puts the package's name before an error, and takes it out of those that
// the error tells of.
func once(text string) string { return "measure: " + strings.ReplaceAll(text, ": measure: ", ": ") }
