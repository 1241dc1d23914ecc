package plug

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

const (
	// replyTime is how long a page may take to answer a question: frames come
	// every 17 ms or so, and a busy machine may lose many.
	replyTime = 3 * time.Second
	maxFields = 1024
	maxLabel  = 40
)

// errOver is what a Browser answers after Finish.
var errOver = errors.New("plug: the page has been told that the run is over; open another Browser")

func grey(v float64) colorimetry.RGB { return colorimetry.Gray(v) }

func (b *Browser) show(ctx context.Context, s colorimetry.RGB) error {
	if math.IsNaN(s.R) || math.IsNaN(s.G) || math.IsNaN(s.B) {
		return fmt.Errorf("plug: signal %v is no number", s)
	}
	var p picture
	b.mu.Lock()
	wide := b.wide
	b.mu.Unlock()
	if s = s.Clamp(); wide {
		p.Wide = &[3]float64{s.R, s.G, s.B}
	} else {
		p.RGB = code(s)
	}
	return b.present(ctx, p)
}

// ShowFields shows a picture of rectangles on the surround, later ones over
// earlier ones, through the curves in force: something to look at, not to
// measure. It waits as [Browser.Show] does. It is an error if a field does not
// lie on the screen, or if there are more than 1024.
func (b *Browser) ShowFields(ctx context.Context, fields []Field) error {
	if len(fields) == 0 || len(fields) > maxFields {
		return fmt.Errorf("plug: a picture of %d fields; 1 to %d are possible", len(fields), maxFields)
	}
	var p picture
	for i, f := range fields {
		inside := f.X >= 0 && f.Y >= 0 && f.W > 0 && f.H > 0 && f.X+f.W <= 1+1e-9 && f.Y+f.H <= 1+1e-9
		if !inside || len(f.Label) > maxLabel {
			return fmt.Errorf("plug: field %d does not lie on the screen, whose sides run from 0 to 1, or has a label of more than %d bytes", i, maxLabel)
		}
		p.Fields = append(p.Fields, pageField{f.X, f.Y, f.W, f.H, code(f.Signal), f.Label})
	}
	p.RGB = p.Fields[0].RGB
	return b.present(ctx, p)
}

// present asks the page for a picture and waits until it was shown.
func (b *Browser) present(ctx context.Context, p picture) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch {
	case b.curves.off:
		return &measure.ConditionError{
			Condition: measure.CurvesUnexpected, Evidence: fmt.Sprintf("the system was given the curves %s, and a patch without them is asked for", b.curves.handed),
			Remedy: "take them out of the system and begin another run",
		}
	case b.phase.over():
		return errOver
	}
	p.ID = b.picture.ID + 1
	b.picture, b.stands, b.spoiled = p, false, nil
	b.tell()
	err := b.wait(ctx, b.patience, func() (bool, error) {
		if !b.here(b.owner) {
			return false, b.nobody()
		}
		r := b.owner.last
		if r.Picture != p.ID || !r.Started {
			if err := b.wrong(r); err != nil {
				return false, err
			}
			return false, b.notStarted(r)
		}
		if err := b.wrong(r); err != nil {
			return false, err
		}
		return true, nil
	})
	b.stands = err == nil
	if err != nil && ctx.Err() == nil {
		return unmended(err, b.patience)
	}
	return err
}

// CheckScreen asks the page whether the patch stands there as Show left it, and
// has done so all the time since. The error wraps a *[measure.ConditionError], or
// [ErrPageAway] and [measure.ErrTransient]: shown again, the patch waits for a
// person to mend it, and a session then reads it again.
func (b *Browser) CheckScreen(ctx context.Context) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.stands {
		return errors.New("plug: no patch stands there to be checked; show one")
	}
	b.check++
	question := b.check
	b.tell()
	limit := min(replyTime, b.patience)
	return readAgain(b.wait(ctx, limit, func() (bool, error) {
		switch {
		case !b.here(b.owner):
			return true, b.nobody()
		case b.spoiled != nil:
			return true, b.spoiled
		case b.owner.last.Check >= question:
			return true, b.wrong(b.owner.last)
		}
		return false, &measure.ConditionError{
			Condition: measure.PatchNotShown, Evidence: fmt.Sprintf("the page has not answered for %v", limit),
			Remedy: "wake the display or the browser, and see that the page fills the screen",
		}
	}))
}

// wait waits until test says yes, with test's last error after limit or at the
// end of ctx. A yes may come with an error, which is then final. The caller
// holds mu, which is released meanwhile.
func (b *Browser) wait(ctx context.Context, limit time.Duration, test func() (bool, error)) error {
	timer := time.NewTimer(limit)
	defer timer.Stop()
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		if b.closed {
			return errors.New("plug: the Browser is closed; open another")
		}
		ok, err := test()
		if ok {
			return err
		}
		changed := b.changed
		b.mu.Unlock()
		select {
		case <-changed:
			b.mu.Lock()
		case <-ctx.Done():
			b.mu.Lock()
			return ctx.Err()
		case <-timer.C:
			b.mu.Lock()
			return err
		}
	}
}

// Wait waits until a person has opened the page and started it, so that the
// next patch can be shown. The error is ctx's alone.
func (b *Browser) Wait(ctx context.Context) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	for {
		ready := false
		err := b.wait(ctx, time.Hour, func() (bool, error) {
			ready = b.here(b.owner) && b.owner.last.Started && b.wrong(b.owner.last) == nil
			return ready, nil
		})
		if ready || err != nil {
			return err
		}
	}
}

// Step waits for a person to go on, 1, or back, −1, with a key or a click at
// the page; 0 is the wish to end. The error is ctx's, or wraps [ErrPageAway]
// where the page was closed.
func (b *Browser) Step(ctx context.Context) (int, error) {
	for {
		b.mu.Lock()
		gone, changed, closed := !b.here(b.owner), b.changed, b.closed
		err := b.nobody()
		b.mu.Unlock()
		if gone || closed {
			return 0, err
		}
		select {
		case step := <-b.steps:
			return step, nil
		case <-changed:
		case <-ctx.Done():
			return 0, ctx.Err()
		}
	}
}
