package measure

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// JournalVersion is the version of the journal's lines. A journal of another
// version is refused.
const JournalVersion = 1

// Limits on a journal, which may come from a stranger. Decoding a line needs
// memory in proportion to its length.
const (
	maxLine         = 1 << 20 // bytes; a reading of maxIntegrations takes about 100 KB
	maxLines        = 1 << 22 // ten times the longest run one can sit through
	maxIntegrations = 1000    // of one reading
	longestSettleMS = 3.6e6   // that a request may ask for
	maxText         = 256     // bytes of a name, a stage, an identifier
	sumDigits       = 12      // hex digits of a line's check sum: guards against accident, not malice
)

// Header is the first line of a journal: what the run is, and what it may be
// continued with.
type Header struct {
	Version    int             `json:"version"`
	Run        string          `json:"run"`
	Start      time.Time       `json:"start"`
	Seed       uint64          `json:"seed"`
	Digest     string          `json:"digest"` // of all options and inputs
	Screen     ScreenInfo      `json:"screen"`
	Instrument InstrumentInfo  `json:"instrument"`
	Reference  *InstrumentInfo `json:"reference,omitempty"`
	Controls   []Control       `json:"controls,omitempty"` // as found at the start
}

// Note is a remark in the journal.
type Note struct {
	Kind  string          `json:"kind"`
	Value json.RawMessage `json:"value"`
}

// patchRecord is written before a patch is shown.
type patchRecord struct {
	Index        int         `json:"index"`
	Stage        string      `json:"stage"`
	Channel      string      `json:"channel,omitempty"`
	Patch        chart.Patch `json:"patch"`
	Integrations int         `json:"integrations"` // with Most, the least
	Most         int         `json:"most,omitempty"`
	Luminance    float64     `json:"luminance_share,omitempty"` // wanted, with Most
	UV           float64     `json:"uv,omitempty"`
	SettleMS     int         `json:"settle_ms,omitempty"` // where the request said so
	Curves       string      `json:"curves"`              // digest of the curves in force
}

// readingRecord is written, and synced, when the patch has been read. What
// follows from it (corrected XYZ, covariance) is computed again on replay.
type readingRecord struct {
	Index    int               `json:"index"`
	Raw      colorimetry.XYZ   `json:"raw"`
	Repeats  []colorimetry.XYZ `json:"repeats"`
	Time     time.Time         `json:"time"`
	Retries  int               `json:"retries,omitempty"`
	Spectrum *spectrumRecord   `json:"spectrum,omitempty"` // mean of the repeats
}

type controlRecord struct {
	Name string `json:"name"`
	Step int    `json:"step"`
}

type curvesRecord struct {
	Digest  string `json:"digest"`
	Entries int    `json:"entries"`
}

// entry is one line of a journal; exactly one pointer is set.
type entry struct {
	Header  *Header        `json:"header,omitempty"`
	Patch   *patchRecord   `json:"patch,omitempty"`
	Reading *readingRecord `json:"reading,omitempty"`
	Control *controlRecord `json:"control,omitempty"`
	Curves  *curvesRecord  `json:"curves,omitempty"`
	Note    *Note          `json:"note,omitempty"`
}

// sealed is a line as it stands in the journal: a check sum, then the entry. The
// sum chains the line to all before it, so that one that was changed, lost or
// moved shows.
type sealed struct {
	Sum string `json:"sum"`
	entry
}

// seal returns the line of e that follows the line with sum previous, and its
// own sum.
func seal(e entry, previous string) (line []byte, sum string, err error) {
	body, err := json.Marshal(e)
	if err != nil {
		return nil, "", err
	}
	sum = chain(previous, body)
	line = join(sum, body)
	if len(line) > maxLine {
		err = fmt.Errorf("a line of %d bytes is longer than the %d a journal holds", len(line), maxLine)
	}
	return line, sum, err
}

