//go:build unix

package plug_test

import (
	"errors"
	"fmt"
	"image/color"
	"os"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// condition returns which condition an error names, "" for none.
func condition(err error) measure.Condition {
	var c *measure.ConditionError
	if errors.As(err, &c) {
		return c.Condition
	}
	return ""
}

// TestPagePaints: by real clicks the page fills the screen, and what the
// browser paints is the codes that were asked for, to the unit, in a window of
// the share asked for, before Show returns.
func TestPagePaints(t *testing.T) {
	for _, share := range []float64{0.04, 0.3, 0.7, 1} {
		b := openBrowser(t, plug.BrowserOptions{Screen: measure.ScreenInfo{WindowShare: share, Surround: 0.2, Name: "d"}, DiagonalCM: 60})
		c := tabOfChromium(t)
		c.open(b.Address())
		c.start()
		must(t, b.Wait(short(t)))
		for i, s := range []colorimetry.RGB{{}, {R: 1, G: 1, B: 1}, {R: 1}, {G: 1. / 255}, {B: 254. / 255}, {R: 127.4 / 255, G: 0.5, B: 0.25}, {R: 17. / 255, G: 17. / 255, B: 18. / 255}} {
			must(t, b.Show(short(t), s))
			q := s.Quantise(8)
			want := color.NRGBA{uint8(q.R*255 + 0.5), uint8(q.G*255 + 0.5), uint8(q.B*255 + 0.5), 255}
			if got, err := c.centre(); err != nil || got != want {
				t.Errorf("share %g: signal %v was painted as %v (%v)", share, s, got, err)
			}
			if i != 1 {
				continue
			}
			m, _, err := c.shot(screenOf(c))
			must(t, err)
			size := m.Bounds()
			count := 0
			for y := range size.Dy() {
				for x := range size.Dx() {
					if color.NRGBAModel.Convert(m.At(x, y)) == want {
						count++
					}
				}
			}
			if got := float64(count) / float64(size.Dx()*size.Dy()); got < share-0.004 || got > share+0.004 {
				t.Errorf("the window has %.4f of the screen, want %g", got, share)
			}
			if outside := color.NRGBAModel.Convert(m.At(2, 2)); share < 0.5 && outside != (color.NRGBA{51, 51, 51, 255}) {
				t.Errorf("the surround is %v, want code 51", outside)
			}
		}
		must(t, b.CheckScreen(short(t)))
		var pointer, label string
		c.eval(`getComputedStyle(document.querySelector("#window")).cursor`, &pointer)
		c.eval(`document.querySelector("#measure").textContent`, &label)
		if pointer != "none" || !strings.HasSuffix(label, " cm") {
			t.Errorf("pointer %q, size %q", pointer, label)
		}
	}
}

// A patch is acknowledged two frames after it was painted, and not before.
func TestPageAcknowledges(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	c.eval(`(() => {
		let frame = 0;
		(function count() { frame++; requestAnimationFrame(count); })();
		window.seen = [];
		new MutationObserver(() => seen.push(["painted", frame])).observe(document.querySelector("#window"), {attributes: true});
		const send = fetch;
		window.fetch = (to, what) => {
			if (to === "tell" && JSON.parse(what.body).kind === "shown") seen.push(["shown", frame]);
			return send(to, what);
		};
	})()`, nil)
	for i := range 5 {
		must(t, b.Show(short(t), colorimetry.Gray(float64(i)/8)))
	}
	var seen [][2]any
	c.eval("seen", &seen)
	painted, shown := -1.0, 0
	for _, s := range seen {
		frame := s[1].(float64)
		switch s[0] {
		case "painted":
			painted = frame
		case "shown":
			shown++
			if frame < painted+2 {
				t.Errorf("painted in frame %g, acknowledged in frame %g", painted, frame)
			}
		}
	}
	if shown != 5 || painted < 0 {
		t.Errorf("%d acknowledgements of 5 patches: %v", shown, seen)
	}
}

// The field's size on the page is that of geometry: a window of 10 % on a
// display of 60 cm and 800 by 600 pixels.
func TestPageSize(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.view("start")
	c.until(`document.querySelector("#checks").innerText.includes("size: not given")`)
	c.click("summary")
	c.until(`document.querySelector("#card").getBoundingClientRect().width > 100`)
	c.eval(`(() => { const s = document.querySelector("#slider"); s.value = 428; s.dispatchEvent(new Event("input")); s.dispatchEvent(new Event("change")); })()`, nil)
	// 428 pixels for 8.56 cm are 50 a centimetre.
	c.until(`document.querySelector("#size").textContent.includes("50.0 pixels")`)
	c.eval(`document.querySelector("#diagonal").value = "1"`, nil)
	c.click("#sized")
	c.until(`document.querySelector("#size").textContent.includes("from 5 cm")`)
	c.eval(`document.querySelector("#unit").value = "1"; document.querySelector("#diagonal").value = "60"`, nil)
	c.click("#sized")
	// √(800² + 600²) / 60 = 16.67 pixels a centimetre.
	c.until(`document.querySelector("#size").textContent.includes("16.7 pixels")`)
	// √(0.1·800·600) = 219 pixels are 13.1 cm.
	c.until(`document.querySelector("#checks").innerText.includes("13.1 × 13.1 cm")`)
	// The program keeps it over a reload.
	c.call("Page.reload", nil, nil)
	c.until(`document.querySelector("#checks") && document.querySelector("#checks").innerText.includes("size: known")`)
}

// Curves are applied by the page, to the code that leaves them.
func TestPageCurves(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Screen: measure.ScreenInfo{WindowShare: 0.1, Name: "d"}})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	ramp := make([][]float64, 3)
	for i := range 65 {
		v := float64(i) / 64
		ramp[0] = append(ramp[0], 0.9*v)
		ramp[1] = append(ramp[1], v*v)
		ramp[2] = append(ramp[2], 0.1+0.8*v)
	}
	curves, err := tone.NewChannels(ramp[0], ramp[1], ramp[2])
	must(t, err)
	for _, in := range []tone.Channels{curves, {}, curves} {
		must(t, b.LoadCurves(short(t), in))
		if page, system := b.Curves(); page != in.Digest() || system != "" {
			t.Errorf("curves on the page %s, in the system %q", page, system)
		}
		for _, s := range []colorimetry.RGB{{}, {R: 1, G: 1, B: 1}, {R: 0.2, G: 0.5, B: 0.8}, colorimetry.Gray(31. / 255)} {
			must(t, b.Show(short(t), s))
			q := in.Apply(s.Quantise(8)).Quantise(8)
			want := color.NRGBA{uint8(q.R*255 + 0.5), uint8(q.G*255 + 0.5), uint8(q.B*255 + 0.5), 255}
			if got, err := c.centre(); err != nil || got != want {
				t.Errorf("curves %s: signal %v was painted as %v, want %v (%v)", in.Digest(), s, got, want, err)
			}
			must(t, b.CheckScreen(short(t)))
		}
	}
}

