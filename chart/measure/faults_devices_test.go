package measure_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// bench is a display with devices that faults happen to.
type bench struct {
	display    *simulate.Display
	screen     measure.Screen
	instrument measure.Instrument
	journal    *measure.Memory
}

func newBench(instrument, screen []simulate.Fault) *bench {
	d := simulate.Invented(simulate.CoupledLCD, simulate.Options{Seed: 4})
	b := &bench{display: d, screen: d, instrument: d.Colorimeter(), journal: &measure.Memory{}}
	if len(instrument) > 0 {
		b.instrument = simulate.Faulty(b.instrument, instrument...)
	}
	if len(screen) > 0 {
		b.screen = simulate.FaultyScreen(d, screen...)
	}
	return b
}

// open opens a session, going on with lines.
func (b *bench) open(t testing.TB, lines [][]byte) *measure.Session {
	t.Helper()
	b.journal = measure.NewMemory(lines)
	s, err := measure.Open(context.Background(), measure.Setup{Screen: b.screen, Instrument: b.instrument, Clock: b.display.Clock(),
		Journal: b.journal, Replay: lines, Timeout: 300 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// someGreys are read in every run here.
func someGreys() []chart.Patch { return chart.Number(chart.Neutral(12), "g") }

// asUndisturbed checks that a run, resumed on sound devices from lines, ends as
// one that nothing happened to.
func asUndisturbed(t *testing.T, lines [][]byte) {
	t.Helper()
	read := func(lines [][]byte) []measure.Reading {
		got, err := newBench(nil, nil).open(t, lines).ReadSet(context.Background(), measure.StageCharts, someGreys(), 2)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	if got, want := read(lines), read(nil); fmt.Sprint(got) != fmt.Sprint(want) {
		t.Error("the resumed run differs from one that was never disturbed")
	}
}

// A cable that falls out, a device that hangs, one that crashes the program and
// one that reads no number: each ends in an error that names the device, and
// nothing read before is lost.
func TestFaultDevices(t *testing.T) {
	type fault = simulate.Fault
	for name, c := range map[string]struct {
		instrument, screen []fault
		device             string
		is                 error
	}{
		"instrument unplugged": {instrument: []fault{{Kind: simulate.Disconnects, Reading: 5}}, device: "instrument", is: simulate.ErrDisconnected},
		"screen unplugged":     {screen: []fault{{Kind: simulate.Disconnects, Reading: 5}}, device: "screen", is: simulate.ErrDisconnected},
		"instrument hangs":     {instrument: []fault{{Kind: simulate.Hangs, Reading: 5}}, device: "instrument", is: measure.ErrTimeout},
		"screen hangs":         {screen: []fault{{Kind: simulate.Hangs, Reading: 5}}, device: "screen", is: measure.ErrTimeout},
		"not a number":         {instrument: []fault{{Kind: simulate.NotANumber, Reading: 5}}, device: "instrument"},
		"infinity":             {instrument: []fault{{Kind: simulate.Infinite, Reading: 5}}, device: "instrument"},
		"every sample lost":    {instrument: []fault{{Kind: simulate.Drops, Reading: 5}}, device: "instrument", is: measure.ErrTransient},
	} {
		b := newBench(c.instrument, c.screen)
		s := b.open(t, nil)
		got, err := s.ReadSet(context.Background(), measure.StageCharts, someGreys(), 2)
		var de *measure.DeviceError
		if !errors.As(err, &de) || de.Device != c.device || c.is != nil && !errors.Is(err, c.is) || len(got) != 5 {
			t.Errorf("%s: %d readings, %v", name, len(got), err)
		}
		asUndisturbed(t, b.journal.Lines())
		// Plugged in again, the same session goes on.
		if r, ok := b.instrument.(simulate.Reconnector); ok && errors.Is(c.is, simulate.ErrDisconnected) {
			r.Reconnect()
			if _, err := s.Read(context.Background(), measure.ReadRequest{Stage: measure.StageCharts, Patch: someGreys()[5], Averages: 2}); err != nil {
				t.Errorf("%s: plugged in again: %v", name, err)
			}
		}
	}
}

// An instrument that lies without saying so is found by the watch: by what it
// looks like, since readings are all that there is.
func TestFaultLyingInstrument(t *testing.T) {
	for _, f := range []simulate.Fault{
		{Kind: simulate.Slips, Reading: 60, Readings: -1},
		{Kind: simulate.WrongUnit, Reading: 60, Readings: -1},
		{Kind: simulate.Saturates, Reading: 60, Readings: -1, CdM2: 60},
		{Kind: simulate.Negative, Reading: 60, Readings: -1},
	} {
		b := newBench([]simulate.Fault{f}, nil)
		s := b.open(t, nil)
		look, err := measure.Inspect(context.Background(), s, measure.InspectOptions{})
		if err != nil {
			t.Fatal(err)
		}
		_, err = s.ReadChart(context.Background(), measure.StageCharts, watched(1), measure.ChartOptions{Watch: &look})
		if got := found(err); got == "" || got[0] == '?' {
			t.Errorf("%s: %v", f.Kind, err)
		} else {
			t.Logf("%s is told as: %s", f.Kind, got)
		}
	}
}

// A screen that says it shows and does not is found, by its standing still.
func TestFaultScreenStandsStill(t *testing.T) {
	t.Parallel()
	for shown := range seeds(6) {
		b := newBench(nil, []simulate.Fault{{Kind: simulate.Ignores, Reading: 40 + 9*int(shown), Readings: -1}})
		s := b.open(t, nil)
		look, err := measure.Inspect(context.Background(), s, measure.InspectOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err = s.ReadChart(context.Background(), measure.StageCharts, watched(1), measure.ChartOptions{Watch: &look}); found(err) != measure.PatchNotShown {
			t.Errorf("from patch %d on: %v", 40+9*shown, err)
		}
		sound := newBench(nil, nil)
		s = sound.open(t, b.journal.Lines())
		if look, err = measure.Inspect(context.Background(), s, measure.InspectOptions{}); err != nil {
			t.Fatal(err)
		}
		got, err := s.ReadChart(context.Background(), measure.StageCharts, watched(1), measure.ChartOptions{Watch: &look})
		if err != nil || len(got.Mended) != 1 {
			t.Errorf("mended: %v, %v", got.Mended, err)
		}
	}
}

// Two runs on one journal: the second is refused while the first has it open,
// and goes on with all of it afterwards.
func TestFaultTwoRunsOnOneJournal(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	begun, _, err := keep.OpenJournal(path)
	if err != nil {
		t.Fatal(err)
	}
	open := func(j measure.Journal, lines [][]byte) *measure.Session {
		b := newBench(nil, nil)
		s, err := measure.Open(context.Background(), measure.Setup{Screen: b.screen, Instrument: b.instrument, Clock: b.display.Clock(), Journal: j, Replay: lines})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	read := func(s *measure.Session, i int) measure.Reading {
		t.Helper()
		r, err := s.Read(context.Background(), measure.ReadRequest{Patch: someGreys()[i]})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	first := open(begun, nil)
	read(first, 0)
	if other, _, err := keep.OpenJournal(path); !errors.Is(err, keep.ErrLocked) {
		if err == nil {
			err = other.Close()
		}
		t.Errorf("a second run opens the journal of the first: %v", err)
	}
	want := read(first, 1)
	if err := begun.Close(); err != nil {
		t.Fatal(err)
	}
	later, lines, err := keep.OpenJournal(path)
	if err != nil {
		t.Fatal(err)
	}
	second := open(later, lines)
	read(second, 0)
	if got := read(second, 1); got.Raw != want.Raw || !got.Time.Equal(want.Time) {
		t.Errorf("the second run goes on with %+v, want %+v", got, want)
	}
	if err := later.Close(); err != nil {
		t.Fatal(err)
	}
}

// A file that was edited anywhere gives an error about a line, or, at its very
// end, loses what was last: never other readings.
func TestFaultEditedFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	j, _, err := keep.OpenJournal(path)
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(nil, nil)
	s, err := measure.Open(context.Background(), measure.Setup{Screen: b.screen, Instrument: b.instrument, Clock: b.display.Clock(), Journal: j})
	if err != nil {
		t.Fatal(err)
	}
	want, err := s.ReadSet(context.Background(), measure.StageCharts, someGreys(), 2)
	if err != nil {
		t.Fatal(err)
	}
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	refused := 0
	for range 300 {
		edited := bytes.Clone(whole)
		at := rng.IntN(len(edited))
		edited[at] ^= 1 << rng.IntN(7)
		if err := os.WriteFile(path, edited, 0o600); err != nil {
			t.Fatal(err)
		}
		lines, _, err := keep.ReadJournal(path)
		if err != nil {
			refused++
			continue
		}
		record, err := measure.ReadJournal(lines)
		var je *measure.JournalError
		switch {
		case errors.As(err, &je) && je.Remedy != "":
			refused++
		case err != nil:
			t.Fatalf("byte %d: %v", at, err)
		default:
			for i, r := range record.Readings {
				if r.Raw != want[i].Raw || r.Patch != want[i].Patch || !r.Time.Equal(want[i].Time) {
					t.Fatalf("byte %d: reading %d is another", at, i)
				}
			}
			if len(record.Readings) < len(want)-1 {
				t.Fatalf("byte %d: %d readings of %d are left without an error", at, len(record.Readings), len(want))
			}
		}
	}
	t.Logf("%d of 300 edited files are refused", refused)
}

// movedClock is a machine's clock that was set back between two runs.
type movedClock struct {
	measure.Clock
	by time.Duration
}

func (m movedClock) Now() time.Time { return m.Clock.Now().Add(m.by) }

// A run that is resumed before it began, by a clock that was set back, keeps its
// readings in the order of time.
func TestFaultClockSetBackBetweenRuns(t *testing.T) {
	b := newBench(nil, nil)
	s := b.open(t, nil)
	if _, err := s.ReadSet(context.Background(), measure.StageCharts, someGreys()[:6], 1); err != nil {
		t.Fatal(err)
	}
	lines := b.journal.Lines()
	again := newBench(nil, nil)
	journal := measure.NewMemory(lines)
	s, err := measure.Open(context.Background(), measure.Setup{Screen: again.screen, Instrument: again.instrument,
		Clock: movedClock{again.display.Clock(), -48 * time.Hour}, Journal: journal, Replay: lines})
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.ReadSet(context.Background(), measure.StageCharts, someGreys(), 1)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(got); i++ {
		if got[i].Time.Before(got[i-1].Time) {
			t.Errorf("reading %d is of %v, the one before of %v", i, got[i].Time, got[i-1].Time)
		}
	}
	if _, err := measure.ReadJournal(journal.Lines()); err != nil {
		t.Error(err)
	}
	if _, err := measure.FitDrift(got, measure.DriftOptions{Anchors: []colorimetry.RGB{{}}, Least: 2}); err == nil {
		t.Error("one black is an anchor")
	}
}
