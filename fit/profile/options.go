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

// Mapping says which of the display's colours stands for one that it cannot
// show, in the colorimetric tables.
type Mapping int

// Ways to map colours beyond the gamut. Both keep the hue in Oklab.
const (
	// MappingNearest takes the nearest colour of the same hue.
	MappingNearest Mapping = iota
	// MappingToGrey goes towards the grey of the same lightness, as far as it
	// takes. It keeps lightness too and loses more of the chroma.
	MappingToGrey
)

// Options describes the profile. The zero value asks for a version 4 profile
// with the measured black.
type Options struct {
	// Version is V4 or V2; 0 means V4.
	Version icc.Version
	Kind    Kind
	// Black is for matrices; tables always carry the measured black, and a profile
	// with tables is named by theirs: only its meta tag tells of the matrix.
	Black Black
	// Mapping is for the colorimetric tables; what the perceptual ones cannot
	// soften goes the same way.
	Mapping Mapping
	// Knee is the share of the chroma that the display has at a lightness and
	// hue up to which the perceptual and saturation tables to signals leave
	// colours where they are, above 0 and at most 1; 0 is 0.8, and 1 softens
	// nothing. Beyond it colours move together smoothly, so that those of ITU-R
	// BT.2020 fit in.
	Knee float64
	// BlackPoint lets the perceptual and saturation tables of version 2 put the
	// display's black at 0, as black point compensation does (ISO 18619), and
	// back. Those of version 4 always put it at the reference medium's, and
	// colorimetric tables have it as measured.
	BlackPoint bool
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
	// Coding states codes of ITU-T H.273 in a cicp tag; nil writes none. Programs
	// may believe it in place of what was measured: state it only where the
	// display was brought to that very encoding, as [Coding] finds it. The file
	// is then one of version 4.4; version 2 has no such tag.
	Coding *icc.CICP
	// SystemCalibration writes the MHC2 tag, by which a Windows system sets up
	// the path to the display: the curves in force, behind the transfer function
	// of the link, and the luminance of black and white. It is documented for
	// systems that read it with or without HDR; neither was tried, and whether
	// one that follows both tags applies the curves of vcgt too is not said: look
	// for doubled curves before trusting it.
	SystemCalibration bool
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
	// PrimaryDelta is the largest difference between the bytes and the model at
	// full red, green and blue and two of them: what that scaling, and for a
	// matrix channels that disturb each other, cost.
	PrimaryDelta float64 `json:"primary_delta_e_2000"`
	// LossMean and LossMax compare the bytes with the model on LossCount
	// signals: a lattice, and greys.
	LossMean  float64 `json:"loss_mean_delta_e_2000"`
	LossMax   float64 `json:"loss_max_delta_e_2000"`
	LossCount int     `json:"loss_count"`
	// Relative says that the readings' luminance is unknown: the profile then
	// states none (no lumi tag).
	Relative bool `json:"relative,omitempty"`
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
	// ClipMax is the largest difference that the connection space alone makes:
	// its tables hold no negative X, Y or Z, which saturated primaries have when
	// they are adapted to D50.
	ClipMax float64 `json:"clip_max_delta_e_2000,omitempty"`
	// MatrixMean and MatrixMax are the loss of the matrix for programs that read
	// no tables, on RoundCount signals. Choice is what follows, in a sentence.
	MatrixMean float64 `json:"matrix_loss_mean_delta_e_2000,omitempty"`
	MatrixMax  float64 `json:"matrix_loss_max_delta_e_2000,omitempty"`
	Choice     string  `json:"choice,omitempty"`
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
