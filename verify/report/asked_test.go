package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify/report"
)

// ran returns what a run on a display that is invented found, with an aim.
func ran(t testing.TB, a aim.Aim) *characterise.Result {
	t.Helper()
	rng := rand.New(rand.NewPCG(5, 5))
	run, err := characterise.FromReadings(context.Background(), characterise.Brought{
		Readings: read(rng, corrected, patches()[:70]), RunID: "1", Start: start(), Aim: a,
		Screen: measure.ScreenInfo{Name: "display", Mode: "native", Bits: 10},
	})
	if err != nil {
		t.Fatal(err)
	}
	return run
}

func fromRun(t testing.TB, run *characterise.Result) *report.Report {
	t.Helper()
	r, err := report.FromRun(run, report.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func text(t testing.TB, r *report.Report) string {
	t.Helper()
	var b bytes.Buffer
	if err := report.WriteText(&b, r); err != nil {
		t.Fatal(err)
	}
	fits(t, b.String())
	return strings.Join(strings.Fields(b.String()), " ")
}

// says holds a text against what it must say, blanks of any kind alike.
func says(t *testing.T, where, text string, want ...string) {
	t.Helper()
	text = strings.Join(strings.Fields(text), " ")
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("%s does not say %q", where, w)
		}
	}
}

// TestAimAsAsked: paper, room, eye and document of an aim are told.
func TestAimAsAsked(t *testing.T) {
	from, err := aim.StartNamed("iso3664-prints")
	if err != nil {
		t.Fatal(err)
	}
	a, err := from.Aim.With(aim.Words{
		White: "0.3101,0.3162 by eye of Ada, 2026-03-01T10:00:00Z", Luminance: "paper 0.8 in 400 lx", Black: "200:1", Ambient: "0.4 estimated",
	})
	if err != nil {
		t.Fatal(err)
	}
	r := fromRun(t, ran(t, a))
	lambert := 0.8 * 400 / math.Pi
	got, want := r.Aim, report.Aim{
		Name: r.Aim.Name, White: report.XY{X: 0.3101, Y: 0.3162}, WhiteName: a.White.Name, LuminanceCdM2: r.Aim.LuminanceCdM2, Tone: "power 2.2", Black: "stretch",
		MatchedBy: "Ada", MatchedWhen: "2026-03-01T10:00:00Z", Start: "iso3664-prints", Document: from.Document, Changed: []string{"white", "luminance", "black"},
		Paper: &report.Paper{Reflectance: 0.8, Lux: 400, CdM2: lambert}, BlackRatio: 200, Ambient: report.Ambient{Source: "estimated", CdM2: 0.4},
	}
	got.AskedCdM2 = 0
	if d := cmp.Diff(want, got, cmpopts.EquateApprox(1e-12, 0)); d != "" {
		t.Error(d)
	}
	if ratio := (r.LuminanceCdM2 + 0.4) / (r.BlackCdM2 + 0.4); r.SeenRatio == nil || math.Abs(*r.SeenRatio-ratio) > 1e-9*ratio {
		t.Errorf("white over black is seen as %v, want %g", r.SeenRatio, ratio)
	}
	_, page := elements(t, html(t, r))
	says(t, "the page", page, "from ISO 3664", "but for white, luminance and black", "no claim of conformance", "matched by eye of Ada, 1 March 2026",
		"101.9 cd/m² (paper of reflectance 0.8 in 400 lx)", "contrast 200 : 1; 0.4 cd/m² of ambient light, estimated")
	says(t, "the last screen", text(t, r), "from iso3664-prints, but for white, luminance and black", "by eye of Ada, 1 March 2026", "paper of reflectance 0.8 in 400 lx", "0.4 cd/m² of ambient light, estimated")
}

// TestRoom: how the ambient light is known is told, and what is not known is
// not reckoned with.
func TestRoom(t *testing.T) {
	run := ran(t, aim.Aim{Luminance: 100})
	for _, c := range []struct {
		ambient  aim.Ambient
		source   string
		says     string
		relative bool
		known    bool
	}{
		{aim.Ambient{}, "unknown", "ambient light unknown, reckoned as none", false, false},
		{aim.MeasuredAmbient(0.25), "measured", "0.25 cd/m² of ambient light, measured", false, true},
		{aim.MeasuredAmbient(0.25), "measured", "0.25 cd/m² of ambient light, measured", true, false},
	} {
		run.Asked.Ambient, run.RelativeXYZ = c.ambient, c.relative
		r := fromRun(t, run)
		if r.Aim.Ambient.Source != c.source || (r.SeenRatio != nil) != c.known || r.Aim.Paper != nil || r.Aim.Start != "" {
			t.Errorf("%+v, seen %v", r.Aim, r.SeenRatio)
		}
		_, page := elements(t, html(t, r))
		says(t, "the page", page, c.says)
	}
}

