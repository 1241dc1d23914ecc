package plug

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// ownWord reports whether err is what the program itself said, after which all
// is well with it.
func ownWord(err error) bool {
	var a *AnswerError
	var c *measure.ConditionError
	return errors.As(err, &a) || errors.As(err, &c)
}

// tell makes a call that brings the program into a state, once more where the
// program fails as a program.
func (p *Process) tell(ctx context.Context, doing string, r request, limit time.Duration, done any) error {
	for {
		err := p.once(ctx, doing, r, limit, done)
		var failed *ProgramError
		if !errors.As(err, &failed) || p.broken != nil {
			return err
		}
	}
}

// once makes one call. A program that was ended is started again first. A
// *ProgramError says that the program failed in this call and was ended.
func (p *Process) once(ctx context.Context, doing string, r request, limit time.Duration, done any) error {
	if _, err := r.line(); err != nil {
		return fmt.Errorf("plug: %s: this cannot be told to a program: %w", doing, err)
	}
	if err := p.ready(ctx); err != nil {
		return err
	}
	err := p.exchange(ctx, p.child, r, limit, done)
	p.learnTime(p.child)
	switch {
	case err == nil:
		p.restarts = 0
	case ownWord(err):
		return p.named(doing, err)
	case errors.Is(err, errClosed):
		return err
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		return err // the answer is owed
	default:
		p.cause = p.bury(ctx, p.child, doing, err)
		p.child = nil
		return p.cause
	}
	return nil
}

// named adds the program to what it said itself. A condition speaks for itself.
func (p *Process) named(doing string, err error) error {
	var c *measure.ConditionError
	if errors.As(err, &c) {
		return err
	}
	return fmt.Errorf("plug: program %q, %s: %w", p.command, doing, err)
}

// ready sees to it that the program runs and is in the state that it was told.
func (p *Process) ready(ctx context.Context) error {
	if p.broken != nil {
		return p.broken
	}
	if p.child != nil && !p.child.lives() {
		p.cause = p.bury(ctx, p.child, "waiting for a message", errEnded)
		p.child = nil
	}
	for p.child == nil {
		if p.restarts >= p.options.Restarts {
			p.broken = fmt.Errorf("%w; it was started again %d times in a row, and is not any more: see to the device and its program, then resume the run", p.cause, max(p.restarts, 0))
			return p.broken
		}
		if err := p.rest(ctx, p.options.Pause<<min(p.restarts, 10)); err != nil {
			return err
		}
		p.restarts++
		p.mu.Lock()
		p.total++
		p.mu.Unlock()
		if err := p.restart(ctx); err != nil {
			if ctx.Err() != nil || errors.Is(err, errClosed) || p.broken != nil {
				return err
			}
			p.cause = err
		}
	}
	return nil
}

// rest waits in real time.
func (p *Process) rest(ctx context.Context, d time.Duration) error {
	d = min(d, time.Minute)
	if s := p.offer.screen; s != nil && !s.Simulated {
		d = max(d, measure.Dwell) // what is seen will change
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	case <-p.closed:
		return errClosed
	}
}

// restart starts the program again and tells it what it was told.
func (p *Process) restart(ctx context.Context) error {
	k, o, err := p.begin(ctx)
	if err != nil {
		return err
	}
	if what := p.offer.differs(o); what != "" {
		p.broken = p.bury(ctx, k, "starting again", fmt.Errorf("its %s is not what it was before; connect what the run was begun with, then resume", what))
		return p.broken
	}
	if err := p.tellAgain(ctx, k, p.clockTime()); err != nil {
		return p.bury(ctx, k, "being told again how things stood", err)
	}
	p.learnDark(o)
	p.child = k
	p.learnTime(k)
	return nil
}

// learnTime notes what the program's own clock said last.
func (p *Process) learnTime(k *child) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.told.now = k.now
}

// tellAgain brings a program that was started again into the state in which it
// was: controls, curves, the patch and the time that this needs to settle, then
// its own time.
func (p *Process) tellAgain(ctx context.Context, k *child, stood time.Time) error {
	p.mu.Lock()
	t := p.told
	steps := slices.Clone(t.controls)
	p.mu.Unlock()
	for _, c := range steps {
		if slices.Contains(t.set, c.Name) {
			if err := p.exchange(ctx, k, request{Do: doSet, Control: c.Name, Step: &c.Now}, p.options.PersonTimeout, &noDone{}); err != nil {
				return err
			}
		}
	}
	for _, r := range []*request{t.curves, t.show} {
		if r != nil {
			if err := p.exchange(ctx, k, *r, p.options.Timeout, &noDone{}); err != nil {
				return err
			}
		}
	}
	if t.show != nil {
		if err := p.letSettle(ctx, k); err != nil {
			return err
		}
	}
	if !p.offer.clock {
		return nil
	}
	return p.exchange(ctx, k, request{Do: doRestore, Time: &stood, Reading: &t.reading}, p.options.Timeout, &noDone{})
}

// letSettle waits as long as a session does before the first patch: three times
// the screen's settling time, and a second for new controls and curves.
func (p *Process) letSettle(ctx context.Context, k *child) error {
	settle := 400 * time.Millisecond
	if ms := p.offer.screen.SettleMS; ms > 0 {
		settle = time.Duration(ms) * time.Millisecond
	}
	d := 3*settle + time.Second
	if !p.offer.clock {
		return p.rest(ctx, d)
	}
	ns := int64(d)
	return p.exchange(ctx, k, request{Do: doSleep, ForNS: &ns}, d+p.options.Timeout, &noDone{})
}

// learnDark notes until when the dark calibrations hold.
func (p *Process) learnDark(o offer) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for i, r := range []*instrumentRole{o.instrument, o.reference} {
		if r != nil {
			p.told.dark[i] = r.dark.when()
		}
	}
}

func describe(c colorimetry.RGB) string { return fmt.Sprintf("signal %v", c) }
