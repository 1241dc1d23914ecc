//go:build unix

package plug_test

import (
	"bufio"
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"os"
	"os/exec"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"
)

// chromium is a real browser without a window, driven through two pipes: JSON
// messages that end in a zero byte.
type chromium struct {
	t       testing.TB
	command *exec.Cmd
	out     *os.File
	folder  string

	mu      sync.Mutex // one call at a time
	last    int
	answers chan message
	tab     string
}

type message struct {
	ID     int             `json:"id"`
	Result json.RawMessage `json:"result"`
	Error  *struct {
		Message string `json:"message"`
	} `json:"error"`
}

// startChromium starts the browser with a screen of w by h pixels and a tab
// that is empty. It skips the test where there is no Chromium.
func startChromium(t testing.TB, w, h int, options ...string) *chromium {
	t.Helper()
	c := launchChromium(t, w, h, options...)
	t.Cleanup(c.kill)
	return c
}

// shared is the one browser of all tests that need no special one.
var shared struct {
	sync.Mutex
	browser *chromium
}

// tabOfChromium returns a tab of the shared browser, with a screen of 800 by
// 600 pixels, whose page has 800 by 544.
func tabOfChromium(t testing.TB) *chromium {
	t.Helper()
	shared.Lock()
	defer shared.Unlock()
	if shared.browser == nil {
		shared.browser = launchChromium(t, 800, 600)
	}
	c := shared.browser
	c.t = t
	c.newTab("about:blank")
	t.Cleanup(func() { c.try("Page.close", nil, nil) })
	return c
}

func TestMain(m *testing.M) {
	status := m.Run()
	if shared.browser != nil {
		shared.browser.kill()
	}
	os.Exit(status)
}

// glPath makes the browser compose pages as it does with a graphics card, by a
// slow model of one: only then does it keep colours beyond sRGB.
var glPath = []string{"--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist"}

func launchChromium(t testing.TB, w, h int, options ...string) *chromium {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium on this machine; on Debian: apt-get install chromium")
	}
	folder, err := os.MkdirTemp("", "chromium")
	must(t, err)
	in, toBrowser, err := os.Pipe()
	must(t, err)
	fromBrowser, out, err := os.Pipe()
	must(t, err)
	args := append([]string{
		"--headless=new", "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--remote-debugging-pipe", "--user-data-dir=" + folder,
		fmt.Sprintf("--window-size=%d,%d", w, h), fmt.Sprintf("--screen-info={%dx%d}", w, h),
	}, options...)
	if !slices.Contains(options, glPath[0]) {
		args = append(args, "--disable-gpu")
	}
	c := &chromium{t: t, command: exec.Command(path, append(args, "about:blank")...), out: toBrowser, folder: folder, answers: make(chan message, 64)}
	c.command.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	c.command.ExtraFiles = []*os.File{in, out} // become 3 and 4
	must(t, c.command.Start())
	in.Close()
	out.Close()
	go func() {
		defer close(c.answers)
		lines := bufio.NewReaderSize(fromBrowser, 1<<20)
		for {
			line, err := lines.ReadBytes(0)
			if err != nil {
				return
			}
			var m message
			if json.Unmarshal(bytes.TrimRight(line, "\x00"), &m) == nil && m.ID > 0 {
				c.answers <- m
			}
		}
	}()
	var targets struct {
		TargetInfos []struct{ TargetID, Type string }
	}
	c.call("Target.getTargets", nil, &targets)
	for _, target := range targets.TargetInfos {
		if target.Type == "page" {
			c.attach(target.TargetID)
		}
	}
	return c
}

