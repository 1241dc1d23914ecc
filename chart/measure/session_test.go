package measure

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// story is a run whose every decision follows from readings: warm-up, pairs, a
// control, curves, charts.
func story(ctx context.Context, s *Session) error {
	warm, err := WarmUp(ctx, s, WarmUpOptions{Period: 4 * time.Minute, Interval: 20 * time.Second, Luminance: 0.01, UV: 0.002})
	if err != nil {
		return err
	}
	if err := s.Note("warm-up", warm.Reason); err != nil {
		return err
	}
	ref, err := s.Read(ctx, ReadRequest{Stage: StagePairs, Patch: white(), Averages: 2, Reference: true})
	if err != nil {
		return err
	}
	own, err := s.Read(ctx, ReadRequest{Stage: StagePairs, Patch: white(), Averages: 2})
	if err != nil {
		return err
	}
	s.SetCorrection(colorimetry.Diagonal(ref.XYZ.X/own.Raw.X, ref.XYZ.Y/own.Raw.Y, ref.XYZ.Z/own.Raw.Z))
	for step := 60; ; {
		if err := s.SetControl(ctx, Brightness, step); err != nil {
			return err
		}
		r, err := s.Read(ctx, ReadRequest{Stage: StageControls, Patch: white()})
		if err != nil {
			return err
		}
		if r.XYZ.Y < 70 {
			break
		}
		step -= 2
	}
	for pass := range 2 {
		first := s.Readings()[s.header.Seed].XYZ.Y // some function of readings
		curve := []float64{0, 0.5 - first/1e4 - float64(pass)/50, 1}
		c, err := tone.NewChannels(curve, curve, curve)
		if err != nil {
			return err
		}
		if err := s.LoadCurves(ctx, c); err != nil {
			return err
		}
		if _, err := s.ReadSet(ctx, StageCurves, ramp(5), 0); err != nil {
			return err
		}
		if err := s.Rest(ctx, 15*time.Second); err != nil {
			return err
		}
	}
	if _, err := s.ReadSet(ctx, StageCharts, []chart.Patch{white(), black(), white()}, 3); err != nil {
		return err
	}
	return s.Note("finished", true)
}

func TestReadOrder(t *testing.T) {
	r := newRig()
	s := r.open(t)
	var atShow, atMeasure int
	r.display.fail = func(string) error { atShow = len(r.journal.lines); return nil }
	r.instrument.fail = func(context.Context, Request) error { atMeasure = len(r.journal.lines); return nil }
	for i := range 3 {
		got, err := s.Read(context.Background(), ReadRequest{Stage: StageCharts, Patch: white(), Averages: 2})
		if err != nil {
			t.Fatal(err)
		}
		// Header, then a patch and a reading each.
		if want := 2 + 2*i; atShow != want || atMeasure != want || len(r.journal.lines) != want+1 {
			t.Errorf("reading %d: %d lines when shown, %d when measured, %d after; want %d, %d, %d", i, atShow, atMeasure, len(r.journal.lines), want, want, want+1)
		}
		if got.Index != i || len(got.Repeats) != 2 || got.Curves != "none" || got.XYZ != got.Raw || got.Time.IsZero() {
			t.Errorf("reading %d: %+v", i, got)
		}
	}
	if s.Now() != s.Readings()[2].Time {
		t.Error("Now is not the time of the latest reading")
	}
}

// The journal of a run that died at any line, or within one, must lead to the
// very same readings, on fresh hardware.
func TestResumeAnywhere(t *testing.T) {
	ctx := context.Background()
	whole := newRig()
	s := whole.open(t)
	if err := story(ctx, s); err != nil {
		t.Fatal(err)
	}
	want := s.Readings()
	lines := whole.journal.Lines()
	t.Logf("%d readings, %d lines", len(want), len(lines))
	for n := range len(lines) + 1 {
		for _, torn := range []bool{false, true} {
			r := newRig()
			cut := slices.Clone(lines[:n])
			setup := r.resume(cut)
			if torn {
				if n == len(lines) {
					continue
				}
				// The journal's file version has cut the torn line off; replay sees it.
				setup.Replay = append(cut, lines[n][:len(lines[n])*2/3])
			}
			s, err := Open(ctx, setup)
			if err != nil {
				t.Fatalf("after line %d: %v", n, err)
			}
			if err := story(ctx, s); err != nil {
				t.Fatalf("after line %d: %v", n, err)
			}
			if got := s.Readings(); !reflect.DeepEqual(got, want) {
				for i := range min(len(got), len(want)) {
					if !reflect.DeepEqual(got[i], want[i]) {
						t.Fatalf("after line %d, torn %v: %d readings, reading %d is\n%+v, want\n%+v", n, torn, len(got), i, got[i], want[i])
					}
				}
				t.Fatalf("after line %d, torn %v: %d readings, want %d", n, torn, len(got), len(want))
			}
			if s.header.Start != whole.display.start || s.Replaying() {
				t.Fatalf("after line %d: header %+v", n, s.header)
			}
			rec, err := ReadJournal(r.journal.Lines())
			if err != nil {
				t.Fatalf("after line %d, the new journal: %v", n, err)
			}
			if len(rec.Readings) != len(want) || len(rec.Notes) != 2 {
				t.Fatalf("after line %d the new journal holds %d readings and %d notes", n, len(rec.Readings), len(rec.Notes))
			}
		}
	}
}

