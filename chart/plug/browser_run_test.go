//go:build unix

package plug_test

import (
	"bytes"
	"context"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/characterise"
)

// timed counts what patches cost.
type timed struct {
	*plug.Browser
	shows int
	took  time.Duration
}

func (s *timed) Show(ctx context.Context, signal colorimetry.RGB) error {
	begin := time.Now()
	err := s.Browser.Show(ctx, signal)
	s.shows++
	s.took += time.Since(begin)
	return err
}

// TestBrowserRun: a whole run through the page, with an instrument that sees
// the pixels that were painted, ends in the very bytes that the simulated
// display's own run ends in.
func TestBrowserRun(t *testing.T) {
	t.Parallel() // it waits for frames, in a browser of its own
	if testing.Short() {
		t.Skip("a whole run takes 40 s")
	}
	const seed = 7
	setup := func(screen measure.Screen, instrument measure.Instrument, d *simulate.Display) characterise.Setup {
		return characterise.Setup{
			Measure: measure.Setup{Screen: screen, Instrument: instrument, Clock: d.Clock(), Start: d.Clock().Now(), Seed: seed, Digest: "test"},
			Patches: 40, ProofPatches: 100,
		}
	}
	panel := func() *simulate.Display {
		return simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: seed, Bits: 8})
	}
	d := panel()
	want, err := characterise.Run(context.Background(), setup(d, d.Colorimeter(), d))
	must(t, err)
	d = panel()
	page := &timed{Browser: openBrowser(t, plug.BrowserOptions{Screen: d.Screen()})}
	c := startChromium(t, 800, 600)
	c.open(page.Address())
	c.start()
	begin := time.Now()
	got, err := characterise.Run(context.Background(), setup(page, lookAt(c, d), d))
	must(t, err)
	if !bytes.Equal(want.Profile.Bytes, got.Profile.Bytes) || len(want.Readings) != len(got.Readings) {
		t.Errorf("%d readings and a profile of %d bytes, through the page %d and %d, or other bytes", len(want.Readings), len(want.Profile.Bytes), len(got.Readings), len(got.Profile.Bytes))
	}
	if got.InForce.Len() == 0 {
		t.Error("no curves were in force: the page's tables were not tried")
	}
	each := page.took / time.Duration(page.shows)
	t.Logf("%d readings in %v; a patch is acknowledged after %v, two frames of 60 Hz being 33 ms", len(got.Readings), time.Since(begin).Round(time.Second/10), each.Round(time.Millisecond/10))
	if each > 250*time.Millisecond {
		t.Errorf("a patch takes %v to be shown", each)
	}
}
