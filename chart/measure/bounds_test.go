package measure

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// fixedInstrument answers with one sample.
type fixedInstrument struct {
	fakeInstrument
	sample Sample
}

func (f *fixedInstrument) Measure(context.Context, Request) (Sample, error) { return f.sample, nil }

// What no display gives is a fault of the instrument, not a reading.
func TestSampleBounds(t *testing.T) {
	usual := colorimetry.XYZ{X: 95, Y: 100, Z: 109}
	for _, c := range []struct {
		name   string
		sample Sample
		ok     bool
	}{
		{"usual", Sample{XYZ: usual, Duration: time.Second}, true},
		{"the bound", Sample{XYZ: colorimetry.XYZ{X: 1e10, Y: 1e10, Z: -1e10}}, true},
		{"above it", Sample{XYZ: colorimetry.XYZ{X: 95, Y: 100, Z: 1.0001e10}}, false},
		{"below it", Sample{XYZ: colorimetry.XYZ{X: -1.0001e10, Y: 100, Z: 109}}, false},
		{"absurd", Sample{XYZ: usual.Scale(1e200)}, false},
		{"infinite", Sample{XYZ: colorimetry.XYZ{X: 95, Y: math.Inf(1), Z: 109}}, false},
		{"no number", Sample{XYZ: colorimetry.XYZ{X: 95, Y: 100, Z: math.NaN()}}, false},
		{"backwards", Sample{XYZ: usual, Duration: -1}, false},
	} {
		r := newRig()
		setup := r.setup()
		setup.Instrument = &fixedInstrument{*r.instrument, c.sample}
		s, err := Open(context.Background(), setup)
		if err != nil {
			t.Fatal(err)
		}
		_, err = s.Read(context.Background(), grey(1))
		var de *DeviceError
		if c.ok != (err == nil) || !c.ok && (!errors.As(err, &de) || de.Device != "instrument") || len(s.Readings()) > 0 != c.ok {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// A journal holds no light that a session would not have taken.
func TestJournalBounds(t *testing.T) {
	for _, c := range []struct {
		y  float64
		ok bool
	}{{100, true}, {1e10, true}, {1.0001e10, false}, {-1e200, false}} {
		var lines [][]byte
		sum := ""
		light := colorimetry.XYZ{X: 1, Y: c.y, Z: 1}
		for _, e := range []entry{
			{Header: &Header{Version: JournalVersion}},
			{Patch: &patchRecord{Integrations: 1}},
			{Reading: &readingRecord{Raw: light, Repeats: []colorimetry.XYZ{light}}},
		} {
			line, next, err := seal(e, sum)
			if err != nil {
				t.Fatal(err)
			}
			lines, sum = append(lines, line), next
		}
		var je *JournalError
		if _, err := ReadJournal(lines); (err == nil) != c.ok || !c.ok && (!errors.As(err, &je) || je.Line != 3) {
			t.Errorf("%g cd/m²: %v", c.y, err)
		}
	}
}

// One absurd reading among good ones leaves a finite drift or none at all, never
// numbers that are none.
func TestDriftStaysFinite(t *testing.T) {
	r := newRig()
	s := r.open(t)
	var set []chart.Patch
	for range 12 {
		set = append(set, white(), chart.Patch{Signal: colorimetry.RGB{R: 1}}, chart.Patch{Signal: colorimetry.RGB{G: 1}}, chart.Patch{Signal: colorimetry.RGB{B: 1}}, black())
	}
	clean, err := s.ReadSet(context.Background(), StageCharts, set, 1)
	if err != nil {
		t.Fatal(err)
	}
	noise := usualNoise
	for _, at := range []int{0, 5, 20, 4, 59} {
		for _, by := range []float64{1e200, 1e100, 1e8, 1e4, 0, -1, -1e8, math.NaN()} {
			readings := append([]Reading(nil), clean...)
			readings[at].XYZ = readings[at].XYZ.Scale(by)
			if math.Abs(by) < 1e100 {
				readings[at].Covariance = noise.Covariance(readings[at].XYZ, 1)
			}
			d, err := FitDrift(readings, DriftOptions{})
			if math.Abs(by) > 1e10 && err == nil {
				t.Errorf("reading %d × %g makes a drift", at, by)
			}
			if strings.Contains(d.String(), "NaN") || strings.Contains(d.String(), "Inf") {
				t.Errorf("reading %d × %g: %v", at, by, d)
			}
			if err != nil {
				continue
			}
			for _, c := range d.Correct(readings) {
				if !c.XYZ.Finite() || !finite(c.Covariance) {
					t.Fatalf("reading %d × %g: %v is corrected to %v", at, by, c.Raw, c.XYZ)
				}
			}
		}
	}
}
