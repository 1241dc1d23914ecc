//go:build unix

package plug_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry/tone"
)

// warmer returns curves that take blue away and bend the greys.
func warmer(t testing.TB, blue, power float64) tone.Channels {
	t.Helper()
	var r, g, b []float64
	for i := range 257 {
		v := float64(i) / 256
		r, g, b = append(r, math.Pow(v, power)), append(g, 0.98*math.Pow(v, power)), append(b, blue*math.Pow(v, power))
	}
	c, err := tone.NewChannels(r, g, b)
	must(t, err)
	return c
}

// TestHandOver: after the hand-over the system holds the curves, none, or
// others, and the ten patches tell which; the system's own, of 10 bits, count
// as the page's.
func TestHandOver(t *testing.T) {
	t.Parallel() // it waits for frames, in a browser of its own
	curves := warmer(t, 0.9, 1.05)
	c := startChromium(t, 800, 600)
	for _, f := range []struct {
		name   string
		system tone.Channels // what the person really loads
		want   measure.Condition
		says   string
	}{
		{"loaded", curves, "", "do what the page's did"},
		{"forgotten", tone.Channels{}, measure.CurvesMissing, "as they do without curves"},
		{"others", warmer(t, 0.97, 0.95), measure.CurvesUnexpected, "neither"},
	} {
		seeds := 2
		if testing.Short() || f.want != "" {
			seeds = 1
		}
		for seed := range seeds {
			b := openBrowser(t, plug.BrowserOptions{})
			c.open(b.Address())
			c.start()
			// The page gives 8 bits, the system has more behind its curves.
			d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: uint64(seed + 1), Bits: 10})
			e := lookAt(c, d)
			journal := &measure.Memory{}
			s, err := measure.Open(short(t), measure.Setup{Screen: b, Instrument: e, Clock: d.Clock(), Start: d.Clock().Now(), Journal: journal})
			must(t, err)
			must(t, s.LoadCurves(short(t), curves))
			type result struct {
				out plug.HandedOver
				err error
			}
			done := make(chan result, 1)
			ctx := short(t)
			go func() {
				out, err := plug.HandOver(ctx, s, b, plug.HandOverOptions{Advice: "Install the profile of this run."})
				done <- result{out, err}
			}()
			for limit := time.Now().Add(20 * time.Second); time.Now().Before(limit); time.Sleep(50 * time.Millisecond) {
				if len(done) > 0 || viewOf(c) == "hand-over" {
					break
				}
			}
			c.view("hand-over")
			must(t, d.LoadCurves(ctx, f.system))
			c.click("#done")
			r := <-done
			t.Logf("%s: %s", f.name, r.out.Sentence)
			if r.out.Condition != f.want || condition(r.err) != f.want || r.out.Kept != (f.want == "") || !strings.Contains(r.out.Sentence, f.says) {
				t.Errorf("%s, seed %d: %+v, %v", f.name, seed+1, r.out, r.err)
			}
			if page, system := b.Curves(); page != "none" || system != curves.Digest() {
				t.Errorf("%s: afterwards the page has %s, the system %s", f.name, page, system)
			}
			if n := strings.Count(string(joined(journal.Lines())), curves.Digest()); n < 20 {
				t.Errorf("the journal names the curves %d times, fewer than the readings through them", n)
			}
			// Replayed, the same comes of the same readings, without a page.
			replayed, err := measure.Open(ctx, measure.Setup{Screen: openBrowser(t, plug.BrowserOptions{}), Instrument: e, Clock: d.Clock(), Journal: measure.NewMemory(journal.Lines()), Replay: journal.Lines()})
			must(t, err)
			must(t, replayed.LoadCurves(ctx, curves))
			again, err := plug.HandOver(ctx, replayed, openBrowser(t, plug.BrowserOptions{}), plug.HandOverOptions{})
			if again.Sentence != r.out.Sentence || condition(err) != f.want {
				t.Errorf("%s, replayed: %s, %v", f.name, again.Sentence, err)
			}
			// The session ends; a patch without the curves cannot be had any more.
			must(t, s.Close(ctx))
			if err := b.Show(ctx, s.Readings()[0].Patch.Signal); condition(err) != measure.CurvesUnexpected {
				t.Errorf("%s: a patch without curves, which the system holds: %v", f.name, err)
			}
			if err := b.LoadCurves(ctx, warmer(t, 0.5, 1)); err == nil {
				t.Errorf("%s: other curves over those of the system were taken", f.name)
			}
			must(t, b.LoadCurves(ctx, curves))
		}
	}
}

func viewOf(c *chromium) string {
	c.t.Helper()
	var view string
	c.eval("document.body.dataset.view", &view)
	return view
}

func joined(lines [][]byte) (out []byte) {
	for _, l := range lines {
		out = append(append(out, l...), '\n')
	}
	return out
}