// TestDriftAndAgain: a drift that was put in and readings that were taken again
// are told, in figures and in words.
func TestDriftAndAgain(t *testing.T) {
	run := ran(t, aim.Aim{Luminance: 100})
	if r := fromRun(t, run); r.ReadAgain != nil || r.Drift != nil {
		t.Errorf("readings that were brought have %+v, %+v", r.Drift, r.ReadAgain)
	}
	run.Adjusted = true
	says(t, "the last screen", text(t, fromRun(t, run)), "No patch was repeated to show drift. No patch was read again.")

	// 40 readings of white over 20 minutes, in which it loses 3 % evenly.
	rng := rand.New(rand.NewPCG(6, 6))
	whites := make([]colorimetry.RGB, 40)
	for i := range whites {
		whites[i] = colorimetry.Gray(1)
	}
	drifting := read(rng, corrected, whites)
	for i := range drifting {
		drifting[i].Time = start().Add(time.Duration(i) * 30 * time.Second)
		drifting[i].XYZ = drifting[i].XYZ.Scale(1 - 0.03*float64(i)/39)
	}
	var err error
	if run.Drift, err = measure.FitDrift(drifting, measure.DriftOptions{}); err != nil {
		t.Fatal(err)
	}
	for i, flag := range []string{measure.FlagConfirmed, measure.FlagUnsettled, measure.FlagConfirmed, measure.FlagReplaced} {
		run.Again = append(run.Again, characterise.Again{Stage: measure.StageProof, Patch: chart.Patch{ID: string(rune('a' + i))}, Again: measure.Again{Flag: flag, Distance: 5, Readings: []int{1, 2}}})
	}
	r := fromRun(t, run)
	// A reading has a noise of 0.25 %; a line through 40 of them is known at its
	// ends to 0.08 %, their difference to 0.14 %.
	if d := r.Drift; d == nil || !d.Corrected || math.Abs(math.Abs(d.LuminanceShare)-0.03) > 0.0042 || d.Anchors != 1 || d.Repeats+d.LeftOut != 40 {
		t.Fatalf("%+v", r.Drift)
	}
	want := &report.ReadAgain{Count: 4, Confirmed: 2, Replaced: 1, Unsettled: 1}
	for i, outcome := range []string{"confirmed", "unsettled", "confirmed", "replaced"} {
		want.Patches = append(want.Patches, report.AgainOfPatch{ID: string(rune('a' + i)), Stage: measure.StageProof, Outcome: outcome, Distance: 5, Readings: 2})
	}
	if d := cmp.Diff(want, r.ReadAgain); d != "" {
		t.Error(d)
	}
	_, page := elements(t, html(t, r))
	for where, text := range map[string]string{"the page": page, "the last screen": text(t, r)} {
		says(t, where, text, "The chart was corrected for drift of up to", "the proof is as read", "4 patches read again: 1 unsettled (b), 1 replaced (d), 2 confirmed (a, c).")
	}
	for range 7 {
		r.ReadAgain.Patches = append(r.ReadAgain.Patches, report.AgainOfPatch{ID: "many", Outcome: "replaced"})
	}
	says(t, "the last screen", text(t, r), "8 replaced (named in report.json)")
}

// TestNewNamesInJSON: the names that programs find them under.
func TestNewNamesInJSON(t *testing.T) {
	r, ratio := sample(t), 180.0
	r.SeenRatio, r.Drift, r.ReadAgain = &ratio, &report.Drift{Corrected: true, NoiseFactor: 1}, &report.ReadAgain{Patches: []report.AgainOfPatch{{ID: "c1"}}}
	r.Aim.Paper, r.Aim.Ambient = &report.Paper{Reflectance: 0.8, Lux: 400, ReadCdM2: 1, CdM2: 101.9}, report.Ambient{Source: "measured", CdM2: 0.4}
	r.Aim.MatchedBy, r.Aim.MatchedWhen, r.Aim.Start, r.Aim.Document, r.Aim.Changed, r.Aim.BlackCdM2, r.Aim.BlackRatio = "Ada", "2026", "srgb", "IEC", []string{"white"}, 0.1, 200
	var b bytes.Buffer
	var doc map[string]json.RawMessage
	if err := report.WriteJSON(&b, r); err != nil {
		t.Fatal(err)
	}
	var back report.Report
	if err := json.Unmarshal(b.Bytes(), &back); err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(r.Aim, back.Aim) + cmp.Diff(r.Drift, back.Drift) + cmp.Diff(r.ReadAgain, back.ReadAgain) + cmp.Diff(r.SeenRatio, back.SeenRatio); d != "" {
		t.Error(d)
	}
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	for part, names := range map[string]string{
		"aim":        "white_matched_by white_matched_when start document changed paper black_cd_m2 black_ratio ambient",
		"drift":      "corrected luminance_share delta_uv anchors repeats left_out noise_factor",
		"read_again": "count confirmed replaced unsettled patches",
	} {
		var has map[string]json.RawMessage
		if err := json.Unmarshal(doc[part], &has); err != nil {
			t.Fatal(err)
		}
		for _, name := range strings.Fields(names) {
			if _, ok := has[name]; !ok {
				t.Errorf("report.json has no %s.%s", part, name)
			}
		}
	}
}
