package plug

import (
	"context"
	"crypto/subtle"
	"embed"
	"encoding/json"
	"errors"
	"io"
	"log"
	"mime"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"example.org/primaries/chart/keep"
)

//go:embed page
var pageFiles embed.FS

const (
	pollTime    = 15 * time.Second // a page asks again after this
	requestTime = 40 * time.Second // the longest that a request may take, above pollTime
	maxReport   = 4096             // bytes of what a page tells; it tells some 500
	maxHeaders  = 16 << 10         // bytes of a request's header; browsers send about 1 kB
	maxSockets  = 64               // connections at once; a page needs three
	contentJSON = "application/json"
)

func (b *Browser) newServer() *http.Server {
	var sockets atomic.Int32
	return &http.Server{
		Handler:           http.HandlerFunc(b.serve),
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       requestTime,
		WriteTimeout:      requestTime,
		IdleTimeout:       requestTime,
		MaxHeaderBytes:    maxHeaders,
		ErrorLog:          log.New(io.Discard, "", 0),
		ConnState: func(c net.Conn, state http.ConnState) {
			switch state {
			case http.StateNew:
				if sockets.Add(1) > maxSockets {
					c.Close()
				}
			case http.StateClosed, http.StateHijacked:
				sockets.Add(-1)
			}
		},
	}
}

// serve answers a request, after it has made sure that it comes from the page
// itself or from a person who was given the address.
func (b *Browser) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	if r.Host != b.host {
		// A name that points here is somebody else's page on its way in.
		http.Error(w, "This page answers at its own address only.", http.StatusMisdirectedRequest)
		return
	}
	if !b.ours(r) {
		http.Error(w, "This page answers itself only.", http.StatusForbidden)
		return
	}
	token, rest, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if subtle.ConstantTimeCompare([]byte(token), []byte(b.token)) != 1 {
		http.Error(w, "There is no such page. Open the address that the program printed, whole; a run that was begun again has a new one.", http.StatusNotFound)
		return
	}
	b.route(w, r, rest)
}

// ours reports whether no other site made the browser send the request.
func (b *Browser) ours(r *http.Request) bool {
	if origin := r.Header.Get("Origin"); origin != "" && origin != "http://"+b.host {
		return false
	}
	site := r.Header.Get("Sec-Fetch-Site")
	return site == "" || site == "same-origin" || site == "none" && r.Method == http.MethodGet
}

// route answers a request of somebody who knows the token.
func (b *Browser) route(w http.ResponseWriter, r *http.Request, name string) {
	method := http.MethodGet
	if name == "tell" {
		method = http.MethodPost
	}
	if r.Method != method {
		w.Header().Set("Allow", method)
		http.Error(w, "Use "+method+".", http.StatusMethodNotAllowed)
		return
	}
	switch name {
	case "":
		sendFile(w, "page.html", "text/html; charset=utf-8")
	case "page.css":
		sendFile(w, name, "text/css; charset=utf-8")
	case "page.js", "looks.js", "size.js":
		sendFile(w, name, "text/javascript; charset=utf-8")
	case "next":
		b.next(w, r)
	case "tell":
		b.told(w, r)
	default:
		http.Error(w, "There is nothing of that name.", http.StatusNotFound)
	}
}

func sendFile(w http.ResponseWriter, name, kind string) {
	data, err := pageFiles.ReadFile("page/" + name)
	if err != nil {
		http.Error(w, "There is nothing of that name.", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", kind)
	w.Write(data)
}

func sendJSON(w http.ResponseWriter, v any) {
	data, err := json.Marshal(v)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", contentJSON)
	w.Write(data)
	// On its way before the caller goes on: the service may end next.
	http.NewResponseController(w).Flush()
}

// next tells a page what is new, once there is something new, at the latest
// after pollTime.
func (b *Browser) next(w http.ResponseWriter, r *http.Request) {
	ask := url.Values(r.URL.Query())
	known, err := strconv.Atoi(ask.Get("n"))
	if err != nil {
		http.Error(w, "n is no number.", http.StatusBadRequest)
		return
	}
	p := b.arrive(ask.Get("page"))
	if p == nil {
		http.Error(w, "This page is not known any more; say hello.", http.StatusGone)
		return
	}
	defer b.depart(p)
	ctx, cancel := context.WithTimeout(r.Context(), pollTime)
	defer cancel()
	view := b.await(ctx, p, known, ask.Get("curves"))
	if r.Context().Err() == nil {
		sendJSON(w, view)
		b.mu.Lock()
		p.ended = view.Phase.over()
		b.mu.Unlock()
	}
}

// await returns what p is to show, once it differs from what p knows, or ctx
// ends.
func (b *Browser) await(ctx context.Context, p *page, known int, curves string) pageView {
	for {
		b.mu.Lock()
		v, changed := b.view(p, curves), b.changed
		over := b.closed || b.phase.over()
		b.mu.Unlock()
		if v.N != known || over {
			return v
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return v
		}
	}
}

// told takes what a page tells.
func (b *Browser) told(w http.ResponseWriter, r *http.Request) {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != contentJSON {
		// What another site can make a browser send without asking first has
		// another type.
		http.Error(w, "Send "+contentJSON+".", http.StatusUnsupportedMediaType)
		return
	}
	var report pageReport
	body := http.MaxBytesReader(w, r.Body, maxReport)
	if err := keep.StrictJSON(body, &report, maxReport); err != nil {
		status := http.StatusBadRequest
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			status = http.StatusRequestEntityTooLarge
		}
		http.Error(w, "This is no report: "+err.Error(), status)
		return
	}
	if report.Kind == "hello" {
		id := b.hello(r.Context())
		if id == "" {
			http.Error(w, "Too many pages are open. Close some.", http.StatusTooManyRequests)
			return
		}
		sendJSON(w, map[string]string{"page": id})
		return
	}
	if !b.take(report) {
		http.Error(w, "This page is not known any more; say hello.", http.StatusGone)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}