// TestFaultPageTroubles: whatever comes between patch and eye is named, spoils
// the reading under way even when it has passed, and is mended by a click.
func TestFaultPageTroubles(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Patience: 2 * time.Second})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	leave := func() { c.eval("document.exitFullscreen()", nil); c.view("trouble") }
	mend := func() { c.click("#mend"); c.view("run") }
	metrics := func(ratio float64, w, h int) {
		c.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": 800, "height": 544, "deviceScaleFactor": ratio, "mobile": false, "screenWidth": w, "screenHeight": h}, nil)
	}
	for _, f := range []struct {
		name       string
		harm, mend func()
		want       measure.Condition
		says       string
	}{
		{"full screen left", leave, mend, measure.PatchNotShown, "does not fill"},
		{"full screen left and taken again", func() { leave(); mend() }, func() {}, measure.PatchNotShown, "does not fill"},
		{"zoomed", func() { metrics(1.5, 800, 600) }, func() { c.call("Emulation.clearDeviceMetricsOverride", nil, nil) }, measure.PatchNotShown, "zoomed"},
		{"another screen", func() { metrics(1, 1024, 768) }, func() { c.call("Emulation.clearDeviceMetricsOverride", nil, nil) }, measure.PatchNotShown, "another screen"},
		{"a screen was connected", func() {
			c.eval(`Object.defineProperty(screen, "isExtended", {value: true, configurable: true}); dispatchEvent(new Event("resize"))`, nil)
		}, func() { c.eval(`delete screen.isExtended; dispatchEvent(new Event("resize"))`, nil) }, measure.OutputDuplicated, "connected"},
		{"hidden", func() {
			c.eval(`Object.defineProperty(document, "hidden", {value: true, configurable: true}); document.dispatchEvent(new Event("visibilitychange"))`, nil)
		}, func() {
			c.eval(`delete document.hidden; document.dispatchEvent(new Event("visibilitychange"))`, nil)
		}, measure.PatchNotShown, "hidden"},
		{"an extension paints it over", func() {
			c.eval(`document.querySelector("#window").style.setProperty("background-color", "rgb(1, 2, 3)", "important")`, nil)
		}, func() {}, measure.PatchNotShown, "extensions"},
		{"something lies over it", func() {
			c.eval(`document.body.insertAdjacentHTML("beforeend", "<dialog id=over>Subscribe!</dialog>"); document.querySelector("#over").showModal()`, nil)
		}, func() { c.eval(`document.querySelector("#over").remove()`, nil) }, measure.PatchNotShown, "lies over"},
	} {
		must(t, b.Show(short(t), colorimetry.RGB{R: 0.5}))
		must(t, b.CheckScreen(short(t)))
		f.harm()
		err := b.CheckScreen(short(t))
		if condition(err) != f.want || f.want != "" && !strings.Contains(err.Error(), f.says) {
			t.Errorf("%s: %v", f.name, err)
		}
		done := make(chan error, 1)
		go func() { done <- b.Show(short(t), colorimetry.RGB{G: 0.5}) }()
		time.Sleep(50 * time.Millisecond)
		f.mend()
		if err := <-done; err != nil {
			t.Errorf("%s: not mended: %v", f.name, err)
		}
		if got, err := c.centre(); err != nil || got != (color.NRGBA{0, 128, 0, 255}) {
			t.Errorf("%s: afterwards %v, %v", f.name, got, err)
		}
	}
	// What nobody mends ends Show with the same name.
	leave()
	if err := b.Show(short(t), colorimetry.RGB{}); condition(err) != measure.PatchNotShown || !strings.Contains(err.Error(), "does not fill") {
		t.Errorf("not mended: %v", err)
	}
}

