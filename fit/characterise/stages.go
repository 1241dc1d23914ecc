package characterise

import (
	"context"
	"fmt"
	"math"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
	"example.org/primaries/fit/curves"
	"example.org/primaries/fit/profile"
)

var (
	red   = colorimetry.RGB{R: 1}
	green = colorimetry.RGB{G: 1}
	blue  = colorimetry.RGB{B: 1}
	white = colorimetry.Gray(1)
	black = colorimetry.RGB{}
)

// LookAsFound reads the display before anything is set: the patches that
// LookAgain reads at the end, the primaries and the black. It refuses an aim
// whose given white lies outside the primaries before an hour is spent.
func (w *Walk) LookAsFound(ctx context.Context) error {
	end := w.begin(measure.StageAsFound)
	set, err := w.read(ctx, measure.StageAsFound, aimPatches(w.result.Screen.Bits))
	if err != nil {
		return err
	}
	w.result.Before = set
	if w.result.Found, err = native(set); err != nil {
		return err
	}
	reach, err := aim.Reach(w.result.Aim, w.result.Found.Primaries, w.result.Found.Black)
	if err != nil {
		return err
	}
	if near := reach.Nearest.White; near != w.result.Aim.White && !w.result.Aim.White.IsNative() {
		if w.setup.Given.White {
			return &ReachError{reach}
		}
		// On the edge of the primaries' triangle one more reading's noise puts
		// it out of reach again.
		edge, own := near.At.UV(), w.result.Found.White.UV()
		c := colorimetry.UV{U: edge.U + inside*(own.U-edge.U), V: edge.V + inside*(own.V-edge.V)}.Chromaticity()
		w.result.Aim.White = aim.XY(math.Round(1e4*c.X)/1e4, math.Round(1e4*c.Y)/1e4)
		w.warn("%s The default aim bends to %s, a little inside it.", reach.Sentence, w.result.Aim.White)
	}
	uv := w.result.Found.White.UV()
	text := fmt.Sprintf("As found: white %.4f, %.4f at %.1f cd/m²", w.result.Found.White.Chromaticity().X, w.result.Found.White.Chromaticity().Y, w.result.Found.White.Y)
	if a := w.result.Aim.White; !a.IsNative() {
		text += fmt.Sprintf(", %.4f in u'v' from the aim", uv.Distance(a.At.UV()))
	}
	end(text + ".")
	return nil
}

// inside is the share of the way to the display's own white by which a default
// white keeps off the edge of what the display can have. This project's own.
const inside = 0.1

// SetControls sets the display's own controls towards the aim, where it has
// any worth using, and then settles what the curves are to reach.
func (w *Walk) SetControls(ctx context.Context) error {
	end := w.begin(measure.StageControls)
	outcome := "The display's controls were left as they were."
	if have := w.controls(); len(have) > 0 {
		res, err := controls.Guide(ctx, w.session, have, w.result.Aim, controls.Options{Averages: w.setup.Averages})
		if err != nil {
			return err
		}
		for _, s := range res.Sentences {
			w.setup.Log(s)
		}
		w.result.Controls = &res
		outcome = fmt.Sprintf("The controls were set in %d steps.", len(res.Steps))
	}
	set, err := w.read(ctx, measure.StageControls, []chart.Patch{
		{ID: "settled red", Signal: red}, {ID: "settled green", Signal: green},
		{ID: "settled blue", Signal: blue}, {ID: "settled black", Signal: black},
	})
	if err != nil {
		return err
	}
	if w.result.Settled, err = native(set); err != nil {
		return err
	}
	if err := w.settleAim(); err != nil {
		return err
	}
	end(outcome)
	return nil
}

func (w *Walk) controls() []measure.Control {
	if w.setup.NoControls || w.setup.Measure.Controls == nil {
		return nil
	}
	return w.session.Controls()
}

// AcceptedCdM2 is how far, in cd/m², stepped controls may leave the luminance
// from the one asked for (common practice, no source).
const AcceptedCdM2 = 5

// settleAim bends what was not given to what the display, as the controls left
// it, can do, and refuses what was given and cannot be had.
func (w *Walk) settleAim() error {
	asked := w.result.Aim
	reach, err := aim.Reach(asked, w.result.Settled.Primaries, w.result.Settled.Black)
	if err != nil {
		return err
	}
	near := reach.Nearest
	short := asked.Luminance - near.Luminance
	if c := w.result.Controls; c != nil && c.Aim.Luminance > 0 && c.Aim.Luminance < near.Luminance {
		near.Luminance = c.Aim.Luminance
	}
	g := w.setup.Given
	switch {
	case g.White && !asked.White.IsNative() && near.White != asked.White,
		g.Black && (near.BlackCdM2 != asked.BlackCdM2 || near.BlackRatio != asked.BlackRatio),
		g.Luminance && asked.Luminance > 0 && short > AcceptedCdM2:
		return &ReachError{reach}
	case !reach.OK && short > AcceptedCdM2:
		w.warn("%s The default aim bends to it.", reach.Sentence)
	}
	if asked.Luminance > 0 && math.Abs(near.Luminance-asked.Luminance) > 0.005*asked.Luminance && math.Abs(near.Luminance-asked.Luminance) <= AcceptedCdM2 {
		what := "The controls' steps leave the luminance"
		if w.result.Controls == nil {
			what = "The display can have the white of the aim"
		}
		w.warn("%s at %.1f cd/m², within ±%d of the %.0f asked for; the curves' aim is the luminance reached.", what, near.Luminance, AcceptedCdM2, asked.Luminance)
	}
	w.result.Aim = near
	return nil
}

