package characterise

import (
	"context"
	"fmt"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
	"example.org/primaries/fit/curves"
	"example.org/primaries/fit/profile"
)

// Setup is everything a run needs. Only Measure must be given; the zero value
// of each other field is its default.
type Setup struct {
	// Measure holds the display, the instrument, the clock and the journal. Its
	// Averages, if 0, become 4.
	Measure measure.Setup
	// Truth is what a simulator knows: the noiseless colour of a signal in
	// cd/m², through the controls and curves in force. Nil for real displays.
	Truth func(colorimetry.RGB) colorimetry.XYZ

	Aim   aim.Aim
	Given Given // which parts of Aim may not bend to the display

	// Correction says how the instrument is corrected for spectral mismatch.
	Correction Correction
	// NoControls leaves the display's own controls alone; the curves do it all.
	NoControls bool

	// Patches is the size of the chart, repeats of white not counted, at most
	// 2,800; 0 means 175. With a Plan it is the most that the chart may have.
	Patches       int
	ProofPatches  int // 0 means 120
	Averages      int // integrations of a reading; 0 means 4
	WhiteAverages int // integrations of a white that figures rest on; 0 means 16

	// Plan has the patches of the chart chosen as readings come in; nil reads a set
	// that is fixed beforehand. Most, Fit, Earlier and its Chart's Bits and Seed
	// are filled in. See the package for what else is then different.
	Plan *fit.Adaptive
	// Earlier is an earlier run of the same display, by which the plan and the
	// model are helped; nil is none.
	Earlier *Earlier
	// HardwareTable asks for a table for a display or a box that holds one; nil for
	// none.
	HardwareTable *HardwareTable

	Profile profile.Options // Display, Mode, Aim and Created are filled in
	Fit     fit.Options
	Curves  curves.Options
	// Before, where it is not nil, is called before the first patch: the place
	// to look at the path to the display. Its readings go through the session,
	// and its error ends the run.
	Before func(context.Context, *measure.Session) error
	// After is likewise called when the profile is made: the place to see that
	// the system takes over what the run used. It may add to the result.
	After func(context.Context, *measure.Session, *Result) error
	// Log takes a sentence as it comes: guidance, what a stage found, a
	// warning. Nil drops it.
	Log func(sentence string)
}

// Given marks the parts of an aim that somebody asked for. What was given and
// cannot be had is refused; a default that cannot be had bends to the display.
type Given struct{ White, Luminance, Black bool }

// ReachError says that an aim that was given cannot be had.
type ReachError struct {
	Reached aim.Reached
}

// Error names what is out of reach and the nearest aim that can be had.
func (e *ReachError) Error() string { return e.Reached.Sentence }

// Check is one point of the set-up checklist. State is "known" where the
// devices themselves said so, "for you to see" where only a person can tell.
type Check struct {
	State string `json:"state"`
	Text  string `json:"text"`
}

// Stage is what one stage of the walk took.
type Stage struct {
	Name     string        `json:"name"`
	Readings int           `json:"readings"`
	Took     time.Duration `json:"took"`
	Outcome  string        `json:"outcome"` // a sentence
}

// Result is what a walk found. Fields of stages that were not taken are zero.
type Result struct {
	RunID      string
	Seed       uint64
	Start, End time.Time
	Screen     measure.ScreenInfo
	Instrument measure.InstrumentInfo
	// Adjusted says that controls or curves were set by this run: false for
	// readings that somebody brought.
	Adjusted bool
	// RelativeXYZ says that the readings' luminance is unknown: the white
	// counts as 100.
	RelativeXYZ bool

	Checklist []Check
	WarmUp    *measure.WarmUpResult
	// Correction is the instrument's; nil where there is none.
	Correction *mismatch.Correction
	// Saved is Correction with what it holds for, to be written to a file, where
	// this run's pairs made it; nil otherwise.
	Saved *mismatch.Saved

	Asked aim.Aim // as given or defaulted
	Aim   aim.Aim // as followed: bent to the display, luminance as reached

	Found    Native // the display as found
	Settled  Native // after the controls
	Controls *controls.Result
	Curves   *curves.Result
	// InForce are the curves that the chart was measured through.
	InForce tone.Channels

	Before, After []measure.Reading // the same patches as found and with curves
	// Chart is corrected for Drift; what was read again is told in Again, of the
	// proof too, which keeps its drift: it says what the display showed.
	Chart, Proof []measure.Reading
	Drift        measure.Drift
	Again        []Again
	// White is the white through the curves in force, all readings of it in
	// the chart weighted; ProofWhite that of the proof.
	White, ProofWhite measure.Reading
	// Black is the black through the curves in force, as the model has it.
	Black colorimetry.XYZ

	Model    fit.Model
	Evidence fit.Evidence
	Profile  profile.Result
	// HardwareTable is what Setup.HardwareTable asked for; nil where it did not.
	HardwareTable *MadeTable
	// Truth is Setup.Truth with the display as the run left it.
	Truth func(colorimetry.RGB) colorimetry.XYZ

	Readings []measure.Reading // all, in order
	Stages   []Stage
	Warnings []string
}

// Again tells of a reading of the chart or of the proof that was taken again.
type Again struct {
	Stage string
	Patch chart.Patch
	measure.Again
}

// Native is a display's own black and primaries.
type Native struct {
	Black colorimetry.XYZ // cd/m²
	// Primaries has the light that each channel at full signal adds to the white
	// as its columns, cd/m²: chromaticities as the primaries were read, amounts
	// such that with Black they make White.
	Primaries colorimetry.Matrix
	White     colorimetry.XYZ // as read at full signal, cd/m²
}

// AimName returns the short name of an aim that files are named by, for
// instance "d65-100-power-2.2".
func AimName(a aim.Aim) string {
	luminance := "native"
	if a.Luminance > 0 {
		luminance = fmt.Sprintf("%.0f", a.Luminance)
	}
	return fmt.Sprintf("%s-%s-%s", a.White, luminance, a.Curve())
}
