package report_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/hardware"
	"example.org/primaries/verify"
	"example.org/primaries/verify/report"
)

// TestGreysAsRead: a grey beyond the target is told as one, however much noise
// there is; noise only leaves open whether it is.
func TestGreysAsRead(t *testing.T) {
	for _, c := range []struct {
		name             string
		off, spread      float64
		reached, missing string
	}{
		{"within", 0.017, 0.001, "all 2 greys lay within 2 % of its luminance (largest as read 1.7 %)", ""},
		{"beyond within its noise", 0.027, 0.01, "", "undecided: tone power 2.2: 1 of 2 greys lay more than 2 % off in luminance, none by more than its noise explains (largest as read 2.7 %)"},
		{"beyond", 0.027, 0.001, "", "tone power 2.2: 1 of 2 greys lay more than 2 % off in luminance by more than their noise explains (largest as read 2.7 %)"},
	} {
		r := &report.Report{Aim: report.Aim{Tone: "power 2.2"}, Greys: []report.Grey{
			{Signal: 0.5, WantCdM2: 20, GotCdM2: 20 * (1 - c.off), SpreadShare: c.spread}, {Signal: 1, WantCdM2: 100, GotCdM2: 100.1, SpreadShare: c.spread},
		}}
		r.Conclude()
		for where, want := range map[string]string{strings.Join(r.Reached, "\n"): c.reached, strings.Join(r.NotReached, "\n"): c.missing} {
			got := strings.ReplaceAll(where, "\u00a0", " ")
			if !strings.Contains(got, want) || want == "" && strings.Contains(got, "greys") {
				t.Errorf("%s: %q instead of %q", c.name, got, want)
			}
		}
	}
}

// figures returns the table of figures by the paths, each row by its columns.
func figures(t *testing.T, r *report.Report) map[string]map[string]string {
	t.Helper()
	var b bytes.Buffer
	if err := report.WriteCSV(&b, r); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	table := map[string]map[string]string{}
	for _, row := range rows[1:] {
		table[row[0]] = map[string]string{}
		for i, name := range rows[0] {
			table[row[0]][name] = row[i]
		}
	}
	return table
}

// TestWhatUncertaintiesHold: the page and the table of figures say what of the
// instrument's own error is known, and whose scale absolute figures are on.
func TestWhatUncertaintiesHold(t *testing.T) {
	var c mismatch.MatrixCovariance
	c[0][0], c[4][4], c[8][8] = 1e-6, 1e-6, 1e-6
	const onScale = "on the reference's scale"
	for _, of := range []struct {
		name       string
		change     func(*characterise.Result)
		page       string
		white      string // what its uncertainty holds
		luminance  string
		ofRelative bool // to the reference
	}{
		{"pairs", func(run *characterise.Result) { run.Correction.Kind = mismatch.KindFourColour },
			"its own error, which may be per cents of luminance (common practice, no source), is in none of the uncertainties", "noise and pairs", "noise and pairs", true},
		{"typical spectra", func(run *characterise.Result) { run.Correction.Kind = mismatch.KindSource },
			"Known of it is what its correction is said to leave.", "noise and instrument", "noise and instrument", false},
		{"no correction", func(run *characterise.Result) { run.Correction = nil },
			"Known of it is 0.004 in x and y, assumed of a colorimeter that is not corrected", "noise and instrument", "noise", false},
		{"spectral without a certificate", func(run *characterise.Result) { run.Correction, run.Instrument.Spectral = nil, true },
			"of the instrument's own error nothing is known", "noise", "noise", false},
	} {
		run := ranThrough(t, &c)
		of.change(run)
		if run.Correction == nil {
			run.ProofWhite.Systematic = colorimetry.Matrix{}
		}
		r := fromRun(t, run)
		_, page := elements(t, html(t, r))
		says(t, of.name+": the page", page, of.page)
		f := figures(t, r)
		if got := f["white.delta_uv"]["uncertainty_of"]; got != of.white {
			t.Errorf("%s: the uncertainty of white holds %q, want %q", of.name, got, of.white)
		}
		if got := f["luminance_cd_m2"]["uncertainty_of"]; got != of.luminance {
			t.Errorf("%s: that of luminance holds %q, want %q", of.name, got, of.luminance)
		}
		for _, figure := range []string{"luminance_cd_m2", "white.delta_uv", "profile_accuracy.absolute.delta_e_2000.mean"} {
			if basis := f[figure]["basis"]; strings.Contains(basis, onScale) != of.ofRelative {
				t.Errorf("%s: the basis of %s is %q", of.name, figure, basis)
			}
		}
		if basis := f["profile_accuracy.relative.delta_e_2000.mean"]["basis"]; strings.Contains(basis, onScale) {
			t.Errorf("%s: a relative figure is %q", of.name, basis)
		}
		if strings.Contains(text(t, r), "as the reference reads") != of.ofRelative {
			t.Errorf("%s: the last screen says %s", of.name, text(t, r))
		}
	}
}