// TestFaultZoomedAtStart: a page that is zoomed when it starts waits until it is
// not, and takes that for how the run began.
func TestFaultZoomedAtStart(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Patience: 3 * time.Second})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.view("start")
	c.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": 533, "height": 363, "deviceScaleFactor": 1.5, "mobile": false, "screenWidth": 800, "screenHeight": 600}, nil)
	c.click("#start")
	c.view("place")
	c.click("#placed")
	c.view("trouble")
	if err := b.Show(short(t), colorimetry.RGB{R: 1}); condition(err) != measure.PatchNotShown || !strings.Contains(err.Error(), "zoomed") {
		t.Errorf("zoomed at the start: %v", err)
	}
	c.call("Emulation.clearDeviceMetricsOverride", nil, nil)
	c.view("run")
	must(t, b.Show(short(t), colorimetry.RGB{R: 1}))
	must(t, b.CheckScreen(short(t)))
}

// TestFaultDarkMode: a page whose colours something changes says so.
func TestFaultDarkMode(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Patience: time.Second})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	c.eval(`(() => { const s = new CSSStyleSheet(); s.replaceSync("#window { background: rgb(1, 2, 3) !important }"); document.adoptedStyleSheets = [s]; })()`, nil)
	err := b.Show(short(t), colorimetry.RGB{R: 1})
	if condition(err) != measure.PatchNotShown || !strings.Contains(err.Error(), `"rgb(1, 2, 3)"`) || !strings.Contains(err.Error(), "extensions") {
		t.Errorf("a page that paints something else: %v", err)
	}
}

// TestFaultPageClosed: a page that is closed in the middle of a run ends Show
// with what to do, and the same address goes on with the same patch.
func TestFaultPageClosed(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: 300 * time.Millisecond, Patience: 600 * time.Millisecond})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	must(t, b.Show(short(t), colorimetry.RGB{R: 1}))
	c.open("about:blank")
	c.until(`location.href === "about:blank"`)
	time.Sleep(100 * time.Millisecond)
	if err := b.CheckScreen(short(t)); !errors.Is(err, plug.ErrPageAway) {
		t.Errorf("checking a closed page: %v", err)
	}
	err := b.Show(short(t), colorimetry.RGB{G: 1})
	if !errors.Is(err, plug.ErrPageAway) || !strings.Contains(err.Error(), "open "+b.Address()+" again") || !strings.Contains(err.Error(), "same patch") {
		t.Errorf("a closed page: %v", err)
	}
	c.open(b.Address())
	c.view("start")
	c.click("#start")
	c.view("run") // the instrument stands where it stood
	c.until(`getComputedStyle(document.querySelector("#window")).backgroundColor === "rgb(0, 255, 0)"`)
	must(t, b.Show(short(t), colorimetry.RGB{G: 1}))
	if got, err := c.centre(); err != nil || got != (color.NRGBA{0, 255, 0, 255}) {
		t.Errorf("after opening it again %v, %v", got, err)
	}
}

