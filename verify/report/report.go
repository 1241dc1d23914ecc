// Package report writes what a run found, for people and for programs: one
// HTML file without scripts, report.json, a table of the figures, and the last
// screen of a terminal.
//
// A caller fills a [Report] with figures, has it judged ([Report.Judge]) and
// lets [Report.Conclude] draw the sentences: what was reached, what was not,
// what to do next. Then [WriteHTML], [WriteJSON], [WriteCSV] and [WriteText]
// write it; they change nothing. [Greys], [Trace], [PrimariesOf] and [Spread] make the parts
// that come straight from readings.
//
// What the instrument's own error leaves open is in every reading alike. As far as
// it is known (Instrument.ErrorKnown) it is in the uncertainty of white, luminance
// and black, in that of absolute differences, and so in every verdict on them;
// contrast and relative differences hold what of it does not cancel. No figure
// itself is changed by it. Where the correction comes from pairs of readings with
// a reference instrument, that one's own error is known only as far as its
// certificate was stated to the run.
//
// # Caution
//
// A report is no acceptance test, and says so in every form.
package report

import (
	"time"

	"example.org/primaries/fit/profile"
	"example.org/primaries/verify"
	"example.org/primaries/verify/history"
)

// Version is the version of report.json.
const Version = 1

// Report is report.json. Fields are grouped as people ask: what was wanted,
// what was reached, how well the profile describes it, how it was done.
type Report struct {
	Version  int    `json:"version"`
	Run      Run    `json:"run"`
	Scenario string `json:"scenario,omitempty"` // who, where; says that it is invented where it is

	Display    Display    `json:"display"`
	Instrument Instrument `json:"instrument"`

	Aim           Aim     `json:"aim"`
	White         White   `json:"white"`
	LuminanceCdM2 float64 `json:"luminance_cd_m2"`
	// LuminanceSpreadCdM2 is its standard deviation by noise, and
	// LuminanceSystematicCdM2 by what the instrument correction leaves in all
	// readings alike; each 0 where it is not known. LuminanceOffCdM2, filled by
	// Judge, is its distance from what was asked for.
	LuminanceSpreadCdM2     float64 `json:"luminance_spread_cd_m2"`
	LuminanceSystematicCdM2 float64 `json:"luminance_systematic_cd_m2,omitempty"`
	LuminanceOffCdM2        float64 `json:"luminance_off_cd_m2"`
	// BlackCdM2 is the black through the curves in force as the model has it;
	// below twice BlackSpreadCdM2, its standard deviation where that is known,
	// it cannot be told from none. BlackSystematicCdM2 is a share of the light
	// that is there, and decides nothing of that.
	BlackCdM2           float64 `json:"black_cd_m2"`
	BlackSpreadCdM2     float64 `json:"black_spread_cd_m2,omitempty"`
	BlackSystematicCdM2 float64 `json:"black_systematic_cd_m2,omitempty"`
	// ContrastSpreadShare is the standard uncertainty of white over black as a
	// share of it: the noise of both, and of the instrument's error what does not
	// cancel between them; 0 unknown.
	ContrastSpreadShare float64 `json:"contrast_spread_share,omitempty"`
	// SeenRatio is white over black with the ambient light of the aim on both;
	// nil where that light, or all light in the black, is unknown.
	SeenRatio *float64 `json:"seen_ratio,omitempty"`
	// FloorSignal is the lowest signal from which up white, tone and black
	// policy of the aim are had together, luminance within 2 %; FloorCause says
	// what sets it. It is never below BlackFloorSignal, where every channel is
	// at or above its own black, and from where down the greys go over to it.
	FloorSignal      float64 `json:"floor_signal"`
	FloorCause       string  `json:"floor_cause,omitempty"`
	BlackFloorSignal float64 `json:"black_floor_signal"`
	// QuantisationFloorSignal is the lowest signal at which the steps of the
	// path still hold the tone within 2 %.
	QuantisationFloorSignal float64 `json:"quantisation_floor_signal,omitempty"`

	Model           Model                  `json:"model"`
	AimAccuracy     verify.AimAccuracy     `json:"aim_accuracy"`
	ProfileAccuracy verify.ProfileAccuracy `json:"profile_accuracy"`
	// Limits is the name of the set judged by; Judge fills both.
	Limits   string           `json:"limits,omitempty"`
	Verdicts []verify.Verdict `json:"verdicts,omitempty"`

	Checklist []Check   `json:"checklist,omitempty"`
	WarmUp    *WarmUp   `json:"warm_up,omitempty"`
	Controls  *Controls `json:"controls,omitempty"`
	Curves    *Curves   `json:"curves,omitempty"`
	Stages    []Stage   `json:"stages,omitempty"`

	// Drift is nil where no repeated patch could show any, ReadAgain where the
	// readings were brought.
	Drift     *Drift     `json:"drift,omitempty"`
	ReadAgain *ReadAgain `json:"read_again,omitempty"`

	Primaries []Primary   `json:"primaries,omitempty"`
	Greys     []Grey      `json:"greys,omitempty"` // by rising signal
	History   *Comparison `json:"history,omitempty"`

	Readings int    `json:"readings"` // all of the run
	Profile  string `json:"profile"`  // file name, "" where none was written
	// Table is the file name of the table for the display or a box, which takes
	// the place of curves and profile; "" where none was made.
	Table string `json:"table,omitempty"`
	// Written is what the file's bytes lose against the model, computed and
	// without noise; nil where none was written.
	Written *profile.Diagnostics `json:"written,omitempty"`
	Files   []string             `json:"files,omitempty"`

	Warnings []string `json:"warnings"`
	Cautions []string `json:"cautions"`
	// Reached, NotReached and Next are filled by Conclude.
	Reached    []string `json:"reached"`
	NotReached []string `json:"not_reached"`
	Next       []string `json:"next"`
}

