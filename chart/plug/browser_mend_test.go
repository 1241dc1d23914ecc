//go:build unix

package plug_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// disturbed is an instrument under one of whose readings something happens once.
type disturbed struct {
	*eyes
	at   int // reading
	harm func()
}

func (d *disturbed) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	out, err := d.eyes.Measure(ctx, want)
	if want.Reading == d.at && d.harm != nil {
		d.harm()
		d.harm = nil
		d.last = -1 // it looks at the page anew when it is asked again
	}
	return out, err
}

// TestFaultMendedInRun: a session whose page leaves full screen, or is reloaded,
// in the middle of a reading waits for a click and reads the patch again; its
// readings are those of a run that nothing befell.
func TestFaultMendedInRun(t *testing.T) {
	for _, f := range []struct {
		name             string
		harm             func(c *chromium)
		view, mend, says string
	}{
		{"full screen left", func(c *chromium) { c.eval("document.exitFullscreen()", nil) }, "trouble", "#mend",
			"Nothing is shown for now\nThe page does not fill the screen. Click Go on.\nThe run waits a while for you. What was being read is read again.\nGo on"},
		{"page reloaded", func(c *chromium) { c.call("Page.reload", nil, nil) }, "start", "#start", "Patches for"},
	} {
		t.Run(f.name, func(t *testing.T) {
			b := openBrowser(t, plug.BrowserOptions{})
			c := tabOfChromium(t)
			c.open(b.Address())
			c.start()
			panel := func() *simulate.Display { return simulate.Measured(simulate.CRT, simulate.Options{Seed: 4, Bits: 8}) }
			open := func(screen measure.Screen, e measure.Instrument, d *simulate.Display) *measure.Session {
				s, err := measure.Open(short(t), measure.Setup{Screen: screen, Instrument: e, Clock: d.Clock(), Start: d.Clock().Now(), Journal: &measure.Memory{}})
				must(t, err)
				return s
			}
			d, quiet := panel(), panel()
			calm := open(quiet, quiet.Colorimeter(), quiet)
			s := open(b, &disturbed{lookAt(c, d), 2, func() { f.harm(c); c.view(f.view) }}, d)
			for i, p := range chart.Quantise(chart.Neutral(4), 8) {
				want, err := calm.Read(short(t), measure.ReadRequest{Stage: "test", Patch: p})
				must(t, err)
				type result struct {
					r   measure.Reading
					err error
				}
				done := make(chan result, 1)
				ctx := short(t)
				go func() {
					r, err := s.Read(ctx, measure.ReadRequest{Stage: "test", Patch: p})
					done <- result{r, err}
				}()
				if i == 2 {
					c.view(f.view)
					time.Sleep(300 * time.Millisecond) // a person takes longer than a session's own pause
					var text string
					c.eval("document.body.innerText.replace(/\\n+/g, '\\n').trim()", &text)
					if !strings.HasPrefix(text, f.says) {
						t.Errorf("the page says %q", text)
					}
					keepShot(t, c, "mend-"+f.view)
					c.click(f.mend)
				}
				got := <-done
				must(t, got.err)
				if got.r.Raw != want.Raw || slices.Contains(got.r.Flags, measure.FlagRetried) != (i == 2) {
					t.Errorf("reading %d is %v %v, undisturbed %v", i, got.r.Raw, got.r.Flags, want.Raw)
				}
			}
		})
	}
}

// TestFaultNobodyMends: what nobody mends ends Show after its patience, and the
// error's remedy is what there is left to do then; that of CheckScreen promises
// another reading.
func TestFaultNobodyMends(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Patience: 700 * time.Millisecond})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	must(t, b.Show(short(t), colorimetry.Gray(0.5)))
	c.eval("document.exitFullscreen()", nil)
	c.view("trouble")
	var met *measure.ConditionError
	if err := b.CheckScreen(short(t)); !errors.As(err, &met) || met.Remedy != "click Go on at the page; the patch is then shown and read again" {
		t.Errorf("while there is hope: %v", err)
	}
	began := time.Now()
	err := b.Show(short(t), colorimetry.Gray(0.5))
	if !errors.As(err, &met) || !strings.Contains(met.Evidence, "nobody mended it within 700ms") || !strings.Contains(met.Remedy, "resumed") || time.Since(began) < 600*time.Millisecond {
		t.Errorf("after its patience: %v in %v", err, time.Since(began))
	}
	c.click("#mend")
	c.view("run")
	must(t, b.Show(short(t), colorimetry.Gray(0.5)))
	must(t, b.CheckScreen(short(t)))
	c.open("about:blank")
	c.until(`location.href === "about:blank"`)
	time.Sleep(100 * time.Millisecond)
	if err := b.CheckScreen(short(t)); !errors.Is(err, plug.ErrPageAway) || !errors.Is(err, measure.ErrTransient) || strings.Contains(err.Error(), "passing") {
		t.Errorf("a closed page: %v", err)
	}
}