// TestFaultPageClosedInRun: a session whose page is closed gets an error and
// loses nothing: asked again it takes the same patch, and its readings are
// those of a run that nothing befell.
func TestFaultPageClosedInRun(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: 200 * time.Millisecond, Patience: 400 * time.Millisecond})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	open := func(screen measure.Screen, see func(*simulate.Display) measure.Instrument) (*measure.Session, *measure.Memory) {
		d := simulate.Measured(simulate.CRT, simulate.Options{Seed: 4, Bits: 8})
		if screen == nil {
			screen = d
		}
		journal := &measure.Memory{}
		s, err := measure.Open(short(t), measure.Setup{Screen: screen, Instrument: see(d), Clock: d.Clock(), Start: d.Clock().Now(), Journal: journal})
		must(t, err)
		return s, journal
	}
	calm, _ := open(nil, func(d *simulate.Display) measure.Instrument { return d.Colorimeter() })
	s, journal := open(b, func(d *simulate.Display) measure.Instrument { return lookAt(c, d) })
	for i, p := range chart.Quantise(chart.Neutral(6), 8) {
		want, err := calm.Read(short(t), measure.ReadRequest{Stage: "test", Patch: p})
		must(t, err)
		if i == 3 {
			c.open("about:blank")
			c.until(`location.href === "about:blank"`)
			if _, err := s.Read(short(t), measure.ReadRequest{Stage: "test", Patch: p}); !errors.Is(err, plug.ErrPageAway) || !strings.Contains(err.Error(), "same patch") {
				t.Errorf("a closed page: %v", err)
			}
			c.open(b.Address())
			c.view("start")
			c.click("#start")
			c.view("run")
		}
		got, err := s.Read(short(t), measure.ReadRequest{Stage: "test", Patch: p})
		must(t, err)
		if got.Raw != want.Raw || got.Index != i {
			t.Errorf("reading %d is %v, undisturbed %v", got.Index, got.Raw, want.Raw)
		}
	}
	record, err := measure.ReadJournal(journal.Lines())
	must(t, err)
	if len(record.Readings) != 6 {
		t.Errorf("the journal holds %d readings", len(record.Readings))
	}
}

// TestFaultReload: a reload spoils the reading under way and nothing else.
func TestFaultReload(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	for i := range 3 {
		must(t, b.Show(short(t), colorimetry.RGB{B: 1}))
		c.call("Page.reload", nil, nil)
		c.until(`document.body && document.body.dataset.view === "start"`)
		if err := b.CheckScreen(short(t)); !errors.Is(err, plug.ErrPageAway) {
			t.Errorf("reload %d under a reading: %v", i, err)
		}
		done := make(chan error, 1)
		go func() { done <- b.Show(short(t), colorimetry.RGB{B: 1}) }()
		c.click("#start")
		must(t, <-done)
		must(t, b.CheckScreen(short(t)))
	}
}

// TestFaultTwoPages: a second page shows nothing and says why; once the first
// is gone, a click there takes over.
func TestFaultTwoPages(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: 300 * time.Millisecond})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	must(t, b.Show(short(t), colorimetry.RGB{R: 1}))
	back := c.newTab(b.Address())
	c.view("second")
	second := c.tab
	var colour string
	c.eval(`getComputedStyle(document.querySelector("#window")).backgroundColor`, &colour)
	if colour == "rgb(255, 0, 0)" {
		t.Error("the second page shows the patch")
	}
	back()
	c.call("Page.close", nil, nil)
	c.tab = second
	c.view("vacant")
	done := make(chan error, 1)
	go func() { done <- b.Show(short(t), colorimetry.RGB{R: 0.5}) }()
	c.click("#take")
	c.view("start")
	c.click("#start")
	must(t, <-done)
	if got, err := c.centre(); err != nil || got != (color.NRGBA{128, 0, 0, 255}) {
		t.Errorf("after taking over %v, %v", got, err)
	}
}

// TestFaultBrowserKilled: the browser dies without a goodbye; another goes on.
func TestFaultBrowserKilled(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: 200 * time.Millisecond, Patience: time.Second})
	c := startChromium(t, 800, 600)
	c.open(b.Address())
	c.start()
	must(t, b.Show(short(t), colorimetry.RGB{R: 1}))
	c.kill()
	if err := b.Show(short(t), colorimetry.RGB{G: 1}); !errors.Is(err, plug.ErrPageAway) {
		t.Errorf("a killed browser: %v", err)
	}
	c = tabOfChromium(t)
	c.open(b.Address())
	c.view("start")
	c.click("#start")
	must(t, b.Show(short(t), colorimetry.RGB{G: 1}))
}

