package measure

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// What cannot be meant is refused before anything is read.
func TestOptionsThatCannotBeMeant(t *testing.T) {
	ctx := context.Background()
	known := Reading{Patch: white(), XYZ: colorimetry.XYZ{X: 95, Y: 100, Z: 109}, Covariance: colorimetry.Identity()}
	wild := known
	wild.XYZ.Z = math.NaN()
	absurd := known
	absurd.XYZ = absurd.XYZ.Scale(1e200)
	for name, c := range map[string]struct {
		try  func(s *Session) error
		says string
	}{
		"anchor": {func(s *Session) error {
			_, err := s.ReadChart(ctx, StageCharts, ramp(5), ChartOptions{Drift: DriftOptions{Anchors: []colorimetry.RGB{{R: 1}}}})
			return err
		}, "(1, 0, 0)"},
		"least": {func(s *Session) error {
			_, err := s.ReadChart(ctx, StageCharts, ramp(5), ChartOptions{Drift: DriftOptions{Least: 1}})
			return err
		}, "at least 2"},
		"look every": {func(s *Session) error {
			_, err := s.ReadChart(ctx, StageCharts, ramp(5), ChartOptions{LookEvery: -1})
			return err
		}, "-1 patches"},
		"ignore": {func(s *Session) error {
			_, err := Inspect(ctx, s, InspectOptions{Ignore: []Condition{"display slept"}})
			return err
		}, "display slept"},
		"known": {func(s *Session) error {
			_, err := Inspect(ctx, s, InspectOptions{Known: []Reading{known, {}}})
			return err
		}, "reading 1 of Known is empty"},
		"wild": {func(s *Session) error { _, err := Inspect(ctx, s, InspectOptions{Known: []Reading{wild}}); return err }, "reading 0"},
		"absurd": {func(s *Session) error {
			_, err := Inspect(ctx, s, InspectOptions{Known: []Reading{absurd}})
			return err
		}, "reading 0"},
		"averages": {func(s *Session) error { _, err := Inspect(ctx, s, InspectOptions{Averages: -3}); return err }, "-3 integrations"},
		"period":   {func(s *Session) error { _, err := WarmUp(ctx, s, WarmUpOptions{Period: time.Second}); return err }, "period"},
		"zero": {func(s *Session) error {
			s.SetCorrection(colorimetry.Matrix{})
			_, err := s.Read(ctx, grey(1))
			return err
		}, "inverse"},
		"flat": {func(s *Session) error {
			s.SetCorrection(colorimetry.Matrix{{1, 1, 0}, {1, 1, 0}, {0, 0, 1}})
			_, err := s.Read(ctx, grey(1))
			return err
		}, "inverse"},
		"no number": {func(s *Session) error {
			s.SetCorrection(colorimetry.Diagonal(1, math.NaN(), 1))
			_, err := s.Read(ctx, grey(1))
			return err
		}, "inverse"},
		"averages of a reading": {func(s *Session) error { _, err := s.Read(ctx, ReadRequest{Averages: -3}); return err }, "-3 integrations"},
	} {
		r := newRig()
		s := r.open(t)
		err := c.try(s)
		if err == nil || !strings.Contains(err.Error(), c.says) || len(s.Readings()) > 0 || len(r.display.shownAt) > 0 {
			t.Errorf("%s: %d readings, %v", name, len(s.Readings()), err)
		}
		if err != nil && strings.Contains(err.Error(), "index") {
			t.Errorf("%s: %v", name, err)
		}
	}
	s := newRig().open(t)
	s.SetCorrection(colorimetry.Matrix{})
	s.SetCorrection(colorimetry.Identity())
	if _, err := s.Read(ctx, grey(1)); err != nil {
		t.Error(err)
	}
	// A black of exactly nothing is a reading, too.
	if _, err := Inspect(ctx, newRig().open(t), InspectOptions{Known: []Reading{{Patch: chart.Patch{ID: "black"}, Repeats: make([]colorimetry.XYZ, 1)}}}); err != nil {
		t.Error(err)
	}
}

// Errors name the package once, and signals as people write them.
func TestErrorsReadWell(t *testing.T) {
	r := newRig()
	s := r.open(t)
	for _, cause := range []error{
		&ConditionError{Condition: InstrumentSlipped, Evidence: "it fell", Remedy: "put it back"},
		fmt.Errorf("line noise: %w", ErrTransient),
		&DeviceError{"line", "asking", &ConditionError{Condition: DarkExpired, Evidence: "old", Remedy: "cover it", Err: errBroken}},
	} {
		r.instrument.fail = func(context.Context, Request) error { return cause }
		_, err := s.Read(context.Background(), grey(1))
		if !errors.Is(err, cause) || strings.Count(err.Error(), "measure:") != 1 || !strings.Contains(err.Error(), "signal (1, 1, 1)") {
			t.Errorf("%v", err)
		}
	}
	for d, want := range map[time.Duration]string{
		0: "0 seconds", time.Second: "1 second", 1500 * time.Millisecond: "1.5 seconds", time.Minute: "60 seconds",
		2 * time.Minute: "2 minutes", 10 * time.Minute: "10 minutes",
	} {
		if got := span(d); got != want {
			t.Errorf("%v is %q, want %q", d, got, want)
		}
	}
	w := WarmUpResult{Decision: 20 * time.Second}
	if got := w.text(WarmUpOptions{}); !strings.HasSuffix(got, "about 1 minute more") {
		t.Error(got)
	}
}
