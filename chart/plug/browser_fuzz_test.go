package plug_test

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"testing"
	"time"

	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
)

// FuzzPageTells: whatever a page tells, the service answers with a status of
// its own and goes on; only a page that says what was painted ends a Show.
func FuzzPageTells(f *testing.F) {
	for _, seed := range []string{
		`{"kind":"hello"}`,
		`{"kind":"started","page":"p1","seq":1,"started":true,"now":{"width":800,"ratio":1}}`,
		`{"kind":"shown","page":"p1","seq":2,"picture":1,"painted":"rgb(1, 2, 3)","curves":"none","started":true}`,
		`{"kind":"state","page":"p1","seq":3,"trouble":["full","zoomed"],"started":true,"inner":1e300}`,
		`{"kind":"step","page":"p1","step":-9}`, `{"kind":"size","page":"p1","perCM":37.8}`, `{"kind":"leave","page":"p1"}`, `{"kind":"back","page":"p1"}`,
		`{"kind":"take","page":"p2"}`, `{"kind":"done","page":"p1"}`, `[]`, ``, "{\"kind\":\"\x00\"}",
	} {
		f.Add([]byte(seed))
	}
	b, err := plug.OpenBrowser(plug.BrowserOptions{Screen: screenNamed("d"), Away: time.Millisecond, Patience: time.Millisecond})
	must(f, err)
	f.Cleanup(func() { b.Close() })
	f.Fuzz(func(t *testing.T, body []byte) {
		for _, text := range [][]byte{[]byte(`{"kind":"hello"}`), body} {
			answer, err := http.Post(b.Address()+"tell", "application/json", bytes.NewReader(text))
			must(t, err)
			io.Copy(io.Discard, answer.Body)
			answer.Body.Close()
			switch answer.StatusCode {
			case 200, 204, 400, 410, 413, 429:
			default:
				t.Fatalf("%q: status %d", text, answer.StatusCode)
			}
		}
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Millisecond)
		defer cancel()
		if err := b.Show(ctx, colorimetry.RGB{R: 0.3}); err == nil && !bytes.Contains(body, []byte("rgb(77, 0, 0)")) {
			t.Fatalf("%q passes for a patch that was shown", body)
		}
	})
}
