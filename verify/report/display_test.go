package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/verify"
	"example.org/primaries/verify/report"
)

// TestPrimariesAreTold: what the fit found out about the primaries comes through
// with its noise and its count, and with a state that noise alone never makes a
// failure.
func TestPrimariesAreTold(t *testing.T) {
	run := ran(t, aim.Aim{Luminance: 100})
	run.Evidence.Additivity = &fit.Additivity{Luminance: 0.93, LuminanceError: 0.004, X: 0.94, Z: 0.92}
	run.Evidence.Stability = &fit.Stability{
		Shift: [3]float64{0.0010, 0.0050, 0.0120}, Error: [3]float64{0.0005, 0.0020, 0.0010}, Signal: [3]float64{0.5, 0.2, 0.25}, Readings: [3]int{9, 8, 7},
	}
	r := fromRun(t, run)
	for i, want := range []report.Stability{
		{Primary: "red", ShiftUV: 0.0010, ErrorUV: 0.0005, Signal: 0.5, Readings: 9, State: verify.Passed},
		{Primary: "green", ShiftUV: 0.0050, ErrorUV: 0.0020, Signal: 0.2, Readings: 8, State: verify.Undecided}, // 2.5 of its standard uncertainties
		{Primary: "blue", ShiftUV: 0.0120, ErrorUV: 0.0010, Signal: 0.25, Readings: 7, State: verify.Failed},
	} {
		if got := r.Model.Stability[i]; got != want {
			t.Errorf("%+v, want %+v", got, want)
		}
	}
	if m := r.Model; *m.Additivity != 0.93 || m.AdditivityError != 0.004 || m.AdditivityState != verify.Failed {
		t.Errorf("additivity %v ± %v, %s", *m.Additivity, m.AdditivityError, m.AdditivityState)
	}
	for _, want := range []string{"93.0 % ± 0.4 % of the white's luminance", "move by up to 0.0120 ± 0.0010 in u'v' with the drive (blue at 25 %; 24 readings, noise included)"} {
		if said := strings.Join(r.NotReached, "\n"); !strings.Contains(said, want) {
			t.Errorf("not reached does not say %q:\n%s", want, said)
		}
	}
	_, page := elements(t, html(t, r))
	says(t, "the page", page, "moves by 0.0050 in u'v' at 20 % signal", "the largest of 8 readings below full signal", "not kept", "undecided", "not additive", "whatever its correction")

	// Where the readings could not tell, nothing is told.
	run.Evidence.Additivity, run.Evidence.Stability = nil, nil
	r = fromRun(t, run)
	_, page = elements(t, html(t, r))
	if r.Model.Stability != nil || strings.Contains(page, "the display itself") {
		t.Errorf("without figures: %+v", r.Model.Stability)
	}
}

// TestFileLosses: the diagnostics of the profile that was built are those told.
func TestFileLosses(t *testing.T) {
	run := ran(t, aim.Aim{Luminance: 100})
	r := fromRun(t, run)
	d := run.Profile.Diagnostics
	if r.Written == nil || r.Written.LossMean != d.LossMean || r.Written.LossCount == 0 {
		t.Fatalf("%+v, want %+v", r.Written, d)
	}
	_, page := elements(t, html(t, r))
	says(t, "the page", page, d.Black, "Computed from the model and from the bytes as read back: nothing here was measured")
	if strings.Contains(page, "round trip") != (d.RoundCount > 0) {
		t.Errorf("a profile of %d round trips is told to have some, or none", d.RoundCount)
	}
	_, page = elements(t, html(t, judged(t))) // the sample has tables
	says(t, "the page", page, "tables are needed.", "round trip", "0.82", "1240", "bend of the greys", "0.20 %", "matrix alone", "2.92", "17 and 33 nodes")
	var empty report.Report
	empty.Conclude()
	if _, page := elements(t, html(t, &empty)); strings.Contains(page, "What the file loses") {
		t.Error("no file loses something")
	}
}

// TestCSV: each figure of the table stands in report.json under its path.
func TestCSV(t *testing.T) {
	r := judged(t)
	r.White.TrueDeltaUV = nil
	r.AimAccuracy.Before = nil
	r.Written.HueMean = math.NaN()
	var b, doc bytes.Buffer
	if err := report.WriteCSV(&b, r); err != nil {
		t.Fatal(err)
	}
	if err := report.WriteJSON(&doc, r); err != nil {
		t.Fatal(err)
	}
	var whole any
	if err := json.Unmarshal(doc.Bytes(), &whole); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(rows[0], " "); got != "figure value unit standard_uncertainty noise_floor uncertainty_of count averages basis" {
		t.Errorf("the head is %q", got)
	}
	seen := map[string]bool{}
	for _, row := range rows[1:] {
		seen[row[0]] = true
		at := whole
		for step := range strings.SplitSeq(row[0], ".") {
			switch v := at.(type) {
			case map[string]any:
				at = v[step]
			case []any:
				i, err := strconv.Atoi(step)
				if err != nil || i >= len(v) {
					t.Fatalf("%s is not in report.json", row[0])
				}
				at = v[i]
			}
		}
		if row[1] == "" {
			if at != nil {
				t.Errorf("%s is empty, and %v in report.json", row[0], at)
			}
			continue
		}
		want, ok := at.(float64)
		got, err := strconv.ParseFloat(row[1], 64)
		if !ok || err != nil || math.Abs(got-want) > 1e-5*math.Abs(want) {
			t.Errorf("%s is %q, and %v in report.json", row[0], row[1], at)
		}
		if row[2] == "" || row[8] == "" {
			t.Errorf("%s has no unit or no basis: %q", row[0], row)
		}
	}
	for _, name := range []string{"white.delta_uv", "profile_accuracy.relative.delta_e_2000.mean", "model.additivity", "model.stability.2.shift_uv", "written.round_trip_max_delta_e_2000", "written.hue_turn_mean_degrees"} {
		if !seen[name] {
			t.Errorf("the table has no %s", name)
		}
	}
	if seen["aim_accuracy.before.delta_e_2000.mean"] || seen["white.true_delta_uv"] {
		t.Error("the table has figures that were not measured")
	}
	b.Reset()
	if err := report.WriteCSV(&b, &report.Report{}); err != nil || strings.Count(b.String(), "\n") != 1 {
		t.Errorf("nothing known: %v, %q", err, b.String())
	}
}
