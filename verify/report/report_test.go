package report_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
	"example.org/primaries/verify/report"
)

// judged returns the sample, judged and concluded.
func judged(t testing.TB) *report.Report {
	r := sample(t)
	r.Judge(verify.Default())
	r.Conclude()
	return r
}

func html(t testing.TB, r *report.Report) string {
	t.Helper()
	var b bytes.Buffer
	if err := report.WriteHTML(&b, r); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// elements reads the page as XML, which HTML of ours is but for its doctype, and
// fails where an element is not closed or holds
// another twice over.
func elements(t testing.TB, page string) (names map[string]int, text string) {
	t.Helper()
	page = strings.TrimPrefix(page, "<!DOCTYPE html>")
	d := xml.NewDecoder(strings.NewReader(page))
	d.Entity = xml.HTMLEntity
	names = map[string]int{}
	var words strings.Builder
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return names, words.String()
		}
		if err != nil {
			t.Fatalf("the page is not well formed: %v", err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			names[e.Name.Local]++
			seen := map[string]bool{}
			for _, a := range e.Attr {
				if seen[a.Name.Local] {
					t.Errorf("<%s> has %q twice", e.Name.Local, a.Name.Local)
				}
				seen[a.Name.Local] = true
				if strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "href" || a.Name.Local == "src" {
					t.Errorf("<%s %s=%q>: the page calls for something", e.Name.Local, a.Name.Local, a.Value)
				}
			}
		case xml.CharData:
			words.Write(e)
		}
	}
}