// Run identifies the run.
type Run struct {
	ID        string    `json:"id"`
	Start     time.Time `json:"start"`
	End       time.Time `json:"end"`
	Seed      uint64    `json:"seed"`
	Simulated bool      `json:"simulated"` // display and instrument are computed, not there
	Adjusted  bool      `json:"adjusted"`  // controls or curves were set by this run
	// Relative says that the readings' luminance is unknown: white counts as
	// 100 cd/m², and every luminance is on that scale.
	Relative bool `json:"relative,omitempty"`
}

// Display names the display path.
type Display struct {
	Name string `json:"name"`
	Mode string `json:"mode"`
	Bits int    `json:"bits,omitempty"`
}

// Instrument names the instrument and the correction of its readings.
type Instrument struct {
	Name   string `json:"name"`
	Serial string `json:"serial,omitempty"`
	// Correction says how readings were corrected for spectral mismatch, ""
	// where they were not.
	Correction string `json:"correction,omitempty"`
	// CorrectionUncertaintyUV is its standard uncertainty in u'v'; 0 unknown.
	CorrectionUncertaintyUV float64 `json:"correction_uncertainty_uv,omitempty"`
	// ReferenceScale says that the correction comes from pairs of readings with a
	// reference instrument: absolute figures are as that one reads.
	ReferenceScale bool `json:"reference_scale,omitempty"`
	// ErrorKnown says what the uncertainties hold of the instrument's own error,
	// "" where that is nothing.
	ErrorKnown string `json:"error_known,omitempty"`
}

// Aim is what the display should become.
type Aim struct {
	Name          string  `json:"name"` // short, as in the profile's file name
	White         XY      `json:"white"`
	WhiteName     string  `json:"white_name,omitempty"`
	LuminanceCdM2 float64 `json:"luminance_cd_m2"` // 0: as reached
	Tone          string  `json:"tone"`
	Black         string  `json:"black"` // the black policy, in words
	// Native says that no luminance was asked for: LuminanceCdM2 is the
	// display's own.
	Native bool `json:"native_luminance,omitempty"`
	// AskedCdM2 is the luminance asked for before the controls were set, where
	// LuminanceCdM2 is that which they reached; 0 where they are the same.
	AskedCdM2 float64 `json:"asked_cd_m2,omitempty"`
	// MatchedBy and MatchedWhen (RFC 3339) say who matched the white by eye, and
	// when; "" for all other whites.
	MatchedBy   string `json:"white_matched_by,omitempty"`
	MatchedWhen string `json:"white_matched_when,omitempty"`
	// Start names the starting point of the aim and Document what it follows, ""
	// where there is none. Changed are the parts that are not the document's
	// any more. It is no claim of conformance.
	Start    string   `json:"start,omitempty"`
	Document string   `json:"document,omitempty"`
	Changed  []string `json:"changed,omitempty"`
	// Paper is what the luminance was reckoned from, nil where it was not.
	Paper *Paper `json:"paper,omitempty"`
	// BlackCdM2 is the black asked for without ambient light, BlackRatio that
	// as white over black, both with it; 0 where not asked for.
	BlackCdM2  float64 `json:"black_cd_m2,omitempty"`
	BlackRatio float64 `json:"black_ratio,omitempty"`
	Ambient    Ambient `json:"ambient"`
}

