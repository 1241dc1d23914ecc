package plug_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
)

// lives returns how often the helper was started.
func lives(t *testing.T, dir string) int {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "lives"))
	noError(t, err)
	return len(b)
}

// A program whose device needs a moment is started again until it says hello,
// by Start and by Conform; one that fails for good is not.
func TestStartTriesAgain(t *testing.T) {
	ctx := context.Background()
	p, dir := start(t, "needs a moment", fast())
	if n := lives(t, dir); n != 3 || p.Restarts() != 0 {
		t.Errorf("it was started %d times, of which %d count as restarts", n, p.Restarts())
	}
	_, err := roles(t, p).instrument.Measure(ctx, white)
	noError(t, err)
	report, err := plug.Conform(ctx, command(t, "needs a moment", folder(t)), plug.ConformOptions{Options: fast(), Person: true})
	noError(t, err)
	if !report.Passed() {
		t.Error(text(report))
	}

	o := fast()
	o.StartTimeout, o.Pause = 900*time.Millisecond, 100*time.Millisecond
	dir = folder(t)
	began := time.Now()
	_, err = plug.Start(ctx, command(t, "is never ready", dir), o)
	// Pauses of 100, 200 and 400 ms; the next would end too late.
	if n := lives(t, dir); err == nil || !strings.Contains(err.Error(), "the lamp warms up") || n < 2 || n > 4 || time.Since(began) < 300*time.Millisecond {
		t.Errorf("%v after %d starts in %v", err, n, time.Since(began))
	}
	dir = folder(t)
	_, err = plug.Start(ctx, command(t, "has no device", dir), fast())
	if n := lives(t, dir); err == nil || errors.Is(err, measure.ErrTransient) || n != 1 {
		t.Errorf("%v after %d starts", err, n)
	}
	dir = folder(t)
	short, cancel := context.WithTimeout(ctx, 500*time.Millisecond)
	defer cancel()
	o.StartTimeout, o.Pause = time.Minute, 20*time.Second
	if _, err = plug.Start(short, command(t, "is never ready", dir), o); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("interrupted in the pause: %v", err)
	}
}
