package measure

import (
	"context"
	"time"
)

// SystemClock is the machine's clock.
type SystemClock struct{}

// Now returns the present time.
func (SystemClock) Now() time.Time { return time.Now() }

// Sleep returns after d, or earlier with the context's error.
func (SystemClock) Sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil || d <= 0 {
		return err
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-t.C:
		return nil
	}
}