// Paper is the paper beside the display, and the light on it: Reflectance and
// Lux, or ReadCdM2 where an instrument read it. 0 is not given.
type Paper struct {
	Reflectance float64 `json:"reflectance,omitempty"` // luminous, 0 to 1
	Lux         float64 `json:"lux,omitempty"`
	ReadCdM2    float64 `json:"read_cd_m2,omitempty"`
	CdM2        float64 `json:"cd_m2"` // its luminance, that the aim took
}

// Ambient is the light of the room that the screen reflects. Source is
// "measured", "estimated" or "unknown"; unknown light is reckoned as none.
type Ambient struct {
	Source string  `json:"source"`
	CdM2   float64 `json:"cd_m2"`
}

// XY is a CIE 1931 chromaticity.
type XY struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// White is the white that was reached, with the curves in force.
type White struct {
	X           float64  `json:"x"`
	Y           float64  `json:"y"`
	DeltaUV     float64  `json:"delta_uv"`                // distance from the aim in u'v'; not Duv
	TrueDeltaUV *float64 `json:"true_delta_uv,omitempty"` // the same against the simulator's truth
	// SpreadUV is the standard uncertainty of u' and of v', 0 unknown: RepeatUV,
	// that of the readings' noise, which counts from one run to the next, and
	// SystematicUV, that of the instrument and its correction, together.
	// SystematicUV is the same in all readings: no average lessens it.
	SpreadUV     float64 `json:"spread_uv"`
	RepeatUV     float64 `json:"repeat_uv"`
	SystematicUV float64 `json:"systematic_uv"`
	CCT          float64 `json:"cct"` // kelvin
}

// Check is one line of the set-up checklist: State says whether it is known or
// for somebody to see.
type Check struct {
	State string `json:"state"`
	Text  string `json:"text"`
}

// WarmUp is the watch before the first adjustment.
type WarmUp struct {
	Stable   bool         `json:"stable"`
	Minutes  float64      `json:"minutes"`
	Sentence string       `json:"sentence,omitempty"`
	Trace    []WarmUpStep `json:"trace,omitempty"`
}

// WarmUpStep is one reading of it.
type WarmUpStep struct {
	Minutes       float64 `json:"minutes"`
	LuminanceCdM2 float64 `json:"luminance_cd_m2"`
	DeltaUV       float64 `json:"delta_uv"` // from the last reading
}

// Controls is what was set on the display itself.
type Controls struct {
	Set       []ControlStep `json:"set"` // final steps
	Sentences []string      `json:"sentences"`
	Remainder string        `json:"remainder,omitempty"` // what the controls left for the curves
}

// ControlStep is a control and the step it ended on.
type ControlStep struct {
	Name string `json:"name"`
	From int    `json:"from"`
	To   int    `json:"to"`
}

// Curves are the correction curves in force.
type Curves struct {
	Digest     string `json:"digest"`
	Entries    int    `json:"entries"`
	Bits       int    `json:"bits"`
	LostLevels int    `json:"lost_levels"`
	// Passes are the passes in their order. The last is none: it is a look at a
	// few greys through the curves that the others made.
	Passes []CurvePass `json:"passes,omitempty"`
	// Red, Green and Blue are output signals for equally spaced inputs, for
	// the drawing.
	Red   []float64 `json:"red,omitempty"`
	Green []float64 `json:"green,omitempty"`
	Blue  []float64 `json:"blue,omitempty"`
}

