package report

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
)

// Model is the fitted model.
type Model struct {
	Name       string   `json:"name"`
	Reason     string   `json:"reason,omitempty"`     // why it was chosen
	Additivity *float64 `json:"additivity,omitempty"` // (Y_R+Y_G+Y_B−2Y_K)/Y_W
	// AdditivityError is its standard error by the readings' noise, AdditivityX
	// and AdditivityZ the same ratios of X and Z. Passed is additive within
	// fit.MostMissing, Failed plainly not.
	AdditivityError float64      `json:"additivity_error,omitempty"`
	AdditivityX     float64      `json:"additivity_x,omitempty"`
	AdditivityZ     float64      `json:"additivity_z,omitempty"`
	AdditivityState verify.State `json:"additivity_state,omitempty"`
	Stability       []Stability  `json:"stability,omitempty"` // red, green, blue
	// Averages is the number of integrations of the median reading that the model
	// was fitted to, 0 where that is not known.
	Averages int `json:"averages,omitempty"`
	// Candidates are the models that were tried on the readings of this run. None
	// is Chosen where Name is characterise.EarlierName: that model rests on the
	// readings of an earlier run as well.
	Candidates []Candidate `json:"candidates,omitempty"`
}

// Stability is how far a primary keeps its colour from full signal down: the
// largest distance, of so many readings, of the light that it adds to the black
// from that at full signal. Both are relative to nothing but the display's own
// readings, whose noise is in ShiftUV.
type Stability struct {
	Primary  string       `json:"primary"`
	ShiftUV  float64      `json:"shift_uv"`
	ErrorUV  float64      `json:"error_uv"` // standard uncertainty by noise
	Signal   float64      `json:"signal"`   // where it was read
	Readings int          `json:"readings"` // bright enough to tell
	State    verify.State `json:"state"`    // Passed: within fit.MostShift; Failed: plainly moved
}

// Candidate is a model that was tried, with its cross-validated figures: of Count
// readings that were held back in turn, relative to the brightest reading, the
// readings' noise included.
type Candidate struct {
	Name   string  `json:"name"`
	Mean   float64 `json:"mean_delta_e_2000"`
	P95    float64 `json:"p95_delta_e_2000"`
	Max    float64 `json:"max_delta_e_2000"`
	Count  int     `json:"count"`
	Chosen bool    `json:"chosen"`
}

func modelOf(run *characterise.Result) Model {
	e := run.Evidence
	m := Model{Name: e.Chosen, Reason: e.Reason, Stability: stabilityOf(e.Stability), Averages: medianAverages(run.Chart)}
	if a := e.Additivity; a != nil {
		m.Additivity, m.AdditivityError, m.AdditivityX, m.AdditivityZ = &a.Luminance, a.LuminanceError, a.X, a.Z
		m.AdditivityState = judged(math.Abs(a.Luminance-1), a.LuminanceError, fit.MostMissing, a.Broken())
	}
	for _, c := range e.Candidates {
		if c.Failed == "" {
			m.Candidates = append(m.Candidates, Candidate{Name: c.Name, Mean: c.Mean, P95: c.P95, Max: c.Max, Count: c.Count, Chosen: c.Name == e.Chosen})
		}
	}
	return m
}

// medianAverages returns the number of integrations of the median reading other
// than white, 0 where there is none.
func medianAverages(set []measure.Reading) int {
	var counts []int
	for _, r := range set {
		if r.Patch.Signal != colorimetry.Gray(1) {
			counts = append(counts, max(1, len(r.Repeats)))
		}
	}
	if len(counts) == 0 {
		return 0
	}
	slices.Sort(counts)
	return counts[(len(counts)-1)/2]
}

// judged is the state of a figure that should be at most most: Failed where it
// plainly is not, Passed where two standard uncertainties leave it within.
func judged(value, uncertainty, most float64, broken bool) verify.State {
	switch {
	case broken:
		return verify.Failed
	case value+2*uncertainty <= most:
		return verify.Passed
	}
	return verify.Undecided
}

