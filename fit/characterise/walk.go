package characterise

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
)

// Walk is a run under way. Its stages are called in the order of Run, each at
// most once; it is not safe for concurrent use.
type Walk struct {
	setup   Setup
	session *measure.Session
	result  *Result
	// inspection is that of the curves in force, by which charts are watched.
	inspection *measure.Inspection
	// earlier are the readings of the earlier run as if they had been taken
	// through the curves in force.
	earlier []measure.Reading
}

// Run takes every stage in order. On an error, a cancelled context included,
// every reading taken so far is in the journal, and a run that is set up alike
// with that journal goes on from there.
func Run(ctx context.Context, setup Setup) (*Result, error) {
	w, err := Begin(ctx, setup)
	if err != nil {
		return nil, err
	}
	for _, stage := range []func(context.Context) error{
		w.before, w.Inspect, w.WarmUp, w.CorrectInstrument, w.LookAsFound, w.SetControls, w.CorrectCurves,
		w.MeasureChart, w.FitModel, w.Prove, w.LookAgain, w.WriteProfile, w.MakeTable,
	} {
		if err := stage(ctx); err != nil {
			return nil, err
		}
	}
	if setup.After != nil {
		if err := setup.After(ctx, w.session, w.Result()); err != nil {
			return nil, err
		}
	}
	if err := w.session.Ready(ctx); err != nil {
		return nil, err
	}
	return w.Result(), nil
}

func (w *Walk) before(ctx context.Context) error {
	if w.setup.Before == nil {
		return nil
	}
	return w.setup.Before(ctx, w.session)
}

// Begin opens the session and fills in the checklist. What can be seen to be
// wrong with the setup is an error here, and not when an hour was spent.
func Begin(ctx context.Context, setup Setup) (*Walk, error) {
	if setup.Measure.Screen == nil || setup.Measure.Instrument == nil {
		return nil, errors.New("characterise: a screen and an instrument are needed")
	}
	if err := checkName(setup.Measure.Screen.Screen().Name); err != nil {
		return nil, err
	}
	if err := setup.Aim.Judgeable(); err != nil {
		return nil, err
	}
	setup = setup.withDefaults()
	if err := setup.check(); err != nil {
		return nil, err
	}
	session, err := measure.Open(ctx, setup.Measure)
	if err != nil {
		return nil, err
	}
	screen, instrument := setup.Measure.Screen.Screen(), setup.Measure.Instrument.Instrument()
	w := &Walk{setup: setup, session: session, result: &Result{
		RunID: session.Header().Run, Seed: setup.Measure.Seed, Start: session.Now(),
		Screen: screen, Instrument: instrument, Adjusted: true,
		Checklist: Checklist(screen, instrument),
		Asked:     setup.Aim, Aim: setup.Aim, Truth: setup.Truth,
	}}
	for _, c := range w.result.Checklist {
		setup.Log("[" + c.State + "] " + c.Text)
	}
	for _, c := range setup.Aim.Cautions() {
		w.warn("%s", c)
	}
	return w, nil
}

func (s Setup) withDefaults() Setup {
	set := func(v *int, d int) {
		if *v == 0 {
			*v = d
		}
	}
	set(&s.Patches, 175)
	set(&s.ProofPatches, 120)
	set(&s.Averages, 4)
	set(&s.WhiteAverages, 16)
	set(&s.Measure.Averages, s.Averages)
	set(&s.Curves.Averages, s.Averages)
	set(&s.Curves.WhiteAverages, s.WhiteAverages)
	if s.Curves.Progress == nil {
		s.Curves.Progress = s.Measure.Progress
	}
	if s.Log == nil {
		s.Log = func(string) {}
	}
	return s
}

// Result returns what the stages taken so far found.
func (w *Walk) Result() *Result {
	w.result.Readings = w.session.Readings()
	w.result.End = w.session.Now()
	return w.result
}

// Session returns the session, for readings of an application's own between
// the stages.
func (w *Walk) Session() *measure.Session { return w.session }

// begin notes where a stage starts; the function that it returns ends it.
func (w *Walk) begin(name string) func(outcome string) {
	start, before := w.session.Now(), len(w.session.Readings())
	return func(outcome string) {
		w.result.Stages = append(w.result.Stages, Stage{
			Name: name, Readings: len(w.session.Readings()) - before,
			Took: w.session.Now().Sub(start), Outcome: outcome,
		})
		w.setup.Log(outcome)
	}
}

func (w *Walk) warn(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	w.result.Warnings = append(w.result.Warnings, text)
	w.setup.Log("Note: " + text)
}

