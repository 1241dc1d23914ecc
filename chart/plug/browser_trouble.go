package plug

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"example.org/primaries/chart/measure"
)

// nobody says that no page is open.
func (b *Browser) nobody() error {
	if b.owner == nil {
		return fmt.Errorf("plug: %w yet: open %s in the browser on the display under test and click Start", ErrPageAway, b.Address())
	}
	return fmt.Errorf("plug: the page was closed: %w; open %s again and click Start: the run goes on with the same patch", ErrPageAway, b.Address())
}

// notStarted says what keeps a page that is open from showing the picture.
func (b *Browser) notStarted(r pageReport) error {
	if !r.Started {
		return fmt.Errorf("plug: the page is open and waits for a person: click Start there, put the instrument in place and click Measure (%s)", b.Address())
	}
	return &measure.ConditionError{
		Condition: measure.PatchNotShown, Evidence: "the page is open and has not said that it shows the patch",
		Remedy: "look whether the browser is busy or the display asleep, reload the page and click Start",
	}
}

// wrong says what is wrong with a page by its own report, nil where all is
// well. A page that has not started yet is not wrong. The caller holds mu.
func (b *Browser) wrong(r pageReport) error {
	if !r.Started {
		return b.notYet(r)
	}
	bad := func(c measure.Condition, remedy, evidence string, args ...any) error {
		return &measure.ConditionError{Condition: c, Evidence: fmt.Sprintf(evidence, args...), Remedy: remedy}
	}
	now := r.Now
	base := now
	if b.base != nil {
		base = *b.base
	}
	const reopen = "click Go on at the page"
	switch {
	case has(r, troubleHidden):
		return bad(measure.PatchNotShown, "bring its tab to the front; where it asks, "+reopen, "the page is hidden behind another tab or window, or the display is off")
	case has(r, troubleFull):
		return bad(measure.PatchNotShown, reopen, "the page does not fill the screen")
	case has(r, troublePinched):
		return bad(measure.PatchNotShown, "bring it back to its own size and "+reopen, "the page is enlarged %.2f times by fingers", r.Scale)
	case has(r, troubleMoved):
		return bad(measure.PatchNotShown, "move it back to the display under test and "+reopen,
			"the page stands on another screen (%s) than where the run began (%s)", now.place(), base.place())
	case has(r, troubleZoomed):
		return bad(measure.PatchNotShown, "set the browser's zoom back to what it was, mostly 100 %, and "+reopen,
			"the page is zoomed: it is %g pixels wide on a screen of %g, with %g device pixels each, at the start %g", r.Inner, now.Width, now.Ratio, base.Ratio)
	case has(r, troubleOutputs):
		return bad(measure.OutputDuplicated, "make sure that the display shows its own desktop, put the screens back as they were and "+reopen,
			"a screen was connected or taken away: several screens were %q at the start and are %q", base.Extended, now.Extended)
	case has(r, troubleProfile):
		remedy := "set the display's profile back to what it was and begin the run again"
		if b.curves.handed != "" {
			remedy = "open the page again in a browser started with --force-color-profile=srgb, or one that ignores profiles, so that only the curves are in force"
		}
		return bad(measure.CurvesUnexpected, remedy, "the browser takes the display for %q and took it for %q at the start: its profile was changed", now.Gamut, base.Gamut)
	case has(r, troubleCovered):
		return bad(measure.PatchNotShown, "switch off extensions that change pages, close what they show, and reload the page", "something lies over the patch within the page, or has moved it")
	case len(r.Trouble) > 0:
		return bad(measure.PatchNotShown, reopen, "the page reports %.40q", r.Trouble[0])
	}
	return b.mispainted(r)
}

// passing is an error after which the patch may be shown and read again.
type passing struct{ error }

// Unwrap returns the error, and measure.ErrTransient.
func (p passing) Unwrap() []error { return []error{p.error, measure.ErrTransient} }

// readAgain says of what spoiled a patch that stood there that another try may
// help: the next Show waits for a person to mend it.
func readAgain(err error) error {
	var c *measure.ConditionError
	switch {
	case errors.As(err, &c):
		again := *c
		again.Remedy += "; the patch is then shown and read again"
		return &again
	case errors.Is(err, ErrPageAway):
		return passing{err}
	}
	return err
}

// unmended says of what kept a patch from being shown that nobody mended it for
// as long as Show waits.
func unmended(err error, waited time.Duration) error {
	var c *measure.ConditionError
	if !errors.As(err, &c) {
		return err
	}
	late := *c
	late.Evidence += fmt.Sprintf(", and nobody mended it within %v", waited)
	late.Remedy += ", then ask for the same patch again; a run that has stopped is resumed with it"
	return &late
}

// notYet is wrong for a page that is not started: nothing, unless a patch stood
// there.
func (b *Browser) notYet(r pageReport) error {
	if !b.stands {
		return nil
	}
	return b.notStarted(r)
}

// place tells where a screen lies on the desktop.
func (p pageBase) place() string {
	return fmt.Sprintf("%g × %g at %g, %g", p.Width, p.Height, p.Left, p.Top)
}

// mispainted compares the colour that the browser says it painted with the one
// that was asked for.
func (b *Browser) mispainted(r pageReport) error {
	p := b.picture
	if r.Picture != p.ID || p.ID == 0 {
		return nil
	}
	bad := func(c measure.Condition, evidence, remedy string) error {
		return &measure.ConditionError{Condition: c, Evidence: evidence, Remedy: remedy}
	}
	c := b.curves.onPage()
	if r.Curves != c.Digest() {
		return bad(measure.CurvesMissing, fmt.Sprintf("the page looks signals up in the curves %.40q, and %s are in force", r.Curves, c.Digest()), "reload the page and click Start")
	}
	want := p.RGB
	if t := tables(c); t != nil {
		for i := range want {
			want[i] = t[i][want[i]]
		}
	}
	text := fmt.Sprintf("rgb(%d, %d, %d)", want[0], want[1], want[2])
	if p.Wide != nil {
		text = "color(display-p3 "
		if !r.Wide {
			return bad(measure.PatchNotShown, "the browser does not know colours of Display P3, by which the route is checked", "use another browser, or a newer one")
		}
	}
	if !strings.HasPrefix(r.Painted, text) {
		return bad(measure.PatchNotShown, fmt.Sprintf("the browser painted %.60q where %q was asked for", r.Painted, text),
			"switch off extensions, dark modes and high-contrast modes that change pages, and reload the page")
	}
	return nil
}
