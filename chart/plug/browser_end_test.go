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
		{"stopped", "Stopped\nThe run stopped before its end. The program that runs it says why and how to go on, at a new address.", false, ""},
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

// A page that was kept open goes on with a run that is begun again at the same
// address.
func TestPageKeptOpen(t *testing.T) {
	again := plug.BrowserOptions{Random: strings.NewReader(strings.Repeat("x", 16))}
	b := openBrowser(t, again)
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	for range 3 {
		must(t, b.Show(short(t), colorimetry.Gray(0.2)))
		must(t, b.CheckScreen(short(t)))
	}
	must(t, b.Close())
	c.view("stopped")
	again.Address = strings.SplitN(b.Address(), "/", 4)[2]
	again.Random = strings.NewReader(strings.Repeat("x", 16))
	b = openBrowser(t, again)
	c.view("trouble") // it has left full screen
	c.click("#mend")
	c.view("run")
	must(t, b.Show(short(t), colorimetry.Gray(1)))
	if got, err := c.centre(); err != nil || got.R != 255 {
		t.Errorf("after the new beginning %v, %v", got, err)
	}
	must(t, b.CheckScreen(short(t)))
	c.eval("document.exitFullscreen()", nil)
	if err := b.CheckScreen(short(t)); condition(err) != measure.PatchNotShown {
		t.Errorf("full screen left after the new beginning: %v", err)
	}
}

// Where pictures are looked at, the page says how to go on before the first and
// not on it, asks for no size, and speaks of no readings; where they go by
// themselves it says so.
func TestPageLooking(t *testing.T) {
	const keys = "The right arrow, the space bar or a click goes on, the left arrow goes back, q ends."
	text := func(c *chromium) (s string) {
		c.eval("document.body.innerText", &s)
		return s
	}
	for _, timed := range []bool{false, true} {
		b := openBrowser(t, plug.BrowserOptions{Looking: true, Timed: timed, Patience: 2 * time.Second})
		c := tabOfChromium(t)
		c.open(b.Address())
		c.view("start")
		c.until(`document.querySelector("#checks").innerText.includes("full screen")`)
		s := text(c)
		if strings.Contains(s, keys) == timed || strings.Contains(s, "by themselves") != timed || strings.Contains(s, "Diagonal") || strings.Contains(s, "size:") {
			t.Errorf("timed %v: the page says %q", timed, s)
		}
		keepShot(t, c, "looking-start")
		c.click("#start")
		c.view("run")
		must(t, b.Show(short(t), colorimetry.Gray(0)))
		if s := strings.TrimSpace(text(c)); s != "" {
			t.Errorf("on the picture stands %q", s)
		}
		c.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": 1024, "height": 768, "deviceScaleFactor": 1, "mobile": false, "screenWidth": 1024, "screenHeight": 768}, nil)
		c.view("trouble")
		if s := text(c); !strings.Contains(s, "Nothing is shown for now") || strings.Contains(s, "read again") {
			t.Errorf("after a change of the screen's size: %q", s)
		}
		keepShot(t, c, "looking-trouble")
	}
}

// What comes between patches is dark, and the size that nobody gave is missed
// until the instrument stands in its place, and not beside black patches.
func TestPageStaysDark(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.view("start")
	c.click("#start")
	c.view("place")
	missed := func() (s string) {
		c.eval(`document.querySelector("#measure").innerText.trim() && getComputedStyle(document.querySelector("#measure")).display`, &s)
		return s
	}
	if missed() != "block" {
		t.Error("while the instrument is placed the missing size is not told")
	}
	c.click("#placed")
	c.view("run")
	must(t, b.Show(short(t), colorimetry.Gray(0)))
	must(t, b.CheckScreen(short(t)))
	keepShot(t, c, "black")
	if s := missed(); s == "block" {
		t.Error("beside a black patch stands the missing size")
	}
	m, _, err := c.shot(screenOf(c))
	must(t, err)
	for y := range m.Bounds().Dy() {
		for x := range m.Bounds().Dx() {
			if r, _, _, _ := m.At(x, y).RGBA(); r>>8 > 56 {
				t.Fatalf("beside a black patch the code %d stands at %d, %d", r>>8, x, y)
			}
		}
	}
	share := func() float64 { // of pixels above mid grey
		m, _, err := c.shot(screenOf(c))
		must(t, err)
		bright, size := 0, m.Bounds()
		for y := range size.Dy() {
			for x := range size.Dx() {
				if _, g, _, _ := m.At(x, y).RGBA(); g>>8 > 128 {
					bright++
				}
			}
		}
		return float64(bright) / float64(size.Dx()*size.Dy())
	}
	c.eval("document.exitFullscreen()", nil)
	c.view("trouble")
	if s := share(); s > 0.05 || s == 0 {
		t.Errorf("%.3f of the page that waits is bright", s)
	}
	keepShot(t, c, "dark-trouble")
	b.Finish("All was measured.")
	c.view("finished")
	if s := share(); s > 0.05 || s == 0 {
		t.Errorf("%.3f of the page at the end is bright", s)
	}
	keepShot(t, c, "dark-finished")
}