// chain returns the sum of the entry whose JSON is body, after one with sum
// previous.
func chain(previous string, body []byte) string {
	h := sha256.New()
	h.Write([]byte(previous))
	h.Write(body)
	return hex.EncodeToString(h.Sum(nil))[:sumDigits]
}

// join puts the sum in front of an entry's JSON, which is an object that is not
// empty.
func join(sum string, body []byte) []byte {
	return slices.Concat([]byte(`{"sum":"`), []byte(sum), []byte(`",`), body[1:])
}

// unseal decodes a line strictly: it must be, to the byte, what seal writes. The
// sum is returned, with the entry's JSON that it is to be checked against.
func unseal(line []byte) (e entry, sum string, body []byte, err error) {
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	var s sealed
	if err := d.Decode(&s); err != nil {
		return entry{}, "", nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return entry{}, "", nil, errors.New("there is more on the line than one entry")
	}
	kinds := 0
	for _, set := range []bool{s.Header != nil, s.Patch != nil, s.Reading != nil, s.Control != nil, s.Curves != nil, s.Note != nil} {
		if set {
			kinds++
		}
	}
	if kinds != 1 {
		return entry{}, "", nil, fmt.Errorf("a line holds one entry, this one %d", kinds)
	}
	if body, err = json.Marshal(s.entry); err != nil {
		return entry{}, "", nil, err
	}
	if !bytes.Equal(join(s.Sum, body), line) {
		return entry{}, "", nil, errors.New("it is not written as this version writes it")
	}
	return s.entry, s.Sum, body, s.entry.check()
}

// check tests what the types do not.
func (e entry) check() error {
	switch {
	case e.Patch != nil:
		return e.Patch.check()
	case e.Reading != nil:
		return e.Reading.check()
	}
	return nil
}

func (p *patchRecord) check() error {
	if err := checkSignal(p.Patch.Signal); err != nil {
		return err
	}
	if p.Index < 0 {
		return fmt.Errorf("index %d; readings are counted from 0", p.Index)
	}
	if p.Integrations < 1 || p.Integrations > maxIntegrations {
		return fmt.Errorf("%d integrations; 1 to %d are possible", p.Integrations, maxIntegrations)
	}
	if p.Most != 0 && (p.Most < p.Integrations || p.Most > maxIntegrations) {
		return fmt.Errorf("%d to %d integrations", p.Integrations, p.Most)
	}
	if p.SettleMS < 0 || p.SettleMS > longestSettleMS {
		return fmt.Errorf("%d ms to settle; an hour at most", p.SettleMS)
	}
	if p.Channel != "" && p.Channel != ChannelReference {
		return fmt.Errorf("there is no channel %q", p.Channel)
	}
	return nil
}

// takes reports whether a reading of n integrations can belong to p.
func (p *patchRecord) takes(n int) bool {
	return n >= p.Integrations && n <= max(p.Integrations, p.Most)
}

func (r *readingRecord) check() error {
	if n := len(r.Repeats); n < 1 || n > maxIntegrations {
		return fmt.Errorf("a reading of %d integrations", n)
	}
	for _, c := range r.Repeats {
		if err := checkLight(c); err != nil {
			return fmt.Errorf("an integration of %w", err)
		}
	}
	if r.Retries < 0 {
		return fmt.Errorf("a reading that was tried %d times more", r.Retries)
	}
	if r.Raw != mean(r.Repeats) {
		return errors.New("the reading is not the mean of its integrations")
	}
	if r.Spectrum != nil {
		_, err := r.Spectrum.spectrum()
		return err
	}
	return nil
}

// Record is what a journal holds, decoded.
type Record struct {
	Header   Header
	Readings []Reading // uncorrected: XYZ is Raw; without covariance
	Notes    []Note
	// Torn reports that the last line was cut off while it was written, and
	// left out here.
	Torn bool

	events []event
	sum    string // of the last good line: the next one is chained to it
}

// event is what a replay meets, in order: a reading, or a change of state.
type event struct {
	line    int
	patch   *patchRecord
	reading *readingRecord
	control *controlRecord
	curves  *curvesRecord
}