func stabilityOf(s *fit.Stability) []Stability {
	if s == nil {
		return nil
	}
	var out []Stability
	for c, name := range [...]string{"red", "green", "blue"} {
		out = append(out, Stability{Primary: name, ShiftUV: s.Shift[c], ErrorUV: s.Error[c], Signal: s.Signal[c], Readings: s.Readings[c],
			State: judged(s.Shift[c], s.Error[c], fit.MostShift, s.Moved(c))})
	}
	return out
}

// behaviour is a line of what the readings say of the display itself.
type behaviour struct {
	Name, Measured, Error, Of string
	State                     verify.State
	Word                      string // of the state
	Open                      string // what would decide it, where that is open
}

// behaviours returns the lines: the sum of the primaries, then each primary.
func (m Model) behaviours() []behaviour {
	var out []behaviour
	if m.Additivity != nil {
		out = append(out, behaviour{
			Name: "red, green and blue together", Measured: figure(100**m.Additivity, 1) + " % of the white's luminance, " + figure(100*m.AdditivityX, 1) + " % of its X, " + figure(100*m.AdditivityZ, 1) + " % of its Z",
			Error: "±\u00a0" + figure(100*m.AdditivityError, 1) + "\u00a0%", Of: "readings of black, white and the primaries; black counted once",
			State: m.AdditivityState, Word: wordOf(m.AdditivityState, "additive", "not additive"),
			Open: m.open(m.AdditivityState, math.Abs(*m.Additivity-1), m.AdditivityError, fit.MostMissing),
		})
	}
	for _, s := range m.Stability {
		out = append(out, behaviour{
			Name: s.Primary + "'s colour", Measured: fmt.Sprintf("moves by %s in u'v' at %s %% signal", figure(s.ShiftUV, 4), figure(100*s.Signal, 0)),
			Error: "±\u00a0" + figure(s.ErrorUV, 4), Of: fmt.Sprintf("the largest of %s below full signal, black taken off", plural(s.Readings, "reading")),
			State: s.State, Word: wordOf(s.State, "kept", "not kept"),
			Open: m.open(s.State, s.ShiftUV, s.ErrorUV, fit.MostShift),
		})
	}
	return out
}

// mostAverages is beyond what anybody reads of a patch: 25 times the four that
// are usual.
const mostAverages = 100

// open says how many averages would show an undecided figure to be within most if
// all of it is noise, which figure and uncertainty then have in common: both fall
// with the root of the averages. That holds where the figure was read; darker
// readings become bright enough to tell by the same averages, and open in their
// turn. "" for a figure that is decided, or whose averages are not known.
func (m Model) open(s verify.State, value, uncertainty, most float64) string {
	if s != verify.Undecided || m.Averages == 0 {
		return ""
	}
	times := (value + 2*uncertainty) / most
	need := math.Ceil(times * times * float64(m.Averages))
	switch {
	case need <= float64(m.Averages):
		return ""
	case need > mostAverages:
		return fmt.Sprintf("if it is all noise, more than %d averages are needed to show that there, not %d: a steadier instrument would", mostAverages, m.Averages)
	}
	return fmt.Sprintf("if it is all noise, about %.0f averages would show that there, not %d", need, m.Averages)
}

// candidateWords say how the figures of the candidates are to be read.
func (m Model) candidateWords() string {
	least, chosen := math.MaxInt, false
	for _, c := range m.Candidates {
		least, chosen = min(least, c.Count), chosen || c.Chosen
	}
	s := "Cross-validated: each patch is predicted by a fit that did not see it. Relative to the brightest reading, the readings' noise included."
	if least > 0 && least < 20 {
		s += fmt.Sprintf(" Of %s the 95 %% is next to the largest, or the same.", plural(least, "patch"))
	}
	if !chosen && m.Name == characterise.EarlierName {
		s += " None of these was chosen: they are of this run's readings alone, and the model that was chosen rests on both runs; its own figures stand in the sentence above."
	}
	return s
}

func wordOf(s verify.State, yes, no string) string {
	switch s {
	case verify.Passed:
		return yes
	case verify.Failed:
		return no
	}
	return string(verify.Undecided)
}