// TestBasesNameTheirWhite: no colour difference in the table of figures is without
// the white that it is under.
func TestBasesNameTheirWhite(t *testing.T) {
	f := figures(t, judged(t))
	for name, row := range f {
		if (row["unit"] == "ΔE00" || row["unit"] == "L*") && !strings.Contains(row["basis"], "white") {
			t.Errorf("%s has the basis %q", name, row["basis"])
		}
	}
	for name, want := range map[string]string{
		"written.loss_mean_delta_e_2000": "under the measured white", "written.round_trip_mean_delta_e_2000": "under the connection space's white (D50)",
		"written.matrix_loss_max_delta_e_2000": "under the connection space's white (D50)", "aim_accuracy.after.delta_e_2000.mean": "under the aim's white",
		"profile_accuracy.relative.delta_e_2000.mean": "each side under its own white", "profile_accuracy.absolute.delta_e_2000.mean": "under the profile's white",
	} {
		if got := f[name]["basis"]; !strings.Contains(got, want) {
			t.Errorf("%s has the basis %q, want %q", name, got, want)
		}
	}
}

// TestModelsTried: the table of models says how its figures are to be read, and
// where none of its models was chosen.
func TestModelsTried(t *testing.T) {
	run := ran(t, aim.Aim{Luminance: 100})
	r := fromRun(t, run)
	for i, c := range r.Model.Candidates {
		if c.Count == 0 || c.Count != run.Evidence.Candidates[i].Count {
			t.Errorf("%s: %d held back, want %d", c.Name, c.Count, run.Evidence.Candidates[i].Count)
		}
	}
	_, page := elements(t, html(t, r))
	says(t, "the page", page, "Relative to the brightest reading, the readings' noise included.")
	if strings.Contains(page, "None of these was chosen") || strings.Contains(page, "next to the largest") {
		t.Error("the page says of many patches and a model of this run that they are few and another's")
	}

	run.Evidence.Chosen = characterise.EarlierName
	for i := range run.Evidence.Candidates {
		run.Evidence.Candidates[i].Count = 8
	}
	r = fromRun(t, run)
	if slices.ContainsFunc(r.Model.Candidates, func(c report.Candidate) bool { return c.Chosen }) {
		t.Error("a model of this run alone is marked as chosen")
	}
	_, page = elements(t, html(t, r))
	says(t, "the page", page, "None of these was chosen: they are of this run's readings alone, and the model that was chosen rests on both runs", "Of 8 patches the 95 % is next to the largest")
	if !regexp.MustCompile(`both runs: this one and the earlier</td>.*<td>chosen</td>`).MatchString(html(t, r)) {
		t.Error("no row says what was chosen")
	}
}

