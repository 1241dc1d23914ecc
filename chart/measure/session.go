package measure

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Setup is everything a Session works with. Screen and Instrument are needed;
// every other zero value is the default.
type Setup struct {
	Screen     Screen
	Instrument Instrument
	Reference  Instrument // the better instrument of paired readings; nil = none
	Controls   Controls   // nil = none
	Clock      Clock      // nil = SystemClock
	Journal    Journal    // nil = none is kept
	// Replay holds the lines of the journal that the run goes on from; empty
	// begins a new run. Journal must then be the one they came from, without
	// a torn last line.
	Replay [][]byte
	// Digest names all options and inputs of the run. A journal with another
	// is refused.
	Digest string
	RunID  string    // "" = made from start, seed and digest; on resume the journal's is kept
	Seed   uint64    // of the run's randomness; a journal with another is refused
	Start  time.Time // zero = the clock's present; on resume the journal's is kept
	// Averages is the number of integrations of a reading whose request does
	// not say: 1 to 1000, 0 = 1.
	Averages int
	// Timeout is the longest a screen may take to show a patch, or an
	// instrument for one integration, in real time: 0 = two minutes, negative
	// = no limit.
	Timeout time.Duration
	// DarkTimeout is the longest that a dark calibration may take, in real time:
	// 0 = half an hour, since a person may have to cover the instrument and put
	// it back; negative = no limit.
	DarkTimeout time.Duration
	// Progress is called after each reading of ReadSet and WarmUp, serially,
	// from the goroutine that called those; nil = not at all.
	Progress func(Progress)
}

// Progress tells how far a stage has come.
type Progress struct {
	Stage    string
	Done     int           // readings of this stage so far
	Total    int           // readings the stage will have; 0 = unknown
	Left     time.Duration // what the rest will take at the present pace; 0 = unknown
	Replayed bool          // the reading came from the journal
	Text     string        // one more word on how it stands, or ""
}

// Session takes readings. It is the only way to take one: see the package
// documentation for the order in which it does so and for how a run is resumed.
// It is not safe for concurrent use.
type Session struct {
	setup    Setup
	header   Header
	sum      string // of the journal's last line
	events   []event
	cursor   int // next event to replay
	last     int // events before this index belong to the replay of readings
	notes    map[string]int
	readings []Reading
	pool     [2]scatter // of the instrument and of the reference

	steps      []controlRecord // controls that were set, in the order of their first setting
	curves     tone.Channels
	correction Corrector // nil = none
	settling   Settling

	live      bool            // the hardware is in the state that readings say
	pending   *patchRecord    // begun and not read: it is the next to read
	broken    error           // why the session takes no more: the journal failed, or Close
	dwelt     bool            // what is shown has been shown for long enough
	disturbed bool            // controls or curves changed since the last reading
	busy      <-chan struct{} // closed when the device call under way ends
}

// Open begins a run, or goes on with the one whose journal lines setup.Replay
// holds. A new run's header is written and synced before Open returns. The
// error is a *[JournalError] where the journal cannot be replayed; it wraps
// [ErrOtherRun] where the journal's version, digest, seed or devices are not
// those given. Hardware is not touched.
func Open(ctx context.Context, setup Setup) (*Session, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if setup.Screen == nil || setup.Instrument == nil {
		return nil, errors.New("measure: a session needs a screen and an instrument; set both in Setup")
	}
	if setup.Averages < 0 || setup.Averages > maxIntegrations {
		return nil, fmt.Errorf("measure: %d averages; 1 to %d are possible", setup.Averages, maxIntegrations)
	}
	if !plainText(setup.Digest) || !plainText(setup.RunID) {
		return nil, fmt.Errorf("measure: digest or run id is no text of at most %d bytes", maxText)
	}
	if setup.Clock == nil {
		setup.Clock = SystemClock{}
	}
	record, err := ReadJournal(setup.Replay)
	if err != nil {
		return nil, err
	}
	s := &Session{setup: setup, notes: map[string]int{}}
	s.header = s.newHeader()
	if record.Header.Version == 0 {
		return s, s.append(entry{Header: &s.header}, true)
	}
	if err := s.header.continues(record.Header); err != nil {
		return nil, err
	}
	s.header, s.sum, s.events = record.Header, record.sum, record.events
	for i, e := range s.events {
		if e.reading != nil {
			s.last = i + 1
		}
	}
	for _, n := range record.Notes {
		s.notes[n.key()]++
	}
	return s, nil
}

func (s *Session) newHeader() Header {
	h := Header{
		Version: JournalVersion, Run: s.setup.RunID, Start: s.setup.Start, Seed: s.setup.Seed, Digest: s.setup.Digest,
		Screen: s.setup.Screen.Screen(), Instrument: s.setup.Instrument.Instrument(),
	}
	if h.Start.IsZero() {
		h.Start = s.setup.Clock.Now()
	}
	h.Start = h.Start.Round(0).UTC()
	if s.setup.Reference != nil {
		info := s.setup.Reference.Instrument()
		h.Reference = &info
	}
	if s.setup.Controls != nil {
		h.Controls = slices.Clone(s.setup.Controls.Controls())
	}
	if h.Run == "" {
		sum := sha256.Sum256(fmt.Appendf(nil, "%s %d %s", h.Start.Format(time.RFC3339Nano), h.Seed, h.Digest))
		h.Run = hex.EncodeToString(sum[:])[:sumDigits]
	}
	return h
}

