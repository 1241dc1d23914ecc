package characterise

import (
	"context"
	"fmt"
	"strings"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/fit"
)

// mostPatches is the size of a chart that a model takes, 3,000 readings, with its
// repeats of white.
const mostPatches = 2800

// check says what can be seen to be wrong before anything is read.
func (s Setup) check() error {
	if s.Patches < 1 || s.Patches > mostPatches {
		return fmt.Errorf("characterise: a chart of %d patches; 1 to %d are possible", s.Patches, mostPatches)
	}
	if err := s.checkCorrection(); err != nil {
		return err
	}
	if err := s.Profile.Check(); err != nil {
		return err
	}
	if s.HardwareTable != nil {
		if _, err := s.HardwareTable.options(s.Measure.Screen.Screen()); err != nil {
			return err
		}
	}
	var earlier []measure.Reading
	if s.Earlier != nil {
		if err := s.Earlier.check(s.Measure.Screen.Screen(), s.Fit); err != nil {
			return err
		}
		earlier = s.Earlier.Readings
	}
	if s.Plan != nil {
		_, err := s.plan(s.Measure.Screen.Screen().Bits, earlier).Plan(nil)
		return err
	}
	return nil
}

// plan returns Plan with what the walk fills in.
func (s Setup) plan(bits int, earlier []measure.Reading) fit.Adaptive {
	a := *s.Plan
	a.Most, a.Fit, a.Earlier = s.Patches, s.Fit, earlier
	a.Chart.Bits, a.Chart.Seed = bits, s.Measure.Seed
	return a
}

// chart reads the chart and says in a sentence what was read.
func (w *Walk) chart(ctx context.Context) (res measure.ChartResult, outcome string, err error) {
	bits := w.result.Screen.Bits
	if w.setup.Earlier != nil {
		w.useEarlier()
	}
	if w.setup.Plan == nil {
		set := chart.Order(chart.Default(w.setup.Patches, chart.Options{Bits: bits, Seed: w.setup.Measure.Seed}), chart.OrderOptions{Seed: w.setup.Measure.Seed})
		res, err = w.readChart(ctx, measure.StageCharts, set, nil, measure.ChartOptions{})
		return res, fmt.Sprintf("%d patches were measured through the curves in force; %v.", len(set), res.Drift), err
	}
	w.setup.Log(fmt.Sprintf("The patches are chosen as readings come in, %d at most: how many there will be is not known yet.", w.setup.Patches))
	res, err = w.readChart(ctx, measure.StageCharts, nil, w.setup.plan(bits, w.earlier), measure.ChartOptions{})
	if err != nil {
		return res, "", err
	}
	chosen := 0
	for _, r := range res.Readings {
		if !strings.Contains(r.Patch.ID, "white") { // a plan numbers its patches
			chosen++
		}
	}
	return res, fmt.Sprintf("%d patches, chosen as readings came in, were measured through the curves in force. %s What is expected of a model is no measurement: the proof decides. Repeats of white: %v.", chosen, res.Why, res.Drift), nil
}
