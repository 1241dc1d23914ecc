package curves

import (
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
)

// Options says how to make curves. The zero value is the usual job.
type Options struct {
	// Averages is the number of integrations of a reading; 0 means 2. Dark
	// patches get up to six times as many.
	Averages int
	// Bits is the depth of the path after the curves, 6 to 16; 0 means what
	// the session's screen says. A panel that is driven with fewer than 8 bits
	// mostly dithers in a way of its own that nothing here knows of: where it
	// takes 8 bits and dithers them, 8 is its depth.
	Bits int
	// ChannelLevels is the number of levels of each channel's ramp as found;
	// 0 means 17.
	ChannelLevels int
	// Entries is the number of entries of a curve, 2 to 4096; 0 means one for
	// each code of the path, but 256 at least and 1024 at most. Where there are
	// fewer entries than codes only the entries themselves are rounded with all
	// three channels in view.
	Entries int
	// GrayLevels is the number of greys read in a pass; 0 means 24.
	GrayLevels int
	// GrayUncertainty is the standard uncertainty in u'v' to which each grey
	// is averaged in a pass, white apart; 0 means 0.0015. Where nearly all greys
	// are to be at the floor of the path, 0.0005 does it (TestGrays).
	GrayUncertainty float64
	// LuminanceWeight is what a miss of 1 % of a grey's luminance counts, against
	// one of 0.01 in u'v', where codes are chosen; 0 means 0.07. More keeps more
	// greys distinct and their steps even, at the cost of their colour:
	// Result.Gradations shows both. On 10 bits and more there is little to
	// choose.
	LuminanceWeight float64
	// MostAverages is the most integrations that go into one such reading, up
	// to 1000; 0 means 64.
	MostAverages int
	// NeutralLevels is the number of greys read as found; 0 means 33.
	NeutralLevels int
	// Passes is the most passes through the curves, 1 to 8; 0 means 4.
	Passes int
	// Progress is called after each reading, serially, from the goroutine that
	// called Correct; nil is not at all. Text names the pass, of which Done and
	// Total count the readings; how many passes there will be is known at the end,
	// and Left is 0 where greys are read until they are sure.
	Progress func(measure.Progress)
	// WhiteAverages is the number of integrations of white in every pass; 0
	// means 16.
	WhiteAverages int
}

// Pass is one pass of the loop: the curves that were loaded, and what was
// read through them.
type Pass struct {
	Curves string `json:"curves"` // digest of the curves in force
	// WhiteDeltaUV is the distance of the white as read from the aim in u'v',
	// and WhiteNoise its standard uncertainty from the readings' noise alone.
	WhiteDeltaUV float64 `json:"white_delta_uv"`
	WhiteNoise   float64 `json:"white_noise_uv"`
	// Luminance is that of the white as read in cd/m², LuminanceNoise its
	// standard uncertainty.
	Luminance      float64 `json:"luminance_cd_m2"`
	LuminanceNoise float64 `json:"luminance_noise_cd_m2"`
	// GrayDeltaUV and GrayLuminance are root mean squares over the greys above
	// the floor, as read: distance in u'v' and relative difference of
	// luminance from the aim. The noise of both comes beside them.
	GrayDeltaUV        float64 `json:"gray_delta_uv"`
	GrayNoise          float64 `json:"gray_noise_uv"`
	GrayLuminance      float64 `json:"gray_luminance"`
	GrayLuminanceNoise float64 `json:"gray_luminance_noise"`
	// Change is the largest change of a channel's signal, 0 to 1, that this
	// pass called for.
	Change float64 `json:"change"`
}

// Result is the curves and what they were found to do.
type Result struct {
	Curves tone.Channels `json:"-"`
	// Aim is the aim that the curves follow, with white and luminance filled
	// in: the luminance is that asked for or, where the display has less at
	// that white, what it has.
	Aim aim.Aim `json:"aim"`
	// Reachable is the luminance in cd/m² that the display has at the aim's
	// white.
	Reachable float64 `json:"reachable_cd_m2"`
	// Black is the display's own black in cd/m² as the model has it, and White
	// the white through the curves as the estimate has it.
	Black colorimetry.XYZ `json:"black"`
	White colorimetry.XYZ `json:"white"`
	// WhiteUncertainty is the standard uncertainty of White in u'v', all
	// readings considered, the instrument's own colour error left out.
	WhiteUncertainty float64 `json:"white_uncertainty_uv"`
	// Wanted returns what the aim, bent to the display's own black, asks of a
	// signal, in cd/m²: the display's own primaries in the shares that make the
	// aim's white, each following the tone, and none below its own black. It is
	// what the curves follow on the greys.
	Wanted func(colorimetry.RGB) colorimetry.XYZ `json:"-"`
	// FloorSignal is the lowest signal from which up white, tone and black
	// policy are had together with every channel at or above its black; 0
	// where they are had all the way down. FloorCause says which channel.
	FloorSignal float64 `json:"floor_signal"`
	FloorCause  string  `json:"floor_cause"`
	// QuantisationFloor is the lowest signal from which up the codes of the path
	// alone keep the luminance within 2 % of the aim.
	QuantisationFloor float64 `json:"quantisation_floor_signal"`
	// HoldSignal is the lowest signal, not below FloorSignal and not below the
	// darkest grey that was read, from which up the path's rounding and three
	// times the uncertainty of the estimate together leave the luminance within
	// 2 % of the aim: what can be promised of the greys. Where the tone is
	// uneven, neighbouring greys were read through the final curves, and the
	// signal lies above those that miss.
	HoldSignal float64 `json:"hold_signal"`
	// HoldCause says in a few words what sets HoldSignal.
	HoldCause string `json:"hold_cause"`
	// Passes are the passes in their order; the last one is a look at a few
	// greys through the final curves, which were not changed after it.
	Passes []Pass `json:"passes"`
	// Misfit is the share of a channel's light by which the model of the
	// display as found was off, Jumps the same within a hundredth of the
	// signal and Grain that of single codes, both in steps of the path: what
	// the readings through curves say, from a few values.
	Misfit float64 `json:"misfit"`
	Jumps  float64 `json:"jumps_codes"`
	Grain  float64 `json:"grain_codes"`
	// Levels is what the panel and the path allow at each grey: of the path, or
	// of 8 bits where that is deeper.
	Levels []Level `json:"levels"`
	// Gradations weighs the curves for content of 8 and of 10 bits: greys that
	// stay distinct and steps between them against their distance from the aim,
	// by the estimate. GradationsFound is the same of the display as found, by
	// its model.
	Gradations      []Gradation `json:"gradations"`
	GradationsFound []Gradation `json:"gradations_found"`
	// TakenAtWhite is the share of each channel's light that the curves take at
	// white, and TakenCodes the share of its codes that goes with it: what a
	// gain in the display itself would give back.
	TakenAtWhite [3]float64 `json:"taken_at_white"`
	TakenCodes   [3]float64 `json:"taken_codes"`
	// LostLevels8 and LostLevels10 are how many of the 256 and 1024 greys of
	// 8- and 10-bit content can no longer be told from a neighbour, in the
	// channel that loses most.
	LostLevels8  int `json:"lost_levels_8"`
	LostLevels10 int `json:"lost_levels_10"`
	// Model is the model of the display as found that the loop started from.
	Model fit.Model `json:"-"`
	// Sentences is the outcome in words.
	Sentences []string `json:"sentences"`
	Warnings  []string `json:"warnings,omitempty"`
}