// ReadJournal decodes the lines of a journal, without their newlines. A last
// line that was cut off while it was written is left out; a patch whose reading
// never came is no reading. Anything else that is not exactly as a Session
// writes it is a *[JournalError]. No lines, or a single torn one, give a Record
// whose header has version 0: nothing was begun.
func ReadJournal(lines [][]byte) (Record, error) {
	if len(lines) > maxLines {
		return Record{}, damaged(0, fmt.Errorf("it has %d lines, more than the %d possible", len(lines), maxLines))
	}
	var r Record
	var open *patchRecord
	for i, line := range lines {
		if len(line) > maxLine {
			return Record{}, damaged(i+1, fmt.Errorf("the line is longer than %d bytes", maxLine))
		}
		if i == len(lines)-1 && !json.Valid(line) {
			r.Torn = true
			break
		}
		if i == 0 {
			if err := checkVersion(line); err != nil {
				return Record{}, err
			}
		}
		e, sum, body, err := unseal(line)
		if err != nil {
			return Record{}, damaged(i+1, err)
		}
		if chain(r.sum, body) != sum {
			return Record{}, damaged(i+1, errors.New("its check sum does not follow from the lines before"))
		}
		r.sum = sum
		if open, err = r.take(i+1, e, open); err != nil {
			return Record{}, damaged(i+1, err)
		}
	}
	return r, nil
}

// take adds one entry; open is the patch that waits for its reading.
func (r *Record) take(line int, e entry, open *patchRecord) (*patchRecord, error) {
	if (line == 1) != (e.Header != nil) {
		return nil, errors.New("the header is the first line, and no other")
	}
	switch {
	case e.Header != nil:
		r.Header = *e.Header
	case e.Patch != nil:
		if e.Patch.Index != len(r.Readings) {
			return nil, fmt.Errorf("patch %d where patch %d is due", e.Patch.Index, len(r.Readings))
		}
		return e.Patch, nil
	case e.Reading != nil:
		if open == nil || e.Reading.Index != open.Index || !open.takes(len(e.Reading.Repeats)) {
			return nil, errors.New("a reading without its patch")
		}
		r.Readings = append(r.Readings, newReading(*open, *e.Reading))
		r.events = append(r.events, event{line: line, patch: open, reading: e.Reading})
	case e.Control != nil:
		r.events = append(r.events, event{line: line, control: e.Control})
	case e.Curves != nil:
		r.events = append(r.events, event{line: line, curves: e.Curves})
	case e.Note != nil:
		r.Notes = append(r.Notes, *e.Note)
	}
	return nil, nil
}

// checkVersion looks at the version before anything else, so that a journal of
// another version is named as such and not as a damaged one.
func checkVersion(line []byte) error {
	var v struct {
		Header *struct {
			Version int `json:"version"`
		} `json:"header"`
	}
	if err := json.Unmarshal(line, &v); err != nil || v.Header == nil {
		return &JournalError{1, "it does not begin with a header", "name the journal that a run of this library wrote", err}
	}
	if v.Header.Version != JournalVersion {
		return &JournalError{1, fmt.Sprintf("its version is %d, and this build reads version %d", v.Header.Version, JournalVersion),
			"finish the run with the build that began it, or begin a new run", ErrOtherRun}
	}
	return nil
}

func damaged(line int, err error) error {
	return &JournalError{line, err.Error(), "the journal was changed or damaged: restore it from a copy, or begin a new run", err}
}

// StartOf returns the start of the run whose journal begins with lines, or
// otherwise where they hold none: what a simulated clock must be set to before
// the run is opened. The error is that of [ReadJournal].
func StartOf(lines [][]byte, otherwise time.Time) (time.Time, error) {
	record, err := ReadJournal(lines)
	if err != nil || record.Header.Start.IsZero() {
		return otherwise, err
	}
	return record.Header.Start, nil
}
