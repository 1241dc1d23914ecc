package measure

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"testing"
	"time"

	"example.org/primaries/colorimetry/tone"
)

// FuzzJournal feeds journals from strangers: made of data, and a good one with
// some bytes changed as edits say; as they are, and with the check sums made
// right, so that what lies behind them is reached. A
// journal that is taken must be written again to the same bytes, and a run on
// it must end in a reading or an error.
func FuzzJournal(f *testing.F) {
	r := newRig()
	setup := r.setup()
	setup.Instrument = spectral{r.instrument, func(want Request) []float64 {
		return [][]float64{nil, even(400, 10, 4), {400, 450.5, 700}}[want.Reading%3]
	}}
	ctx := context.Background()
	s, err := Open(ctx, setup)
	if err != nil {
		f.Fatal(err)
	}
	c, _ := tone.NewChannels([]float64{0, 1}, []float64{0, 0.9}, []float64{0, 1})
	for _, err := range []error{
		s.SetControl(ctx, Brightness, 7), s.LoadCurves(ctx, c), s.Note("k", []int{1}),
	} {
		if err != nil {
			f.Fatal(err)
		}
	}
	for _, v := range []float64{1, 0} {
		if _, err := s.Read(ctx, grey(v)); err != nil {
			f.Fatal(err)
		}
	}
	if _, err := s.Read(ctx, ReadRequest{Stage: StagePairs, Patch: white(), Averages: 2, Reference: true}); err != nil {
		f.Fatal(err)
	}
	for range 2 {
		if _, err := s.Read(ctx, ReadRequest{Stage: StageCharts, Patch: black(), Precision: Precision{Luminance: 0.01, UV: 0.1, Most: 4}, Settle: time.Second}); err != nil {
			f.Fatal(err)
		}
	}
	lines := r.journal.Lines()
	good := bytes.Join(lines, []byte("\n"))
	f.Add(good, []byte{})
	f.Add(bytes.Join(lines[:3], []byte("\n")), []byte{1, 0, '9'})
	f.Add(lines[0], []byte{3, 80, '-', 4, 10, '1'})
	f.Add([]byte(`{"sum":"","header":{"version":1}}`), []byte{2, 7, '\n'})
	f.Add([]byte("\x00\n{}\n"), []byte{0, 30, '2'})
	f.Fuzz(func(t *testing.T, data, edits []byte) {
		for _, journal := range [][]byte{data, edited(good, edits)} {
			lines := bytes.Split(journal, []byte("\n"))
			try(t, lines)
			try(t, reseal(lines))
		}
	})
}

// edited returns good with bytes replaced: each three bytes of edits are a place
// and what to put there.
func edited(good, edits []byte) []byte {
	out := bytes.Clone(good)
	for ; len(edits) >= 3; edits = edits[3:] {
		out[(int(edits[0])<<8+int(edits[1]))%len(out)] = edits[2]
	}
	return out
}

func try(t *testing.T, lines [][]byte) {
	rec, err := ReadJournal(lines)
	if err != nil {
		var je *JournalError
		if !errors.As(err, &je) || je.Line < 0 || je.Line > len(lines) || je.Problem == "" || je.Remedy == "" {
			t.Fatalf("not a full JournalError: %v", err)
		}
		return
	}
	var sum string
	for i, line := range lines {
		if rec.Torn && i == len(lines)-1 {
			break
		}
		e, _, _, err := unseal(line)
		if err != nil {
			t.Fatalf("line %d was taken and is now refused: %v", i+1, err)
		}
		var again []byte
		if again, sum, err = seal(e, sum); err != nil || !bytes.Equal(again, line) {
			t.Fatalf("line %d is written again as %q, was %q (%v)", i+1, again, line, err)
		}
	}
	setup := newRig().resume(lines)
	setup.Digest, setup.Seed = rec.Header.Digest, rec.Header.Seed
	s, err := Open(context.Background(), setup)
	if err != nil {
		return
	}
	for s.Replaying() && err == nil {
		switch e := s.events[s.cursor]; {
		case e.control != nil:
			err = s.SetControl(context.Background(), e.control.Name, e.control.Step)
		case e.curves != nil:
			err = s.LoadCurves(context.Background(), tone.Channels{})
		default:
			_, err = s.Read(context.Background(), requestOf(*e.patch))
		}
	}
	if err == nil {
		_, err = s.Read(context.Background(), grey(1))
	}
	var je *JournalError
	if err != nil && errors.As(err, &je) && !errors.Is(err, ErrOtherRun) {
		t.Fatalf("a journal that was taken is damaged in use: %v", err)
	}
}

// requestOf returns what was asked for where a journal has p.
func requestOf(p patchRecord) ReadRequest {
	ask := ReadRequest{Stage: p.Stage, Patch: p.Patch, Averages: p.Integrations, Reference: p.Channel == ChannelReference,
		Settle: time.Duration(p.SettleMS) * time.Millisecond}
	if p.Most > 0 {
		ask.Averages, ask.Precision = 0, Precision{Luminance: p.Luminance, UV: p.UV, Least: p.Integrations, Most: p.Most}
	}
	return ask
}

// reseal returns lines with the check sums they should have.
func reseal(lines [][]byte) [][]byte {
	out := copyLines(lines)
	var sum string
	for i, line := range lines {
		var s sealed
		if json.Unmarshal(line, &s) != nil {
			continue
		}
		if again, next, err := seal(s.entry, sum); err == nil {
			out[i], sum = again, next
		}
	}
	return out
}
