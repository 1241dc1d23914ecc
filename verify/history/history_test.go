package history_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart/keep"
	"example.org/primaries/verify"
	"example.org/primaries/verify/history"
)

// entry is a run so many days after the first of November 2026.
func entry(run string, days float64) history.Entry {
	return history.Entry{
		Version: 1, Run: run, Time: time.Date(2026, 11, 1, 10, 0, 0, 0, time.UTC).Add(time.Duration(days * 24 * float64(time.Hour))),
		Display: "studio", Mode: "native", Instrument: "colorimeter", Aim: "D65-100-2.2", Profile: run + ".icc",
		WhiteX: 0.3127, WhiteY: 0.3290, WhiteSpreadUV: 0.0002, WhiteDeltaUV: 0.0004,
		LuminanceCdM2: 100, LuminanceSpread: 0.002, BlackCdM2: 0.05,
		ProfileAccuracy: &history.Figures{Mean: 0.4, P95: 0.9, Max: 1.2, Count: 120, Averages: 4, NoiseFloor: 0.2},
	}
}

func TestAppendOnceARun(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.jsonl")
	for i, e := range []history.Entry{entry("a", 0), entry("b", 30), entry("a", 60)} {
		_, added, err := history.Append(path, e)
		if err != nil || added != (i < 2) {
			t.Fatalf("entry %d: added %v, %v", i, added, err)
		}
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	got, err := history.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]history.Entry{entry("a", 0), entry("b", 30)}, got); d != "" {
		t.Error(d)
	}
}

// TestAppendTogether: runs that end at the same time lose no line.
func TestAppendTogether(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.jsonl")
	lock, err := keep.Lock(path + ".lock")
	if err != nil {
		t.Fatal(err)
	}
	if second, err := keep.Lock(path + ".lock"); err == nil {
		second.Release()
		lock.Release()
		t.Skip("this system has no file locks, as keep.Lock documents")
	}
	lock.Release()
	var wait sync.WaitGroup
	for i := range 12 {
		wait.Go(func() {
			if _, _, err := history.Append(path, entry(fmt.Sprint(i%6), float64(i))); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(b), "\n"); n != 6 {
		t.Errorf("%d lines, want 6", n)
	}
}

func TestAppendWaitsForTheLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.jsonl")
	lock, err := keep.Lock(path + ".lock")
	if err != nil {
		t.Fatal(err)
	}
	if second, err := keep.Lock(path + ".lock"); err == nil {
		second.Release()
		lock.Release()
		t.Skip("this system has no file locks, as keep.Lock documents")
	}
	done := make(chan error)
	go func() {
		_, _, err := history.Append(path, entry("a", 0))
		done <- err
	}()
	time.Sleep(50 * time.Millisecond)
	if _, err := os.Stat(path); err == nil {
		t.Error("the history was written without the lock")
	}
	lock.Release()
	if err := <-done; err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
}

// TestAppendKeepsTheFile: what cannot be read is not added to, and a last line
// without its newline is.
func TestAppendKeepsTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.jsonl")
	good, err := json.Marshal(entry("a", 0))
	if err != nil {
		t.Fatal(err)
	}
	broken := string(good) + "\n{\"version\":1,\"ru"
	if err := os.WriteFile(path, []byte(broken), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, _, err := history.Append(path, entry("b", 1)); err == nil || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("got %v, want an error that names line 2", err)
	}
	if b, _ := os.ReadFile(path); string(b) != broken {
		t.Errorf("the file was changed to %q", b)
	}
	if err := os.WriteFile(path, good, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, added, err := history.Append(path, entry("b", 1)); err != nil || !added {
		t.Errorf("added %v, %v", added, err)
	}
}

func TestReadStrictly(t *testing.T) {
	line := func(change func(*history.Entry)) string {
		e := entry("x", 0)
		change(&e)
		b, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	good := line(func(*history.Entry) {})
	for _, c := range []struct{ name, in, says string }{
		{"unknown field", strings.Replace(good, `"mode"`, `"mood"`, 1), "mood"},
		{"version", line(func(e *history.Entry) { e.Version = 2 }), "version"},
		{"no run", line(func(e *history.Entry) { e.Run = " " }), "run"},
		{"no time", line(func(e *history.Entry) { e.Time = time.Time{} }), "time"},
		{"no display", line(func(e *history.Entry) { e.Display = "" }), "display"},
		{"dark white", line(func(e *history.Entry) { e.LuminanceCdM2 = 0 }), "luminance_cd_m2"},
		{"no chromaticity", line(func(e *history.Entry) { e.WhiteX = 0.8 }), "chromaticity"},
		{"negative black", line(func(e *history.Entry) { e.BlackCdM2 = -1 }), "black_cd_m2"},
		{"twice", good, "repeats run"},
		{"binary", "\x00\xff", "line 3"},
		{"cut", good[:len(good)-9], "line 3"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := history.Read(strings.NewReader(good + "\n\n" + c.in + "\n"))
			if err == nil || !strings.Contains(err.Error(), "line 3") || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want an error that names line 3 and says %q", err, c.says)
			}
		})
	}
	if _, err := history.Read(strings.NewReader(strings.Repeat(" ", 17<<20))); err == nil {
		t.Error("17 MiB were read")
	}
}

func TestBadEntry(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.jsonl")
	bad := entry("a", 0)
	bad.LuminanceCdM2 = math.NaN()
	if _, _, err := history.Append(path, bad); err == nil || !strings.Contains(err.Error(), "luminance_cd_m2") {
		t.Errorf("got %v, want an error that names luminance_cd_m2", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("a file was made")
	}
}

func TestFiguresOf(t *testing.T) {
	var a verify.Accuracy
	a.DeltaE2000 = verify.Statistics{Mean: 1, P95: 2, Max: 3, Count: 4}
	a.Averages, a.NoiseFloor.Mean = 5, 0.5
	if d := cmp.Diff(&history.Figures{Mean: 1, P95: 2, Max: 3, Count: 4, Averages: 5, NoiseFloor: 0.5}, history.FiguresOf(a)); d != "" {
		t.Error(d)
	}
}

func FuzzRead(f *testing.F) {
	b, err := json.Marshal(entry("a", 0))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add([]byte("{}\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		entries, err := history.Read(strings.NewReader(string(b)))
		if err != nil {
			return
		}
		for _, e := range entries { // what was read can be used
			history.Compare(entries, e)
			if look := history.NextLook(entries, e); look.Reason == "" {
				t.Errorf("no reason for %+v", look)
			}
		}
	})
}