// CorrectCurves makes the correction curves in a closed loop and puts them in
// force.
func (w *Walk) CorrectCurves(ctx context.Context) error {
	end := w.begin(measure.StageCurves)
	w.setup.Log("The correction curves are next: half an hour on an even display, and several hours on one whose tone is uneven from code to code, of which greys are read code by code.")
	res, err := curves.Correct(ctx, w.session, w.result.Aim, w.setup.Curves)
	if err != nil {
		return err
	}
	w.result.Curves, w.result.InForce, w.result.Aim = &res, res.Curves, res.Aim
	for _, s := range res.Sentences {
		w.setup.Log(s)
	}
	w.result.Warnings = append(w.result.Warnings, res.Warnings...)
	last := res.Passes[len(res.Passes)-1]
	end(fmt.Sprintf("Correction curves after %d passes: white %.4f in u'v' from the aim as read, %.1f cd/m²; the greys hold from %.1f %% signal up.",
		len(res.Passes)-1, last.WhiteDeltaUV, last.Luminance, 100*res.HoldSignal))
	return nil
}

// MeasureChart measures the characterisation chart through the curves in
// force: a fixed set, or what Setup.Plan chooses.
func (w *Walk) MeasureChart(ctx context.Context) error {
	end := w.begin(measure.StageCharts)
	seen, err := measure.Inspect(ctx, w.session, measure.InspectOptions{Ignore: []measure.Condition{measure.OutputClipped}})
	if err != nil {
		return err
	}
	w.inspection = &seen
	res, outcome, err := w.chart(ctx)
	if err != nil {
		return err
	}
	w.result.Chart, w.result.Drift = res.Readings, res.Drift
	if w.result.White, err = meanOf(w.result.Chart, white); err != nil {
		return err
	}
	end(outcome)
	return nil
}

// FitModel fits the model to the chart.
func (w *Walk) FitModel(context.Context) error {
	end := w.begin("model")
	if err := w.fitModel(); err != nil {
		return err
	}
	end(w.result.Evidence.Reason)
	return nil
}

func (w *Walk) fitModel() error {
	m, evidence, err := fit.Best(w.result.Chart, w.setup.Fit)
	if err != nil {
		return err
	}
	if len(w.earlier) > 0 {
		m = w.withEarlier(m, &evidence)
	}
	w.result.Model, w.result.Evidence = m, evidence
	w.result.Black = m.XYZ(black)
	w.result.Warnings = append(w.result.Warnings, evidence.Warnings...)
	return nil
}

// Prove reads patches that the fit did not see.
func (w *Walk) Prove(ctx context.Context) error {
	end := w.begin(measure.StageProof)
	var shown []chart.Patch
	for _, r := range w.result.Chart {
		shown = append(shown, r.Patch)
	}
	o := chart.Options{Bits: w.result.Screen.Bits, Seed: w.setup.Measure.Seed + 1}
	set := chart.Order(chart.Apart(shown, w.setup.ProofPatches, o), chart.OrderOptions{Seed: o.Seed})
	read, err := w.readChart(ctx, measure.StageProof, set, nil, measure.ChartOptions{KeepDrift: true})
	if err != nil {
		return err
	}
	if w.result.ProofWhite, err = meanOf(read.Readings, white); err != nil {
		return err
	}
	for _, r := range read.Readings {
		if r.Patch.Signal != white {
			w.result.Proof = append(w.result.Proof, r)
		}
	}
	end(fmt.Sprintf("%d patches that the fit did not see were measured for the proof.", len(w.result.Proof)))
	return nil
}

// LookAgain reads the patches of LookAsFound through the curves.
func (w *Walk) LookAgain(ctx context.Context) error {
	end := w.begin(measure.StageWithCurves)
	set, err := w.read(ctx, measure.StageWithCurves, aimPatches(w.result.Screen.Bits))
	if err != nil {
		return err
	}
	w.result.After = set
	end("The patches of the first look were read again through the curves.")
	return nil
}

// WriteProfile turns the model into a profile.
func (w *Walk) WriteProfile(context.Context) error {
	o := w.setup.Profile
	o.Created = w.result.Start
	o.Relative = w.result.RelativeXYZ
	o.Display, o.Mode = w.result.Screen.Name, w.result.Screen.Mode
	if o.Aim == "" {
		o.Aim = AimName(w.result.Aim)
	}
	if o.Readings == nil {
		table, err := targ(w.result)
		if err != nil {
			return err
		}
		o.Readings = table
	}
	res, err := profile.Build(w.result.Model, w.result.White.XYZ, w.result.InForce, o)
	if err != nil {
		return err
	}
	w.result.Profile = res
	if res.Diagnostics.NodesAToB == 0 && (o.Mapping != profile.MappingNearest || o.Knee != 0 || o.BlackPoint) {
		w.warn("The model has a matrix, and so has the profile: mapping, knee and black point are matters of tables. Ask for tables to have them.")
	}
	if res.Diagnostics.NodesAToB != 0 && o.Black != profile.BlackMeasured {
		w.warn("The profile has tables, and they hold the black as it was measured: the black that was asked for is a matter of the matrix beside them, for programs that read no tables.")
	}
	if o.SystemCalibration && w.result.InForce.Len() > 0 {
		w.warn("The profile carries the curves twice, for systems that read either: in vcgt and in MHC2. See that only one of them is loaded.")
	} else if o.SystemCalibration {
		w.warn("The tag MHC2 holds no curves, and a system that follows it takes away any that are loaded: that is right only where none were in force while the readings were taken.")
	}
	w.result.Warnings = append(w.result.Warnings, res.Diagnostics.Warnings...)
	w.setup.Log("Profile " + res.FileName + ": " + res.Diagnostics.Black)
	return nil
}
