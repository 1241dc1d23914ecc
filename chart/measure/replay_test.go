package measure

import (
	"context"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// A run replayed by its journal's devices gives the same readings; so does a
// part of it with fewer integrations.
func TestReplayAsDevices(t *testing.T) {
	ctx := context.Background()
	ask := func(s *Session, averages int) error {
		for i, v := range []float64{1, 0.5, 0.2} {
			req := grey(v)
			req.Averages, req.Reference = averages, i == 1
			if _, err := s.Read(ctx, req); err != nil {
				return err
			}
			if err := s.Rest(ctx, 1e9); err != nil {
				return err
			}
		}
		return nil
	}
	r := newRig()
	s := r.open(t)
	if err := ask(s, 3); err != nil {
		t.Fatal(err)
	}
	again := func() (*Session, *Replay) {
		replay, err := NewReplay(r.journal.Lines())
		if err != nil {
			t.Fatal(err)
		}
		s, err := Open(ctx, Setup{Screen: replay.Screen(), Instrument: replay, Reference: replay.Reference(), Clock: replay.Clock(), Start: replay.Header().Start})
		if err != nil {
			t.Fatal(err)
		}
		return s, replay
	}
	second, replay := again()
	if err := ask(second, 3); err != nil {
		t.Fatal(err)
	}
	for i, r := range second.Readings() {
		w := s.Readings()[i]
		if w.Curves = r.Curves; !reflect.DeepEqual(r, w) {
			t.Errorf("reading %d is %+v, was %+v", i, r, w)
		}
	}
	if replay.Len() != 3 || replay.Header().Digest != "d1" || second.Screen() != r.display.Screen() {
		t.Errorf("%d readings, %+v", replay.Len(), replay.Header())
	}
	part, _ := again()
	if err := ask(part, 2); err != nil || part.Readings()[2].Raw != mean(s.Readings()[2].Repeats[:2]) {
		t.Errorf("fewer integrations: %v", err)
	}
	for name, req := range map[string]ReadRequest{"more": {Patch: white(), Averages: 4}, "another signal": {Patch: black()}, "the other instrument": {Patch: white(), Reference: true}} {
		s, _ := again()
		var de *DeviceError
		if _, err := s.Read(ctx, req); !errors.As(err, &de) || !strings.Contains(err.Error(), "replay") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := ask(part, 2); err == nil || !strings.Contains(err.Error(), "holds 3 readings") {
		t.Errorf("beyond the end: %v", err)
	}
	if _, err := NewReplay(nil); err == nil {
		t.Error("no journal is a run")
	}
	lines := r.journal.Lines()
	lines[2][30] ^= 1
	var je *JournalError
	if _, err := NewReplay(lines); !errors.As(err, &je) {
		t.Errorf("a damaged journal: %v", err)
	}
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := replay.Measure(cancelled, Request{}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// A table answers what it holds, one reading after the other, and nothing else.
func TestTableAsInstrument(t *testing.T) {
	ctx := context.Background()
	a, b := colorimetry.XYZ{X: 1, Y: 2, Z: 3}, colorimetry.XYZ{X: 1, Y: 2.1, Z: 3}
	table, err := NewTable([]Reading{{Patch: white(), XYZ: a}, {Patch: white(), XYZ: b}, {Patch: black(), XYZ: a, Channel: ChannelReference}}, InstrumentInfo{Name: "table"})
	if err != nil {
		t.Fatal(err)
	}
	r := newRig()
	s, err := Open(ctx, Setup{Screen: plainScreen{r.display}, Instrument: table, Clock: r.display.clock})
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Read(ctx, ReadRequest{Patch: white(), Averages: 3})
	if err != nil || !reflect.DeepEqual(got.Repeats, []colorimetry.XYZ{a, b, a}) || s.Instrument().Name != "table" {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := s.Read(ctx, ReadRequest{Patch: chart.Patch{Signal: colorimetry.Gray(0.5)}}); err == nil || !strings.Contains(err.Error(), "not among the 1") {
		t.Errorf("a patch that was not read: %v", err)
	}
	if !table.Has(colorimetry.Gray(1)) || table.Has(colorimetry.RGB{}) {
		t.Error("the table does not know what it holds")
	}
	for name, bad := range map[string][]Reading{
		"nothing":           nil,
		"a reference alone": {{Patch: white(), Channel: ChannelReference}},
		"not a number":      {{Patch: white(), XYZ: colorimetry.XYZ{Y: math.NaN()}}},
		"no signal":         {{Patch: chart.Patch{Signal: colorimetry.RGB{R: 2}}, XYZ: a}},
	} {
		if _, err := NewTable(bad, InstrumentInfo{}); err == nil {
			t.Errorf("%s is taken", name)
		}
	}
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := table.Measure(cancelled, Request{Signal: colorimetry.Gray(1)}); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}