// TestFailedOnce: a figure that failed or is open stands among what was not
// reached, once, and the failed ones come first.
func TestFailedOnce(t *testing.T) {
	r := sample(t)
	mean := r.AimAccuracy.After.DeltaE2000.Mean
	p95 := r.ProfileAccuracy.Relative.DeltaE2000.P95
	r.Judge(verify.Limits{Name: "test", Limits: []verify.Limit{
		{Name: "white", Figure: "white.delta_uv", Value: r.White.DeltaUV, Source: "test", Sure: "test"},
		{Name: "average distance", Figure: "aim_accuracy.after.delta_e_2000.mean", Value: mean / 3, Source: "test", Sure: "test"},
		{Name: "95th percentile", Figure: "profile_accuracy.relative.delta_e_2000.p95", Value: p95, Source: "test", Sure: "test"},
		{Name: "not measured", Figure: "profile_accuracy.nothing", Value: 1, Source: "test", Sure: "test"},
	}})
	r.Conclude()
	if s := strings.Join(r.Reached, "\n"); strings.Contains(s, "aim ΔE00") || strings.Contains(s, "relative as read") || !strings.Contains(s, "absolute as read") {
		t.Errorf("reached:\n%s", s)
	}
	missing := strings.Join(r.NotReached, "\n")
	for _, want := range []string{
		fmt.Sprintf("failed: aim ΔE00 mean %.2f", mean), fmt.Sprintf("mean %.2f, limit %.2f (test)", mean, mean/3),
		"undecided: profile ΔE00 mean", fmt.Sprintf("p95 %.2f, limit %.2f (test)", p95, p95), "undecided: not measured: the figure was not measured",
	} {
		if strings.Count(missing, want) != 1 {
			t.Errorf("%q is not there once:\n%s", want, missing)
		}
	}
	if strings.Contains(missing, "average distance") || !strings.HasPrefix(missing, "failed: ") {
		t.Errorf("not reached:\n%s", missing)
	}
}

// TestEssentials: the last screen never leaves out how true the profile is, what to
// load, and what failed.
func TestEssentials(t *testing.T) {
	for _, table := range []string{"", "table.clf"} {
		r := sample(t)
		r.Table, r.Profile = table, "2026-11-26_coupled-lcd-invented_native_d65-99-power-2.2.icc"
		r.Aim.Start = strings.Repeat("name ", 60)
		r.Judge(verify.Limits{Name: "test", Limits: []verify.Limit{{Name: "aim", Figure: "aim_accuracy.after.delta_e_2000.mean", Value: r.AimAccuracy.After.DeltaE2000.Mean / 3, Source: "test", Sure: "test"}}})
		for range 9 {
			r.Warnings = append(r.Warnings, "another warning")
		}
		r.Conclude()
		many := slices.Repeat([]string{strings.Repeat("and more ", 20)}, 9)
		r.Reached = append(slices.Clone(many), r.Reached...)
		r.NotReached = append(r.NotReached, many...)
		r.Next = append(slices.Clone(many), r.Next...)
		load := "give 2026-11-26_coupled-lcd-invented_native_d65-99-power-2.2.icc to the system as its profile; it is true with its curves (tag vcgt) loaded, and with them alone"
		if table != "" {
			load = "load one, never both: table.clf in the display or box in place of all curves, or 2026-11-26_coupled-lcd-invented_native_d65-99-power-2.2.icc as the system's profile with its curves (tag vcgt)"
		}
		a := r.ProfileAccuracy.Relative.DeltaE2000
		says(t, "the last screen", text(t, r), fmt.Sprintf("profile ΔE00 mean %.2f, max %.2f; relative as read, 120 patches ×4, noise", a.Mean, a.Max), load, "failed: aim ΔE00 mean", "another", "more in the report")
	}
}

