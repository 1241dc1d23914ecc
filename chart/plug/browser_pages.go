package plug

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"example.org/primaries/chart/measure"
)

const (
	maxPages = 16
	// handing is how long a page that is opened waits for the one before it
	// to be gone: a reload says goodbye and hello in any order.
	handing = 700 * time.Millisecond
)

// page is one load of the page in some browser.
type page struct {
	id    string
	polls int       // requests under way
	seen  time.Time // of the end of the last one
	left  bool      // it said goodbye; what it had under way may still come
	ended bool      // it was told how all ended
	last  pageReport
}

// here reports whether the page is open. The caller holds mu.
func (b *Browser) here(p *page) bool {
	return p != nil && !p.left && (p.polls > 0 || time.Since(p.seen) < b.away)
}

// hello makes a page known and returns its name, "" where there are too many.
// The first is the one that shows, and so is the next after that one is gone.
func (b *Browser) hello(ctx context.Context) string {
	ctx, cancel := context.WithTimeout(ctx, handing)
	defer cancel()
	b.mu.Lock()
	defer b.mu.Unlock()
	for b.here(b.owner) && ctx.Err() == nil {
		changed := b.changed
		b.mu.Unlock()
		select {
		case <-changed:
		case <-ctx.Done():
		}
		b.mu.Lock()
	}
	for id, p := range b.pages {
		if p != b.owner && !b.here(p) {
			delete(b.pages, id)
		}
	}
	if len(b.pages) >= maxPages {
		return ""
	}
	b.made++
	p := &page{id: fmt.Sprintf("p%d", b.made), seen: time.Now()}
	b.pages[p.id] = p
	if !b.here(b.owner) {
		b.own(p)
	}
	b.tell()
	time.AfterFunc(b.away, b.lookAgain)
	return p.id
}

// own makes p the page that shows. The caller holds mu.
func (b *Browser) own(p *page) {
	if b.owner != nil && b.owner != p && b.stands {
		b.spoiled = fmt.Errorf("plug: the page was opened anew while the patch was read: %w", ErrPageAway)
	}
	b.owner = p
}

// lookAgain has everybody look whether pages are still there.
func (b *Browser) lookAgain() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.closed {
		b.tell()
	}
}

// arrive begins a page's request; nil where the page is not known.
func (b *Browser) arrive(id string) *page {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := b.pages[id]
	if p != nil {
		p.polls++
	}
	return p
}

// depart ends it.
func (b *Browser) depart(p *page) {
	b.mu.Lock()
	defer b.mu.Unlock()
	p.polls--
	p.seen = time.Now()
	b.wake()
	if !b.closed && p.polls == 0 {
		time.AfterFunc(b.away+time.Millisecond, func() {
			b.mu.Lock()
			defer b.mu.Unlock()
			if !b.closed && !b.here(p) {
				b.tell()
			}
		})
	}
}

// view returns what p is told. The caller holds mu.
func (b *Browser) view(p *page, curves string) pageView {
	v := pageView{
		N: b.n, Role: roleOwner, Phase: b.phase, Text: b.text,
		Display: b.info.Name, Share: b.info.WindowShare, Surround: code(grey(b.info.Surround))[0],
		Looking: b.looking, Timed: b.timed, SelfLit: b.info.SelfLit,
		PerCM: b.perCM, Diagonal: b.diagonal, Base: b.base,
	}
	switch {
	case p == b.owner:
	case b.here(b.owner):
		v.Role = roleSecond
	default:
		v.Role = roleVacant
	}
	if v.Role != roleOwner {
		return v
	}
	v.Picture, v.Check = b.picture, b.check
	c := b.curves.onPage()
	if v.Curves = c.Digest(); v.Curves != curves {
		v.Tables = tables(c)
	}
	return v
}

// take takes a report; false where the page is not known.
func (b *Browser) take(r pageReport) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := b.pages[r.Page]
	if p == nil {
		return false
	}
	p.seen = time.Now()
	stale := r.Seq <= p.last.Seq
	switch r.Kind {
	case "leave":
		p.left = true
		b.tell()
		return true
	case "back":
		p.left = false
		b.tell()
		return true
	case "take":
		if !b.here(b.owner) {
			b.own(p)
			b.tell()
		}
		return true
	}
	if p == b.owner {
		b.ownerTold(r, stale)
	}
	if !stale {
		p.last = r
	}
	b.wake()
	return true
}

// ownerTold takes a report of the page that shows. What a stale one, which a
// later one overtook, says of the page's state is past. The caller holds mu.
func (b *Browser) ownerTold(r pageReport, stale bool) {
	if b.base == nil && r.Started && len(r.Trouble) == 0 && !stale {
		now := r.Now
		b.base = &now
		b.tell()
	}
	switch r.Kind {
	case "size":
		if r.PerCM > 1 && r.PerCM < 10000 {
			b.perCM = r.PerCM
			b.tell()
		}
	case "done":
		b.done = b.phase == phaseHandOver
	case "step":
		select {
		case b.steps <- min(max(r.Step, -1), 1):
		default: // nobody waits for one
		}
	}
	if !b.stands || b.phase != phaseRun || stale {
		return
	}
	if errors.Is(b.spoiled, ErrPageAway) {
		return
	}
	if err := b.wrong(r); err != nil {
		b.spoiled = err
	} else if b.spoiled == nil && (r.Kind == "shown" || r.Picture != b.picture.ID) {
		b.spoiled = &measure.ConditionError{
			Condition: measure.PatchNotShown, Evidence: "something stood over the patch for a while, and it was drawn again",
			Remedy: "leave the page alone while the run goes on",
		}
	}
}

// troubles of a page, as it names them.
const (
	troubleFull    = "full"    // it does not fill the screen
	troubleHidden  = "hidden"  // it is covered by another tab, or the screen is off
	troublePinched = "pinched" // fingers have enlarged it
	troubleZoomed  = "zoomed"  // the browser enlarges it
	troubleMoved   = "moved"   // it stands on another screen
	troubleOutputs = "outputs" // a screen was connected or taken away
	troubleProfile = "profile" // the browser takes the display for another
	troubleCovered = "covered" // something lies over the patch within the page
)

func has(r pageReport, trouble string) bool { return slices.Contains(r.Trouble, trouble) }