func TestHTML(t *testing.T) {
	page := html(t, judged(t))
	names, text := elements(t, page)
	if names["script"]+names["link"]+names["img"]+names["iframe"] > 0 {
		t.Errorf("the page holds more than itself: %v", names)
	}
	// Tone, luminance, colour of the greys, curves, white, diagram, strip, two of
	// the warm-up; 16 pairs of swatches; bars.
	if names["figure"] != 9 || names["svg"] < 9+16 {
		t.Errorf("%d figures, %d drawings", names["figure"], names["svg"])
	}
	for _, says := range []string{
		"Was the aim reached?", "Does the profile tell the truth?", "Is it as last time?", "no acceptance test", "own rules",
		"The scenario is invented", "relative, as read", "absolute, as read", "noise alone", "common practice, no source",
		"brightness: 33 steps down, then read again", "corrected by four paired readings",
	} {
		if !strings.Contains(text, says) {
			t.Errorf("the page does not say %q", says)
		}
	}
	for _, bad := range []string{"NaN", "Inf", "ZgotmplZ", "%!", "http:", "https:", "url(", "@import"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if again := html(t, judged(t)); again != page {
		t.Error("the same report gave other bytes")
	}
}

// TestOneInk: the page has one ink and its tints, and every state is a bar with
// its word; the only other colours are those of the patches.
func TestOneInk(t *testing.T) {
	page := html(t, judged(t))
	style := regexp.MustCompile(`(?s)<style>.*</style>`).FindString(page)
	colours := map[string]bool{}
	for _, c := range regexp.MustCompile(`#[0-9a-f]{3,6}`).FindAllString(style, -1) {
		colours[c] = true
	}
	if want := map[string]bool{"#fff": true, "#1d3a45": true, "#5d7681": true, "#a9bac1": true, "#e3eaec": true}; !cmp.Equal(want, colours) {
		t.Errorf("the style has the colours %v", colours)
	}
	if got := strings.Count(page, ` fill="#`); got != 2*16 {
		t.Errorf("%d shapes bring a colour of their own, want two each for 16 pairs", got)
	}
	bars := regexp.MustCompile(`(?s)<svg class="bar".*?</svg>(passed|failed|undecided|done in part|done|not done|additive|not additive|kept|not kept)`)
	if with, all := len(bars.FindAllString(page, -1)), strings.Count(page, `<svg class="bar"`); with != all || all < 12 {
		t.Errorf("%d of %d bars have their word", with, all)
	}
}

// TestDrawingsStayInside: no shape or word begins outside its drawing.
func TestDrawingsStayInside(t *testing.T) {
	page := html(t, judged(t))
	box := regexp.MustCompile(`(?s)<svg width="([0-9.]+)" height="([0-9.]+)".*?</svg>`)
	place := regexp.MustCompile(`(?:cx|x)="(-?[0-9.]+)" (?:cy|y)="(-?[0-9.]+)"`)
	count := 0
	for _, m := range box.FindAllStringSubmatch(page, -1) {
		w, h := number(t, m[1]), number(t, m[2])
		for _, p := range place.FindAllStringSubmatch(m[0], -1) {
			count++
			if x, y := number(t, p[1]), number(t, p[2]); x < 0 || y < 0 || x > w || y > h {
				t.Errorf("a shape at %g, %g of a drawing of %g by %g", x, y, w, h)
			}
		}
	}
	if count < 200 {
		t.Errorf("only %d places were found", count)
	}
}

func number(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

const hostile = `"><script>alert(1)</script><a href=x>'` + "\x1b[31m\u202e\x00"

// TestHostileNames: names come from strangers and are only ever text.
func TestHostileNames(t *testing.T) {
	r := sample(t)
	r.Aim.Changed, r.Aim.Paper = []string{""}, &report.Paper{}
	r.ReadAgain = &report.ReadAgain{Count: 1, Patches: []report.AgainOfPatch{{Outcome: "replaced"}}}
	for _, s := range []*string{&r.Aim.MatchedBy, &r.Aim.MatchedWhen, &r.Aim.Start, &r.Aim.Document, &r.Aim.Changed[0], &r.Aim.Ambient.Source, &r.ReadAgain.Patches[0].ID, &r.Display.Name, &r.Display.Mode, &r.Instrument.Name, &r.Instrument.Serial, &r.Instrument.Correction, &r.Aim.Name, &r.Aim.WhiteName,
		&r.Aim.Tone, &r.Aim.Black, &r.FloorCause, &r.Model.Name, &r.Model.Reason, &r.Profile, &r.Scenario, &r.Run.ID, &r.Curves.Digest, &r.WarmUp.Sentence,
		&r.Warnings[0], &r.Files[0], &r.Controls.Sentences[0], &r.Stages[0].Name, &r.History.Look.Reason, &r.Checklist[0].Text, &r.Written.Black, &r.Written.Choice, &r.Model.Stability[0].Primary, &r.ProfileAccuracy.Relative.Patches[0].ID,
		&r.ProfileAccuracy.Relative.White, &r.AimAccuracy.After.Patches[0].ID, &r.Model.Candidates[0].Name} {
		*s = hostile
	}
	r.Judge(verify.Limits{Name: hostile, Limits: []verify.Limit{{Name: hostile, Figure: "white.delta_uv", Value: 1e-9, Source: hostile, Sure: hostile}}})
	r.Conclude()
	page := html(t, r)
	if strings.Contains(page, "<script") || strings.Contains(page, "<a ") {
		t.Error("a name became an element")
	}
	clean := strings.NewReplacer("\x1b", "", "\x00", "", "\ufffd", "").Replace(page) // XML forbids what HTML leaves
	if names, _ := elements(t, clean); names["script"]+names["a"] > 0 {
		t.Error("a name became an element")
	}
	var b bytes.Buffer
	if err := report.WriteText(&b, r); err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(b.String(), "\x1b\x00\u202e") {
		t.Error("the last screen can command the terminal")
	}
	fits(t, b.String())
	b.Reset()
	if err := report.WriteJSON(&b, r); err != nil || !json.Valid(b.Bytes()) {
		t.Errorf("report.json: %v", err)
	}
}

// fits holds the last screen against its bounds.
func fits(t testing.TB, s string) {
	t.Helper()
	lines := strings.Split(strings.TrimSuffix(s, "\n"), "\n")
	if len(lines) > 25 {
		t.Errorf("%d lines:\n%s", len(lines), s)
	}
	for i, l := range lines {
		if n := utf8.RuneCountInString(l); n > 80 {
			t.Errorf("line %d has %d columns: %s", i+1, n, l)
		}
	}
}

func TestText(t *testing.T) {
	var b bytes.Buffer
	if err := report.WriteText(&b, judged(t)); err != nil {
		t.Fatal(err)
	}
	fits(t, b.String())
	for _, says := range []string{"Reached", "Not reached", "Next", "simulated", "no acceptance test", "profile ΔE00 mean", "relative as read", "noise"} {
		if !strings.Contains(b.String(), says) {
			t.Errorf("the last screen does not say %q:\n%s", says, &b)
		}
	}
	// Far too much to tell, in words without blanks and in wide letters.
	r := judged(t)
	for range 40 {
		r.Reached = append(r.Reached, strings.Repeat("漢字", 60))
		r.NotReached = append(r.NotReached, strings.Repeat("x", 300))
		r.Next = append(r.Next, strings.Repeat("word ", 100))
	}
	r.Display.Name = strings.Repeat("name", 60)
	b.Reset()
	if err := report.WriteText(&b, r); err != nil {
		t.Fatal(err)
	}
	fits(t, b.String())
	if !strings.Contains(b.String(), "more in the report") {
		t.Error("what was left out is not counted")
	}
	for l := range strings.Lines(b.String()) {
		if strings.Count(l, "漢")+strings.Count(l, "字") > 40 {
			t.Errorf("wide letters fill more than 80 columns: %s", l)
		}
	}
	b.Reset()
	if err := report.WriteText(&b, &report.Report{}); err != nil {
		t.Fatal(err)
	}
	fits(t, b.String())
}

// TestTextWarnings: each warning has a line of its own on the last screen,
// without what would command a terminal, and a ratio stays whole.
func TestTextWarnings(t *testing.T) {
	r := judged(t)
	r.Reached = nil
	r.Warnings = []string{"first\x1b[2Jwarning", "second\nwarning", strings.Repeat("long ", 40)}
	r.BlackCdM2, r.BlackSpreadCdM2, r.Run.Relative = r.LuminanceCdM2/1040, 0, false
	r.Conclude()
	var b bytes.Buffer
	if err := report.WriteText(&b, r); err != nil {
		t.Fatal(err)
	}
	fits(t, b.String())
	for _, says := range []string{"\nWarnings to heed (report.html has them in full)\n  first [2Jwarning\n  second warning\n  long long", " lo…\n", "\nNext\n  give ", "contrast 1040\u00a0:\u00a01"} {
		if !strings.Contains(b.String(), says) {
			t.Errorf("the last screen does not say %q:\n%s", says, &b)
		}
	}
}

// TestWordsOfThePage: the figure of additivity is told as what it is, and nothing
// is said of an instrument that has no name.
func TestWordsOfThePage(t *testing.T) {
	r := judged(t)
	additivity := 0.92
	r.Model.Additivity, r.Model.AdditivityError, r.Model.AdditivityX, r.Model.AdditivityZ, r.Model.AdditivityState = &additivity, 0.004, 0.93, 0.91, verify.Failed
	_, text := elements(t, html(t, r))
	for _, says := range []string{"92.0 % of the white's luminance, 93.0 % of its X, 91.0 % of its Z", "±\u00a00.4\u00a0%", "not additive", "black counted once", "Read with filter colorimeter, serial 17; corrected by four paired readings (uncertainty 0.0004 in u'v'). 283 readings"} {
		if !strings.Contains(text, says) {
			t.Errorf("the page does not say %q", says)
		}
	}
	r.Instrument = report.Instrument{}
	if _, text := elements(t, html(t, r)); strings.Contains(text, "Read with") || !strings.Contains(text, ". 283 readings, run") {
		t.Error("the page names an instrument that has no name")
	}
}

// TestJSONNames: what the issue that asked for report.json says it holds.
func TestJSONNames(t *testing.T) {
	var b, again bytes.Buffer
	if err := report.WriteJSON(&b, judged(t)); err != nil {
		t.Fatal(err)
	}
	if err := report.WriteJSON(&again, judged(t)); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("the same report gave other bytes (%v)", err)
	}
	var doc any
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{
		"version", "aim", "white.x", "white.y", "white.delta_uv", "white.true_delta_uv", "white.cct", "luminance_cd_m2", "black_cd_m2", "floor_signal", "model.name",
		"aim_accuracy.before.delta_e_2000.mean", "aim_accuracy.after.delta_e_2000.p95", "aim_accuracy.after.averages", "aim_accuracy.after.noise_floor.mean",
		"profile_accuracy.relative.delta_e_2000.mean", "profile_accuracy.relative.delta_e_2000.p95", "profile_accuracy.relative.delta_e_2000.max", "profile_accuracy.relative.delta_e_2000.count",
		"profile_accuracy.relative.averages", "profile_accuracy.relative.noise_floor.mean", "profile_accuracy.absolute.delta_e_2000.mean", "profile_accuracy.true.delta_e_2000.max",
		"profile", "warnings",
	} {
		v := doc
		for step := range strings.SplitSeq(path, ".") {
			m, _ := v.(map[string]any)
			next, ok := m[step]
			if v = next; !ok {
				t.Errorf("report.json has no %s", path)
				break
			}
		}
	}
	snake := regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, x := range v {
				if !snake.MatchString(k) {
					t.Errorf("the name %q is not in snake_case", k)
				}
				walk(x)
			}
		case []any:
			for _, x := range v {
				walk(x)
			}
		}
	}
	walk(doc)
	var back report.Report
	if err := json.Unmarshal(b.Bytes(), &back); err != nil || back.ProfileAccuracy.Relative.DeltaE2000 != judged(t).ProfileAccuracy.Relative.DeltaE2000 {
		t.Errorf("report.json does not read back: %v", err)
	}
	// Every figure that can be judged is where its path says.
	for _, f := range judged(t).Figures() {
		v := doc
		for step := range strings.SplitSeq(f.Name, ".") {
			m, _ := v.(map[string]any)
			v = m[step]
		}
		if got, ok := v.(float64); !ok || math.Abs(got-f.Value) > 1e-12 {
			t.Errorf("%s is %v in report.json and %g to judge by", f.Name, v, f.Value)
		}
	}
}

