package measure

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// readings takes a number of greys and fails the test where one fails.
func readings(t *testing.T, s *Session, n int) {
	t.Helper()
	for i := range n {
		if _, err := s.Read(context.Background(), grey(float64(i)/16)); err != nil {
			t.Fatal(err)
		}
	}
}

// untouched returns the readings of an undisturbed run of n greys.
func untouched(t *testing.T, n int) []Reading {
	t.Helper()
	s := newRig().open(t)
	readings(t, s, n)
	return s.Readings()
}

func TestFaultHungInstrument(t *testing.T) {
	r := newRig()
	s := r.open(t)
	readings(t, s, 2)
	release := make(chan struct{})
	r.instrument.fail = func(context.Context, Request) error { <-release; return nil } // heeds no context
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Millisecond)
	defer cancel()
	began := time.Now()
	_, err := s.Read(ctx, grey(2.0/16))
	if !errors.Is(err, context.DeadlineExceeded) || time.Since(began) > 5*time.Second {
		t.Fatalf("%v after %v", err, time.Since(began))
	}
	rec, err := ReadJournal(r.journal.Lines())
	if err != nil || len(rec.Readings) != 2 {
		t.Fatalf("%d readings are kept, %v", len(rec.Readings), err)
	}
	// While the call hangs no other is made.
	ctx2, cancel2 := context.WithTimeout(context.Background(), 30*time.Millisecond)
	defer cancel2()
	calls := len(r.display.log)
	if _, err := s.Read(ctx2, grey(2.0/16)); !errors.Is(err, context.DeadlineExceeded) || len(r.display.log) != calls {
		t.Fatalf("%v, display called %d times", err, len(r.display.log)-calls)
	}
	// Another process resumes.
	again, err := Open(context.Background(), newRig().resume(r.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	readings(t, again, 4)
	if !reflect.DeepEqual(again.Readings(), untouched(t, 4)) {
		t.Error("the resumed run differs from one that was never disturbed")
	}
	// And where the device comes back, the same session goes on.
	close(release)
	if got, err := s.Read(context.Background(), grey(2.0/16)); err != nil || got.Index != 2 {
		t.Errorf("%+v, %v", got, err)
	}
}

func TestFaultTimeout(t *testing.T) {
	r := newRig()
	setup := r.setup()
	setup.Timeout = 20 * time.Millisecond
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	release := make(chan struct{})
	defer close(release)
	r.instrument.fail = func(context.Context, Request) error { <-release; return nil }
	_, err = s.Read(context.Background(), grey(1))
	var de *DeviceError
	if !errors.Is(err, ErrTimeout) || !errors.As(err, &de) || de.Device != "instrument" {
		t.Errorf("hung instrument: %v", err)
	}
	if _, err = s.Read(context.Background(), grey(1)); !errors.Is(err, ErrTimeout) || !errors.As(err, &de) || de.Device != "screen" {
		t.Errorf("the next call: %v", err)
	}
}

func TestFaultInterruptedWhileSettling(t *testing.T) {
	r := newRig()
	s := r.open(t)
	readings(t, s, 1)
	ctx, cancel := context.WithCancel(context.Background())
	r.display.fail = func(string) error { cancel(); return nil } // shown, then interrupted
	if _, err := s.Read(ctx, grey(1.0/16)); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	if _, err := s.Read(ctx, grey(1.0/16)); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	if err := s.Rest(ctx, time.Second); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	if err := s.SetControl(ctx, Brightness, 3); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	r.display.fail = nil
	if _, err := s.Read(context.Background(), grey(0.9)); err == nil {
		t.Error("another patch was read in place of the one begun")
	}
	if err := s.LoadCurves(context.Background(), tone.Channels{}); err == nil {
		t.Error("curves were changed between a patch and its reading")
	}
	if got, err := s.Read(context.Background(), grey(1.0/16)); err != nil || got.Index != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	again, err := Open(context.Background(), newRig().resume(r.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	readings(t, again, 2)
	if !reflect.DeepEqual(again.Readings(), s.Readings()) {
		t.Error("a patch line without its reading disturbs the replay")
	}
}

func TestFaultPassingTrouble(t *testing.T) {
	r := newRig()
	s := r.open(t)
	left := 3
	r.instrument.fail = func(_ context.Context, want Request) error {
		if want.Repeat == 1 && left > 0 {
			left--
			return fmt.Errorf("line noise: %w", ErrTransient)
		}
		return nil
	}
	ask := grey(1)
	ask.Averages = 3
	before := r.display.clock.now
	got, err := s.Read(context.Background(), ask)
	if err != nil || !slices.Contains(got.Flags, FlagRetried) || len(got.Repeats) != 3 {
		t.Fatalf("%+v, %v", got, err)
	}
	if paused := r.display.clock.now.Sub(before); paused < 3*retryPause {
		t.Errorf("three tries again within %v", paused)
	}
	again, err := Open(context.Background(), newRig().resume(r.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	if replayed, err := again.Read(context.Background(), ask); err != nil || !reflect.DeepEqual(replayed, got) {
		t.Errorf("replayed as %+v, %v", replayed, err)
	}
	left, r.instrument.calls = math.MaxInt, 0
	_, err = s.Read(context.Background(), ask)
	var de *DeviceError
	if !errors.Is(err, ErrTransient) || !errors.As(err, &de) || r.instrument.calls != 1+4 {
		t.Errorf("endless trouble: %v after %d calls", err, r.instrument.calls)
	}
}

func TestFaultLastingTrouble(t *testing.T) {
	bad := map[string]func(r *rig){
		"instrument": func(r *rig) { r.instrument.fail = func(context.Context, Request) error { return errBroken } },
		"screen": func(r *rig) {
			r.display.fail = func(call string) error {
				if strings.HasPrefix(call, "show") {
					return errBroken
				}
				return nil
			}
		},
		"controls": func(r *rig) {
			r.display.fail = func(call string) error {
				if strings.HasPrefix(call, Brightness) {
					return errBroken
				}
				return nil
			}
		},
	}
	for name, spoil := range bad {
		r := newRig()
		s := r.open(t)
		readings(t, s, 2)
		spoil(r)
		var err error
		if name == "controls" {
			err = s.SetControl(context.Background(), Brightness, 7)
		} else {
			_, err = s.Read(context.Background(), grey(2.0/16))
		}
		var de *DeviceError
		if !errors.Is(err, errBroken) || !errors.As(err, &de) || de.Device != name {
			t.Errorf("%s: %v", name, err)
		}
		if s.Controls()[0].Now != 80 {
			t.Errorf("%s: a control that was not set counts as set", name)
		}
		again, err := Open(context.Background(), newRig().resume(r.journal.Lines()))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		readings(t, again, 4)
		if !reflect.DeepEqual(again.Readings(), untouched(t, 4)) {
			t.Errorf("%s: the resumed run differs", name)
		}
	}
}

// lyingInstrument returns what is no light.
type lyingInstrument struct{ fakeInstrument }

func (l *lyingInstrument) Measure(context.Context, Request) (Sample, error) {
	return Sample{XYZ: colorimetry.XYZ{X: 1, Y: math.NaN(), Z: 1}}, nil
}

func TestFaultGarbage(t *testing.T) {
	r := newRig()
	setup := r.setup()
	setup.Instrument = &lyingInstrument{*r.instrument}
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	var de *DeviceError
	if _, err := s.Read(context.Background(), grey(1)); !errors.As(err, &de) || len(s.Readings()) != 0 {
		t.Errorf("%v", err)
	}
}

// A journal that fails stops the run with an error, and the run resumes from
// what it took as if nothing had happened.
func TestFaultJournalFails(t *testing.T) {
	for appends := range 8 {
		for _, syncs := range []int{-1, 0, 1, 2, 3} {
			r := newRig()
			j := &brokenJournal{appends: appends, syncs: syncs}
			setup := r.setup()
			setup.Journal = j
			var taken int
			s, err := Open(context.Background(), setup)
			for i := 0; err == nil && i < 6; i++ {
				var got Reading
				got, err = s.Read(context.Background(), grey(float64(i)/16))
				if err == nil || len(got.Repeats) > 0 {
					taken++
				}
			}
			var de *DeviceError
			if !errors.Is(err, errBroken) || !errors.As(err, &de) || de.Device != "journal" {
				t.Fatalf("%d lines, %d syncs: %v", appends, syncs, err)
			}
			if s != nil {
				calls := r.instrument.calls
				if _, err := s.Read(context.Background(), grey(0.5)); !errors.Is(err, errBroken) || r.instrument.calls != calls {
					t.Errorf("%d lines, %d syncs: it goes on: %v", appends, syncs, err)
				}
				if err := s.Note("x", 1); !errors.Is(err, errBroken) {
					t.Errorf("a note was taken: %v", err)
				}
				if len(s.Readings()) != taken {
					t.Errorf("%d lines, %d syncs: %d readings in hand, %d taken", appends, syncs, len(s.Readings()), taken)
				}
			}
			again, err := Open(context.Background(), newRig().resume(j.Lines()))
			if err != nil {
				t.Fatalf("%d lines, %d syncs: %v", appends, syncs, err)
			}
			readings(t, again, 6)
			if !reflect.DeepEqual(again.Readings(), untouched(t, 6)) {
				t.Errorf("%d lines, %d syncs: the resumed run differs", appends, syncs)
			}
		}
	}
}

func TestFaultEditedJournal(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	readings(t, s, 4)
	good := r.journal.Lines()
	if _, err := ReadJournal(good); err != nil {
		t.Fatal(err)
	}
	edit := func(line int, old, new string) [][]byte {
		lines := copyLines(good)
		if !bytes.Contains(lines[line], []byte(old)) {
			t.Fatalf("line %d holds no %s: %s", line+1, old, lines[line])
		}
		lines[line] = bytes.Replace(lines[line], []byte(old), []byte(new), 1)
		return lines
	}
	last := len(good) - 1
	cases := []struct {
		name  string
		line  int
		lines [][]byte
	}{
		{"a digit of a reading", 3, edit(2, `"Y":0`, `"Y":1`)},
		{"a digit of the last reading", last + 1, edit(last, `"index":3`, `"index":2`)},
		{"a stage", 2, edit(1, `"charts"`, `"proof"`)},
		{"the seed", 1, edit(0, `"seed":5`, `"seed":6`)},
		{"a space", 3, edit(2, `,`, `, `)},
		{"an unknown field", 3, edit(2, `"index"`, `"colour":1,"index"`)},
		{"a double field", 3, edit(2, `"index":0,`, `"index":0,"index":0,`)},
		{"a field in capitals", 3, edit(2, `"index"`, `"INDEX"`)},
		{"two entries on a line", 3, edit(2, `{"sum"`, `{"sum":""}{"sum"`)},
		{"a cut line that is not the last", 3, slices.Concat(good[:2], [][]byte{good[2][:40]}, good[3:])},
		{"an empty line", 3, slices.Concat(good[:2], [][]byte{{}}, good[2:])},
		{"a lost line", 3, slices.Concat(good[:2], good[3:])},
		{"a lost pair of lines", 2, slices.Concat(good[:1], good[3:])},
		{"swapped lines", 4, slices.Concat(good[:3], [][]byte{good[4], good[3]}, good[5:])},
		{"a line twice", 4, slices.Concat(good[:3], good[2:])},
		{"no header", 1, good[1:]},
		{"two headers", 2, slices.Concat(good[:1], good)},
		{"a long line", 3, slices.Concat(good[:2], [][]byte{bytes.Repeat([]byte("x"), maxLine+1)}, good[2:])},
		{"not JSON at all", 1, [][]byte{[]byte("hello"), good[1]}},
		{"a JSON of other kind", 1, [][]byte{[]byte("[1,2]"), good[1]}},
	}
	for _, c := range cases {
		_, err := Open(ctx, newRig().resume(c.lines))
		var je *JournalError
		if !errors.As(err, &je) || je.Line != c.line || je.Remedy == "" {
			t.Errorf("%s: %v, want an error about line %d", c.name, err, c.line)
		}
	}
}

// Every prefix of the last line, and what a crash of the file system can leave
// in its place, is dropped; what is left is replayed.
func TestFaultTornJournal(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	readings(t, s, 2)
	good := r.journal.Lines()
	for at, line := range good {
		for n := range len(line) {
			rec, err := ReadJournal(append(copyLines(good[:at]), line[:n]))
			if err != nil || !rec.Torn || len(rec.Readings) != max(0, at-1)/2 {
				t.Fatalf("line %d cut to %d bytes: %d readings, torn %v, %v", at+1, n, len(rec.Readings), rec.Torn, err)
			}
		}
	}
	zeros := append(copyLines(good), make([]byte, 512))
	again, err := Open(ctx, newRig().resume(zeros))
	if err != nil {
		t.Fatal(err)
	}
	if !again.Replaying() {
		t.Error("nothing is replayed")
	}
	for _, nothing := range [][][]byte{nil, {}, {{}}, {good[0][:30]}} {
		rec, err := ReadJournal(nothing)
		if err != nil || rec.Header.Version != 0 {
			t.Errorf("%q: %+v, %v", nothing, rec.Header, err)
		}
	}
}

// WCAG 2.3.1 and ITU-R BT.1702 allow three flashes, pairs of opposed changes,
// in a second; a session keeps to fewer than three changes, whatever the screen
// says of its speed and however often it is interrupted.
func TestFlashLaw(t *testing.T) {
	r := newRig()
	setup := r.setup()
	setup.Screen = fastScreen{r.display}
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	r.instrument.fail = func(context.Context, Request) error {
		r.display.clock.now = r.display.clock.now.Add(-time.Second) // integrates in no time
		return nil
	}
	ctx, cancel := context.WithCancel(context.Background())
	for i := range 40 {
		if i%5 == 4 { // interrupted as soon as the patch is visible
			ctx2, cancel2 := context.WithCancel(ctx)
			r.display.fail = func(string) error { cancel2(); return nil }
			if _, err := s.Read(ctx2, grey(float64(i%2))); !errors.Is(err, context.Canceled) {
				t.Fatal(err)
			}
			cancel2()
			r.display.fail = nil
		}
		if _, err := s.Read(ctx, grey(float64(i%2))); err != nil {
			t.Fatal(err)
		}
	}
	cancel()
	at := r.display.shownAt
	for i := 3; i < len(at); i++ {
		if at[i].Sub(at[i-3]) < time.Second {
			t.Fatalf("four changes within %v", at[i].Sub(at[i-3]))
		}
	}
	if first := at[0].Sub(r.display.start); first < Dwell {
		t.Errorf("the first patch came %v after what stood there before", first)
	}
}

// fastScreen claims to settle in a millisecond.
type fastScreen struct{ *fakeDisplay }

func (f fastScreen) Screen() ScreenInfo {
	i := f.fakeDisplay.Screen()
	i.SettleMS = 1
	return i
}

func TestSettleTime(t *testing.T) {
	r := newRig()
	s := r.open(t)
	if got := s.settleTime(colorimetry.Gray(0.5)); got != 3*defaultSettle+afterChange {
		t.Errorf("after nobody knows what: %v", got)
	}
	readings(t, s, 17) // up to white
	up, down, far := s.settleTime(colorimetry.Gray(1)), s.settleTime(colorimetry.Gray(0.5)), s.settleTime(colorimetry.RGB{})
	if up != defaultSettle || !(down > up) || far != 3*defaultSettle {
		t.Errorf("from white to white %v, to grey %v, to black %v", up, down, far)
	}
	if err := s.SetControl(context.Background(), Brightness, 50); err != nil {
		t.Fatal(err)
	}
	if got := s.settleTime(colorimetry.Gray(1)); got != up+afterChange {
		t.Errorf("after a control %v", got)
	}
}

// A machine's clock that goes back does not take the run's time with it.
func TestFaultClockGoesBack(t *testing.T) {
	r := newRig()
	s := r.open(t)
	readings(t, s, 3)
	r.display.clock.now = r.display.clock.now.Add(-time.Hour)
	readings(t, s, 3)
	all := s.Readings()
	for i := 1; i < len(all); i++ {
		if all[i].Time.Before(all[i-1].Time) {
			t.Errorf("reading %d was taken before the one before it", i)
		}
	}
}
