package fit

import (
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// Adaptive chooses the patches to read next: those that are expected to lower
// the error of a model most, judged by a model of the readings so far. It is a
// [measure.Source]. The zero value is the default; Chart should name the path.
// It is safe for concurrent use.
//
// The first patches keep their distance as those of [chart.Farthest] do. From
// then on each batch is planned by the covariance of what the model predicts
// ([Joint]): a reading that is expected to have the noise N lowers the
// covariance at a colour t by B(t,s)·(B(s,s)+N)⁻¹·B(s,t), whatever it will
// read, and so a whole batch can be chosen one by one beforehand, each patch
// where it lowers the expected CIEDE2000, taken over many colours, most. A
// patch that was read already is chosen again where averaging pays most.
//
// Where readings lie farther from what all others predict than the model
// expects, and more so than chance explains, it is taken to know less than it
// says there, and where they lie closer, more: so its misses draw patches to
// themselves.
//
// No choice of patches makes good what a kind of model cannot follow. Against
// sets of as many patches that only keep their distance, a plan gains where
// those spend readings on what is known (ramps, where tones are simple and
// channels interact), and it tells when to stop.
//
// A batch is a pure function of the options and of the readings before it, in
// their order. How patches follow each other is left to package measure, which
// keeps the limit on flashes.
//
// Sources: Krause, Singh and Guestrin, J. Mach. Learn. Res. 9 (2008) 235-284
// (choosing places for a Gaussian process one by one); Cohn, Ghahramani and
// Jordan, J. Artif. Intell. Res. 4 (1996) 129-145 (the expected mean variance);
// Le Gratiet and Cannamela, Technometrics 57 (2015) 418-427 (variance corrected
// by what cross-validation misses). They were not opened.
type Adaptive struct {
	// Fit says how readings are fitted, and what noise to assume where they state
	// none.
	Fit Options
	// Kind is the kind of model, one of Kinds; "" means ResidualName, which also
	// sees what an additive model does not.
	Kind string
	// Chart names the path: signals fall on its codes. Its Seed varies the
	// patches, its Ramps are those of the first batch, of 5 levels where it is 0.
	Chart chart.Options
	// First is the number of patches before the first look at readings, at least
	// 12; 0 means 48, and 16 with Earlier.
	First int
	// Batch is the number of patches between two looks; 0 means 16.
	Batch int
	// Most is the number of readings at which it stops at the latest; 0 means 300.
	Most int
	// Aim is the expected mean error, in CIEDE2000 relative to the display's white
	// and with the noise removed, at which it stops; 0 means that there is none.
	Aim float64
	// LeastGain is the share of the expected mean error by which one more batch
	// must be expected to lower it, else it stops; 0 means 0.01. Below 0 it goes
	// on.
	LeastGain float64
	// Targets are colours that matter more than others, as signals, such as those
	// of pictures; at most 500. They count beside the colours of the whole gamut,
	// as much as all of those.
	Targets []colorimetry.RGB
	// Earlier are readings of the same display from an earlier run, whose model
	// the plan then begins with, as [Since] does; nil means none.
	Earlier []measure.Reading
}

// Plan is the next batch and what is expected of it.
type Plan struct {
	// Patches are those to read next, in no particular order; none where enough
	// were read.
	Patches chart.Set
	// Expected is the expected mean error of the model of the readings so far, in
	// CIEDE2000 relative to white with the noise of the proof removed, over
	// colours of the whole gamut; After what it is expected to be after the
	// batch. Both are 0 before the first reading.
	Expected, After float64
	// Why says in a sentence why no patches follow, "" where some do.
	Why string
}

// Defaults of Adaptive.
const (
	firstPatches = 48
	firstRamps   = 5
	firstAgain   = 16 // with readings of an earlier run
	leastFirst   = 12
	batchPatches = 16
	mostPatches  = 300
	leastGain    = 0.01
	mostTargets  = 500
)

// Next implements [measure.Source]. The error is the context's or that of Plan.
func (a Adaptive) Next(ctx context.Context, readings []measure.Reading) ([]chart.Patch, string, error) {
	if err := ctx.Err(); err != nil {
		return nil, "", err
	}
	p, err := a.Plan(readings)
	return p.Patches, p.Why, err
}

// Plan returns the next batch. The error says which option or reading is
// unusable, or that the readings do not determine the model. Planning 16 patches
// takes about as long as the fit.
func (a Adaptive) Plan(readings []measure.Reading) (Plan, error) {
	a, err := a.withDefaults()
	if err != nil {
		return Plan{}, err
	}
	if len(readings) == 0 {
		if len(a.Earlier) > 0 {
			if _, err := observe(a.Earlier, a.Fit); err != nil {
				return Plan{}, fmt.Errorf("readings of an earlier run: %w", err)
			}
		}
		return Plan{Patches: chart.Number(chart.Farthest(a.First, a.Chart), "n")}, nil
	}
	var m Model
	if len(a.Earlier) > 0 {
		m, err = Since(a.Earlier, readings, a.Fit)
	} else {
		m, err = Of(a.Kind, readings, a.Fit)
	}
	if err != nil {
		return Plan{}, err
	}
	j, ok := m.(Joint)
	if !ok {
		return Plan{}, fmt.Errorf("fit: the model %q does not say how its predictions err together; plan with another kind", a.Kind)
	}
	return a.plan(j, readings), nil
}

// plan chooses the next batch by the model m of the readings.
func (a Adaptive) plan(m Joint, readings []measure.Reading) Plan {
	d := newDesign(m, a, readings)
	p := Plan{Expected: d.expected()}
	p.After = p.Expected
	if n := len(readings); n >= a.Most {
		p.Why = fmt.Sprintf("%d readings were taken, as many as were allowed; the expected mean error is %.3f ΔE00.", n, p.Expected)
		return p
	}
	if p.Expected <= a.Aim {
		p.Why = fmt.Sprintf("The expected mean error is %.3f ΔE00, and %.3f was the aim.", p.Expected, a.Aim)
		return p
	}
	var set chart.Set
	for range min(a.Batch, a.Most-len(readings)) {
		i := d.best()
		set = append(set, chart.Patch{ID: fmt.Sprintf("n%d", len(readings)+len(set)+1), Signal: d.candidates[i]})
		d.take(i)
	}
	p.After = d.expected()
	if gain := 1 - p.After/p.Expected; gain < a.LeastGain {
		p.Why = fmt.Sprintf("%d more patches would lower the expected mean error from %.4f to %.4f ΔE00, by less than %.3g %%.", len(set), p.Expected, p.After, 100*a.LeastGain)
		return p
	}
	p.Patches = set
	return p
}

// withDefaults fills in what is zero, or says what cannot be meant.
func (a Adaptive) withDefaults() (Adaptive, error) {
	or := func(v *int, otherwise int) {
		if *v == 0 {
			*v = otherwise
		}
	}
	or(&a.Most, mostPatches)
	if len(a.Earlier) > 0 {
		or(&a.First, min(firstAgain, a.Most))
	}
	or(&a.First, min(firstPatches, a.Most))
	or(&a.Batch, batchPatches)
	or(&a.Chart.Ramps, firstRamps)
	if a.Kind == "" {
		a.Kind = ResidualName
	} else if !slices.Contains(Kinds(), a.Kind) {
		return a, fmt.Errorf("fit: there is no model %q; there are %q", a.Kind, Kinds())
	} else if len(a.Earlier) > 0 {
		return a, fmt.Errorf("fit: a plan with an earlier run has a kind of its own; leave Kind empty")
	}
	if a.LeastGain == 0 {
		a.LeastGain = leastGain
	}
	switch {
	case a.First < leastFirst || a.Most < a.First:
		return a, fmt.Errorf("fit: %d first patches of at most %d; begin with at least %d, and allow no fewer in all", a.First, a.Most, leastFirst)
	case a.Most > mostReadings:
		return a, fmt.Errorf("fit: at most %d readings; a model takes %d", a.Most, mostReadings)
	case a.Batch < 1:
		return a, fmt.Errorf("fit: batches of %d patches; give 1 or more", a.Batch)
	case !(a.Aim >= 0) || math.IsInf(a.Aim, 1):
		return a, fmt.Errorf("fit: the aim is a mean error of %g ΔE00; give a number above 0, or 0 for none", a.Aim)
	case !(a.LeastGain < 1) || math.IsInf(a.LeastGain, -1):
		return a, fmt.Errorf("fit: a least gain of %g; give a share below 1", a.LeastGain)
	case a.Chart.Bits < 0 || a.Chart.Bits > 16 || a.Chart.Narrow && a.Chart.Bits != 0 && a.Chart.Bits < 8:
		return a, fmt.Errorf("fit: a path of %d bits; 1 to 16 are possible, 8 to 16 in the narrow range, and 0 where signals are continuous", a.Chart.Bits)
	case len(a.Targets) > mostTargets:
		return a, fmt.Errorf("fit: %d targets; at most %d are used: choose those that matter most", len(a.Targets), mostTargets)
	}
	for i, s := range a.Targets {
		if s != s.Clamp() {
			return a, fmt.Errorf("fit: target %d is the signal %v; signals run from 0 to 1", i, s)
		}
	}
	return a, nil
}
