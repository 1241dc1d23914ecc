package plug

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// lacks returns the error for a role that the program does not offer.
func (p *Process) lacks(role string) error {
	return fmt.Errorf("plug: program %q (%s) offers no %s; it offers %s", p.command, p.offer.program, role, strings.Join(p.offer.roles(), ", "))
}

// Screen returns the program's screen. It is a [measure.SelfChecker], which
// says at least whether the program still lives, and a [measure.CurveLoader]
// where the program holds curves. It is an error if the program offers none.
func (p *Process) Screen() (measure.Screen, error) {
	if p.offer.screen == nil {
		return nil, p.lacks("screen")
	}
	if p.offer.curves {
		return curveScreen{screen{p}}, nil
	}
	return screen{p}, nil
}

// Instrument returns the program's instrument: a [measure.DarkCalibrator] where
// the program says that it is one. It is an error if the program offers none.
func (p *Process) Instrument() (measure.Instrument, error) {
	return p.eye("instrument", "", 0, p.offer.instrument)
}

// Reference returns the program's second, better instrument. It is an error if
// the program offers none.
func (p *Process) Reference() (measure.Instrument, error) {
	return p.eye(measure.ChannelReference, measure.ChannelReference, 1, p.offer.reference)
}

func (p *Process) eye(name, channel string, index int, role *instrumentRole) (measure.Instrument, error) {
	if role == nil {
		return nil, p.lacks(name)
	}
	i := instrument{p, channel, index, role}
	if role.dark != nil {
		return darkInstrument{i}, nil
	}
	return i, nil
}

// Controls returns the display's controls that the program turns. It is an error
// if it offers none.
func (p *Process) Controls() (measure.Controls, error) {
	if len(p.offer.controls) == 0 {
		return nil, p.lacks("controls")
	}
	return panel{p}, nil
}

// Clock returns the time that the program lives in, for a simulated device. It
// is a [measure.Restorer]. It is an error if the program offers none: then the
// machine's time is the device's.
func (p *Process) Clock() (measure.Clock, error) {
	if !p.offer.clock {
		return nil, p.lacks("clock")
	}
	return clock{p}, nil
}

type screen struct{ p *Process }

// Screen describes the path.
func (s screen) Screen() measure.ScreenInfo { return *s.p.offer.screen }

// Show shows a patch.
func (s screen) Show(ctx context.Context, signal colorimetry.RGB) error {
	p := s.p
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	r := request{Do: doShow, Signal: wireRGB(signal)}
	return p.keep(func(t *told) { t.show = &r }, p.tell(ctx, "showing "+describe(signal), r, p.options.Timeout, &noDone{}))
}

// CheckScreen asks the program whether the patch stands there. Where the program
// cannot tell, it is an error if the program ended since it showed the patch.
// Where the program fails as a program the error wraps measure.ErrTransient,
// until it was started again too often: the patch has to be shown again.
func (s screen) CheckScreen(ctx context.Context) error {
	p := s.p
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	if p.child == nil || !p.child.lives() {
		return &measure.ConditionError{Condition: measure.PatchNotShown,
			Evidence: fmt.Sprintf("the program %q ended after it had shown the patch", p.command),
			Remedy:   "show and read the patch again; the program is started again for it"}
	}
	if !p.offer.check {
		return nil
	}
	return p.mayPass(p.once(ctx, "looking at its screen", request{Do: doCheck}, p.options.Timeout, &noDone{}))
}

// mayPass marks the error of a program that failed as a program and will be
// started again: another try may help. The caller has the turn.
func (p *Process) mayPass(err error) error {
	failed, ok := err.(*ProgramError)
	if !ok || p.broken != nil {
		return err
	}
	again := *failed
	again.Passing = true
	return &again
}

// keep notes what the program was told, where it did it.
func (p *Process) keep(note func(*told), err error) error {
	if err == nil {
		p.mu.Lock()
		defer p.mu.Unlock()
		note(&p.told)
	}
	return err
}

type curveScreen struct{ screen }

// LoadCurves hands curves to the program.
func (s curveScreen) LoadCurves(ctx context.Context, curves tone.Channels) error {
	p := s.p
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	r := curvesRequest(curves)
	return p.keep(func(t *told) { t.curves = &r }, p.tell(ctx, "loading curves", r, p.options.Timeout, &noDone{}))
}

// curvesRequest returns the message that puts curves in force, empty lists for
// none.
func curvesRequest(c tone.Channels) request {
	r := request{Do: doCurves}
	r.Red, r.Green, r.Blue = c.Codes()
	for _, codes := range []*[]uint16{&r.Red, &r.Green, &r.Blue} {
		if *codes == nil {
			*codes = []uint16{}
		}
	}
	return r
}

