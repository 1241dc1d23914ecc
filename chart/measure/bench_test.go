package measure

import (
	"context"
	"testing"
)

// BenchmarkRead is one simulated reading with its two journal lines in memory:
// what a session costs beyond devices and disk.
func BenchmarkRead(b *testing.B) {
	s := newRig().open(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Read(context.Background(), grey(0.5)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkResume replays 10,000 readings of four integrations.
func BenchmarkResume(b *testing.B) {
	const n = 10_000
	ask := grey(0.5)
	ask.Averages = 4
	r := newRig()
	s := r.open(b)
	for range n {
		if _, err := s.Read(context.Background(), ask); err != nil {
			b.Fatal(err)
		}
	}
	lines := r.journal.Lines()
	for b.Loop() {
		s, err := Open(context.Background(), newRig().resume(lines))
		if err != nil {
			b.Fatal(err)
		}
		for range n {
			if _, err := s.Read(context.Background(), ask); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/reading")
}