// read reads white, with the averages of a white that figures rest on, and then
// patches in order.
func (w *Walk) read(ctx context.Context, stage string, set []chart.Patch) ([]measure.Reading, error) {
	first, err := w.readWhite(ctx, stage)
	if err != nil {
		return nil, err
	}
	rest, err := w.session.ReadSet(ctx, stage, set, w.setup.Averages)
	return append([]measure.Reading{first}, rest...), err
}

func (w *Walk) readWhite(ctx context.Context, stage string) (measure.Reading, error) {
	return w.session.Read(ctx, measure.ReadRequest{
		Stage: stage, Patch: chart.Patch{ID: stage + " white", Signal: white}, Averages: w.setup.WhiteAverages,
	})
}

// readChart is read for a chart, of a set or of what a source names: what neither
// its neighbours nor its own scatter believe is read again.
func (w *Walk) readChart(ctx context.Context, stage string, set []chart.Patch, source measure.Source, o measure.ChartOptions) (measure.ChartResult, error) {
	first, err := w.readWhite(ctx, stage)
	if err != nil {
		return measure.ChartResult{}, err
	}
	o.Averages, o.Watch = w.setup.Averages, w.inspection
	var res measure.ChartResult
	if source != nil {
		res, err = w.session.ReadChartFrom(ctx, stage, source, o)
	} else {
		res, err = w.session.ReadChart(ctx, stage, set, o)
	}
	if err != nil {
		return res, err
	}
	for _, a := range res.Again {
		w.result.Again = append(w.result.Again, Again{stage, res.Readings[a.At].Patch, a})
	}
	if n := len(res.Again); n > 0 {
		w.setup.Log(fmt.Sprintf("%d of %d readings were taken again: their neighbours or their own scatter spoke against them.", n, len(res.Readings)))
	}
	res.Readings = append([]measure.Reading{first}, res.Readings...)
	return res, nil
}

// Checklist returns what has to be so before the first patch is shown.
//
// Sources: common practice, no source, except the flash limit (WCAG 2.3.1,
// ITU-R BT.1702) and the warm-up, which the run watches itself.
func Checklist(screen measure.ScreenInfo, instrument measure.InstrumentInfo) []Check {
	const see, known = "for you to see", "known"
	list := []Check{
		{see, "The display shows its own desktop area: nothing on it is duplicated from another."},
		{see, "Whatever changes the picture by itself is off: ambient sensor, night mode, dynamic contrast, power saving, screen saver."},
		{see, fmt.Sprintf("The display is in the gamut mode that the profile is for (%s), and no other profile or curves are in force.", screen.Mode)},
		{see, "The instrument's rim rests on the clean glass under its own weight; nobody pushes it. If light leaks in at an edge, tilt the panel. The room is dim and stays so."},
		{known, fmt.Sprintf("The path to the display has %d bits a channel.", screen.Bits)},
	}
	if instrument.Serial != "" {
		list = append(list, Check{known, fmt.Sprintf("The instrument is %s, serial %s.", instrument.Name, instrument.Serial)})
	}
	if screen.SelfLit {
		list = append(list, Check{see, "The panel makes its own light: bright patches wear it. Measure no more often than the work needs, and let it rest dark afterwards."})
	}
	return append(list, Check{see, "Nobody sensitive to flashing light watches: patches change often, though never fast enough for more than three flashes in a second."})
}

// Inspect looks whether the display is awake, shows each patch when it is asked
// to and tells its levels apart, before time is spent on it. What is found is a
// *[measure.ConditionError] that says what to do; then resume. Levels lost at an
// end are a warning: some displays are like that.
func (w *Walk) Inspect(ctx context.Context) error {
	end := w.begin(measure.StageInspection)
	outcome := "The display is awake, follows the patches and tells its levels apart."
	_, err := measure.Inspect(ctx, w.session, measure.InspectOptions{})
	var found *measure.ConditionError
	if errors.As(err, &found) && found.Condition == measure.OutputClipped {
		w.warn("%s: %s. If the display is not like that by nature, %s and begin again.", sentence(string(found.Condition)), found.Evidence, strings.TrimSuffix(found.Remedy, ", then resume"))
		outcome, err = "The display is awake and follows the patches.", nil
	}
	if err != nil {
		return err
	}
	end(outcome)
	return nil
}

// sentence begins text with a capital letter.
func sentence(text string) string { return strings.ToUpper(text[:1]) + text[1:] }

// WarmUp watches the white until luminance and chromaticity are stable. A
// display that never is so goes on with a warning.
func (w *Walk) WarmUp(ctx context.Context) error {
	end := w.begin(measure.StageWarmUp)
	res, err := measure.WarmUp(ctx, w.session, measure.WarmUpOptions{})
	if err != nil {
		return err
	}
	w.result.WarmUp = &res
	if !res.Stable {
		w.warn("The display did not settle in %.0f minutes of warm-up; figures may drift.", res.Took.Minutes())
	}
	end(res.Reason)
	return nil
}
