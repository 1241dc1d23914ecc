package measure

import (
	"context"
	"errors"
	"fmt"

	"example.org/primaries/colorimetry"
)

// Table is readings in the place of an instrument and its display: asked for a
// signal that was read, it answers with what was read. It is immutable and safe
// for concurrent use.
type Table struct {
	info    InstrumentInfo
	samples map[colorimetry.RGB][]Sample
}

// NewTable returns a table of readings, which may come from FromTable, a journal
// or elsewhere; those of a reference are left out. The first reading of a signal
// answers the first integration that is asked for, and so on; beyond the last it
// begins again. What is returned is XYZ, as corrected as it is.
//
// info describes the instrument that took them; its noise should be that of one
// reading. It is an error if there is no reading, or a number is not finite.
func NewTable(readings []Reading, info InstrumentInfo) (*Table, error) {
	t := &Table{info: info, samples: map[colorimetry.RGB][]Sample{}}
	for _, r := range readings {
		if r.Channel != "" {
			continue
		}
		if err := checkSignal(r.Patch.Signal); err != nil || !r.XYZ.Finite() {
			return nil, fmt.Errorf("measure: table: reading %d (%s) of signal %s is %s; leave it out", r.Index, r.Patch.ID, signalText(r.Patch.Signal), colourText(r.XYZ))
		}
		t.samples[r.Patch.Signal] = append(t.samples[r.Patch.Signal], Sample{XYZ: r.XYZ, Spectrum: r.Spectrum})
	}
	if len(t.samples) == 0 {
		return nil, errors.New("measure: table: there are no readings; give some")
	}
	return t, nil
}

// Instrument describes the instrument that took the readings.
func (t *Table) Instrument() InstrumentInfo { return t.info }

// Measure answers with what was read of the signal. It is an error if it was not
// read: a table does not guess.
func (t *Table) Measure(ctx context.Context, want Request) (Sample, error) {
	if err := ctx.Err(); err != nil {
		return Sample{}, err
	}
	list := t.samples[want.Signal]
	if len(list) == 0 {
		return Sample{}, fmt.Errorf("measure: table: signal %s is not among the %d that were read; ask for those alone", signalText(want.Signal), len(t.samples))
	}
	return list[max(want.Repeat, 0)%len(list)], nil
}

// Has reports whether a signal was read.
func (t *Table) Has(signal colorimetry.RGB) bool { return len(t.samples[signal]) > 0 }
