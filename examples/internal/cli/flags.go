package cli

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Flags is a flag set that prints nothing on misuse, since Main prints the
// error, and whose help is a synopsis and the options in alphabetical order.
type Flags struct {
	*flag.FlagSet
	synopsis string
	std      IO
	rules    []func(given map[string]bool) error
}

// NewFlags returns an empty flag set.
func NewFlags(name, synopsis string, std IO) *Flags {
	f := &Flags{FlagSet: flag.NewFlagSet(name, flag.ContinueOnError), synopsis: synopsis, std: std}
	f.SetOutput(io.Discard)
	f.Usage = func() {}
	return f
}

// Parse parses args. Misuse has the status BadInput; a wish for help prints it
// on standard error and returns flag.ErrHelp, whose status is Done.
func (f *Flags) Parse(args []string) error {
	_, err := f.parse(args, 0, "")
	return err
}

// ParseFiles is Parse for a program that takes count files after its options,
// called what in the error where there are more or fewer.
func (f *Flags) ParseFiles(args []string, count int, what string) ([]string, error) {
	return f.parse(args, count, what)
}

// ParseSome is ParseFiles for a program that takes one file or more.
func (f *Flags) ParseSome(args []string, what string) ([]string, error) {
	return f.parse(args, some, what)
}

// ParseAny is ParseFiles for a program that takes any number of files or none.
func (f *Flags) ParseAny(args []string) ([]string, error) {
	return f.parse(args, anyNumber, "")
}

// Counts of files that are no number.
const (
	some      = -1 // one or more
	anyNumber = -2
)

func (f *Flags) parse(args []string, count int, what string) ([]string, error) {
	err := f.FlagSet.Parse(args)
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprintf(f.std.Err, "%s\n\nOptions:\n", f.synopsis)
		f.VisitAll(f.describe)
		return nil, err
	}
	switch n := f.NArg(); {
	case err != nil:
		return nil, Bad("%w; -h lists the options", err)
	case n > 0 && count == 0:
		return nil, Bad("%q is no option; -h lists the options", f.Arg(0))
	case n != count && count != anyNumber && !(count == some && n > 0):
		files := "files are"
		if n == 1 {
			files = "file is"
		}
		return nil, Bad("%d %s named; give %s after all options", n, files, what)
	}
	given := f.Given()
	for _, rule := range f.rules {
		if err := rule(given); err != nil {
			return nil, err
		}
	}
	return f.Args(), nil
}

// describe prints what an option is, beside its name.
func (f *Flags) describe(x *flag.Flag) {
	value, usage := flag.UnquoteUsage(x)
	if value == "value" { // unnamed: a Choice
		value = "word"
	}
	if x.DefValue != "" && x.DefValue != "false" {
		usage += " (default " + x.DefValue + ")"
	}
	lead := fmt.Sprintf("  %-24s", strings.TrimSpace("-"+x.Name+" "+value))
	wrap(f.std.Err, lead, strings.Repeat(" ", utf8.RuneCountInString(lead)+1), usage)
}

// Exclude makes Parse refuse an option together with any of some others, for a
// reason.
func (f *Flags) Exclude(reason, option string, others ...string) {
	f.rules = append(f.rules, func(given map[string]bool) error {
		for _, other := range others {
			if given[option] && given[other] {
				return Bad("-%s and -%s exclude each other: %s", option, other, reason)
			}
		}
		return nil
	})
}

// Need makes Parse refuse each of some options without the one they need.
func (f *Flags) Need(needed string, names ...string) {
	f.rules = append(f.rules, func(given map[string]bool) error {
		for _, name := range names {
			if given[name] && !given[needed] {
				return Bad("-%s goes with -%s: give both", name, needed)
			}
		}
		return nil
	})
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

// Moment defines an option that takes a time as RFC 3339 writes it. Where it is
// not given it is the present second.
func (f *Flags) Moment(p *time.Time, name, usage string) {
	*p = time.Now().UTC().Truncate(time.Second)
	f.Var(&checked{"now", func(s string) (err error) {
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

// Number defines an option that takes a number from low to high.
func (f *Flags) Number(p *float64, name string, value, low, high float64, usage string) {
	*p = value
	f.Var(&checked{strconv.FormatFloat(value, 'g', -1, 64), func(s string) error {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v >= low && v <= high) {
			return fmt.Errorf("%g to %g are possible", low, high)
		}
		*p = v
		return nil
	}}, name, usage)
}
