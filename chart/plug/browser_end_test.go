//go:build unix

package plug_test

import (
	"image"
	"os"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
)

// keepShot writes what the page shows into the folder that SHOTS names, to be
// looked at.
func keepShot(t *testing.T, c *chromium, name string) {
	t.Helper()
	_, data, err := c.shot(image.Rectangle{})
	must(t, err)
	if dir := os.Getenv("SHOTS"); dir != "" {
		must(t, os.WriteFile(dir+"/"+name+".png", data, 0o644))
	}
}

// A page says that all is done where the program said so, and that the run
// stopped where it was closed without.
func TestPageEnds(t *testing.T) {
	for _, f := range []struct {
		view, says string
		looking    bool
		finish     string
	}{
		{"finished", "Finished\nThe profile was made.", false, "The profile was made."},
		{"stopped", "Stopped\nThe run stopped before its end. The program that runs it says why and how to go on; keep this page open, or open the new address.", false, ""},
		{"stopped", "Stopped\nThe program that shows the pictures stopped", true, ""},
	} {
		b := openBrowser(t, plug.BrowserOptions{Looking: f.looking, Screen: measure.ScreenInfo{Name: "d"}})
		c := tabOfChromium(t)
		c.open(b.Address())
		c.view("start")
		c.click("#start")
		if !f.looking {
			c.view("place")
			c.click("#placed")
		}
		c.view("run")
		must(t, b.Show(short(t), colorimetry.Gray(0.2)))
		if f.finish != "" {
			b.Finish(f.finish)
			if err := b.Show(short(t), colorimetry.Gray(0.3)); err == nil || !strings.Contains(err.Error(), "open another") {
				t.Errorf("after Finish: %v", err)
			}
		}
		must(t, b.Close())
		c.view(f.view)
		time.Sleep(50 * time.Millisecond)
		var text string
		c.eval("document.body.innerText.replace(/\\n+/g, '\\n').trim()", &text)
		if !strings.HasPrefix(text, f.says) {
			t.Errorf("looking %v, finish %q: the page says %q", f.looking, f.finish, text)
		}
		keepShot(t, c, f.view)
		c.until("!document.fullscreenElement")
		// It stays so while nobody answers.
		time.Sleep(2500 * time.Millisecond)
		if got := viewOf(c); got != f.view {
			t.Errorf("later it is at %q", got)
		}
	}
}
