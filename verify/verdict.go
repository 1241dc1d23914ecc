package verify

import (
	"fmt"
	"math"
)

// State is the outcome of a judgement.
type State string

// The three outcomes. Undecided is where the uncertainty of the readings leaves
// both others possible, or where the figure is missing.
const (
	Passed    State = "passed"
	Failed    State = "failed"
	Undecided State = "undecided"
)

// Figure is one figure to judge, in the unit of its limit.
type Figure struct {
	Name  string  // path in report.json
	Value float64 // as read
	// Floor is what noise alone would have shown; 0 for a figure that noise
	// pushes up as often as down.
	Floor float64
	// Spread is the standard deviation of the figure if it were read again.
	Spread float64
	// Known is false where the readings state no noise: Floor and Spread are
	// then 0, and the verdict says so.
	Known bool
}

// Verdict is one limit held against its figure.
type Verdict struct {
	Limit  Limit   `json:"limit"`
	Value  float64 `json:"value"` // as read, 0 where it was not measured
	State  State   `json:"state"`
	Reason string  `json:"reason"`
}

// deviations is how many standard deviations a verdict keeps from its limit:
// about 95 % of repetitions lie within.
const deviations = 2

// Judge holds figures against limits, in the order of the limits.
//
// A figure that is a distance is at least 0, so noise can only add to it on
// average. What it may truly be lies between two bounds: above, the value and
// two standard deviations of its spread; below, two standard deviations less,
// and less the noise floor in quadrature, which is how independent errors add.
// A limit above both is passed, one below both is failed, one between them is
// undecided: more averages, or where the readings' systematic error leaves it
// open a better instrument, would decide.
func Judge(l Limits, figures []Figure) []Verdict {
	verdicts := make([]Verdict, 0, len(l.Limits))
	for _, m := range l.Limits {
		v := Verdict{Limit: m, State: Undecided, Reason: "the figure was not measured"}
		for _, f := range figures {
			if f.Name == m.Figure {
				v = judge(m, f)
				break
			}
		}
		verdicts = append(verdicts, v)
	}
	return verdicts
}

func judge(m Limit, f Figure) Verdict {
	v := Verdict{Limit: m, Value: f.Value, State: Undecided}
	if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
		v.Value, v.Reason = 0, "the figure is not a number"
		return v
	}
	high := f.Value + deviations*f.Spread
	low := f.Value - deviations*f.Spread
	if f.Floor > 0 {
		low = math.Max(low, 0)
		low = sqrtPositive(low*low - f.Floor*f.Floor)
	}
	side, ok, bad := "at most", high <= m.Value, low > m.Value
	if m.AtLeast {
		side, ok, bad = "at least", low >= m.Value, high < m.Value
	}
	switch {
	case ok:
		v.State, v.Reason = Passed, fmt.Sprintf("%s is %s %s", v.Digits(f.Value), side, v.Digits(m.Value))
	case bad:
		v.State, v.Reason = Failed, fmt.Sprintf("%s is not %s %s", v.Digits(f.Value), side, v.Digits(m.Value))
	default:
		v.Reason = fmt.Sprintf("read as %s, it may be %s to %s, and the limit, %s, lies between", v.Digits(f.Value), v.Digits(low), v.Digits(high), v.Digits(m.Value))
		return v
	}
	if !f.Known {
		v.Reason += "; the readings state no noise, so nothing was allowed for it"
	} else if f.Spread > 0 || f.Floor > 0 {
		v.Reason += fmt.Sprintf("; within its uncertainty it may be %s to %s", v.Digits(low), v.Digits(high))
	}
	return v
}

// Digits prints x, a figure of v's kind, with as many decimals as anybody
// reads: four where the limit is below 0.1, as for distances in u'v', else two.
func (v Verdict) Digits(x float64) string {
	if math.Abs(v.Limit.Value) < 0.1 {
		return fmt.Sprintf("%.4f", x)
	}
	return fmt.Sprintf("%.2f", x)
}

// Overall sums verdicts up: failed where one failed, passed where all passed,
// undecided otherwise and where there are none.
func Overall(verdicts []Verdict) State {
	state := Undecided
	for i, v := range verdicts {
		switch {
		case v.State == Failed:
			return Failed
		case i == 0:
			state = v.State
		case v.State != Passed:
			state = Undecided
		}
	}
	return state
}

// Figures returns a's mean, p95 and max under their paths in report.json,
// prefix being that of a, such as "profile_accuracy.relative".
func (a Accuracy) Figures(prefix string) []Figure {
	known := a.NoiseFloor.Known
	path := prefix + ".delta_e_2000."
	return []Figure{
		{path + "mean", a.DeltaE2000.Mean, a.NoiseFloor.Mean, a.Spread.Mean, known},
		{path + "p95", a.DeltaE2000.P95, a.NoiseFloor.P95, a.Spread.P95, known},
		{path + "max", a.DeltaE2000.Max, a.NoiseFloor.Max, a.Spread.Max, known},
	}
}

// Figures returns the figures of all that was compared.
func (a ProfileAccuracy) Figures(prefix string) []Figure {
	f := append(a.Relative.Figures(prefix+".relative"), a.Absolute.Figures(prefix+".absolute")...)
	if a.True != nil {
		f = append(f, a.True.Figures(prefix+".true")...)
	}
	if a.TrueAbsolute != nil {
		f = append(f, a.TrueAbsolute.Figures(prefix+".true_absolute")...)
	}
	return f
}

// Figures returns the figures of all that was compared.
func (a AimAccuracy) Figures(prefix string) []Figure {
	var f []Figure
	if a.Before != nil {
		f = a.Before.Figures(prefix + ".before")
	}
	if a.After != nil {
		f = append(f, a.After.Figures(prefix+".after")...)
	}
	return f
}
