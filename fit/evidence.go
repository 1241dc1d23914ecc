package fit

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// Evidence is what Best saw: every candidate's figures and the reason for the
// choice.
type Evidence struct {
	// Chosen is the name of the model that Best returned, Reason a sentence
	// that says why.
	Chosen string `json:"chosen"`
	Reason string `json:"reason"`
	// Candidates are in order of rising complexity.
	Candidates []Candidate `json:"candidates"`
	// Folds is the number of parts that were held back in turn.
	Folds int `json:"folds"`
	// Additivity is the sum of the three primaries against the white, where
	// the readings hold black, white and the full primaries; nil otherwise.
	// Outliers count only where nothing else was read of a colour.
	Additivity *Additivity `json:"additivity,omitempty"`
	// Stability is how far the primaries keep their colour, where the readings
	// hold black and ramps of the primaries, Outliers not counted; nil otherwise.
	Stability *Stability `json:"stability,omitempty"`
	// Outliers are the readings that the chosen model gave less than half
	// their weight, by their place in the slice that Best was given.
	Outliers []int `json:"outliers,omitempty"`
	// Scatter is the chosen model's residual over the readings' stated noise
	// (root mean square): about 1 where the model misses nothing.
	Scatter float64 `json:"scatter"`
	// Warnings are whole sentences for a report.
	Warnings []string `json:"warnings,omitempty"`
}

// Candidate is one model's figures. The differences are CIEDE2000 between a
// reading and the prediction of a model that was fitted without it, relative
// to the brightest reading as white; the readings' noise is in them.
type Candidate struct {
	Name       string  `json:"name"`
	Parameters float64 `json:"parameters"` // effective number: what smoothing leaves of them
	Mean       float64 `json:"mean"`
	P95        float64 `json:"p95"`
	Max        float64 `json:"max"`
	// Error estimates the difference from the truth (root mean square): Mean's
	// with the noise that the readings state removed, 0 where nothing is left that
	// can be told from noise. MostError is what it may be at most, two standard
	// errors of its square above.
	Error     float64 `json:"error"`
	MostError float64 `json:"most_error"`
	Count     int     `json:"count"` // of readings that were held back; 0 where it failed
	// Distance is the mean distance of prediction and reading in standard
	// deviations of the reading; about 1.6 where noise is all there is.
	Distance float64 `json:"distance"`
	// Excess is the mean of the paired differences from the best candidate,
	// patch by patch, in CIEDE2000, and ExcessError its standard error;
	// DistanceExcess and DistanceError are the same of the distances. All are
	// 0 for the best candidate, the one of smallest Mean.
	Excess         float64 `json:"excess"`
	ExcessError    float64 `json:"excess_error"`
	DistanceExcess float64 `json:"distance_excess"`
	DistanceError  float64 `json:"distance_error"`
	// Failed says why the candidate could not be fitted, "" where it was.
	Failed string `json:"failed,omitempty"`
}

// Additivity compares the sum of the primaries with the white.
type Additivity struct {
	// Luminance is (Y_R + Y_G + Y_B − 2·Y_K)/Y_W, 1 on an additive display,
	// and LuminanceError its standard error from the readings' covariances.
	Luminance      float64 `json:"luminance"`
	LuminanceError float64 `json:"luminance_error"`
	// X and Z are the same ratio of the other two tristimulus values.
	X float64 `json:"x"`
	Z float64 `json:"z"`
	// Doubted says that one of the five colours was read by outliers alone.
	Doubted bool `json:"doubted,omitempty"`
}

// MostMissing is the share of the white's luminance by which the sum of the
// primaries may be off on a display that counts as additive. Own choice.
const MostMissing = 0.02

// Broken reports whether the channels plainly disturb each other: by more than
// MostMissing and than three standard errors.
func (a *Additivity) Broken() bool {
	return math.Abs(a.Luminance-1) > math.Max(MostMissing, 3*a.LuminanceError)
}

// additivity returns the figures, nil where one of the five colours was not
// read.
func additivity(readings []measure.Reading, o Options) *Additivity {
	at := func(s colorimetry.RGB) (mean colorimetry.XYZ, variance float64, ok bool) {
		l, ok := average(readings, s, o)
		return l.xyz, l.cov[1][1], ok
	}
	k, vk, ok := at(colorimetry.RGB{})
	w, vw, ok2 := at(colorimetry.Gray(1))
	if !ok || !ok2 || !(w.X > 0 && w.Y > 0 && w.Z > 0) {
		return nil
	}
	sum, variance := k.Scale(-2), 4*vk
	for _, s := range []colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} {
		c, v, ok := at(s)
		if !ok {
			return nil
		}
		sum, variance = sum.Add(c), variance+v
	}
	ratio := sum.Y / w.Y
	return &Additivity{
		Luminance:      ratio,
		LuminanceError: math.Sqrt(variance+ratio*ratio*vw) / w.Y,
		X:              sum.X / w.X,
		Z:              sum.Z / w.Z,
	}
}

// describe adds what the chosen model says about the readings.
func describe(m Model, readings []measure.Reading, o Options, ev *Evidence) {
	if f, ok := m.(interface {
		Scatter() float64
		Outliers() []int
	}); ok {
		ev.Scatter, ev.Outliers = f.Scatter(), f.Outliers()
	}
	sound := make([]measure.Reading, 0, len(readings))
	for i, r := range readings {
		if !slices.Contains(ev.Outliers, i) {
			sound = append(sound, r)
		}
	}
	ev.Additivity, ev.Stability = additivity(sound, o), stability(sound, o)
	if ev.Additivity == nil {
		if ev.Additivity = additivity(readings, o); ev.Additivity != nil {
			ev.Additivity.Doubted = true
		}
	}
	if a := ev.Additivity; a != nil && a.Broken() {
		text := "The three primaries together give %.1f %% of the white's luminance: the channels disturb each other, and a matrix profile cannot hold that."
		if a.Doubted {
			text = "The three primaries together give %.1f %% of the white's luminance, but one of these readings is far from the model: read black, white and the primaries again."
		}
		ev.Warnings = append(ev.Warnings, fmt.Sprintf(text, 100*a.Luminance))
	}
	if ev.Stability != nil {
		if w := ev.Stability.warning(); w != "" {
			ev.Warnings = append(ev.Warnings, w)
		}
	}
	if ev.Scatter > 2 {
		ev.Warnings = append(ev.Warnings, fmt.Sprintf(
			"The model misses the readings by %.1f times their stated noise: either they are noisier than stated or the display does more than the model.", ev.Scatter))
	}
	if n := len(ev.Outliers); n > 0 {
		many := "readings lie"
		if n == 1 {
			many = "reading lies"
		}
		ev.Warnings = append(ev.Warnings, fmt.Sprintf(
			"%d %s far from the model and lost more than half of the weight; the first is %s.", n, many, place(readings, ev.Outliers[0])))
	}
}

// place names a reading for people, who count from 1.
func place(readings []measure.Reading, i int) string {
	p := readings[i].Patch
	text := fmt.Sprintf("number %d of the %d readings given, signal %.3g, %.3g, %.3g", i+1, len(readings), p.Signal.R, p.Signal.G, p.Signal.B)
	if p.ID != "" {
		return fmt.Sprintf("patch %s (%s)", p.ID, text)
	}
	return text
}
