package hardware

import (
	"cmp"
	"context"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/internal/crossval"
)

// Loader is a display or a box that holds a table.
type Loader interface {
	// Load puts a table in force, in place of the one before, and returns once
	// what is shown goes through it.
	Load(ctx context.Context, t Table) error
}

// Stage is the stage of the readings that Correct takes.
const Stage = "hardware table"

// LoopOptions says how to correct a table. The zero value is the usual job.
type LoopOptions struct {
	Options
	// Averages is the number of integrations of a reading; 0 means 2. Dark
	// patches get up to six times as many.
	Averages int
	// Passes is the most tables that are read through, 1 to 8; 0 means 4.
	Passes int
	// Patches is the number of colours read in a pass, 24 to 400; 0 means 60.
	Patches int
	// Readings are those of the display without a table that the model was fitted
	// to, where they are at hand: what is learned then rests on them and on those
	// through the tables alike, which takes fewer passes. They are of the state in
	// which the session reads, without curves. Nil lets the model speak for them,
	// as far as the readings through the tables bear it out.
	Readings []measure.Reading
	// WhiteAverages is the number of integrations of white in every pass; 0 means
	// 16.
	WhiteAverages int
}

// Correct makes a table in a closed loop and leaves it in force.
//
// It builds a table of the model, loads it, and reads colours of the source
// through it, in each pass others than before, so that they are a proof of the
// table that nothing was learnt from. What the model misses of them, and of
// those of earlier passes, at the device signals that the tables made of them,
// fit.Residual learns as a smooth function with its noise in mind, and the next
// table is built of both; where readings that were held back say that the model
// misleads, of the readings through the tables alone. The loop ends when the
// differences are those that noise and the table's own loss explain, when nothing
// changes, or with the passes. The table that was read to be best is kept; of
// those that one standard error does not tell apart the latest.
//
// The session's screen shows signals through the table that the loader has put
// in force. Correction curves are taken away. PathBits of the options may be left
// 0: it is the screen's. On resume everything is found again from the readings,
// and a table is loaded before the first new one; the loader is not asked for
// tables whose readings are in the journal already, but for the last.
//
// Errors are those of Build; errors of session and loader come back wrapped, and
// what was read is in the journal.
func Correct(ctx context.Context, s *measure.Session, loader Loader, model fit.Model, want Want, o LoopOptions) (Result, error) {
	o, err := o.filled(s.Screen())
	if err != nil {
		return Result{}, err
	}
	if err := s.LoadCurves(ctx, tone.Channels{}); err != nil {
		return Result{}, fmt.Errorf("hardware: taking the curves away: %w", err)
	}
	l := loop{session: s, loader: loader, model: model, want: want, options: o}
	for pass := range o.Passes {
		more, err := l.pass(ctx, pass, model)
		if err != nil {
			return Result{}, err
		}
		if !more || pass == o.Passes-1 {
			break
		}
		if model, err = l.learn(); err != nil {
			return Result{}, err
		}
	}
	return l.result(ctx, model)
}

func (o LoopOptions) filled(screen measure.ScreenInfo) (LoopOptions, error) {
	set := func(v *int, usual int) {
		if *v == 0 {
			*v = usual
		}
	}
	set(&o.Averages, 2)
	set(&o.Passes, 4)
	set(&o.Patches, 60)
	set(&o.WhiteAverages, 16)
	set(&o.PathBits, cmp.Or(screen.Bits, 8)) // as a session takes it
	for _, c := range []struct {
		name      string
		v, lo, hi int
	}{{"averages", o.Averages, 1, 100}, {"passes", o.Passes, 1, 8}, {"patches", o.Patches, 24, 400}, {"white averages", o.WhiteAverages, 1, 400}} {
		if c.v < c.lo || c.v > c.hi {
			return o, fmt.Errorf("hardware: %d %s; give %d to %d, or 0 for the default", c.v, c.name, c.lo, c.hi)
		}
	}
	if limited := o.In == Limited; limited != screen.Limited {
		return o, fmt.Errorf("hardware: the screen says that its signals are of the limited range: %t, and the table takes the %s one; make both the same", screen.Limited, o.In)
	}
	var err error
	o.Options, err = o.Options.filled()
	return o, err
}

// loop is the state of the closed loop.
type loop struct {
	session *measure.Session
	loader  Loader
	model   fit.Model // that it began with
	want    Want
	options LoopOptions
	tables  []made
	passes  []Pass
	device  []measure.Reading // of all passes, at the device's signals
	corner  []bool            // which of them are of corners of the source
	inForce string            // digest of the table that the loader has, "" before the first
}

// made is a table with what it was made of.
type made struct {
	table       Table
	diagnostics Diagnostics
	builder     *builder
}

// pass builds a table, reads colours through it, and reports whether there is
// more to learn.
func (l *loop) pass(ctx context.Context, pass int, model fit.Model) (more bool, err error) {
	b, err := newBuilder(model, l.want, l.options.Options)
	if err != nil {
		return false, err
	}
	t, d, err := b.build(ctx)
	if err != nil {
		return false, err
	}
	if pass > 0 && t.Digest() == l.tables[pass-1].table.Digest() {
		return false, nil
	}
	m := made{t, d, b}
	l.tables = append(l.tables, m)
	if err := l.session.Note(Stage, map[string]any{"pass": pass + 1, "table": t.Digest(), "nodes": t.Nodes()}); err != nil {
		return false, err
	}
	readings, err := l.read(ctx, t, l.options.patches(pass))
	if err != nil {
		return false, err
	}
	p := m.judge(readings)
	if pass > 0 {
		p.Change = largestChange(l.tables[pass-1].table, t)
	}
	l.passes = append(l.passes, p)
	return !p.Settled, nil
}

// read takes the readings of a pass and adds them to what was read at the
// device's signals.
func (l *loop) read(ctx context.Context, t Table, list []measure.ReadRequest) ([]measure.Reading, error) {
	out := make([]measure.Reading, 0, len(list))
	for _, q := range list {
		if !l.session.Replaying() {
			if err := l.load(ctx, t); err != nil {
				return nil, err
			}
		}
		r, err := l.session.Read(ctx, q)
		if err != nil {
			return nil, fmt.Errorf("hardware: reading %s: %w", q.Patch.ID, err)
		}
		out = append(out, r)
		l.corner = append(l.corner, crossval.Corner(r.Patch.Signal))
		r.Patch.Signal = t.Through(r.Patch.Signal)
		l.device = append(l.device, r)
	}
	return out, nil
}

// load puts a table in force, unless it is.
func (l *loop) load(ctx context.Context, t Table) error {
	if t.Digest() == l.inForce {
		return nil
	}
	if err := l.loader.Load(ctx, t); err != nil {
		return fmt.Errorf("hardware: loading the table %s: %w", t.Digest(), err)
	}
	l.inForce = t.Digest()
	return nil
}
