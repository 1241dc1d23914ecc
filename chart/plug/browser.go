package plug

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// ErrBrowserCannot is wrapped by the error of [OpenBrowser] where a path is
// asked for that a page has not got: more or fewer than 8 bits, the limited
// range, PQ. [Process] is the way for those.
var ErrBrowserCannot = errors.New("a browser's page cannot show this")

// ErrPageAway is wrapped by errors of a [Browser] whose page was closed, or was
// never opened. Opening the same address goes on with the same patch.
var ErrPageAway = errors.New("no page is there")

// BrowserOptions steer a Browser. Screen.Name must be given; every other zero
// value is the default.
type BrowserOptions struct {
	// Screen describes the display. Mode "" is "native", Bits 0 is 8 and the
	// only depth there is, WindowShare 0 is 0.1. Limited is refused; CurvesBy
	// becomes "page".
	Screen measure.ScreenInfo
	// PQ says that signals are codes of the perceptual quantiser. It is refused.
	PQ bool
	// Address is where the page is served, 127.0.0.1 or ::1 with a port, "" =
	// "127.0.0.1:0", a port that is free. No other address is possible.
	Address string
	// DiagonalCM is the display's diagonal in cm; 0 leaves it to the person at
	// the page, who is not asked where Looking is set.
	DiagonalCM float64
	// Looking says that nothing is measured: the page asks nobody to place an
	// instrument, and says how to step through pictures (see [Browser.Step]).
	Looking bool
	// Timed says with Looking that pictures follow one another without Step.
	Timed bool
	// Random is where the address's token is drawn from, nil = crypto/rand.
	// Anything else is for tests.
	Random io.Reader
	// Away is how long a page may be away, for a reload say, before it counts
	// as closed: 0 = 5 s.
	Away time.Duration
	// Patience is how long Show waits for a person to open, start or mend the
	// page: 0 = 90 s, which is less than a session waits for its screen.
	Patience time.Duration
}

const (
	defaultAway     = 5 * time.Second
	defaultPatience = 90 * time.Second
	defaultShare    = 0.1
	pageBits        = 8
	tokenBytes      = 16
)

// Browser is a screen whose patches are a page in a browser, on this machine:
// a [measure.Screen], [measure.CurveLoader] and [measure.SelfChecker]. It
// listens on a loopback address alone. It is safe for concurrent use, though
// two patches at a time make no sense.
type Browser struct {
	info     measure.ScreenInfo
	diagonal float64
	looking  bool
	timed    bool
	away     time.Duration
	patience time.Duration

	token, host string
	server      *http.Server
	served      chan struct{} // closed when the server has ended

	mu      sync.Mutex
	changed chan struct{} // closed and replaced whenever anything below changes
	n       int           // counts the changes that pages are told of
	pages   map[string]*page
	owner   *page // the page that shows, or showed last; nil before the first
	made    int   // pages so far
	picture picture
	check   int  // number of the latest question to the page
	wide    bool // signals are colours of Display P3: for CheckRoute
	curves  loaded
	phase   phase
	text    string    // what the page says in that phase
	done    bool      // a person has answered the hand-over
	base    *pageBase // how the page stood when the run began
	perCM   float64   // CSS pixels a centimetre, 0 = unknown
	spoiled error     // what went wrong since Show returned
	stands  bool      // Show has returned, so that trouble spoils the patch
	steps   chan int
	closed  bool
}

// loaded is where correction curves are applied.
type loaded struct {
	curves tone.Channels // in force, as the session was told
	handed string        // digest of those that the system holds, "" = none
	off    bool          // the session took away what the system may still hold
}

var (
	_ measure.Screen      = (*Browser)(nil)
	_ measure.CurveLoader = (*Browser)(nil)
	_ measure.SelfChecker = (*Browser)(nil)
)