type instrument struct {
	p       *Process
	channel string
	index   int // of its dark calibration
	role    *instrumentRole
}

// Instrument describes the instrument.
func (i instrument) Instrument() measure.InstrumentInfo { return i.role.info }

// Measure takes one integration. Where the program fails as a program the error
// wraps measure.ErrTransient, until it was started again too often.
func (i instrument) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	p := i.p
	if err := p.take(ctx); err != nil {
		return measure.Sample{}, err
	}
	defer p.give()
	var out measure.Sample
	done := checked[measureDone]{check: func(m measureDone) (err error) {
		out, err = m.sample(i.role.spectrum)
		return err
	}}
	r := request{Do: doMeasure, Channel: i.channel, Reading: &want.Reading, Repeat: &want.Repeat, Signal: wireRGB(want.Signal)}
	p.mu.Lock()
	p.told.reading = want.Reading
	p.mu.Unlock()
	err := p.once(ctx, fmt.Sprintf("measuring reading %d, %s", want.Reading, describe(want.Signal)), r, p.options.MeasureTimeout, &done)
	return out, p.mayPass(err)
}

type darkInstrument struct{ instrument }

// DarkCalibration returns until when the calibration in force holds.
func (i darkInstrument) DarkCalibration() time.Time {
	i.p.mu.Lock()
	defer i.p.mu.Unlock()
	return i.p.told.dark[i.index]
}

// CalibrateDark takes a dark calibration; the program tells a person what to do
// for it through Options.Say.
func (i darkInstrument) CalibrateDark(ctx context.Context) error {
	p := i.p
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	done := checked[darkDone]{check: darkDone.check}
	err := p.once(ctx, "calibrating in the dark", request{Do: doCalibrate, Channel: i.channel}, p.options.PersonTimeout, &done)
	return p.keep(func(t *told) { t.dark[i.index] = done.value.when() }, err)
}

type panel struct{ p *Process }

// Controls lists the controls with the steps in force.
func (c panel) Controls() []measure.Control {
	c.p.mu.Lock()
	defer c.p.mu.Unlock()
	return slices.Clone(c.p.told.controls)
}

// Set brings a control to a step.
func (c panel) Set(ctx context.Context, name string, step int) error {
	p := c.p
	i := slices.IndexFunc(p.offer.controls, func(o measure.Control) bool { return o.Name == name })
	if i < 0 {
		return fmt.Errorf("plug: program %q has no control %q", p.command, name)
	}
	if o := p.offer.controls[i]; step < o.Min || step > o.Max {
		return fmt.Errorf("plug: %s has the steps %d to %d, not %d", name, o.Min, o.Max, step)
	}
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	err := p.tell(ctx, fmt.Sprintf("setting %s to step %d", name, step), request{Do: doSet, Control: name, Step: &step}, p.options.PersonTimeout, &noDone{})
	return p.keep(func(t *told) {
		t.controls = slices.Clone(t.controls)
		t.controls[i].Now = step
		if !slices.Contains(t.set, name) {
			t.set = append(slices.Clone(t.set), name)
		}
	}, err)
}

type clock struct{ p *Process }

// Now returns the program's time as its last answer had it: it moves only while
// the program works on a message.
func (c clock) Now() time.Time { return c.p.clockTime() }

// Sleep lets the program's time pass.
func (c clock) Sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil || d <= 0 {
		return err
	}
	p := c.p
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	ns := int64(d)
	return p.tell(ctx, "letting time pass", request{Do: doSleep, ForNS: &ns}, d+p.options.Timeout, &noDone{})
}

// Restore sets the program's time to the end of the last reading.
func (c clock) Restore(ctx context.Context, last measure.Reading) error {
	p := c.p
	if err := p.take(ctx); err != nil {
		return err
	}
	defer p.give()
	at := last.Time.Round(0).UTC()
	r := request{Do: doRestore, Time: &at, Reading: &last.Index}
	return p.keep(func(t *told) { t.reading = last.Index }, p.tell(ctx, "going back to the journal's end", r, p.options.Timeout, &noDone{}))
}

// checked is a done that is decoded strictly and then checked.
type checked[T any] struct {
	value T
	check func(T) error
}

// UnmarshalJSON decodes and checks.
func (c *checked[T]) UnmarshalJSON(data []byte) error {
	if err := strict(data, &c.value); err != nil {
		return err
	}
	return c.check(c.value)
}
