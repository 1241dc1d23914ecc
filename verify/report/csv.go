package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"example.org/primaries/verify"
)

// line is one figure of the table of figures.
type line struct {
	figure      string // path in report.json
	value       float64
	unit        string
	uncertainty float64 // one standard deviation by noise and instrument; 0 unknown
	floor       float64 // what they alone would show of a figure that is a distance
	count       int     // of patches or signals; 0 where it means nothing
	averages    int     // integrations of each; 0 where nothing was read
	basis       string  // what it is compared with, or how it was got
}

// WriteCSV writes the figures of r as a table (RFC 4180), one line each, under
// their paths in report.json: value, unit, standard uncertainty, what noise alone
// would show, count, averages and basis. What is unknown, or is no number, is an
// empty field.
func WriteCSV(w io.Writer, r *Report) error {
	out := csv.NewWriter(w)
	rows := [][]string{{"figure", "value", "unit", "standard_uncertainty", "noise_floor", "count", "averages", "basis"}}
	for _, l := range r.lines() {
		rows = append(rows, []string{l.figure, number(l.value), l.unit, positive(l.uncertainty), positive(l.floor), counted(l.count), counted(l.averages), l.basis})
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}

func number(v float64) string {
	if v-v != 0 {
		return ""
	}
	return strconv.FormatFloat(v, 'g', 6, 64)
}

func positive(v float64) string {
	if !(v > 0) {
		return ""
	}
	return number(v)
}

func counted(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// Bases of a line beside those of an Accuracy.
const (
	asRead   = "as read"
	byModel  = "by the model"
	computed = "computed from model and bytes"
)

// lines returns the figures: those that are judged first.
func (r *Report) lines() []line {
	var out []line
	if r.White.Y > 0 {
		out = append(out,
			line{figure: "white.delta_uv", value: r.White.DeltaUV, unit: "u'v'", uncertainty: r.White.SpreadUV, floor: math.Sqrt(math.Pi/2) * r.White.SpreadUV, basis: asRead},
			line{figure: "luminance_cd_m2", value: r.LuminanceCdM2, unit: "cd/m²", uncertainty: r.luminanceUncertainty(), basis: asRead},
			line{figure: "black_cd_m2", value: r.BlackCdM2, unit: "cd/m²", uncertainty: r.blackUncertainty(), basis: byModel})
	}
	if t := r.White.TrueDeltaUV; t != nil {
		out = append(out, line{figure: "white.true_delta_uv", value: *t, unit: "u'v'", basis: verify.AgainstTruth})
	}
	for _, a := range []struct {
		path string
		*verify.Accuracy
	}{
		{"aim_accuracy.before", r.AimAccuracy.Before}, {"aim_accuracy.after", r.AimAccuracy.After},
		{"profile_accuracy.relative", &r.ProfileAccuracy.Relative}, {"profile_accuracy.absolute", &r.ProfileAccuracy.Absolute},
		{"profile_accuracy.true", r.ProfileAccuracy.True}, {"profile_accuracy.true_absolute", r.ProfileAccuracy.TrueAbsolute},
	} {
		if a.Accuracy == nil || a.DeltaE2000.Count == 0 {
			continue
		}
		for _, f := range a.Figures(a.path) {
			out = append(out, line{figure: f.Name, value: f.Value, unit: "ΔE00", uncertainty: f.Spread, floor: f.Floor, count: a.DeltaE2000.Count, averages: a.Averages, basis: a.Reference + ", " + a.Basis})
		}
	}
	return append(out, r.displayLines()...)
}

// displayLines returns how the primaries behave and what the file loses.
func (r *Report) displayLines() []line {
	var out []line
	if a := r.Model.Additivity; a != nil {
		out = append(out, line{figure: "model.additivity", value: *a, unit: "share of white", uncertainty: r.Model.AdditivityError, basis: asRead})
	}
	for i, s := range r.Model.Stability {
		out = append(out, line{figure: fmt.Sprintf("model.stability.%d.shift_uv", i), value: s.ShiftUV, unit: "u'v'", uncertainty: s.ErrorUV, count: s.Readings, basis: asRead})
	}
	d := r.Written
	if d == nil {
		return out
	}
	add := func(name, unit string, v float64, n int) {
		out = append(out, line{figure: "written." + name, value: v, unit: unit, count: n, basis: computed})
	}
	add("loss_mean_delta_e_2000", "ΔE00", d.LossMean, d.LossCount)
	add("loss_max_delta_e_2000", "ΔE00", d.LossMax, d.LossCount)
	add("primary_delta_e_2000", "ΔE00", d.PrimaryDelta, 6)
	add("white_delta_e_2000", "ΔE00", d.WhiteDelta, 1)
	add("black_delta_e_2000", "ΔE00", d.BlackDelta, 1)
	add("curve_error_lightness", "L*", d.CurveError, d.Entries)
	if d.RoundCount > 0 {
		add("round_trip_mean_delta_e_2000", "ΔE00", d.RoundMean, d.RoundCount)
		add("round_trip_max_delta_e_2000", "ΔE00", d.RoundMax, d.RoundCount)
		add("matrix_loss_mean_delta_e_2000", "ΔE00", d.MatrixMean, d.RoundCount)
		add("matrix_loss_max_delta_e_2000", "ΔE00", d.MatrixMax, d.RoundCount)
		add("hue_turn_mean_degrees", "degrees", d.HueMean, d.HueCount)
		add("grey_bend", "full signal", d.GreyBend, 257)
		add("hue_bend", "full signal", d.HueBend, 257)
		add("clip_max_delta_e_2000", "ΔE00", d.ClipMax, 0)
		add("grid_loss_delta_e_2000", "ΔE00", d.GridLoss, 300)
	}
	return out
}
