package measure

import (
	"context"

	"example.org/primaries/chart"
)

// Source names the patches to read next.
type Source interface {
	// Next returns the patches to read next, given all readings that the source
	// asked for so far in the order in which they were taken; none where enough
	// were read, and why in a sentence. It is a pure function of the readings, so
	// that a run that is resumed asks for the same.
	Next(ctx context.Context, readings []Reading) (patches []chart.Patch, why string, err error)
}

// Listed is the Source of one list of patches.
type Listed []chart.Patch

// Next returns the list before the first reading, and nothing after it.
func (l Listed) Next(_ context.Context, readings []Reading) ([]chart.Patch, string, error) {
	if len(readings) > 0 || len(l) == 0 {
		return nil, "All patches of the list were read.", nil
	}
	return l, "", nil
}

// ReadFrom reads what source asks for, with a number of averages each (0 =
// Setup.Averages), until it asks for nothing more, and returns the readings and
// why they are enough. Each time the patches that the source names together are
// read in an order of [chart.Order], without repeats of white: for a chart that is
// held against drift and doubt see [Session.ReadChartFrom]. Where it fails it
// returns the readings so far with the error.
func (s *Session) ReadFrom(ctx context.Context, stage string, source Source, averages int) (readings []Reading, why string, err error) {
	for {
		set, why, err := source.Next(ctx, readings)
		if err != nil || len(set) == 0 {
			return readings, why, err
		}
		for _, p := range chart.Order(set, chart.OrderOptions{Seed: s.header.Seed, AnchorEvery: -1}) {
			replayed := s.Replaying()
			r, err := s.Read(ctx, ReadRequest{Stage: stage, Patch: p, Averages: averages})
			if err != nil {
				return readings, "", err
			}
			readings = append(readings, r)
			s.progress(Progress{Stage: stage, Done: len(readings), Replayed: replayed})
		}
	}
}
