// Package cli is what every example shares at its edge: flags, exit statuses,
// the interrupt signal and progress on standard error. It knows nothing of
// colour.
//
// Exit statuses: 0 done · 1 judged and failed · 2 bad input or use · 3
// undecided · 4 device, disk or run failure · 130 interrupted.
package cli

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
)

// The exit statuses of all examples.
const (
	Done        = 0
	Failed      = 1
	BadInput    = 2
	Undecided   = 3
	RunFailure  = 4
	Interrupted = 130
)

// Error is an error that ends a program with a status.
type Error struct {
	Status int
	Err    error
}

func (e *Error) Error() string { return e.Err.Error() }

// Unwrap returns the error that the status was given to.
func (e *Error) Unwrap() error { return e.Err }

// Bad returns an error of status BadInput: the caller's input or use is at
// fault. %w wraps as in fmt.Errorf.
func Bad(format string, args ...any) error {
	return &Error{BadInput, fmt.Errorf(format, args...)}
}

// Give puts a status on err; nil stays nil, and a status already given stays.
func Give(status int, err error) error {
	var e *Error
	if err == nil || errors.As(err, &e) {
		return err
	}
	return &Error{status, err}
}

// Judged returns the error of a result that was judged: nil where it passed,
// else one of status Failed or Undecided that names where to read more.
func Judged(state, where string) error {
	switch state {
	case "passed":
		return nil
	case "failed":
		return Give(Failed, fmt.Errorf("judged and failed: %s says what", where))
	}
	return Give(Undecided, fmt.Errorf("undecided, since the readings' noise leaves a limit open: %s says which", where))
}

// Status returns the exit status of err: Done for nil, Interrupted for a
// cancelled context, the status that Bad or Give put on it, else RunFailure.
func Status(err error) int {
	var e *Error
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return Done
	case errors.As(err, &e):
		return e.Status
	case errors.Is(err, context.Canceled):
		return Interrupted
	}
	return RunFailure
}

// IO is where a program reads and writes.
type IO struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
	// Terminal says that Err is a terminal: progress is then one line that is
	// drawn again.
	Terminal bool
}

// Main runs a program and exits with its status. The context ends at the first
// interrupt; a second one ends the process at once. An error is printed on
// standard error as "name: error", one line.
func Main(name string, run func(ctx context.Context, args []string, std IO) error) {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	go func() {
		<-ctx.Done()
		stop()
	}()
	err := run(ctx, os.Args[1:], IO{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Terminal: isTerminal(os.Stderr)})
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintf(os.Stderr, "%s: %v\n", name, err)
	}
	os.Exit(Status(err))
}

func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0 && os.Getenv("TERM") != "dumb"
}
