package measure_test

import (
	"context"
	"errors"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// halving is a Source that looks at what was read: greys whose luminance halves
// from one to the next, until one is darker than 1 cd/m².
type halving struct{}

func (halving) Next(_ context.Context, readings []measure.Reading) ([]chart.Patch, string, error) {
	v := 1.0
	if n := len(readings); n > 0 {
		last := readings[n-1]
		if last.XYZ.Y < 1 {
			return nil, "It is dark.", nil
		}
		v = last.Patch.Signal.G * 0.73
		if last.XYZ.Y > 100 {
			v = last.Patch.Signal.G * 0.6
		}
	}
	return chart.Set{{ID: "g", Signal: colorimetry.Gray(v)}}, "", nil
}

// readFrom runs source on a simulated display, after replay, and returns the
// readings, why they were enough, and the journal. stop ends it after that many
// readings; 0 does not.
func readFrom(t *testing.T, source measure.Source, replay [][]byte, stop int) ([]measure.Reading, string, [][]byte) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 5})
	journal := measure.NewMemory(replay)
	s, err := measure.Open(ctx, measure.Setup{
		Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock(), Journal: journal, Replay: replay, Seed: 5,
		Progress: func(p measure.Progress) {
			if p.Done == stop {
				cancel()
			}
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	r, why, err := s.ReadFrom(ctx, measure.StageCharts, source, 2)
	if err != nil && !(stop > 0 && errors.Is(err, context.Canceled)) {
		t.Fatal(err)
	}
	if stop > 0 && len(r) != stop {
		t.Fatalf("%d readings, stopped after %d", len(r), stop)
	}
	return r, why, journal.Lines()
}

// A run that ended after any reading goes on to the same readings.
func TestReadFromResumes(t *testing.T) {
	t.Parallel()
	whole, why, _ := readFrom(t, halving{}, nil, 0)
	if why != "It is dark." || len(whole) < 4 || whole[len(whole)-1].XYZ.Y >= 1 {
		t.Fatalf("%d readings: %q", len(whole), why)
	}
	for stop := 1; stop < len(whole); stop++ {
		_, _, lines := readFrom(t, halving{}, nil, stop)
		again, why2, _ := readFrom(t, halving{}, lines, 0)
		if why2 != why || !slices.EqualFunc(whole, again, func(a, b measure.Reading) bool {
			return a.Raw == b.Raw && a.Patch == b.Patch && a.Time.Equal(b.Time)
		}) {
			t.Errorf("stopped after %d: %d readings, %q; straight %d, %q", stop, len(again), why2, len(whole), why)
		}
	}
}

// A list is read whole and once, in an order in which no dark patch follows a
// bright one at once.
func TestReadFromList(t *testing.T) {
	t.Parallel()
	set := chart.Number(chart.Neutral(12), "g")
	r, why, _ := readFrom(t, measure.Listed(set), nil, 0)
	if len(r) != len(set) || why == "" {
		t.Fatalf("%d readings of %d patches: %q", len(r), len(set), why)
	}
	for i, x := range r {
		if !slices.ContainsFunc(set, func(p chart.Patch) bool { return p == x.Patch }) {
			t.Errorf("patch %v is not of the list", x.Patch)
		}
		if i > 0 && r[i-1].Patch.Signal.G-x.Patch.Signal.G > 0.5 {
			t.Errorf("signal %.2f follows %.2f", x.Patch.Signal.G, r[i-1].Patch.Signal.G)
		}
	}
	if r, _, _ := readFrom(t, measure.Listed(nil), nil, 0); len(r) != 0 {
		t.Errorf("%d readings of no patches", len(r))
	}
}

func TestReadFromTellsTheSourcesError(t *testing.T) {
	t.Parallel()
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{})
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	dry := errors.New("dry")
	if _, _, err := s.ReadFrom(context.Background(), "", failing{dry}, 0); !errors.Is(err, dry) {
		t.Errorf("error %v", err)
	}
}

type failing struct{ err error }

func (f failing) Next(context.Context, []measure.Reading) ([]chart.Patch, string, error) {
	return nil, "", f.err
}
