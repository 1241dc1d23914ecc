// Package history keeps one line a run, so that a display can be watched over
// months: it answers "is it as last month", and nothing else. Figures of
// accuracy are carried along to be read, never to be mixed with that question.
//
// A history is JSON lines, version 1, strict: an unknown field is an error that
// names the line. It is replaced whole, so that a run which is killed while it
// writes leaves the history as it was.
package history

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"strings"
	"time"

	"example.org/primaries/chart/keep"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// Version is the version of an entry.
const Version = 1

// patience is how long Append waits for another run that is writing: a line
// takes milliseconds.
const patience = 5 * time.Second

const (
	// maxBytes bounds a history: an entry takes about 1 kB, so this is some
	// 16,000 runs.
	maxBytes = 16 << 20
	// maxLine bounds an entry: names and figures alone.
	maxLine = 64 << 10
)

// Entry is one run, one line of the history.
type Entry struct {
	Version    int       `json:"version"` // set by Append
	Run        string    `json:"run"`     // its id: one entry a run
	Time       time.Time `json:"time"`
	Display    string    `json:"display"`
	Mode       string    `json:"mode"`
	Instrument string    `json:"instrument"`
	Serial     string    `json:"serial,omitempty"`
	Aim        string    `json:"aim"`
	Profile    string    `json:"profile"` // file name

	// The white with the curves in force: CIE 1931, the standard deviation of
	// u' and of v', and the distance from the aim in u'v'. A standard deviation
	// of 0 means that the noise is not known.
	WhiteX        float64 `json:"white_x"`
	WhiteY        float64 `json:"white_y"`
	WhiteSpreadUV float64 `json:"white_spread_uv"`
	WhiteDeltaUV  float64 `json:"white_delta_uv"`
	// LuminanceSpread is a standard deviation too, as a share of the luminance.
	LuminanceCdM2   float64 `json:"luminance_cd_m2"`
	LuminanceSpread float64 `json:"luminance_spread"`
	BlackCdM2       float64 `json:"black_cd_m2"`

	ProfileAccuracy *Figures `json:"profile_accuracy,omitempty"` // relative, as read
	AimBefore       *Figures `json:"aim_before,omitempty"`       // absolute, as read
	AimAfter        *Figures `json:"aim_after,omitempty"`
}

// Figures is the short form of an accuracy: CIEDE2000 units.
type Figures struct {
	Mean       float64 `json:"mean"`
	P95        float64 `json:"p95"`
	Max        float64 `json:"max"`
	Count      int     `json:"count"`
	Averages   int     `json:"averages"`
	NoiseFloor float64 `json:"noise_floor"` // of the mean, 0 where it is not known
}

// FiguresOf returns the short form of a.
func FiguresOf(a verify.Accuracy) *Figures {
	d := a.DeltaE2000
	return &Figures{Mean: d.Mean, P95: d.P95, Max: d.Max, Count: d.Count, Averages: a.Averages, NoiseFloor: a.NoiseFloor.Mean}
}

func (e Entry) uv() colorimetry.UV {
	return colorimetry.Chromaticity{X: e.WhiteX, Y: e.WhiteY}.UV()
}

// Append adds e to the history at path, which it makes where there is none,
// unless an entry of the same run is there already. It returns the entries that
// were there before and whether it added one. It waits up to five seconds for the lock beside the file, path + ".lock".
//
// It is an error if the history cannot be read strictly or if e lacks a run
// id, a time, or a white that is light: the file is then as it was.
func Append(path string, e Entry) (before []Entry, added bool, err error) {
	e.Version = Version
	if err := e.check(); err != nil {
		return nil, false, fmt.Errorf("history: the new entry: %w", err)
	}
	line, err := json.Marshal(e)
	if err != nil {
		return nil, false, fmt.Errorf("history: the new entry: %w", err)
	}
	lock, old, entries, err := open(path)
	if err != nil {
		return nil, false, err
	}
	defer func() { err = errors.Join(err, lock.Release()) }()
	for _, have := range entries {
		if have.Run == e.Run {
			return entries, false, nil
		}
	}
	if len(old) > 0 && old[len(old)-1] != '\n' {
		old = append(old, '\n')
	}
	err = keep.ReplaceFile(path, func(w io.Writer) error {
		_, err := w.Write(append(append(old, line...), '\n'))
		return err
	})
	if err != nil {
		return nil, false, fmt.Errorf("history: %w", err)
	}
	return entries, true, nil
}

