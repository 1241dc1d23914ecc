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
	uncertainty float64 // one standard deviation; 0 unknown
	of          string  // what uncertainty and floor hold
	floor       float64 // what they alone would show of a figure that is a distance
	count       int     // of patches or signals; 0 where it means nothing
	averages    int     // integrations of each; 0 where nothing was read
	basis       string  // what it is compared with, or how it was got
}

// WriteCSV writes the figures of r as a table (RFC 4180), one line each, under
// their paths in report.json: value, unit, standard uncertainty, what that
// alone would show, what both hold, count, averages and basis. A basis names the
// white of a colour difference; "on the reference's scale" is said of absolute
// figures that are as the reference instrument reads, whose own error the
// uncertainties hold only as far as its certificate was stated. What is unknown,
// or is no number, is an empty field.
func WriteCSV(w io.Writer, r *Report) error {
	out := csv.NewWriter(w)
	rows := [][]string{{"figure", "value", "unit", "standard_uncertainty", "noise_floor", "uncertainty_of", "count", "averages", "basis"}}
	for _, l := range r.lines() {
		rows = append(rows, []string{l.figure, number(l.value), l.unit, positive(l.uncertainty), positive(l.floor), l.holds(), counted(l.count), counted(l.averages), l.basis})
	}
	if err := out.WriteAll(rows); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}

// holds names what the uncertainty holds, where there is one.
func (l line) holds() string {
	if l.uncertainty > 0 || l.floor > 0 {
		return l.of
	}
	return ""
}

// uncertaintyOf names what uncertainties hold, the instrument's own error as far
// as that is known among them or not.
func (r *Report) uncertaintyOf(systematic bool) string {
	switch {
	case !systematic:
		return "noise"
	case r.Instrument.ReferenceScale:
		return "noise and pairs"
	}
	return "noise and instrument"
}

// onScale adds to the basis of an absolute figure on whose scale it is.
func (r *Report) onScale(basis string) string {
	if r.Instrument.ReferenceScale {
		return basis + ", on the reference's scale"
	}
	return basis
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

	underWhite = computed + ", under the measured white"
	underPCS   = computed + ", under the connection space's white (D50)"
)

// lines returns the figures: those that are judged first.
func (r *Report) lines() []line {
	var out []line
	if r.White.Y > 0 {
		out = append(out,
			line{figure: "white.delta_uv", value: r.White.DeltaUV, unit: "u'v'", uncertainty: r.White.SpreadUV, floor: math.Sqrt(math.Pi/2) * r.White.SpreadUV, of: r.uncertaintyOf(r.White.SystematicUV > 0), basis: r.onScale(asRead)},
			line{figure: "luminance_cd_m2", value: r.LuminanceCdM2, unit: "cd/m²", uncertainty: r.luminanceUncertainty(), of: r.uncertaintyOf(r.LuminanceSystematicCdM2 > 0), basis: r.onScale(asRead)},
			line{figure: "black_cd_m2", value: r.BlackCdM2, unit: "cd/m²", uncertainty: r.blackUncertainty(), of: r.uncertaintyOf(r.BlackSystematicCdM2 > 0), basis: r.onScale(byModel)})
	}
	if t := r.White.TrueDeltaUV; t != nil {
		out = append(out, line{figure: "white.true_delta_uv", value: *t, unit: "u'v'", basis: verify.AgainstTruth})
	}
	p := r.ProfileAccuracy
	for _, a := range []struct {
		path  string
		white string
		*verify.Accuracy
	}{
		{"aim_accuracy.before", "under the aim's white", r.AimAccuracy.Before}, {"aim_accuracy.after", "under the aim's white", r.AimAccuracy.After},
		{relativePath, "each side under its own white", &p.Relative}, {"profile_accuracy.absolute", "under the profile's white", &p.Absolute},
		{"profile_accuracy.true", "each side under its own white", p.True}, {"profile_accuracy.true_absolute", "under the profile's white", p.TrueAbsolute},
	} {
		if a.Accuracy == nil || a.DeltaE2000.Count == 0 {
			continue
		}
		basis := a.Reference + ", " + a.Basis + ", " + a.white
		if a.Reference == verify.Absolute && a.Basis == verify.AsRead {
			basis = r.onScale(basis)
		}
		for _, f := range a.Figures(a.path) {
			out = append(out, line{figure: f.Name, value: f.Value, unit: "ΔE00", uncertainty: f.Spread, floor: f.Floor, of: r.uncertaintyOf(a.Systematic), count: a.DeltaE2000.Count, averages: a.Averages, basis: basis})
		}
	}
	return append(out, r.displayLines()...)
}

// displayLines returns how the primaries behave and what the file loses.
func (r *Report) displayLines() []line {
	var out []line
	if a := r.Model.Additivity; a != nil {
		out = append(out, line{figure: "model.additivity", value: *a, unit: "share of white", uncertainty: r.Model.AdditivityError, of: r.uncertaintyOf(false), basis: asRead})
	}
	for i, s := range r.Model.Stability {
		out = append(out, line{figure: fmt.Sprintf("model.stability.%d.shift_uv", i), value: s.ShiftUV, unit: "u'v'", uncertainty: s.ErrorUV, of: r.uncertaintyOf(false), count: s.Readings, basis: asRead})
	}
	d := r.Written
	if d == nil {
		return out
	}
	add := func(basis, name, unit string, v float64, n int) {
		out = append(out, line{figure: "written." + name, value: v, unit: unit, count: n, basis: basis})
	}
	add(underWhite, "loss_mean_delta_e_2000", "ΔE00", d.LossMean, d.LossCount)
	add(underWhite, "loss_max_delta_e_2000", "ΔE00", d.LossMax, d.LossCount)
	add(underWhite, "primary_delta_e_2000", "ΔE00", d.PrimaryDelta, 6)
	add(underWhite, "white_delta_e_2000", "ΔE00", d.WhiteDelta, 1)
	add(underWhite, "black_delta_e_2000", "ΔE00", d.BlackDelta, 1)
	add(computed+", each channel's full light for white", "curve_error_lightness", "L*", d.CurveError, d.Entries)
	if d.RoundCount > 0 {
		add(underPCS, "round_trip_mean_delta_e_2000", "ΔE00", d.RoundMean, d.RoundCount)
		add(underPCS, "round_trip_max_delta_e_2000", "ΔE00", d.RoundMax, d.RoundCount)
		add(underPCS, "matrix_loss_mean_delta_e_2000", "ΔE00", d.MatrixMean, d.RoundCount)
		add(underPCS, "matrix_loss_max_delta_e_2000", "ΔE00", d.MatrixMax, d.RoundCount)
		add(computed+", in Oklab", "hue_turn_mean_degrees", "degrees", d.HueMean, d.HueCount)
		add(computed, "grey_bend", "full signal", d.GreyBend, 257)
		add(computed, "hue_bend", "full signal", d.HueBend, 257)
		add(underPCS, "clip_max_delta_e_2000", "ΔE00", d.ClipMax, 0)
		add(underPCS, "grid_loss_delta_e_2000", "ΔE00", d.GridLoss, 300)
	}
	return out
}
