package profile

import (
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// Editions of the format, as icc names them.
const (
	V4 = icc.V4
	V2 = icc.V2
)

// Black says how the display's black is written.
type Black int

// Ways to write the black.
const (
	// BlackMeasured splits the measured black over the three curves, each
	// beginning at its own offset, so that a coloured black is kept. It is
	// exact where the primaries can mix the black, as they can where it is
	// their own leaking light; otherwise the nearest that they can mix is
	// written, and the diagnostics say what that costs.
	BlackMeasured Black = iota
	// BlackZero lets all curves begin at 0: programs that map black to black
	// themselves expect no other, and others show the shadows too dark.
	BlackZero
	// BlackNeutral gives all curves the same offset: the black's luminance in
	// the colour of the white.
	BlackNeutral
)

// Kind says how a profile holds the display's colours.
type Kind int

// Kinds of profile.
const (
	// KindAutomatic writes a matrix where the model has one (fit.Separable),
	// and tables for all others.
	KindAutomatic Kind = iota
	// KindMatrix writes a matrix and three curves.
	KindMatrix
	// KindTable writes tables, and a matrix for programs that read none.
	KindTable
)

// Options describes the profile. The zero value asks for a version 4 profile
// with the measured black.
type Options struct {
	// Version is V4 or V2; 0 means V4.
	Version icc.Version
	Kind    Kind
	// Black is for matrices; tables always carry the measured black.
	Black Black
	// Created is the date in the file and in its name, taken in UTC. The zero
	// time leaves the file undated and names it 0001-01-01.
	Created time.Time
	// Display is the display's name, "" for "display"; Mode its gamut mode, ""
	// for "native"; Aim the aim in a few words, "" for "as measured". They make
	// the description and the file name.
	Display, Mode, Aim string
	// Copyright is the text of the copyright tag, "" for "not stated".
	Copyright string
	// Readings is the table of the readings as 7-bit text for the targ tag,
	// nil for none.
	Readings []byte
	// Meta holds further named texts for the meta tag, beside those that Build
	// writes itself (black, curves, model). Version 2 has no such tag.
	Meta map[string]string
	// Relative says that the readings' luminance is unknown: the profile then
	// states none (no lumi tag).
	Relative bool
	// Entries is the number of entries of each curve, 2 to 4096; 0 takes the
	// fewest whose error cannot be seen.
	Entries int
	// Grid is the number of nodes along each edge of the tables, 9, 17 or 33
	// (those to signals have 17 at least); 0 takes the fewest whose loss is at
	// most 0.03 in the mean and 0.3 ΔE00, and the hue of colours beyond the
	// gamut turned by 0.5° in the mean, or 33.
	Grid int
}

// Result is a written profile.
type Result struct {
	Bytes       []byte       // the file
	Profile     *icc.Profile // the same, as decoded from Bytes
	FileName    string       // as FileName makes it
	Diagnostics Diagnostics
}

// Diagnostics says what the bytes lose against the model. All differences are
// CIEDE2000 relative to the measured white.
type Diagnostics struct {
	// Black is the treatment of the black in one sentence.
	Black string `json:"black"`
	// BlackModel is the model's black and BlackWritten the profile's, absolute
	// in cd/m²; BlackDelta is the difference between the two.
	BlackModel   colorimetry.XYZ `json:"black_model"`
	BlackWritten colorimetry.XYZ `json:"black_written"`
	BlackDelta   float64         `json:"black_delta_e_2000"`
	// WhiteDelta is the difference between the model's white and the measured
	// one that the profile carries: the columns were scaled so that they add up
	// to the measured white, and their encoded sum is D50 exactly.
	WhiteDelta float64 `json:"white_delta_e_2000"`
	// PrimaryGains are the factors by which that scaled red, green and blue.
	PrimaryGains colorimetry.RGB `json:"primary_gains"`
	// LossMean and LossMax compare the bytes with the model on LossCount
	// signals: a lattice, and greys.
	LossMean  float64 `json:"loss_mean_delta_e_2000"`
	LossMax   float64 `json:"loss_max_delta_e_2000"`
	LossCount int     `json:"loss_count"`
	// Relative says that the readings' luminance is unknown: the profile then
	// states none (no lumi tag).
	Relative bool
	// Entries is the number of entries of each curve, and CurveError the
	// largest miss of the lines between them, in L*.
	Entries    int     `json:"entries"`
	CurveError float64 `json:"curve_error_lightness"`
	// The following are of table profiles alone. NodesAToB and NodesBToA are the
	// nodes along each edge of the tables from signals and to signals. GridLoss
	// is the largest difference, at 300 signals, between the model and the grid
	// that the gamut's surface was taken from; nodes of tables in gamut hold the
	// model itself.
	NodesAToB int     `json:"nodes_a_to_b,omitempty"`
	NodesBToA int     `json:"nodes_b_to_a,omitempty"`
	GridLoss  float64 `json:"grid_loss_delta_e_2000,omitempty"`
	// RoundMean and RoundMax say how RoundCount colours of the display come back
	// through the colorimetric tables to signals and from signals.
	RoundMean  float64 `json:"round_trip_mean_delta_e_2000,omitempty"`
	RoundMax   float64 `json:"round_trip_max_delta_e_2000,omitempty"`
	RoundCount int     `json:"round_trip_count,omitempty"`
	// HueMean is the angle by which the colorimetric tables turn the hue in Oklab
	// of HueCount colours of ITU-R BT.2020 beyond the display's gamut, in degrees.
	HueMean  float64 `json:"hue_turn_mean_degrees,omitempty"`
	HueCount int     `json:"hue_turn_count,omitempty"`
	// GreyBend and HueBend are the largest second differences of the signals, as
	// parts of full signal, along 257 greys equally far apart in L*, and along
	// 257 hues at L 0.6 and chroma 0.08 of Oklab.
	GreyBend float64 `json:"grey_bend,omitempty"`
	HueBend  float64 `json:"hue_bend,omitempty"`
	// Warnings are whole sentences for a report.
	Warnings []string `json:"warnings,omitempty"`
}
