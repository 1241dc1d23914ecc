package plug_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
)

func openBrowser(t testing.TB, o plug.BrowserOptions) *plug.Browser {
	t.Helper()
	if o.Screen.Name == "" {
		o.Screen.Name = "Studio panel"
	}
	b, err := plug.OpenBrowser(o)
	must(t, err)
	t.Cleanup(func() { b.Close() })
	return b
}

func screenNamed(name string) measure.ScreenInfo { return measure.ScreenInfo{Name: name} }

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func short(t testing.TB) context.Context {
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	t.Cleanup(cancel)
	return ctx
}

// What a page has not got is refused with the reason, and the way out.
func TestBrowserRefuses(t *testing.T) {
	named := measure.ScreenInfo{Name: "d"}
	with := func(f func(*measure.ScreenInfo)) measure.ScreenInfo {
		s := named
		f(&s)
		return s
	}
	for _, c := range []struct {
		o      plug.BrowserOptions
		says   string
		cannot bool
	}{
		{plug.BrowserOptions{Screen: named, PQ: true}, "PQ", true},
		{plug.BrowserOptions{Screen: with(func(s *measure.ScreenInfo) { s.Bits = 10 })}, "10 bits", true},
		{plug.BrowserOptions{Screen: with(func(s *measure.ScreenInfo) { s.Limited = true })}, "limited", true},
		{plug.BrowserOptions{}, "no name", false},
		{plug.BrowserOptions{Screen: with(func(s *measure.ScreenInfo) { s.WindowShare = 2 })}, "0.001 to 1", false},
		{plug.BrowserOptions{Screen: with(func(s *measure.ScreenInfo) { s.Surround = -1 })}, "0 to 1", false},
		{plug.BrowserOptions{Screen: named, DiagonalCM: 3}, "5 to 2000", false},
		{plug.BrowserOptions{Screen: named, Address: "0.0.0.0:0"}, "127.0.0.1", false},
		{plug.BrowserOptions{Screen: named, Address: "192.0.2.1:80"}, "127.0.0.1", false},
		{plug.BrowserOptions{Screen: named, Address: "127.0.0.2:0"}, "127.0.0.1", false},
		{plug.BrowserOptions{Screen: named, Address: ":0"}, "127.0.0.1", false},
		{plug.BrowserOptions{Screen: named, Address: "localhost:0"}, "127.0.0.1", false},
		{plug.BrowserOptions{Screen: named, Random: strings.NewReader("short")}, "token", false},
	} {
		b, err := plug.OpenBrowser(c.o)
		if err == nil {
			b.Close()
			t.Errorf("%+v was taken", c.o)
			continue
		}
		if !strings.Contains(err.Error(), c.says) || errors.Is(err, plug.ErrBrowserCannot) != c.cannot || c.cannot && !strings.Contains(err.Error(), "Process") {
			t.Errorf("%+v: %v", c.o, err)
		}
	}
}

// The address holds the token that was drawn; two runs differ; both loopback
// addresses serve.
func TestBrowserAddress(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Random: bytes.NewReader(bytes.Repeat([]byte{0xab}, 16))})
	if want := strings.Repeat("ab", 16); !strings.HasSuffix(b.Address(), "/"+want+"/") || !strings.HasPrefix(b.Address(), "http://127.0.0.1:") {
		t.Errorf("address %s", b.Address())
	}
	one, two := openBrowser(t, plug.BrowserOptions{}), openBrowser(t, plug.BrowserOptions{})
	if one.Address()[len("http://127.0.0.1:99999"):] == two.Address()[len("http://127.0.0.1:99999"):] {
		t.Error("two runs have one token")
	}
	l, err := net.Listen("tcp", "[::1]:0")
	if err != nil {
		t.Logf("this machine has no ::1: %v", err)
		return
	}
	l.Close()
	six := openBrowser(t, plug.BrowserOptions{Address: "[::1]:0"})
	if status, body, _ := ask(t, http.MethodGet, six.Address(), nil, ""); status != http.StatusOK || !strings.Contains(body, "<title>") {
		t.Errorf("%s: status %d", six.Address(), status)
	}
}