// A finished run touches nothing.
func TestReplayTouchesNothing(t *testing.T) {
	ctx := context.Background()
	whole := newRig()
	if err := story(ctx, whole.open(t)); err != nil {
		t.Fatal(err)
	}
	r := newRig()
	s, err := Open(ctx, r.resume(whole.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	before := len(r.journal.lines)
	if err := story(ctx, s); err != nil {
		t.Fatal(err)
	}
	if len(r.display.log) != 0 || r.instrument.calls != 0 || r.reference.calls != 0 || r.display.clock.sleeps != 0 || len(r.journal.lines) != before {
		t.Errorf("a finished run touched the display %v, the instrument %d times, the clock %d times", r.display.log, r.instrument.calls, r.display.clock.sleeps)
	}
}

// Where the journal ends, controls come first, then curves, the last of each,
// then the last patch, and only then the next one.
func TestBringUpOrder(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	one, _ := tone.NewChannels([]float64{0, 0.4, 1}, []float64{0, 0.4, 1}, []float64{0, 0.4, 1})
	two, _ := tone.NewChannels([]float64{0, 0.6, 1}, []float64{0, 0.6, 1}, []float64{0, 0.6, 1})
	run := func(s *Session, last bool) {
		t.Helper()
		for _, step := range []func() error{
			func() error { return s.SetControl(ctx, Brightness, 10) },
			func() error { return s.LoadCurves(ctx, one) },
			func() error { _, err := s.Read(ctx, grey(0.25)); return err },
			func() error { return s.SetControl(ctx, Brightness, 20) },
			func() error { return s.LoadCurves(ctx, two) },
			func() error { _, err := s.Read(ctx, grey(0.5)); return err },
		} {
			if err := step(); err != nil {
				t.Fatal(err)
			}
		}
		if last {
			if _, err := s.Read(ctx, grey(0.75)); err != nil {
				t.Fatal(err)
			}
		}
	}
	run(s, false)
	again := newRig()
	s, err := Open(ctx, again.resume(r.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	run(s, true)
	want := []string{"brightness 20", "curves " + two.Digest(), "show {0.5 0.5 0.5}", "show {0.75 0.75 0.75}"}
	if !slices.Equal(again.display.log, want) {
		t.Errorf("the display saw %v, want %v", again.display.log, want)
	}
	// Once as the screen and once as the controls, which are one object here.
	if again.display.restored != 2 {
		t.Errorf("restored %d times", again.display.restored)
	}
	if got := s.Controls()[0].Now; got != 20 {
		t.Errorf("brightness is at %d", got)
	}
}

func TestHeaderMismatch(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	if _, err := s.Read(ctx, grey(1)); err != nil {
		t.Fatal(err)
	}
	lines := r.journal.Lines()
	cases := map[string]func(*Setup){
		"digest":     func(s *Setup) { s.Digest = "d2" },
		"seed":       func(s *Setup) { s.Seed++ },
		"instrument": func(s *Setup) { s.Instrument = s.Reference },
		"reference":  func(s *Setup) { s.Reference = nil },
		"controls":   func(s *Setup) { s.Controls = nil },
	}
	for name, spoil := range cases {
		setup := newRig().resume(lines)
		spoil(&setup)
		_, err := Open(ctx, setup)
		var je *JournalError
		if !errors.Is(err, ErrOtherRun) || !errors.As(err, &je) || je.Line != 1 || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	other := bytes.Replace(lines[0], []byte(`"version":1`), []byte(`"version":2,"colour":"mauve"`), 1)
	_, err := Open(ctx, newRig().resume([][]byte{other, lines[1]}))
	if !errors.Is(err, ErrOtherRun) || !strings.Contains(err.Error(), "version is 2") {
		t.Errorf("another version: %v", err)
	}
	setup := newRig().resume(lines)
	setup.Start, setup.RunID = setup.Start.Add(time.Hour), "mine"
	s2, err := Open(ctx, setup)
	if err != nil || s2.Header().Start != s.Header().Start || s2.Header().Run != s.Header().Run {
		t.Errorf("start and run id are to be the journal's: %+v, %v", s2.Header(), err)
	}
}

// A journal that goes on otherwise than the run is no journal of this run.
func TestReplayMismatch(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	if err := s.SetControl(ctx, Brightness, 50); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Read(ctx, grey(1)); err != nil {
		t.Fatal(err)
	}
	if err := s.SetControl(ctx, Brightness, 51); err != nil {
		t.Fatal(err)
	}
	open := func() *Session {
		s, err := Open(ctx, newRig().resume(r.journal.Lines()))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	check := func(what string, err error) {
		t.Helper()
		var je *JournalError
		if !errors.Is(err, ErrOtherRun) || !errors.As(err, &je) || je.Line < 2 {
			t.Errorf("%s: %v", what, err)
		}
	}
	_, err := open().Read(ctx, grey(1))
	check("no control first", err)
	check("another step", open().SetControl(ctx, Brightness, 49))
	check("curves", open().LoadCurves(ctx, tone.Channels{}))
	for name, req := range map[string]ReadRequest{
		"signal":   grey(0.5),
		"stage":    {Stage: StageProof, Patch: grey(1).Patch},
		"averages": {Stage: StageCharts, Patch: grey(1).Patch, Averages: 2},
		"channel":  {Stage: StageCharts, Patch: grey(1).Patch, Reference: true},
	} {
		s := open()
		if err := s.SetControl(ctx, Brightness, 50); err != nil {
			t.Fatal(err)
		}
		_, err := s.Read(ctx, req)
		check(name, err)
	}
	s = open()
	if err := s.SetControl(ctx, Brightness, 50); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Read(ctx, grey(1)); err != nil {
		t.Fatal(err)
	}
	_, err = s.Read(ctx, grey(1))
	check("a change after the last reading that is not made again", err)
}

func TestCorrection(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	m := colorimetry.Matrix{{1.1, 0.02, 0}, {0.01, 0.9, 0}, {0, 0.03, 1.2}}
	before, err := s.Read(ctx, grey(1))
	if err != nil {
		t.Fatal(err)
	}
	s.SetCorrection(m)
	after, err := s.Read(ctx, grey(1))
	if err != nil {
		t.Fatal(err)
	}
	reference, err := s.Read(ctx, ReadRequest{Stage: StagePairs, Patch: white(), Reference: true})
	if err != nil {
		t.Fatal(err)
	}
	if before.XYZ != before.Raw || after.XYZ != m.Apply(after.Raw) || reference.XYZ != reference.Raw || s.Correction() != m {
		t.Error("the correction is not that of all readings of the instrument from then on")
	}
	want := m.Mul(usualNoise.Covariance(after.Raw, 1)).Mul(m.Transpose())
	for i := range 3 {
		for j := range 3 {
			if d := after.Covariance[i][j] - want[i][j]; d*d > 1e-24 {
				t.Errorf("covariance %v, want %v", after.Covariance, want)
			}
		}
	}
}

// Without a CurveLoader the session applies the curves and quantises to the
// path's depth.
func TestCurvesByTheSession(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	setup := r.setup()
	setup.Screen, setup.Controls = plainScreen{r.display}, nil
	s, err := Open(ctx, setup)
	if err != nil {
		t.Fatal(err)
	}
	c, _ := tone.NewChannels([]float64{0, 0.4, 1}, []float64{0, 0.5, 1}, []float64{0, 0.6, 1})
	if err := s.LoadCurves(ctx, c); err != nil {
		t.Fatal(err)
	}
	got, err := s.Read(ctx, grey(0.3))
	if err != nil {
		t.Fatal(err)
	}
	if want := c.Apply(colorimetry.Gray(0.3)).Quantise(10); r.display.signal != want {
		t.Errorf("shown %v, want %v", r.display.signal, want)
	}
	if got.Curves != c.Digest() || got.Patch.Signal != colorimetry.Gray(0.3) {
		t.Errorf("%+v", got)
	}
	// Slope 0.8 over half of 1024 codes merges about a fifth of them, and the
	// straight green none: counted by hand.
	if lost := s.LostLevels(); lost[1] != 0 || lost[0] < 98 || lost[0] > 106 || lost[2] < 98 || lost[2] > 106 {
		t.Errorf("lost levels %v", lost)
	}
	if lost := LostLevels(tone.Channels{}, 8, 8); lost != [3]int{} {
		t.Errorf("no curves lose %v", lost)
	}
	if lost := LostLevels(tone.Channels{}, 8, 7); lost != [3]int{128, 128, 128} {
		t.Errorf("a path of 7 bits loses %v of 8", lost)
	}
}

func TestCloseLeavesTheScreenBare(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	c, _ := tone.NewChannels([]float64{0, 1}, []float64{0, 0.9}, []float64{0, 1})
	if err := s.LoadCurves(ctx, c); err != nil {
		t.Fatal(err)
	}
	lines := len(r.journal.lines)
	for range 2 {
		if err := s.Close(ctx); err != nil {
			t.Fatal(err)
		}
	}
	if r.display.curves.Len() != 0 || len(r.journal.lines) != lines {
		t.Error("curves are left, or Close was journalled")
	}
	if _, err := s.Read(ctx, grey(1)); err == nil {
		t.Error("a closed session reads")
	}
}

func TestProgress(t *testing.T) {
	r := newRig()
	setup := r.setup()
	var got []Progress
	setup.Progress = func(p Progress) { got = append(got, p) }
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.ReadSet(context.Background(), StageCharts, ramp(5), 0); err != nil {
		t.Fatal(err)
	}
	if len(got) != 5 || got[2].Done != 3 || got[2].Total != 5 || got[2].Left < 2*time.Second || got[4].Left != 0 || got[0].Replayed {
		t.Errorf("%+v", got)
	}
}

func TestReadRefuses(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	setup := r.setup()
	setup.Reference = nil
	s, err := Open(ctx, setup)
	if err != nil {
		t.Fatal(err)
	}
	for name, req := range map[string]ReadRequest{
		"signal above 1": grey(1.01),
		"negative":       grey(-0.1),
		"averages":       {Patch: white(), Averages: maxIntegrations + 1},
		"no averages":    {Patch: white(), Averages: -1},
		"no reference":   {Patch: white(), Reference: true},
		"not text":       {Stage: "\xff", Patch: white()},
		"long name":      {Patch: chart.Patch{ID: strings.Repeat("x", maxText+1)}},
	} {
		if _, err := s.Read(ctx, req); err == nil {
			t.Errorf("%s was read", name)
		}
	}
	if err := s.SetControl(ctx, "contrast", 1); err == nil {
		t.Error("a control that is not there was set")
	}
	if err := s.SetControl(ctx, Brightness, 101); err == nil {
		t.Error("a step beyond the last was set")
	}
	if len(r.journal.lines) != 1 || len(r.display.log) != 0 {
		t.Errorf("something was done: %v", r.display.log)
	}
	if _, err := Open(ctx, Setup{}); err == nil {
		t.Error("a session without devices was opened")
	}
	if err := s.Note("odd", func() {}); err == nil {
		t.Error("a function was written down")
	}
}

func ExampleSession_Read() {
	r := newRig() // a Screen, an Instrument and a Clock of one's own
	s, err := Open(context.Background(), Setup{Screen: r.display, Instrument: r.instrument, Clock: r.display.clock, Start: r.display.start})
	if err != nil {
		fmt.Println(err)
		return
	}
	white, err := s.Read(context.Background(), ReadRequest{Stage: StageAsFound, Patch: white(), Averages: 4})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f cd/m² in %d integrations, curves %s\n", white.XYZ.Y, len(white.Repeats), white.Curves)
	// Output: 97 cd/m² in 4 integrations, curves none
}

func TestNotesAreKept(t *testing.T) {
	ctx := context.Background()
	r := newRig()
	s := r.open(t)
	for _, v := range []any{1, "a <b>", nil, map[string]float64{"y": 0.1}} {
		if err := s.Note("kind", v); err != nil {
			t.Fatal(err)
		}
	}
	rec, err := ReadJournal(r.journal.Lines())
	if err != nil || len(rec.Notes) != 4 {
		t.Fatalf("%d notes, %v", len(rec.Notes), err)
	}
	var text string
	if err := json.Unmarshal(rec.Notes[1].Value, &text); err != nil || text != "a <b>" {
		t.Errorf("%q, %v", text, err)
	}
	again, err := Open(ctx, newRig().resume(r.journal.Lines()))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []any{"a <b>", 1, 1} { // one 1 more than was written
		if err := again.Note("kind", v); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(again.setup.Journal.(*Memory).lines); n != 6 {
		t.Errorf("%d lines after resume, want 6", n)
	}
}