// Check reports what would keep Append from adding to the history at path, so
// that nobody measures for an hour first. A history that is not there yet is
// fine.
func Check(path string) error {
	lock, _, _, err := open(path)
	if err != nil {
		return err
	}
	return lock.Release()
}

// open takes the lock of the history at path and reads it.
func open(path string) (lock *keep.RunLock, old []byte, entries []Entry, err error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	if lock, err = keep.LockWait(ctx, path+".lock"); err != nil {
		if ctx.Err() != nil {
			err = fmt.Errorf("%s is held by another run: %w; wait for it", path, err)
		} else {
			err = fmt.Errorf("%s cannot be written: %w; give another file", path, err)
		}
		return nil, nil, nil, fmt.Errorf("history: %w", err)
	}
	old, err = keep.ReadFile(path, maxBytes)
	if err == nil || errors.Is(err, fs.ErrNotExist) {
		entries, err = Read(bytes.NewReader(old))
	}
	if err != nil {
		return nil, nil, nil, errors.Join(fmt.Errorf("%w; mend or move %s, nothing was written to it", err, path), lock.Release())
	}
	return lock, old, entries, nil
}

// Read reads a history, at most 16 MiB, in the order of its lines; empty lines
// are passed over. The error names the line and what is wrong with it.
func Read(r io.Reader) ([]Entry, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	if len(b) > maxBytes {
		return nil, fmt.Errorf("history: more than %d MiB; this is no history of displays", maxBytes>>20)
	}
	var entries []Entry
	seen := map[string]int{}
	n := 0
	for line := range bytes.Lines(b) {
		n++
		line = bytes.TrimSpace(line)
		if len(line) == 0 {
			continue
		}
		var e Entry
		if err := keep.StrictJSON(bytes.NewReader(line), &e, maxLine); err != nil {
			var j *keep.JSONError
			if errors.As(err, &j) { // its own line number counts within the entry
				return nil, fmt.Errorf("history: line %d: %s", n, j.Problem)
			}
			return nil, fmt.Errorf("history: line %d: %w", n, err)
		}
		if err := e.check(); err != nil {
			return nil, fmt.Errorf("history: line %d: %w", n, err)
		}
		if first, twice := seen[e.Run]; twice {
			return nil, fmt.Errorf("history: line %d repeats run %q of line %d; one of them must go", n, e.Run, first)
		}
		seen[e.Run] = n
		entries = append(entries, e)
	}
	return entries, nil
}

// check holds an entry against what every reader may rely on.
func (e Entry) check() error {
	switch {
	case e.Version != Version:
		return fmt.Errorf("version is %d; this program knows version %d", e.Version, Version)
	case strings.TrimSpace(e.Run) == "":
		return errors.New("run has no id")
	case e.Time.IsZero():
		return errors.New("time is missing")
	case e.Display == "":
		return errors.New("display has no name")
	}
	for _, f := range []struct {
		name  string
		value float64
		above bool // must be above 0, not only at or above it
	}{
		{"white_x", e.WhiteX, true}, {"white_y", e.WhiteY, true}, {"luminance_cd_m2", e.LuminanceCdM2, true},
		{"white_spread_uv", e.WhiteSpreadUV, false}, {"white_delta_uv", e.WhiteDeltaUV, false},
		{"luminance_spread", e.LuminanceSpread, false}, {"black_cd_m2", e.BlackCdM2, false},
	} {
		if math.IsInf(f.value, 0) || !(f.value >= 0) || f.above && f.value == 0 {
			return fmt.Errorf("%s is %g; it must be a number %s 0", f.name, f.value, map[bool]string{true: "above", false: "not below"}[f.above])
		}
	}
	if e.WhiteX+e.WhiteY > 1 {
		return fmt.Errorf("white_x and white_y are %g and %g, which is no chromaticity", e.WhiteX, e.WhiteY)
	}
	return nil
}
