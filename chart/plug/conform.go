package plug

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// ConformOptions steer [Conform]. The zero value is the default.
type ConformOptions struct {
	Options
	// Person says that somebody is there who can cover the instrument, so that
	// dark calibrations are tried too.
	Person bool
}

// CheckState is how a check came out.
type CheckState string

// The states of a check.
const (
	CheckPassed  CheckState = "passed"
	CheckFailed  CheckState = "failed"
	CheckSkipped CheckState = "skipped"
)

// Check is one thing that a program was held to.
type Check struct {
	Name  string
	State CheckState
	Sent  string // the last message of the check, escaped and cut; "" where none was sent
	Got   string // the last line that came back, likewise
	Why   string // what is wrong, or why it was skipped; "" where it passed
	Todo  string // what the program's author can do; "" where nothing is to be done
}

// Report is what [Conform] found.
type Report struct {
	Command Command
	Program string   // what the program calls itself, "" where it never said
	Offers  []string // roles that it offers
	Checks  []Check
}

// Passed reports whether no check failed.
func (r Report) Passed() bool {
	for _, c := range r.Checks {
		if c.State == CheckFailed {
			return false
		}
	}
	return len(r.Checks) > 0
}

// WriteText writes the report as lines for an author to read.
func (r Report) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", r.Command)
	if r.Program != "" {
		fmt.Fprintf(&b, "%s, protocol %d, offers: %s\n", r.Program, ProtocolVersion, strings.Join(r.Offers, ", "))
	}
	for _, c := range r.Checks {
		fmt.Fprintf(&b, "%-8s %s\n", c.State, c.Name)
		if c.State == CheckPassed {
			continue
		}
		for _, l := range [][2]string{{"why", c.Why}, {"sent", c.Sent}, {"got", c.Got}, {"to do", c.Todo}} {
			if l[1] != "" {
				fmt.Fprintf(&b, "         %-6s %s\n", l[0]+":", l[1])
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// Conform holds a program against the line protocol: every message that it
// offers to take, its end, its start anew. It takes some seconds, shows patches
// no faster than the flash limit allows, sets controls to where they stand, and
// takes curves away at the end. A program that fails is no error: the report
// says so. The error is ctx's.
func Conform(ctx context.Context, command Command, options ConformOptions) (Report, error) {
	options.Options = options.withDefaults()
	c := &probe{ctx: ctx, command: command, options: options, report: &Report{Command: command}}
	defer c.bury()
	c.check("says hello", c.hello)
	if c.report.Program == "" {
		return *c.report, ctx.Err()
	}
	c.check("refuses a message that it does not know, and goes on", c.unknown)
	c.checkScreen()
	for i, role := range []*instrumentRole{c.offer.instrument, c.offer.reference} {
		if role != nil {
			c.checkInstrument(eyeProbe{c, []string{"instrument", "reference"}[i], []string{"", measure.ChannelReference}[i], role})
		}
	}
	if len(c.offer.controls) > 0 {
		c.check("takes the steps of its controls and no others", c.controls)
	}
	c.checkClock()
	c.check("says nothing unasked", c.silence)
	c.check("ends when its standard input is closed", c.farewell)
	c.check("starts again as what it was", c.again)
	return *c.report, ctx.Err()
}

// flaw is why a check did not pass.
type flaw struct {
	why, todo string
	skipped   bool
}

func (f *flaw) Error() string { return f.why }

func wrong(todo, format string, args ...any) error {
	return &flaw{why: fmt.Sprintf(format, args...), todo: todo}
}

// probe talks to the program under test.
type probe struct {
	ctx       context.Context
	command   Command
	options   ConformOptions
	report    *Report
	offer     offer
	known     bool  // offer is what the first hello said
	latest    offer // what the latest hello said
	k         *child
	sent, got string
	shown     time.Time
}

// check runs one check. A program that fails in it is started anew for the next.
func (c *probe) check(name string, f func() error) {
	if c.ctx.Err() != nil {
		return
	}
	c.sent, c.got = "", ""
	out := Check{Name: name, State: CheckPassed}
	err := c.alive()
	if err == nil {
		err = f()
	}
	var found *flaw
	switch {
	case err == nil:
	case c.ctx.Err() != nil:
		return
	case errors.As(err, &found):
		out.State, out.Why, out.Todo = CheckFailed, found.why, found.todo
		if found.skipped {
			out.State = CheckSkipped
		}
	default:
		out.State, out.Why, out.Todo = CheckFailed, err.Error(), "see PROTOCOL.md for the form of this message and its answer"
	}
	if out.State != CheckPassed {
		out.Sent, out.Got = c.sent, c.got
	}
	c.report.Checks = append(c.report.Checks, out)
}

// ended buries a program that ended and returns what it left.
func (c *probe) ended() error {
	k := c.k
	c.k = nil
	how := k.end(0)
	return wrong("run until standard input ends, and end with an exit status then", "it ended, or closed its standard output (%s)", joined(how, k.words.String()))
}

// alive starts the program where it does not run.
func (c *probe) alive() error {
	if c.k != nil && c.k.lives() {
		return nil
	}
	c.bury()
	k, err := launch(c.command)
	if err != nil {
		return wrong("give the path of a program that can be run", "%v", err)
	}
	c.k = k
	if !c.known {
		return nil
	}
	c.latest, err = c.greet()
	return err
}

func (c *probe) bury() {
	if c.k != nil {
		c.k.end(0)
		c.k = nil
	}
}

// ask sends a message and decodes what was done.
func (c *probe) ask(r request, limit time.Duration, done any) error {
	c.k.id++
	r.ID = c.k.id
	line, err := r.line()
	if err != nil {
		return err
	}
	c.sent, c.got = quoted(line), ""
	late := time.NewTimer(limit)
	defer late.Stop()
	c.k.send(line)
	a, got, err := c.k.receive(c.ctx, r.ID, late.C, c.options.Say)
	var form *ProtocolError
	switch {
	case err == nil:
	case errors.Is(err, errLate):
		c.bury()
		return wrong("answer every message, in time", "no answer within %v; it was ended", limit)
	case errors.Is(err, errEnded):
		return c.ended()
	case errors.As(err, &form):
		c.got = form.Got
		c.bury()
		return wrong("see PROTOCOL.md for the form of an answer", "%s", form.Problem)
	default:
		return err
	}
	c.got = quoted(got)
	if c.offer.clock && a.Now == nil {
		return wrong(`put "now" into every answer, failures too`, "it offers a clock, and this answer does not tell its time")
	}
	if a.Now != nil {
		c.k.now = a.Now.UTC()
	}
	if a.Failed != nil {
		return a.Failed.err()
	}
	if err := strict(a.Done, done); err != nil {
		return wrong("see PROTOCOL.md for what this message's answer holds", "%v", err)
	}
	return nil
}

// greet says hello to a program that was just started, and starts it again as
// long as that is passing, as Start does.
func (c *probe) greet() (offer, error) {
	began := time.Now()
	for try := 0; ; try++ {
		o, err := c.greetOnce()
		pause := startPause(c.options.Pause, try)
		if !saysPassing(err) || time.Since(began)+pause >= c.options.StartTimeout {
			return o, err
		}
		c.bury()
		if err := (measure.SystemClock{}).Sleep(c.ctx, pause); err != nil {
			return o, err
		}
		if c.k, err = launch(c.command); err != nil {
			return o, err
		}
	}
}

func (c *probe) greetOnce() (offer, error) {
	var done helloDone
	if err := c.ask(request{Do: doHello, Versions: []int{ProtocolVersion}}, c.options.StartTimeout, &done); err != nil {
		return offer{}, err
	}
	o, err := done.offer()
	if err != nil {
		return o, wrong("mend this field of the hello, see PROTOCOL.md", "%v", err)
	}
	if o.clock && c.k.now.IsZero() {
		return o, wrong(`put "now" into every answer, the hello too`, "it offers a clock, and its hello does not tell its time")
	}
	return o, nil
}

func (c *probe) hello() error {
	o, err := c.greet()
	if err != nil {
		return err
	}
	c.offer, c.known = o, true
	c.report.Program, c.report.Offers = o.program, o.roles()
	return nil
}

func (c *probe) unknown() error {
	err := c.ask(request{Do: "no_such_message"}, c.options.Timeout, &noDone{})
	if err != nil && !ownWord(err) {
		return err
	}
	if own := (*AnswerError)(nil); errors.As(err, &own) && own.Kind == kindUnknown {
		return nil
	}
	return wrong(`answer {"id":…,"failed":{"kind":"unknown","text":"…"}} to a "do" that you do not know`, "it does not say that it does not know the message")
}

// wait lets time pass, the program's own where it has one.
func (c *probe) wait(d time.Duration) error {
	if c.offer.clock {
		ns := int64(d)
		return c.ask(request{Do: doSleep, ForNS: &ns}, d+c.options.Timeout, &noDone{})
	}
	return measure.SystemClock{}.Sleep(c.ctx, d)
}

// show shows a patch, no sooner than the flash limit allows, and lets it settle.
func (c *probe) show(signal colorimetry.RGB) error {
	if !c.offer.clock {
		if err := c.wait(measure.Dwell - time.Since(c.shown)); err != nil {
			return err
		}
	}
	if err := c.ask(request{Do: doShow, Signal: wireRGB(signal)}, c.options.Timeout, &noDone{}); err != nil {
		return err
	}
	c.shown = time.Now()
	return c.wait(max(measure.Dwell, time.Duration(c.offer.screen.SettleMS)*time.Millisecond))
}