// ask sends a request with some headers.
func ask(t testing.TB, method, url string, headers map[string]string, body string) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequestWithContext(short(t), method, url, strings.NewReader(body))
	must(t, err)
	for k, v := range headers {
		if k == "Host" {
			r.Host = v
		} else {
			r.Header.Set(k, v)
		}
	}
	// A connection of its own: none is left open.
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	resp, err := client.Do(r)
	must(t, err)
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	must(t, err)
	return resp.StatusCode, string(data), resp.Header
}

// TestFaultStrangers: whoever has not got the token, or comes by another name
// or from another site, is shown nothing and changes nothing.
func TestFaultStrangers(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{})
	root := b.Address()
	host := root[len("http://") : len("http://")+strings.Index(root[len("http://"):], "/")]
	json := map[string]string{"Content-Type": "application/json"}
	plus := func(m map[string]string, k, v string) map[string]string {
		out := map[string]string{k: v}
		for a, b := range m {
			out[a] = b
		}
		return out
	}
	const hello = `{"kind":"hello"}`
	for _, c := range []struct {
		name, method, url string
		headers           map[string]string
		body              string
		status            int
	}{
		{"the page", "GET", root, nil, "", 200},
		{"its style", "GET", root + "page.css", nil, "", 200},
		{"no token", "GET", "http://" + host + "/", nil, "", 404},
		{"wrong token", "GET", "http://" + host + "/" + strings.Repeat("0", 32) + "/", nil, "", 404},
		{"token cut short", "GET", root[:len(root)-2] + "/", nil, "", 404},
		{"wrong token, telling", "POST", "http://" + host + "/x/tell", json, hello, 404},
		{"another name for this machine", "GET", root, map[string]string{"Host": "attacker.example"}, "", 421},
		{"localhost", "GET", root, map[string]string{"Host": strings.Replace(host, "127.0.0.1", "localhost", 1)}, "", 421},
		{"another origin", "POST", root + "tell", plus(json, "Origin", "https://attacker.example"), hello, 403},
		{"another site", "GET", root, map[string]string{"Sec-Fetch-Site": "cross-site"}, "", 403},
		{"a form of another site", "POST", root + "tell", map[string]string{"Content-Type": "text/plain"}, hello, 415},
		{"a link out of the files", "GET", root + "../page.html", nil, "", 404},
		{"a file that is not served", "GET", root + "page.go", nil, "", 404},
		{"telling by GET", "GET", root + "tell", nil, "", 405},
		{"asking by POST", "POST", root, json, hello, 405},
		{"a page that never said hello", "GET", root + "next?page=p9&n=0", nil, "", 410},
		{"no number", "GET", root + "next?page=p9&n=x", nil, "", 400},
		{"broken JSON", "POST", root + "tell", json, `{"kind":`, 400},
		{"unknown field", "POST", root + "tell", json, `{"kind":"hello","x":1}`, 400},
		{"4 kB and more", "POST", root + "tell", json, `{"kind":"` + strings.Repeat("x", 5000) + `"}`, 413},
		{"telling before hello", "POST", root + "tell", json, `{"kind":"shown","page":"p1"}`, 410},
	} {
		status, body, h := ask(t, c.method, c.url, c.headers, c.body)
		if status != c.status {
			t.Errorf("%s: status %d, want %d: %s", c.name, status, c.status, body)
		}
		for k, v := range map[string]string{"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Referrer-Policy": "no-referrer", "Cache-Control": "no-store"} {
			if h.Get(k) != v {
				t.Errorf("%s: %s is %q", c.name, k, h.Get(k))
			}
		}
		if !strings.Contains(h.Get("Content-Security-Policy"), "default-src 'none'") || h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: headers %v", c.name, h)
		}
		if c.status != 200 && strings.Contains(body, root) {
			t.Errorf("%s: the answer tells the token", c.name)
		}
	}
	// Nobody of these counts as a page.
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	if err := b.Show(ctx, colorimetry.RGB{}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("Show without a page: %v", err)
	}
}

