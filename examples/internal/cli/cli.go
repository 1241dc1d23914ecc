// Package cli is what every example shares at its edge: flags, exit statuses,
// the interrupt signal and progress on standard error. It knows nothing of
// colour.
//
// Exit statuses: 0 done · 1 judged and failed · 2 bad input or use · 3
// undecided · 4 device, disk or run failure · 130 interrupted.
package cli

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strconv"
	"strings"
	"time"
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

// Flags is a flag set that prints nothing on misuse, since Main prints the
// error, and whose help is a synopsis and the options in alphabetical order.
type Flags struct {
	*flag.FlagSet
	synopsis string
	std      IO
}

// NewFlags returns an empty flag set.
func NewFlags(name, synopsis string, std IO) *Flags {
	f := &Flags{flag.NewFlagSet(name, flag.ContinueOnError), synopsis, std}
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	return f
}

// Parse parses args. Misuse has the status BadInput; a wish for help prints it
// on standard error and returns flag.ErrHelp, whose status is Done.
func (f *Flags) Parse(args []string) error {
	err := f.FlagSet.Parse(args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprintf(f.std.Err, "%s\n\nOptions:\n", f.synopsis)
		f.SetOutput(f.std.Err)
		f.PrintDefaults()
		return err
	}
	if err != nil {
		return Bad("%w; -h lists the options", err)
	}
	return nil
}

// Given returns the names of the flags that were set on the command line.
func (f *Flags) Given() map[string]bool {
	given := map[string]bool{}
	f.Visit(func(x *flag.Flag) { given[x.Name] = true })
	return given
}

// Choice defines an option that takes one of a few words.
func (f *Flags) Choice(p *string, name, value, usage string, words ...string) {
	*p = value
	f.Var(&checked{value, func(s string) error {
		if !slices.Contains(words, s) {
			return fmt.Errorf("there are %s", strings.Join(words, ", "))
		}
		*p = s
		return nil
	}}, name, usage+": "+strings.Join(words, ", "))
}

// Whole defines an option that takes a whole number from low to high.
func (f *Flags) Whole(p *int, name string, value, low, high int, usage string) {
	*p = value
	f.Var(&checked{strconv.Itoa(value), func(s string) error {
		v, err := strconv.Atoi(s)
		if err != nil || v < low || v > high {
			return fmt.Errorf("%d to %d are possible", low, high)
		}
		*p = v
		return nil
	}}, name, fmt.Sprintf("%s, %d to %d", usage, low, high))
}

// Moment defines an option that takes a time as RFC 3339 writes it.
func (f *Flags) Moment(p *time.Time, name, usage string) {
	f.Var(&checked{"", func(s string) (err error) {
		if *p, err = time.Parse(time.RFC3339, s); err != nil {
			return errors.New("write it as 2026-11-25T09:00:00Z")
		}
		return nil
	}}, name, usage)
}

// checked is a flag.Value that checks what it is set to.
type checked struct {
	text string
	set  func(string) error
}

func (c *checked) String() string { return c.text }

func (c *checked) Set(s string) error {
	if err := c.set(s); err != nil {
		return err
	}
	c.text = s
	return nil
}

// ReadFile opens the file at path, lets use read it and returns the SHA-256 of
// what was read, in hex. Every error has the status BadInput; it names the path
// unless it does so already.
func ReadFile(path string, use func(io.Reader) error) (digest string, err error) {
	file, err := os.Open(path)
	if err != nil {
		return "", Bad("%w", err)
	}
	defer file.Close()
	sum := sha256.New()
	if err := use(io.TeeReader(file, sum)); err != nil {
		if strings.Contains(err.Error(), path) {
			return "", Give(BadInput, err)
		}
		return "", Bad("%s: %w", path, err)
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}
