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
	"strconv"
	"strings"
	"time"
	"unicode"
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
	return Give(Undecided, fmt.Errorf("undecided, since noise or the instrument's own uncertainty leaves a limit open: %s says which", where))
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

// Program is a command-line program.
type Program struct {
	Name string
	Run  func(ctx context.Context, args []string, std IO) error
	// Kept says, after "interrupted; ", what an interrupt leaves and how to go on;
	// empty where it leaves nothing.
	Kept string
}

// Stopped returns the error of a run that was interrupted.
func (p Program) Stopped() error {
	text := "interrupted"
	if p.Kept != "" {
		text += "; " + p.Kept
	}
	return Give(Interrupted, errors.New(text))
}

// Printable returns text as a terminal may be shown it: what controls one, breaks
// lines or turns their direction is written as in a Go string, \x1b for instance.
// Files from strangers hold such things, and so may their names.
func Printable(s string) string {
	var b strings.Builder
	for _, r := range s {
		if unicode.IsPrint(r) {
			b.WriteRune(r)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		}
	}
	return b.String()
}

// patience is how long Main waits for a run that was interrupted to end by
// itself: a reading stops at once, a computation may not.
const patience = time.Second

// Main runs a program and exits with its status. The context ends at the first
// interrupt, and the program within a second of it, wherever it is: whatever
// writes files must bear that, as it must bear a kill. A second interrupt ends
// it at once. An error is printed on standard error as "name: error", one line.
func (p Program) Main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	go func() {
		<-ctx.Done()
		stop()
	}()
	err := p.supervise(ctx, patience, func() error {
		return p.Run(ctx, os.Args[1:], IO{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Terminal: isTerminal(os.Stderr)})
	})
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		fmt.Fprintln(os.Stderr, p.sentence(err))
	}
	os.Exit(Status(err))
}

// sentence is the line that says what went wrong. Joined errors come a line each,
// and a package called like the program has said its name already.
func (p Program) sentence(err error) string {
	text := strings.TrimPrefix(err.Error(), p.Name+": ")
	return p.Name + ": " + Printable(strings.ReplaceAll(text, "\n", "; "))
}

// supervise returns run's error, or Stopped where it is nothing but ctx's end or
// where run goes on for longer than wait after it.
func (p Program) supervise(ctx context.Context, wait time.Duration, run func() error) error {
	done := make(chan error, 1)
	go func() { done <- run() }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	select {
	case err := <-done:
		if errors.Is(err, context.Canceled) {
			return p.Stopped()
		}
		return err
	case <-time.After(wait):
		return p.Stopped()
	}
}

func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0 && os.Getenv("TERM") != "dumb"
}
