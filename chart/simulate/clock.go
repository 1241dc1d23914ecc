package simulate

import (
	"context"
	"fmt"
	"sync"
	"time"

	"example.org/primaries/chart/measure"
)

// Clock is simulated time. It stands still except while something sleeps or
// measures, and neither takes real time. It is a [measure.Clock] and a
// [measure.Restorer], and safe for concurrent use.
type Clock struct {
	start time.Time

	mu  sync.Mutex
	now time.Time
}

// newClock returns a clock that stands at start, without the monotonic part
// and the zone that a restored time would lack.
func newClock(start time.Time) *Clock {
	start = start.Round(0).UTC()
	return &Clock{start: start, now: start}
}

// Now returns the simulated time, in UTC.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Sleep moves the clock on by d and returns at once; a d below 0 is 0. It
// returns the context's error, the clock unmoved, once ctx is done.
func (c *Clock) Sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c.advance(max(d, 0))
	return nil
}

func (c *Clock) advance(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

// Restore sets the clock to the end of last, the reading after which a run
// goes on. It is an error if that lies before the clock's start: the reading
// then belongs to a run that started at another time.
func (c *Clock) Restore(_ context.Context, last measure.Reading) error {
	if last.Time.Before(c.start) {
		return fmt.Errorf("simulate: reading %d was taken at %s, before the display's start at %s; go on with the start time of the run that took it",
			last.Index, last.Time.Format(time.RFC3339), c.start.Format(time.RFC3339))
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = last.Time.Round(0).UTC()
	return nil
}