// TestLinesEndAtTheEdge: a line that leaves its frame ends there, and what lies
// beyond is a ring.
func TestLinesEndAtTheEdge(t *testing.T) {
	r := sample(t)
	beyond := 0
	for i := range r.Greys {
		g := &r.Greys[i]
		g.DeltaUV, g.FoundDelta = 0.001, 0.002
		if g.FoundCdM2 > 0 && g.Signal > 0 && g.Signal < 0.3 {
			g.FoundDelta = 0.0104 + 0.02*g.Signal // the frame ends at 0.004
			beyond++
		}
	}
	_, chart, _ := strings.Cut(html(t, r), `aria-label="Colour of the greys beside the aim"`)
	chart, _, ok := strings.Cut(chart, "</svg>")
	if !ok || beyond < 2 {
		t.Fatalf("no chart, or %d greys beyond it", beyond)
	}
	if got := strings.Count(chart, `class="pale ring"`); got != beyond {
		t.Errorf("%d rings, want %d", got, beyond)
	}
	lines := regexp.MustCompile(`class="was" d="([^"]*)"`).FindAllStringSubmatch(chart, -1)
	if len(lines) != 2 { // the key, and the line
		t.Fatalf("%d lines as found", len(lines))
	}
	const top = 30 // of the frame
	ends, was := 0, math.Inf(1)
	for _, p := range regexp.MustCompile(`([ML])([0-9.]+) ([0-9.]+)`).FindAllStringSubmatch(lines[1][1], -1) {
		y := number(t, p[3])
		if y == top {
			ends++
		}
		if p[1] == "L" && y == top && was == top {
			t.Errorf("the line runs along the edge: %s", lines[1][1])
		}
		was = y
	}
	if ends != 2 {
		t.Errorf("the line meets the edge %d times, want where it leaves and where it comes back: %s", ends, lines[1][1])
	}
}

// TestLastLook: the last reading through curves is no pass.
func TestLastLook(t *testing.T) {
	_, page := elements(t, html(t, judged(t))) // the sample has two
	says(t, "the page", page, "pass 1", "last look, at a few greys")
	if strings.Contains(page, "pass 2") {
		t.Error("the look through the last curves is called a pass")
	}
}

// TestAveragesThatWouldDecide: where an undecided shift is all noise, as many
// averages as the page says, and not fewer, bring the figure within its limit by
// two standard uncertainties at the signal where it was read.
func TestAveragesThatWouldDecide(t *testing.T) {
	run := ran(t, aim.Aim{Luminance: 100})
	run.Evidence.Additivity = nil
	run.Evidence.Stability = &fit.Stability{Shift: [3]float64{0.0001, 0.003, 0.012}, Error: [3]float64{0.0001, 0.001, 0.009}, Signal: [3]float64{0.5, 0.2, 0.25}, Readings: [3]int{9, 8, 7}}
	r := fromRun(t, run)
	if r.Model.Averages != 4 {
		t.Fatalf("%d averages, want the 4 of the chart", r.Model.Averages)
	}
	_, page := elements(t, html(t, r))
	need := regexp.MustCompile(`about (\d+) averages would show that there, not 4`).FindAllStringSubmatch(page, -1)
	if len(need) != 1 || !strings.Contains(page, "more than 100 averages are needed to show that there, not 4") {
		t.Fatalf("%q of %s", need, page)
	}
	n := number(t, need[0][1])
	within := func(n float64) bool { return (0.003+2*0.001)*math.Sqrt(4/n) <= fit.MostShift }
	if !within(n) || within(n-1) {
		t.Errorf("%g averages do not just decide", n)
	}
}