// TestNotANumber: figures that are none become null, and a drawing goes on.
func TestNotANumber(t *testing.T) {
	r := sample(t)
	r.White.CCT, r.Greys[3].DeltaUV, r.Greys[4].GotCdM2 = math.NaN(), math.NaN(), math.Inf(1)
	r.WarmUp.Trace[2].DeltaUV, r.Curves.Red[7], r.White.DeltaUV = math.NaN(), math.NaN(), math.NaN()
	r.Judge(verify.Default())
	r.Conclude()
	var b bytes.Buffer
	if err := report.WriteJSON(&b, r); err != nil || !json.Valid(b.Bytes()) || !strings.Contains(b.String(), `"cct": null`) {
		t.Errorf("report.json: %v", err)
	}
	page := html(t, r)
	elements(t, page)
	for _, d := range regexp.MustCompile(` (?:d|x|y|cx|cy)="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if strings.Contains(d[1], "NaN") || strings.Contains(d[1], "Inf") || strings.Contains(d[1], "–") {
			t.Fatalf("a drawing holds %q", d[1])
		}
	}
}

// TestEmptyReport: nothing known is still a page, without drawings.
func TestEmptyReport(t *testing.T) {
	var r report.Report
	r.Conclude()
	names, text := elements(t, html(t, &r))
	if names["figure"] != 0 || !strings.Contains(text, "no acceptance test") {
		t.Errorf("%d figures in an empty report", names["figure"])
	}
	var b bytes.Buffer
	if err := report.WriteJSON(&b, &r); err != nil || !strings.Contains(b.String(), `"warnings": []`) {
		t.Errorf("%v: %s", err, &b)
	}
}

// TestConcludeTwice: a report may be concluded again, with its history.
func TestConcludeTwice(t *testing.T) {
	once, twice := judged(t), judged(t)
	once.Cautions = append(once.Cautions, "one of the run's own")
	twice.Cautions = append(twice.Cautions, "one of the run's own")
	twice.Conclude()
	if d := cmp.Diff(once, twice); d != "" {
		t.Error(d)
	}
}

// TestOnlyCompared: where nothing was adjusted, the aim is compared, not judged.
func TestOnlyCompared(t *testing.T) {
	r := sample(t)
	r.Run.Adjusted, r.Curves, r.Controls = false, nil, nil
	r.Judge(verify.Default())
	r.Conclude()
	if len(r.Verdicts) != 1 || r.Verdicts[0].Limit.Figure != "profile_accuracy.relative.delta_e_2000.mean" {
		t.Errorf("%+v", r.Verdicts)
	}
	if _, text := elements(t, html(t, r)); !strings.Contains(text, "Nothing was adjusted: the aim is only compared") || strings.Contains(text, "Was the aim reached") {
		t.Error("the page asks whether the aim was reached")
	}
}

// TestSpread holds first-order propagation against repeated noisy readings.
func TestSpread(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	white := []colorimetry.RGB{colorimetry.Gray(1)}
	uv, y := report.Spread(read(rng, wanted, white)[0])
	var du, dy float64
	const runs = 20000
	centre := wanted(white[0])
	for range runs {
		c := read(rng, wanted, white)[0].XYZ
		d := c.UV().Distance(centre.UV())
		du, dy = du+d*d/runs, dy+(c.Y-centre.Y)*(c.Y-centre.Y)/runs
	}
	// 20,000 readings: within 2 %.
	if got := math.Sqrt(du / 2); math.Abs(uv-got) > 0.02*got {
		t.Errorf("spread in u'v' %.6f, seen %.6f", uv, got)
	}
	if got := math.Sqrt(dy); math.Abs(y-got) > 0.02*got {
		t.Errorf("spread of luminance %.4f, seen %.4f", y, got)
	}
	if uv, y := report.Spread(measure.Reading{}); uv != 0 || y != 0 {
		t.Errorf("no light, no noise: %g, %g", uv, y)
	}
}

func TestGreys(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	set := []colorimetry.RGB{colorimetry.Gray(1), {R: 1}, colorimetry.Gray(0.5), colorimetry.Gray(0), colorimetry.Gray(0.1)}
	after, before := read(rng, corrected, set), read(rng, asFound, set[:3])
	greys := report.Greys(wanted, after, before, 0.2)
	if len(greys) != 4 {
		t.Fatalf("%d greys, want 4", len(greys))
	}
	for i, signal := range []float64{0, 0.1, 0.5, 1} {
		g := greys[i]
		if g.Signal != signal || g.BelowFloor != (signal < 0.2) || (g.FoundCdM2 > 0) != (signal >= 0.5) {
			t.Errorf("grey %d: %+v", i, g)
		}
		if want := wanted(colorimetry.Gray(signal)).Y; g.WantCdM2 != want {
			t.Errorf("grey %d wants %g, want %g", i, g.WantCdM2, want)
		}
	}
	p := report.PrimariesOf(report.AsFound, before)
	if len(p) != 2 || p[0].Name != "red" || p[1].Name != "white" {
		t.Errorf("%+v", p)
	}
}

// However unsure the white is, the tint that says so stays within its frame.
func TestUnsureWhiteStaysInItsFrame(t *testing.T) {
	r := sample(t)
	for _, spread := range []float64{0.0002, 0.0027, 0.02} {
		r.White.SpreadUV = spread
		_, chart, ok := strings.Cut(html(t, r), "White beside the aim, enlarged")
		chart, _, end := strings.Cut(chart, "</svg>")
		if !ok || !end {
			t.Fatal("there is no chart of the white")
		}
		m := regexp.MustCompile(`d="M([0-9.-]+) ([0-9.-]+)a([0-9.-]+) [^"]*" class="band"|class="band" d="M([0-9.-]+) ([0-9.-]+)a([0-9.-]+) `).FindStringSubmatch(chart)
		if m == nil {
			t.Fatalf("spread %g: no tint around the reading", spread)
		}
		var left, radius float64
		if _, err := fmt.Sscan(m[1]+m[4], &left); err != nil {
			t.Fatal(err)
		}
		if _, err := fmt.Sscan(m[3]+m[6], &radius); err != nil {
			t.Fatal(err)
		}
		// The frame is 357 pixels wide and begins at 62.
		if left < 62 || left+2*radius > 62+357 {
			t.Errorf("spread %g: the tint runs from %.0f to %.0f", spread, left, left+2*radius)
		}
	}
}
