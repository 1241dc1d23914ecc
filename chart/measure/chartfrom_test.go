package measure

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// batches names a list bit by bit, and keeps what it was given.
type batches struct {
	list  []chart.Patch
	given *[][]Reading
}

func (b batches) Next(_ context.Context, readings []Reading) ([]chart.Patch, string, error) {
	*b.given = append(*b.given, readings)
	rest := b.list[len(readings):]
	if len(rest) == 0 {
		return nil, "The list is through.", nil
	}
	return rest[:min(40, len(rest))], "", nil
}

// readBatches reads 120 patches of a drifting display in three batches, one of
// which is misread the first time.
func readBatches(t *testing.T, lines [][]byte) (*rig, ChartResult, [][]Reading) {
	t.Helper()
	var list []chart.Patch
	for i, p := range slices.DeleteFunc(anchored(120, 5), func(p chart.Patch) bool { return p.Signal.Max() == 1 }) {
		list = append(list, chart.Patch{ID: fmt.Sprint("p", i), Signal: p.Signal})
	}
	list = list[:120]
	at := slices.IndexFunc(list, func(p chart.Patch) bool { return p.Signal.Min() > 0.25 && p.Signal.Max() < 0.75 })
	spoil := func(s colorimetry.RGB, n int) float64 {
		if s == list[at].Signal && n == 0 {
			return 1.3
		}
		return 1
	}
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
	var given [][]Reading
	got, err := s.ReadChartFrom(context.Background(), StageCharts, batches{list, &given}, ChartOptions{Averages: 8})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(got.Again, func(a Again) bool {
		return got.Readings[a.At].Patch == list[at] && a.Flag == FlagReplaced
	}) {
		t.Errorf("%v was misread and not replaced: %v", list[at], got.Again)
	}
	return r, got, given
}

// A chart that a source names bit by bit is one chart: white keeps its distance
// across batches and shows the drift, what neighbours do not believe is read
// again, and a run that was cut goes on to the same.
func TestReadChartFrom(t *testing.T) {
	t.Parallel()
	r, got, given := readBatches(t, nil)
	if got.Why != "The list is through." {
		t.Errorf("it ends because %q", got.Why)
	}
	since, whites := 0, 0
	for i, x := range got.Readings {
		if x.Patch.Signal != colorimetry.Gray(1) {
			since++
			continue
		}
		if whites++; i > 0 && (since < 10 || since > 20) || x.Patch.ID != fmt.Sprint("white", whites) {
			t.Errorf("white %q comes after %d patches", x.Patch.ID, since)
		}
		since = 0
	}
	if since != 0 || len(got.Readings) != whites+120 && whites < 7 {
		t.Errorf("%d readings, %d of white; %d after the last", len(got.Readings), whites, since)
	}
	if got.Drift.Luminance < 0.005 {
		t.Errorf("the display is warming up; found is %v", got.Drift)
	}
	last := given[len(given)-1]
	if len(given[0]) != 0 || len(last) != len(got.Readings)-whites {
		t.Errorf("the source was given %d readings at last; %d patches were its own", len(last), len(got.Readings)-whites)
	}
	if late := last[len(last)-1]; late.XYZ == late.Raw {
		t.Error("the source was given readings with their drift")
	}
	lines := r.journal.Lines()
	for _, cut := range []int{len(lines) / 3, len(lines) - 4} {
		if _, again, _ := readBatches(t, lines[:cut]); !reflect.DeepEqual(again, got) {
			t.Fatalf("cut after %d lines of %d: another result", cut, len(lines))
		}
	}
}

func TestReadChartFromEnds(t *testing.T) {
	s := newRig().open(t)
	var given [][]Reading
	got, err := s.ReadChartFrom(context.Background(), StageCharts, batches{nil, &given}, ChartOptions{})
	if err != nil || len(got.Readings) != 0 || got.Why == "" {
		t.Errorf("a source that names nothing: %v, %v", got, err)
	}
	if _, err := s.ReadChartFrom(context.Background(), StageCharts, batches{}, ChartOptions{Drift: DriftOptions{Anchors: []colorimetry.RGB{{R: 1}}}}); err == nil {
		t.Error("red is no white, and was taken for an anchor")
	}
	broken := errors.New("broken")
	if _, err := s.ReadChartFrom(context.Background(), StageCharts, failing{broken}, ChartOptions{}); !errors.Is(err, broken) {
		t.Errorf("a source that fails: %v", err)
	}
}

type failing struct{ err error }

func (f failing) Next(context.Context, []Reading) ([]chart.Patch, string, error) {
	return nil, "", f.err
}