// OpenBrowser begins to serve the page; [Browser.Address] is what a person
// opens in the browser on the display under test. The error wraps
// [ErrBrowserCannot] where the path asked for is none that a page has. Close
// ends the service.
func OpenBrowser(o BrowserOptions) (*Browser, error) {
	info, err := o.screen()
	if err != nil {
		return nil, err
	}
	if o.DiagonalCM != 0 && !(o.DiagonalCM >= 5 && o.DiagonalCM <= 2000) {
		return nil, fmt.Errorf("plug: a display with a diagonal of %g cm; 5 to 2000 are possible, 0 asks at the page", o.DiagonalCM)
	}
	listener, err := listenLoopback(o.Address)
	if err != nil {
		return nil, err
	}
	random := o.Random
	if random == nil {
		random = rand.Reader
	}
	token := make([]byte, tokenBytes)
	if _, err := io.ReadFull(random, token); err != nil {
		return nil, errors.Join(fmt.Errorf("plug: no random token for the page's address: %w", err), listener.Close())
	}
	b := &Browser{
		info: info, diagonal: o.DiagonalCM, looking: o.Looking, timed: o.Timed,
		away: o.Away, patience: o.Patience,
		token: hex.EncodeToString(token), host: listener.Addr().String(), served: make(chan struct{}),
		changed: make(chan struct{}), pages: map[string]*page{}, steps: make(chan int),
	}
	if b.away <= 0 {
		b.away = defaultAway
	}
	if b.patience <= 0 {
		b.patience = defaultPatience
	}
	b.server = b.newServer()
	go func() {
		defer close(b.served)
		b.server.Serve(listener) // ends with http.ErrServerClosed
	}()
	return b, nil
}

// screen returns the path with its defaults, or says why no page has it.
func (o BrowserOptions) screen() (measure.ScreenInfo, error) {
	s := o.Screen
	cannot := func(what string) (measure.ScreenInfo, error) {
		return s, fmt.Errorf("plug: %s: %w, whose colours have %d bits a channel and the full range of an SDR signal; plug an external program in (Process) for it", what, ErrBrowserCannot, pageBits)
	}
	s.CurvesBy = "page"
	if s.Mode == "" {
		s.Mode = "native"
	}
	if s.Bits == 0 {
		s.Bits = pageBits
	}
	if s.WindowShare == 0 {
		s.WindowShare = defaultShare
	}
	switch {
	case o.PQ:
		return cannot("codes of the perceptual quantiser (PQ)")
	case s.Bits != pageBits:
		return cannot(fmt.Sprintf("signals of %d bits", s.Bits))
	case s.Limited:
		return cannot("signals in the limited (video) range")
	case s.Name == "":
		return s, errors.New("plug: the display has no name; set Screen.Name")
	case !(s.WindowShare >= 0.001 && s.WindowShare <= 1):
		return s, fmt.Errorf("plug: a window of %g of the screen; 0.001 to 1 are possible", s.WindowShare)
	case !(s.Surround >= 0 && s.Surround <= 1):
		return s, fmt.Errorf("plug: a surround of signal %g; signals run from 0 to 1", s.Surround)
	}
	return s, nil
}

// listenLoopback listens on this machine alone.
func listenLoopback(address string) (net.Listener, error) {
	if address == "" {
		address = "127.0.0.1:0"
	}
	at, err := netip.ParseAddrPort(address)
	if err != nil || at.Addr() != netip.IPv6Loopback() && at.Addr() != netip.MustParseAddr("127.0.0.1") {
		return nil, fmt.Errorf("plug: the page cannot be served at %q; give 127.0.0.1 or [::1] with a port, as 127.0.0.1:0: nobody but this machine may reach it", address)
	}
	l, err := net.Listen("tcp", at.String())
	if err != nil {
		return nil, fmt.Errorf("plug: the page cannot be served: %w; another program may have the port, give 0 for a free one", err)
	}
	return l, nil
}

// Address is the page's, with the token that keeps everybody else out.
func (b *Browser) Address() string { return "http://" + b.host + "/" + b.token + "/" }

// Screen describes the path.
func (b *Browser) Screen() measure.ScreenInfo { return b.info }

// Show fills the window with signal and returns once the frame that holds it
// was shown. Signals are rounded to the page's 8 bits. Where no page is open,
// where it was not started, or something stands between it and the eye, Show
// waits for a person to mend it, for as long as BrowserOptions.Patience; then
// the error says what to do: it wraps [ErrPageAway], or a
// *[measure.ConditionError]. Asked again it goes on with the same patch.
func (b *Browser) Show(ctx context.Context, signal colorimetry.RGB) error {
	return b.show(ctx, signal)
}