// TestFaultBrowserHangs: a browser that stands still is told from one that
// shows, and goes on when it wakes.
func TestFaultBrowserHangs(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Patience: 500 * time.Millisecond})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	must(t, b.Show(short(t), colorimetry.RGB{R: 1}))
	// The page's script stands still, as it does where a browser is overrun.
	woke := make(chan error, 1)
	go func() {
		woke <- c.try("Runtime.evaluate", map[string]any{"expression": "{ const end = performance.now() + 1500; while (performance.now() < end); }"}, nil)
	}()
	time.Sleep(100 * time.Millisecond)
	if err := b.CheckScreen(short(t)); condition(err) != measure.PatchNotShown || !strings.Contains(err.Error(), "not answered") {
		t.Errorf("a page that stands still: %v", err)
	}
	if err := b.Show(short(t), colorimetry.RGB{G: 1}); condition(err) != measure.PatchNotShown {
		t.Errorf("a page that stands still: %v", err)
	}
	must(t, <-woke)
	must(t, b.Show(short(t), colorimetry.RGB{G: 1}))
}

// TestFaultNetworkStalls: the page's connections stall; it says so, keeps
// trying, and the run goes on when they flow again.
func TestFaultNetworkStalls(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: 500 * time.Millisecond, Patience: 500 * time.Millisecond})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.start()
	must(t, b.Show(short(t), colorimetry.RGB{R: 1}))
	offline := func(yes bool) {
		c.call("Network.enable", nil, nil)
		c.call("Network.emulateNetworkConditions", map[string]any{"offline": yes, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}, nil)
	}
	offline(true)
	if err := b.Show(short(t), colorimetry.RGB{G: 1}); err == nil {
		t.Error("a page that cannot be reached shows a patch")
	}
	c.view("lost")
	offline(false)
	c.view("run")
	must(t, b.Show(short(t), colorimetry.RGB{G: 1}))
	must(t, b.CheckScreen(short(t)))
}

// What is looked at is laid out as asked, and keys step through it.
func TestPageFields(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Looking: true, Screen: measure.ScreenInfo{Name: "d", WindowShare: 1}})
	c := tabOfChromium(t)
	c.open(b.Address())
	c.view("start")
	c.click("#start")
	c.view("run")
	var fields []plug.Field
	for i := range 16 {
		fields = append(fields, plug.Field{X: float64(i) / 16, W: 1. / 16, H: 1, Signal: colorimetry.Gray(float64(i) / 15), Label: fmt.Sprint(17 * i)})
	}
	must(t, b.ShowFields(short(t), fields))
	m, data, err := c.shot(screenOf(c))
	must(t, err)
	if dir := os.Getenv("SHOTS"); dir != "" {
		must(t, os.WriteFile(dir+"/fields.png", data, 0o644))
	}
	for i := range 16 {
		want := color.NRGBA{uint8(17 * i), uint8(17 * i), uint8(17 * i), 255}
		for _, x := range []int{50 * i, 50*i + 49} {
			if got := color.NRGBAModel.Convert(m.At(x, 100)); got != want {
				t.Errorf("strip %d at %d is %v", i, x, got)
			}
		}
	}
	for _, k := range []struct {
		key  string
		want int
	}{{"ArrowRight", 1}, {"ArrowLeft", -1}, {"q", 0}, {"", 1}} {
		step := make(chan int, 1)
		go func() {
			s, err := b.Step(short(t))
			if err != nil {
				s = 99
			}
			step <- s
		}()
		time.Sleep(30 * time.Millisecond)
		if k.key == "" {
			c.click("#window")
		} else {
			c.call("Input.dispatchKeyEvent", map[string]any{"type": "keyDown", "key": k.key}, nil)
			c.call("Input.dispatchKeyEvent", map[string]any{"type": "keyUp", "key": k.key}, nil)
		}
		if got := <-step; got != k.want {
			t.Errorf("key %q steps by %d, want %d", k.key, got, k.want)
		}
	}
	if err := b.ShowFields(short(t), []plug.Field{{X: 0.5, W: 0.6, H: 1}}); err == nil {
		t.Error("a field beyond the screen was taken")
	}
}