// kill ends the browser and its helpers as the system would, with no goodbye.
func (c *chromium) kill() {
	if c.command.ProcessState == nil {
		syscall.Kill(-c.command.Process.Pid, syscall.SIGKILL)
		c.command.Wait()
		c.out.Close()
	}
	for range 20 { // the last helpers may still be writing
		if os.RemoveAll(c.folder) == nil {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
}

func (c *chromium) attach(target string) {
	var session struct{ SessionID string }
	c.tab = ""
	c.call("Target.attachToTarget", map[string]any{"targetId": target, "flatten": true}, &session)
	c.tab = session.SessionID
}

// newTab opens another tab, which is the one driven from now on, and returns
// what goes back to the one before.
func (c *chromium) newTab(url string) (back func()) {
	c.t.Helper()
	before := c.tab
	c.tab = ""
	var made struct{ TargetID string }
	c.call("Target.createTarget", map[string]any{"url": url}, &made)
	c.attach(made.TargetID)
	return func() { c.tab = before }
}

// call sends a command and decodes its result into v, unless that is nil.
func (c *chromium) call(method string, params map[string]any, v any) {
	c.t.Helper()
	must(c.t, c.try(method, params, v))
}

func (c *chromium) try(method string, params map[string]any, v any) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.last++
	m := map[string]any{"id": c.last, "method": method}
	if params != nil {
		m["params"] = params
	}
	if c.tab != "" {
		m["sessionId"] = c.tab
	}
	data, err := json.Marshal(m)
	if err != nil {
		return err
	}
	if _, err := c.out.Write(append(data, 0)); err != nil {
		return err
	}
	limit := time.After(20 * time.Second)
	for {
		select {
		case answer, open := <-c.answers:
			switch {
			case !open:
				return fmt.Errorf("%s: chromium ended", method)
			case answer.ID != c.last:
				continue
			case answer.Error != nil:
				return fmt.Errorf("%s: %s", method, answer.Error.Message)
			case v != nil:
				return json.Unmarshal(answer.Result, v)
			}
			return nil
		case <-limit:
			return fmt.Errorf("%s: chromium does not answer", method)
		}
	}
}

// open goes to an address.
func (c *chromium) open(url string) {
	c.t.Helper()
	c.call("Page.navigate", map[string]any{"url": url}, nil)
}

// eval evaluates an expression in the page; promises are waited for.
func (c *chromium) eval(expression string, v any) {
	c.t.Helper()
	must(c.t, c.tryEval(expression, v))
}

func (c *chromium) tryEval(expression string, v any) error {
	var r struct {
		Result           struct{ Value json.RawMessage }
		ExceptionDetails *struct{ Text string }
	}
	if err := c.try("Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true, "awaitPromise": true}, &r); err != nil {
		return err
	}
	if r.ExceptionDetails != nil {
		return fmt.Errorf("%s: %s", expression, r.ExceptionDetails.Text)
	}
	if v != nil {
		return json.Unmarshal(r.Result.Value, v)
	}
	return nil
}

// until waits until an expression is true in the page. A tab that has just been
// opened or sent on has no page for a moment, in which nothing can be evaluated.
func (c *chromium) until(expression string) {
	c.t.Helper()
	var err error
	for limit := time.Now().Add(10 * time.Second); time.Now().Before(limit); time.Sleep(10 * time.Millisecond) {
		var is bool
		if err = c.tryEval("!!("+expression+")", &is); is {
			return
		}
	}
	must(c.t, err)
	var view string
	c.eval("document.body.dataset.view + ': ' + document.body.innerText.slice(0, 300)", &view)
	c.t.Fatalf("the page never has %s; it is at %s", expression, view)
}

// view waits until the page shows one of its views.
func (c *chromium) view(name string) {
	c.t.Helper()
	c.until(fmt.Sprintf("document.body && document.body.dataset.view === %q", name))
}

// click presses and releases the mouse on an element, as a person would: once it
// has been painted. What is sent before a tab's first frame is lost.
func (c *chromium) click(selector string) {
	c.t.Helper()
	c.eval(`new Promise(painted => requestAnimationFrame(() => requestAnimationFrame(() => painted(true))))`, nil)
	var at struct{ X, Y float64 }
	c.eval(fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView({block: "nearest"}); const r = e.getBoundingClientRect(); return {x: r.x + r.width / 2, y: r.y + r.height / 2}; })()`, selector), &at)
	for _, kind := range []string{"mousePressed", "mouseReleased"} {
		c.call("Input.dispatchMouseEvent", map[string]any{"type": kind, "x": at.X, "y": at.Y, "button": "left", "clickCount": 1}, nil)
	}
}

// start clicks through to the state in which the page shows patches.
func (c *chromium) start() {
	c.t.Helper()
	c.view("start")
	c.click("#start")
	c.view("place")
	c.click("#placed")
	c.view("run")
}

// shot returns what the browser painted, the whole page for an empty clip.
func (c *chromium) shot(clip image.Rectangle) (image.Image, []byte, error) {
	params := map[string]any{"format": "png", "optimizeForSpeed": true}
	if !clip.Empty() {
		params["clip"] = map[string]any{"x": clip.Min.X, "y": clip.Min.Y, "width": clip.Dx(), "height": clip.Dy(), "scale": 1}
	}
	var r struct{ Data string }
	if err := c.try("Page.captureScreenshot", params, &r); err != nil {
		return nil, nil, err
	}
	data, err := base64.StdEncoding.DecodeString(r.Data)
	if err != nil {
		return nil, nil, err
	}
	m, err := png.Decode(bytes.NewReader(data))
	return m, data, err
}

// pixel returns the codes of the pixel at x, y as they were painted.
func (c *chromium) pixel(x, y int) (color.NRGBA, error) {
	m, _, err := c.shot(image.Rect(x, y, x+2, y+2))
	if err != nil {
		return color.NRGBA{}, err
	}
	return color.NRGBAModel.Convert(m.At(m.Bounds().Min.X, m.Bounds().Min.Y)).(color.NRGBA), nil
}

// screenOf returns the page's rectangle.
func screenOf(c *chromium) image.Rectangle {
	c.t.Helper()
	var size struct{ W, H int }
	c.eval("({w: innerWidth, h: innerHeight})", &size)
	return image.Rect(0, 0, size.W, size.H)
}

// centre returns the codes that stand in the middle of the page.
func (c *chromium) centre() (color.NRGBA, error) {
	c.t.Helper()
	at := screenOf(c)
	return c.pixel(at.Dx()/2, at.Dy()/2)
}
