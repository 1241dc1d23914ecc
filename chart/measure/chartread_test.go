package measure

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// spoiled is a fakeInstrument whose light is multiplied by what spoil says for
// the n-th reading of a signal.
type spoiled struct {
	*fakeInstrument
	spoil func(signal colorimetry.RGB, n int) float64
	seen  map[colorimetry.RGB][]int
}

func (s *spoiled) Measure(ctx context.Context, want Request) (Sample, error) {
	out, err := s.fakeInstrument.Measure(ctx, want)
	if !slices.Contains(s.seen[want.Signal], want.Reading) {
		s.seen[want.Signal] = append(s.seen[want.Signal], want.Reading)
	}
	out.XYZ = out.XYZ.Scale(s.spoil(want.Signal, slices.Index(s.seen[want.Signal], want.Reading)))
	return out, err
}

// Restore counts the readings that a replay returned.
func (s *spoiled) remember(readings []Reading) {
	for _, r := range readings {
		s.seen[r.Patch.Signal] = append(s.seen[r.Patch.Signal], r.Index)
	}
}

// troubledChart is 200 patches with anchors, of which four are spoiled, each in
// its own way.
func troubledChart() (set []chart.Patch, at [4]int, spoil func(colorimetry.RGB, int) float64) {
	set = anchored(200, 5)
	n := 0
	for i, p := range set {
		if s := p.Signal; n < 4 && s.Min() > 0.25 && s.Max() < 0.75 {
			at[n] = i
			n++
		}
	}
	factors := map[colorimetry.RGB][]float64{
		set[at[0]].Signal: {1.3, 1, 1},      // misread once
		set[at[1]].Signal: {0.8, 0.8, 0.8},  // the display is like that
		set[at[2]].Signal: {1.3, 0.75, 1.6}, // never the same
		set[at[3]].Signal: {1.3, 0.8, 0.8},  // misread once on a display that is like that
	}
	return set, at, func(s colorimetry.RGB, n int) float64 {
		if f := factors[s]; f != nil {
			return f[min(n, 2)]
		}
		return 1
	}
}

func readTroubled(t *testing.T, lines [][]byte) (*rig, ChartResult) {
	t.Helper()
	set, _, spoil := troubledChart()
	r := newRig()
	setup := r.resume(lines)
	i := &spoiled{r.instrument, spoil, map[colorimetry.RGB][]int{}}
	if record, err := ReadJournal(lines); err == nil {
		i.remember(record.Readings)
	}
	setup.Instrument = i
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.ReadChart(context.Background(), StageCharts, set, ChartOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return r, got
}

func TestReadChartReadsAgain(t *testing.T) {
	t.Parallel()
	set, at, _ := troubledChart()
	r, got := readTroubled(t, nil)
	want := map[int]string{at[0]: FlagReplaced, at[1]: FlagConfirmed, at[2]: FlagUnsettled, at[3]: FlagReplaced}
	for _, a := range got.Again {
		if want[a.At] != a.Flag {
			t.Errorf("patch %d: %q, want %q (%v)", a.At, a.Flag, want[a.At], a)
		}
		if !slices.Contains(got.Readings[a.At].Flags, a.Flag) {
			t.Errorf("patch %d is not flagged: %v", a.At, got.Readings[a.At].Flags)
		}
		delete(want, a.At)
	}
	if len(want) > 0 || len(got.Readings) != len(set) {
		t.Fatalf("%d readings of %d patches, not read again: %v", len(got.Readings), len(set), want)
	}
	truth := newFakeDisplay() // at the run's start, where 3 % are missing
	truth.clock.now = got.Drift.To
	for i, r := range got.Readings {
		if r.Patch != set[i] {
			t.Fatalf("patch %d is %v", i, r.Patch)
		}
		truth.signal = r.Patch.Signal
		k := 1.0
		switch i {
		case at[1], at[3]:
			k = 0.8
		case at[2]:
			continue // nobody knows
		}
		inverse, err := r.Covariance.Inverse()
		if err != nil {
			t.Fatal(err)
		}
		if d := distance2(r.XYZ.Sub(truth.truth().Scale(k)), inverse); d > 25 {
			t.Errorf("patch %d (%v): %v, want %v, %.1f deviations", i, r.Flags, r.XYZ, truth.truth().Scale(k), math.Sqrt(d))
		}
	}
	unsettled := got.Readings[at[2]]
	if unsettled.SpreadShare() < 0.2 {
		t.Errorf("a reading of which no two agree states %.3f", unsettled.SpreadShare())
	}
	if c := got.Readings[at[1]]; len(c.Repeats) != 2 || c.Raw != mean(c.Repeats) {
		t.Errorf("a confirmed reading is no average: %+v", c)
	}
	// Cut anywhere, the same comes out.
	lines := r.journal.Lines()
	for _, cut := range []int{len(lines) / 2, len(lines) - 9, len(lines) - 6, len(lines) - 2, len(lines)} {
		if testing.Short() && cut > len(lines)-6 {
			break
		}
		if _, again := readTroubled(t, lines[:cut]); !reflect.DeepEqual(again, got) {
			t.Fatalf("cut after %d lines of %d: another result", cut, len(lines))
		}
	}
}

func TestReadChartAsRead(t *testing.T) {
	set, _, spoil := troubledChart()
	r := newRig()
	setup := r.setup()
	setup.Instrument = &spoiled{r.instrument, spoil, map[colorimetry.RGB][]int{}}
	shown := 0
	setup.Progress = func(p Progress) {
		if shown++; p.Done != shown || p.Total != len(set) {
			t.Errorf("%+v", p)
		}
	}
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.ReadChart(context.Background(), StageCharts, set, ChartOptions{KeepDrift: true, KeepOutliers: true, Averages: 2})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got.Readings, s.Readings()) || got.Drift.Anchors != 0 || len(got.Again) != 0 || len(got.Readings[0].Repeats) != 2 {
		t.Error("readings are not as they were read")
	}
	if _, err := s.ReadChart(context.Background(), StageCharts, set, ChartOptions{MostAgain: 2}); err == nil {
		t.Error("twice the chart may be read again")
	}
	r.display.fail = func(string) error { return errBroken }
	if got, err := s.ReadChart(context.Background(), StageCharts, set, ChartOptions{}); !errors.Is(err, errBroken) || len(got.Readings) != 0 {
		t.Errorf("%d readings, %v", len(got.Readings), err)
	}
	// Without repeats there is no drift to see, and few patches predict nothing.
	fresh := newRig().open(t)
	got, err = fresh.ReadChart(context.Background(), StageCharts, ramp(5), ChartOptions{})
	if err != nil || len(got.Readings) != 5 || got.Drift.Anchors != 0 || len(got.Again) != 0 {
		t.Errorf("%+v, %v", got, err)
	}
}