// TestFaultFlood: many connections, many pages and slow ones neither exhaust the
// service nor end it.
func TestFaultFlood(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: 100 * time.Millisecond})
	root := b.Address()
	host := strings.SplitN(root, "/", 4)[2]
	var open []net.Conn
	for range 200 {
		c, err := net.Dial("tcp", host)
		if err != nil {
			break
		}
		fmt.Fprint(c, "GET / HT") // and no more
		open = append(open, c)
	}
	for _, c := range open {
		c.Close()
	}
	time.Sleep(200 * time.Millisecond) // until the service has seen them go
	json := map[string]string{"Content-Type": "application/json"}
	made, refused := 0, 0
	for range 20 {
		status, _, _ := ask(t, "POST", root+"tell", json, `{"kind":"hello"}`)
		switch status {
		case 200:
			made++
		case 429:
			refused++
		}
	}
	if status, _, _ := ask(t, "GET", root, nil, ""); status != 200 || made < 16 {
		t.Errorf("after the flood: status %d, %d pages made, %d refused", status, made, refused)
	}
}

// TestFaultLastRequest: a page that said goodbye does not come back by a request
// that was under way; one that the browser restores says so.
func TestFaultLastRequest(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Away: time.Minute})
	root := b.Address()
	json := map[string]string{"Content-Type": "application/json"}
	tell := func(report string) {
		t.Helper()
		if status, text, _ := ask(t, "POST", root+"tell", json, report); status/100 != 2 {
			t.Fatalf("%s: %d %s", report, status, text)
		}
	}
	role := func(page string) string {
		t.Helper()
		_, text, _ := ask(t, "GET", root+"next?page="+page+"&n=-1", nil, "")
		_, after, _ := strings.Cut(text, `"role":"`)
		is, _, _ := strings.Cut(after, `"`)
		return is
	}
	tell(`{"kind":"hello"}`)
	tell(`{"kind":"hello"}`)
	for _, step := range []struct{ told, want string }{
		{`{"kind":"state","page":"p1"}`, "second"},
		{`{"kind":"leave","page":"p1"}`, "vacant"},
		{`{"kind":"back","page":"p1"}`, "second"},
	} {
		tell(step.told)
		role("p1")
		if is := role("p2"); is != step.want {
			t.Errorf("after %s the other page is told %q, want %q", step.told, is, step.want)
		}
	}
}

// TestFaultNobody: without a page Show says where to open one; a Browser that
// is closed says so, and so does one that is closed under a Show.
func TestFaultNobody(t *testing.T) {
	b := openBrowser(t, plug.BrowserOptions{Patience: 50 * time.Millisecond})
	err := b.Show(short(t), colorimetry.Gray(1))
	if !errors.Is(err, plug.ErrPageAway) || !strings.Contains(err.Error(), b.Address()) || !strings.Contains(err.Error(), "click Start") {
		t.Errorf("nobody there: %v", err)
	}
	if err := b.CheckScreen(short(t)); err == nil || !strings.Contains(err.Error(), "show one") {
		t.Errorf("nothing shown: %v", err)
	}
	b = openBrowser(t, plug.BrowserOptions{})
	done := make(chan error, 1)
	go func() { done <- b.Show(short(t), colorimetry.Gray(1)) }()
	time.Sleep(20 * time.Millisecond)
	must(t, b.Close())
	if err := <-done; err == nil || !strings.Contains(err.Error(), "open another") {
		t.Errorf("closed under Show: %v", err)
	}
	if err := b.Show(short(t), colorimetry.Gray(1)); err == nil {
		t.Error("a closed Browser shows")
	}
}
