package plug

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"example.org/primaries/chart/measure"
)

// Options say how long a program is waited for and how often it is started
// again. The zero value is the default.
type Options struct {
	StartTimeout   time.Duration // until it said hello, and how long it is asked again where it answers "passing"; 0 = 30 s
	Timeout        time.Duration // for a message that no other limit is for; 0 = 20 s
	MeasureTimeout time.Duration // for one integration; 0 = 100 s, less than a session's own two minutes
	PersonTimeout  time.Duration // for what a person may have to do: a control, a dark calibration; 0 = 10 min
	EndTimeout     time.Duration // to end by itself when Process.Close tells it to; 0 = 2 s
	// Restarts is how often the program is started again before something
	// succeeds; 0 = 5, negative = never.
	Restarts int
	// Pause is the wait before the first restart, doubled before each further
	// one in a row; 0 = 1 s, at most a minute.
	Pause time.Duration
	// Say takes what the program wants to tell a person while it works, a
	// sentence that is escaped and cut. Calls are serial, and must not use the
	// Process. Nil drops it.
	Say func(sentence string)
}

func (o Options) withDefaults() Options {
	o.StartTimeout = cmp.Or(o.StartTimeout, 30*time.Second)
	o.Timeout = cmp.Or(o.Timeout, 20*time.Second)
	o.MeasureTimeout = cmp.Or(o.MeasureTimeout, 100*time.Second)
	o.PersonTimeout = cmp.Or(o.PersonTimeout, 10*time.Minute)
	o.EndTimeout = cmp.Or(o.EndTimeout, 2*time.Second)
	o.Restarts = cmp.Or(o.Restarts, 5)
	o.Pause = min(max(cmp.Or(o.Pause, time.Second), 0), time.Minute)
	if o.Say == nil {
		o.Say = func(string) {}
	}
	return o
}

// Process is an external program that drives a screen, an instrument or
// controls and is talked to by the line protocol of PROTOCOL.md. [Start] starts
// one, and Close must be called.
//
// A program that ends, hangs or breaks the protocol is ended with all that it
// started, and started again with the next call: it is told again the controls
// that were set, the curves, the last patch, which is given time to settle, and
// the time where it has its own. That happens [Options].Restarts times before
// something succeeds, then its calls fail for good. A call that only brings the
// program into a state is then made once more; an integration, which may have
// suffered, and a look at the screen, which went dark with the program, are not,
// and their error wraps [measure.ErrTransient], so that a session tries again. A program that comes back as
// something else than it was is refused.
//
// It is safe for concurrent use: calls wait for each other.
type Process struct {
	command Command
	options Options
	turn    chan struct{} // holds one token; who has it talks to the program
	closed  chan struct{}
	closing sync.Once

	// Guarded by turn.
	child    *child // nil where the program was ended and not started again
	offer    offer
	restarts int   // in a row
	cause    error // why the program was ended last
	broken   error // why it is used no more

	mu    sync.Mutex // guards what the interfaces ask without a context
	told  told
	total int // restarts in all
}

// told is what the program is told again when it was started again, and what
// was learnt from it last.
type told struct {
	controls []measure.Control // as they stand
	set      []string          // names of those that were set, in the order of their first setting
	show     *request
	curves   *request
	now      time.Time // of the program's own clock
	reading  int       // index of the last reading begun
	dark     [2]time.Time
}

// ProgramError says that a program failed as a program: it ended, hung or broke
// the protocol.
type ProgramError struct {
	Program string // its command
	Doing   string // what it had been told to do
	Err     error  // wraps measure.ErrTimeout or a *ProtocolError where one of those it was
	Words   string // the last words that it wrote on its standard error, and how it ended
	Passing bool   // another try may help: the error wraps measure.ErrTransient
}

// Error tells program, occasion and cause, and the program's last words.
func (e *ProgramError) Error() string {
	text := fmt.Sprintf("plug: program %q, %s: %v", e.Program, e.Doing, e.Err)
	if e.Words != "" {
		text += " (" + e.Words + ")"
	}
	return text
}

// Unwrap returns the cause, and measure.ErrTransient where another try may help.
func (e *ProgramError) Unwrap() []error {
	if e.Passing {
		return []error{e.Err, measure.ErrTransient}
	}
	return []error{e.Err}
}

// Start starts a program and waits until it has said hello. A program that
// answers "passing", whose device needs a moment, is started again after pauses
// for as long as [Options].StartTimeout; whatever else fails ends Start at once.
// ctx bounds the start alone. The error is a *[ProgramError] or ctx's.
func Start(ctx context.Context, command Command, options Options) (*Process, error) {
	p := &Process{
		command: command, options: options.withDefaults(),
		turn: make(chan struct{}, 1), closed: make(chan struct{}),
	}
	k, o, err := p.begin(ctx)
	if err != nil {
		return nil, err
	}
	p.child, p.offer = k, o
	p.told.controls, p.told.now = o.controls, k.now
	p.learnDark(o)
	p.turn <- struct{}{}
	return p, nil
}

// begin starts the program and hears its hello. Where that is "passing", as from
// a device that needs a moment, the program is ended and started again, with
// pauses, as long as StartTimeout has not passed.
func (p *Process) begin(ctx context.Context) (*child, offer, error) {
	began := time.Now()
	for try := 0; ; try++ {
		k, o, err := p.greet(ctx)
		pause := startPause(p.options.Pause, try)
		if !saysPassing(err) || time.Since(began)+pause >= p.options.StartTimeout {
			return k, o, err
		}
		if err := p.rest(ctx, pause); err != nil {
			return nil, offer{}, err
		}
	}
}