// TestAveragesDecideNoise: the same with readings: a display whose primaries keep
// their colours is read with as many averages as are said to show that, at the very
// signal; its shift is within the limit by two standard uncertainties in most
// cases. (Noise falls with the root of the averages: the read() of this test.)
func TestAveragesDecideNoise(t *testing.T) {
	if testing.Short() {
		t.Skip("fits five times")
	}
	at := [3]func(float64) colorimetry.RGB{
		func(v float64) colorimetry.RGB { return colorimetry.RGB{R: v} }, func(v float64) colorimetry.RGB { return colorimetry.RGB{G: v} }, func(v float64) colorimetry.RGB { return colorimetry.RGB{B: v} },
	}
	set := patches()[:27]
	for i := 1; i < 12; i++ {
		for c := range at {
			set = append(set, at[c](float64(i)/12))
		}
	}
	open, decided := 0, 0
	for seed := range uint64(5) {
		rng := rand.New(rand.NewPCG(seed, 3))
		run, err := characterise.FromReadings(context.Background(), characterise.Brought{Readings: read(rng, corrected, set), Verify: read(rng, corrected, patches()[27:50]), RunID: "1", Start: start(), Aim: aim.Aim{Luminance: 100},
			Screen: measure.ScreenInfo{Name: "display", Mode: "native", Bits: 10}})
		if err != nil {
			t.Fatal(err)
		}
		r := fromRun(t, run)
		_, page := elements(t, html(t, r))
		for c, s := range r.Model.Stability {
			if s.State != verify.Undecided {
				continue
			}
			_, row, _ := strings.Cut(page, s.Primary+"'s colour")
			_, row, ok := strings.Cut(row, "if it is all noise, about ")
			if !ok {
				t.Fatalf("the page does not say what would decide %s", s.Primary)
			}
			open++
			share := 4 / number(t, row[:strings.IndexByte(row, ' ')])
			three := []colorimetry.RGB{{}, at[c](1), at[c](s.Signal)}
			again := read(rng, corrected, three)
			for i := range again { // the same noise, less by the averages
				truth := corrected(three[i])
				again[i].XYZ = truth.Add(again[i].XYZ.Sub(truth).Scale(math.Sqrt(share)))
			}
			shift := again[2].XYZ.Sub(again[0].XYZ).UV().Distance(again[1].XYZ.Sub(again[0].XYZ).UV())
			if shift+2*s.ErrorUV*math.Sqrt(share) <= fit.MostShift {
				decided++
			}
		}
	}
	t.Logf("%d of %d were decided", decided, open)
	if open < 5 || decided < open*3/4 {
		t.Errorf("%d of %d were decided", decided, open)
	}
}

// TestOutputHoldsWhatARunMakes: the table for the display and the instrument's
// correction are among the files, and with a table there are two ways to go.
func TestOutputHoldsWhatARunMakes(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	run, err := characterise.FromReadings(context.Background(), characterise.Brought{
		Readings: read(rng, corrected, patches()[:70]), RunID: "1", Start: start(), Aim: aim.Aim{White: aim.XY(0.3127, 0.3290), Luminance: 100},
		Screen: measure.ScreenInfo{Name: "display", Mode: "native", Bits: 10}, HardwareTable: &characterise.HardwareTable{Nodes: 5},
	})
	if err != nil {
		t.Fatal(err)
	}
	run.Saved = &mismatch.Saved{Correction: mismatch.Correction{Kind: mismatch.KindFourColour, Matrix: colorimetry.Identity()}, Instrument: "colorimeter", Reference: "spectroradiometer", Display: "display", Date: start()}
	r := fromRun(t, run)
	var names []string
	for _, f := range r.Output(run) {
		names = append(names, f.Name)
		var b, want bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		switch f.Name {
		case "table.clf":
			err = hardware.WriteCLF(&want, run.HardwareTable.Table)
		case "table.csv":
			err = hardware.WriteCSV(&want, run.HardwareTable.Table)
		case "correction.json":
			err = run.Saved.Write(&want)
		default:
			continue
		}
		if err != nil || !bytes.Equal(b.Bytes(), want.Bytes()) || b.Len() == 0 {
			t.Errorf("%s holds something else (%v)", f.Name, err)
		}
	}
	profile := run.Profile.FileName
	want := []string{profile, "table.clf", "table.csv", "correction.json", "readings.cgats.txt", "readings.csv", "figures.csv", "report.html", report.LastFile}
	if !slices.Equal(names, want) || !slices.Equal(r.Files, want) {
		t.Errorf("files %q and %q, want %q", names, r.Files, want)
	}
	if next := strings.Join(r.Next, "\n"); !strings.Contains(next, "load one, never both: table.clf in the display or box, or "+profile) || strings.Contains(next, "give "+profile) {
		t.Errorf("next:\n%s", next)
	}
	run.HardwareTable, run.Saved = nil, nil
	r = fromRun(t, run)
	if r.Output(run); slices.Contains(r.Files, "table.clf") || slices.Contains(r.Files, "correction.json") {
		t.Errorf("files that nobody made: %q", r.Files)
	}
	if next := strings.Join(r.Next, "\n"); !strings.Contains(next, "give "+profile) {
		t.Errorf("next:\n%s", next)
	}
}