// continues says what keeps a run with header h from going on with the journal
// that begins with old.
func (h Header) continues(old Header) error {
	differs := func(what string, was, is any) error {
		return &JournalError{1, fmt.Sprintf("it was begun with %s %v, and now there is %v", what, was, is),
			"resume with the same options, inputs and devices, or begin a new run", ErrOtherRun}
	}
	switch {
	case h.Digest != old.Digest:
		return differs("options and inputs of digest", old.Digest, h.Digest)
	case h.Seed != old.Seed:
		return differs("seed", old.Seed, h.Seed)
	case h.Screen != old.Screen:
		return differs("screen", fmt.Sprintf("%+v", old.Screen), fmt.Sprintf("%+v", h.Screen))
	case h.Instrument != old.Instrument:
		return differs("instrument", fmt.Sprintf("%+v", old.Instrument), fmt.Sprintf("%+v", h.Instrument))
	case (h.Reference == nil) != (old.Reference == nil) || h.Reference != nil && *h.Reference != *old.Reference:
		return differs("reference", infoText(old.Reference), infoText(h.Reference))
	case !slices.EqualFunc(h.Controls, old.Controls, func(a, b Control) bool {
		return a.Name == b.Name && a.Min == b.Min && a.Max == b.Max
	}):
		return differs("controls", old.Controls, h.Controls)
	}
	return nil
}

func infoText(i *InstrumentInfo) string {
	if i == nil {
		return "none"
	}
	return fmt.Sprintf("%+v", *i)
}

// Header returns the run's header: on resume the journal's, whose Run and Start
// hold for the whole run.
func (s *Session) Header() Header {
	h := s.header
	h.Controls = slices.Clone(h.Controls)
	return h
}

// Now returns the time of the latest reading, before the first the run's start.
// It is the run's only notion of the present, so that what follows from it is
// the same when the run is replayed.
func (s *Session) Now() time.Time {
	if n := len(s.readings); n > 0 {
		return s.readings[n-1].Time
	}
	return s.header.Start
}

// Replaying reports whether the next reading comes from the journal.
func (s *Session) Replaying() bool { return s.cursor < s.last }

// Readings returns all readings so far, in the order in which they were taken.
func (s *Session) Readings() []Reading { return slices.Clone(s.readings) }

// Screen describes the display path.
func (s *Session) Screen() ScreenInfo { return s.header.Screen }

// Instrument describes the instrument.
func (s *Session) Instrument() InstrumentInfo { return s.header.Instrument }

// Curves returns the correction curves in force.
func (s *Session) Curves() tone.Channels { return s.curves }

// LostLevels returns how many of the path's own codes the curves in force merge
// with a neighbour, a channel: see [LostLevels].
func (s *Session) LostLevels() [3]int {
	bits := s.bits()
	return LostLevels(s.curves, bits, bits)
}

// bits returns the depth of the path, 8 where the screen states none that can
// be.
func (s *Session) bits() int {
	if b := s.header.Screen.Bits; b >= 1 && b <= 16 {
		return b
	}
	return 8
}

// Controls returns the display's controls with the steps in force, none where
// the session has none.
func (s *Session) Controls() []Control {
	out := slices.Clone(s.header.Controls)
	for i := range out {
		for _, c := range s.steps {
			if c.Name == out[i].Name {
				out[i].Now = c.Step
			}
		}
	}
	return out
}

// Note journals a remark: value is anything that encoding/json takes, kind at
// most 256 bytes. It is safe when Note returns. On resume a note that the
// journal holds already is not written again.
func (s *Session) Note(kind string, value any) error {
	raw, err := json.Marshal(value)
	if err != nil {
		return fmt.Errorf("measure: note %.40q: %w", kind, err)
	}
	if !plainText(kind) {
		return fmt.Errorf("measure: the kind of a note, %.40q, is no text of at most %d bytes", kind, maxText)
	}
	n := Note{kind, raw}
	if s.notes[n.key()] > 0 {
		s.notes[n.key()]--
		return nil
	}
	return s.append(entry{Note: &n}, true)
}

func (n Note) key() string { return n.Kind + "\x00" + string(n.Value) }

// errClosed is what a session answers after Close.
var errClosed = errors.New("measure: the session was closed; open another")

// usable returns the reason why the session takes no more, if there is one.
func (s *Session) usable() error { return s.broken }

// append writes one journal line. An error breaks the session: nobody knows how
// much of the line arrived, so nothing may follow it.
func (s *Session) append(e entry, sync bool) error {
	if err := s.usable(); err != nil || s.setup.Journal == nil {
		return err
	}
	line, sum, err := seal(e, s.sum)
	if err != nil {
		err = fmt.Errorf("measure: this cannot be written to the journal: %w", err)
		if e.Note == nil { // a note may be left out, the rest may not
			s.broken = err
		}
		return err
	}
	if err = s.setup.Journal.Append(line); err == nil && sync {
		err = s.setup.Journal.Sync()
	}
	if err != nil {
		s.broken = &DeviceError{"journal", "writing", fmt.Errorf("%w; make room or mend the disk, then resume", err)}
		return s.broken
	}
	s.sum = sum
	return nil
}

func plainText(s string) bool { return len(s) <= maxText && utf8.ValidString(s) }

func checkSignal(c colorimetry.RGB) error {
	for _, v := range [3]float64{c.R, c.G, c.B} {
		if !(v >= 0 && v <= 1) {
			return fmt.Errorf("signal %s; signals run from 0 to 1", signalText(c))
		}
	}
	return nil
}
