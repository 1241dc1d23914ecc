package measure_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// timed is a journal that knows what its appends and syncs took.
type timed struct {
	of           measure.Journal
	append, sync time.Duration
}

func (t *timed) Append(line []byte) error {
	began := time.Now()
	err := t.of.Append(line)
	t.append += time.Since(began)
	return err
}

func (t *timed) Sync() error {
	began := time.Now()
	err := t.of.Sync()
	t.sync += time.Since(began)
	return err
}

// BenchmarkReadToFile is one simulated reading of four integrations with its
// journal in a file: what of it is appending, what the sync, and all but the
// sync.
func BenchmarkReadToFile(b *testing.B) {
	journal, _, err := keep.OpenJournal(filepath.Join(b.TempDir(), "journal"))
	if err != nil {
		b.Fatal(err)
	}
	defer journal.Close()
	t := &timed{of: journal}
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{})
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock(), Journal: t, Averages: 4})
	if err != nil {
		b.Fatal(err)
	}
	t.append, t.sync = 0, 0
	for b.Loop() {
		if _, err := s.Read(context.Background(), measure.ReadRequest{Patch: chart.Patch{Signal: colorimetry.Gray(0.5)}}); err != nil {
			b.Fatal(err)
		}
	}
	n := float64(b.N)
	b.ReportMetric(t.append.Seconds()*1e6/n, "append-µs/reading")
	b.ReportMetric(t.sync.Seconds()*1e6/n, "sync-µs/reading")
	b.ReportMetric((b.Elapsed()-t.sync).Seconds()*1e6/n, "beyond-sync-µs/reading")
}