// CurvePass is what the white and the greys still missed when a pass was read,
// each with what noise alone would show: distances in u'v', and the luminance
// of the greys as a share.
type CurvePass struct {
	WhiteDeltaUV       float64 `json:"white_delta_uv"`
	WhiteNoiseUV       float64 `json:"white_noise_uv"`
	GreyDeltaUV        float64 `json:"grey_delta_uv"`
	GreyNoiseUV        float64 `json:"grey_noise_uv"`
	GreyLuminance      float64 `json:"grey_luminance"`
	GreyLuminanceNoise float64 `json:"grey_luminance_noise"`
}

// Stage is one stage of the walk.
type Stage struct {
	Name     string       `json:"name"`
	Readings int          `json:"readings"`
	Minutes  float64      `json:"minutes"`
	State    verify.State `json:"state"` // Passed: done; Undecided: done in part; Failed: not done
	Sentence string       `json:"sentence,omitempty"`
}

// Drift is how display and instrument wandered while the chart was read, as
// patches that were read repeatedly show it.
type Drift struct {
	// Corrected says that the chart's readings were corrected for it. Readings of
	// the proof never are: they say what the display showed.
	Corrected bool `json:"corrected"`
	// LuminanceShare, signed, and DeltaUV, in u'v', are the largest change of the
	// first patch that shows it, from the state that readings are brought to; 0
	// where none goes beyond the noise.
	LuminanceShare float64 `json:"luminance_share"`
	DeltaUV        float64 `json:"delta_uv"`
	Anchors        int     `json:"anchors"`  // patches that show it
	Repeats        int     `json:"repeats"`  // readings of them that count
	LeftOut        int     `json:"left_out"` // readings of them that lay off it
	// NoiseFactor is how much larger than stated their variances turned out, at
	// least 1; the readings' noise is as stated all the same.
	NoiseFactor float64 `json:"noise_factor"`
}

// ReadAgain tells of the patches of chart and proof that were read again,
// because neighbours or their own scatter spoke against the first reading.
type ReadAgain struct {
	Count     int `json:"count"`     // patches: the sum of the three below
	Confirmed int `json:"confirmed"` // the first reading stood
	Replaced  int `json:"replaced"`  // later readings count in its place
	// Unsettled are those whose readings did not agree: their mean counts, with
	// a noise as large as that.
	Unsettled int            `json:"unsettled"`
	Patches   []AgainOfPatch `json:"patches,omitempty"` // in the order of reading
}

// AgainOfPatch is one of them.
type AgainOfPatch struct {
	ID      string `json:"id"`
	Stage   string `json:"stage"`
	Outcome string `json:"outcome"` // "confirmed", "replaced" or "unsettled"
	// Distance is how far the first reading lay from what its neighbours
	// predict, in standard deviations; 0 where its repeats scattered.
	Distance float64 `json:"distance"`
	Readings int     `json:"readings"` // all of it
}

// Primary is a full-signal colour of the display: "red", "green", "blue" or
// "white", as found or with curves.
type Primary struct {
	Name          string  `json:"name"`
	When          string  `json:"when"` // "as found" or "with curves"
	X             float64 `json:"x"`
	Y             float64 `json:"y"`
	LuminanceCdM2 float64 `json:"luminance_cd_m2"`
}

// Grey is one neutral, as read with the curves in force, beside what the aim
// asks for, and as found where it was read then.
type Grey struct {
	Signal      float64 `json:"signal"`
	WantCdM2    float64 `json:"want_cd_m2"`
	GotCdM2     float64 `json:"got_cd_m2"`
	DeltaUV     float64 `json:"delta_uv"`     // from the chromaticity asked for
	SpreadUV    float64 `json:"spread_uv"`    // standard deviation of u' and of v'
	SpreadShare float64 `json:"spread_share"` // that of GotCdM2, as a share of it
	// FoundCdM2 and FoundDelta are of the display as found; 0 where it was not
	// read then, as where it gave no light.
	FoundCdM2  float64 `json:"found_cd_m2,omitempty"`
	FoundDelta float64 `json:"found_delta_uv,omitempty"`
	BelowFloor bool    `json:"below_floor"` // the luminance is not promised at this signal
}

// Comparison is the answer to "is it as last month".
type Comparison struct {
	Change *history.Change `json:"change,omitempty"` // nil: the first entry
	Look   history.Look    `json:"next_look"`
}