// startPause returns the wait before a program whose hello was "passing" is
// started again: 1, 2, 4, 5, 5 ... s where Pause is its default.
func startPause(first time.Duration, try int) time.Duration {
	return min(first<<min(try, 10), max(first, 5*time.Second))
}

// saysPassing reports whether err is the program's own word that another try
// may help.
func saysPassing(err error) bool {
	var own *AnswerError
	return errors.As(err, &own) && own.Kind == kindPassing
}

// greet starts the program and hears its hello once.
func (p *Process) greet(ctx context.Context) (*child, offer, error) {
	if err := ctx.Err(); err != nil {
		return nil, offer{}, err
	}
	k, err := launch(p.command)
	if err != nil {
		return nil, offer{}, &ProgramError{Program: p.command.String(), Doing: "being started",
			Err: fmt.Errorf("%w; give the path of a program that can be run", err)}
	}
	var done helloDone
	err = p.exchange(ctx, k, request{Do: doHello, Versions: []int{ProtocolVersion}}, p.options.StartTimeout, &done)
	var o offer
	if err == nil {
		if o, err = done.offer(); err == nil && o.clock && k.now.IsZero() {
			err = errors.New(`it offers a clock, and its answers do not say "now"`)
		}
		if err != nil {
			err = &ProtocolError{Problem: "its hello is wrong: " + err.Error()}
		}
	}
	if err != nil {
		return nil, offer{}, p.bury(ctx, k, "saying hello", err)
	}
	return k, o, nil
}

// bury ends a program after an error of a call and returns the error as it is
// to be told.
func (p *Process) bury(ctx context.Context, k *child, doing string, err error) error {
	how := k.end(0)
	if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
		return err
	}
	words := k.words.String()
	if endOfOutput(err) {
		words = joined(how, words)
	}
	return &ProgramError{Program: p.command.String(), Doing: doing, Err: err, Words: words}
}

func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + "; " + b
}

// errClosed is what a Process answers after Close.
var errClosed = errors.New("plug: the program was closed; start another")

// take waits for the turn to talk to the program.
func (p *Process) take(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	select {
	case <-p.turn:
	case <-ctx.Done():
		return ctx.Err()
	case <-p.closed:
		return errClosed
	}
	select {
	case <-p.closed:
		p.give()
		return errClosed
	default:
		return nil
	}
}

func (p *Process) give() { p.turn <- struct{}{} }

// Close ends the program: it closes its standard input, gives it
// [Options].EndTimeout, and then ends it and all that it started. A call under
// way fails. It returns nil.
func (p *Process) Close() error {
	p.closing.Do(func() {
		close(p.closed)
		<-p.turn
		if p.child != nil {
			p.child.end(p.options.EndTimeout)
			p.child = nil
		}
		p.give()
	})
	return nil
}

// Name returns what the program calls itself.
func (p *Process) Name() string { return p.offer.program }

// Restarts returns how often the program was started again so far.
func (p *Process) Restarts() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.total
}

// exchange sends one message and decodes what was done into done. An error is
// the program's own word, an *AnswerError or *measure.ConditionError, after
// which all is well with it; or it is ctx's, after which the answer is owed; or
// the program is to be ended.
func (p *Process) exchange(ctx context.Context, k *child, r request, limit time.Duration, done any) error {
	ctx, cancel := p.whileOpen(ctx)
	defer cancel()
	if err := k.settleDebt(ctx); err != nil {
		return p.explain(err, "an earlier message had its time and was not answered; the program was ended")
	}
	k.id++
	r.ID = k.id
	line, err := r.line()
	if err != nil {
		return err
	}
	k.owed, k.expiry = r.ID, time.Now().Add(limit)
	late := time.NewTimer(limit)
	defer late.Stop()
	wrote := k.send(line)
	a, got, err := k.receive(ctx, r.ID, late.C, p.options.Say)
	if err != nil {
		return p.explain(err, fmt.Sprintf("it was given %v and was ended", limit))
	}
	k.owed = 0
	select {
	case <-wrote:
	case <-late.C:
		return broken(got, "it answered before it had read the message")
	}
	return p.settle(k, a, got, done)
}

// whileOpen returns a context that ends with ctx or when p is closed.
func (p *Process) whileOpen(ctx context.Context) (context.Context, context.CancelFunc) {
	ctx, cancel := context.WithCancelCause(ctx)
	stop := make(chan struct{})
	go func() {
		select {
		case <-p.closed:
			cancel(errClosed)
		case <-stop:
		}
	}()
	return ctx, func() { close(stop); cancel(nil) }
}

// explain puts an error of waiting in words.
func (p *Process) explain(err error, late string) error {
	select {
	case <-p.closed:
		return errClosed
	default:
	}
	if errors.Is(err, errLate) {
		return fmt.Errorf("%w: %s", measure.ErrTimeout, late)
	}
	return err
}

// settle takes what an answer says.
func (p *Process) settle(k *child, a answer, line []byte, done any) error {
	if a.Now != nil {
		k.now = a.Now.Round(0).UTC()
	} else if p.offer.clock {
		return broken(line, `it offers a clock, and this answer does not say "now"`)
	}
	if a.Failed != nil {
		return a.Failed.err()
	}
	if err := strict(a.Done, done); err != nil {
		return broken(line, "%v", err)
	}
	return nil
}

// clockTime returns the program's own time as its last answer had it.
func (p *Process) clockTime() time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.told.now
}