// LoadCurves puts curves in force, from the next patch on; the zero Channels
// takes them away. The page looks signals up in a table of 256 entries a
// channel, so that levels are lost as on any path of 8 bits. Curves that were
// handed to the system (see [HandOver]) are left to it; others are an
// error while it holds those.
func (b *Browser) LoadCurves(ctx context.Context, curves tone.Channels) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	c := &b.curves
	switch {
	case c.handed != "" && curves.Len() == 0:
		// The end of a session takes its curves away. They are meant to stay
		// in the system; only, no patch is without them.
		c.off = true
		return nil
	case c.handed != "" && curves.Digest() != c.handed:
		return fmt.Errorf("plug: the system holds the curves %s and cannot show through %s; take them out of the system and open another run", c.handed, curves.Digest())
	}
	c.curves, c.off = curves, false
	b.tell()
	return nil
}

// Curves tells which correction curves the page applies itself, "none" where
// it applies none, and which the system was given to hold, "" where none.
func (b *Browser) Curves() (page, system string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.curves.onPage().Digest(), b.curves.handed
}

// onPage returns the curves that the page applies.
func (c loaded) onPage() tone.Channels {
	if c.handed != "" {
		return tone.Channels{}
	}
	return c.curves
}

// code returns the 8-bit codes of a signal.
func code(s colorimetry.RGB) [3]int {
	q := s.Quantise(pageBits)
	top := float64(int(1)<<pageBits - 1)
	return [3]int{int(math.Round(q.R * top)), int(math.Round(q.G * top)), int(math.Round(q.B * top))}
}

// tables returns the code that leaves the curves for every code that enters
// them, red, green and blue; nil without curves.
func tables(c tone.Channels) *[3][]int {
	if c.Len() == 0 {
		return nil
	}
	var t [3][]int
	for i := range 1 << pageBits {
		out := code(c.Apply(colorimetry.Gray(float64(i) / float64(int(1)<<pageBits-1))))
		for ch, v := range out {
			t[ch] = append(t[ch], v)
		}
	}
	return &t
}

// tell wakes everybody who waits for a change, and has the pages told. The
// caller holds mu.
func (b *Browser) tell() {
	b.n++
	b.wake()
}

// wake wakes everybody who waits for a change. The caller holds mu.
func (b *Browser) wake() {
	close(b.changed)
	b.changed = make(chan struct{})
}

// What the page says where Close comes before Finish.
const (
	stoppedRun     = "The run stopped before its end. The program that runs it says why and how to go on, at a new address."
	stoppedLooking = "The program that shows the pictures stopped before their end, and says why. Begin it again, and open the new address."
)

// Close ends the service. The page says that the run stopped before its end,
// unless [Browser.Finish] was called. Later calls of anything are errors.
func (b *Browser) Close() error {
	text := stoppedRun
	if b.looking {
		text = stoppedLooking
	}
	b.end(phaseStopped, text)
	// A page that has been told of the end has let go of its connection.
	ctx, cancel := context.WithTimeout(context.Background(), goodbye)
	defer cancel()
	b.mu.Lock()
	b.wait(ctx, goodbye, func() (bool, error) {
		for _, p := range b.pages {
			if p.polls > 0 || b.here(p) && !p.ended {
				return false, nil
			}
		}
		return true, nil
	})
	b.closed = true
	b.wake()
	b.mu.Unlock()
	err := b.server.Close()
	<-b.served
	return err
}

// goodbye is how long the end waits for pages to hear of it: a page on a busy
// machine takes its time to ask again.
const goodbye = 2 * time.Second

// Finish makes the page say that all is done, and text, such as what was found
// and what to do now, in place of patches. Nothing is shown after it. A run that
// fails is closed without it.
func (b *Browser) Finish(text string) { b.end(phaseFinished, text) }

// end makes the page say how it ended; the first word holds.
func (b *Browser) end(how phase, text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.phase.over() {
		b.phase, b.text = how, text
		b.tell()
	}
}
