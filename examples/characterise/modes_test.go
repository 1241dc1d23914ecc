package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
)

// profileIn decodes the one profile of a folder.
func profileIn(t *testing.T, folder string) *icc.Profile {
	t.Helper()
	p, err := icc.Decode([]byte(get(t, profileName(t, folder))))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// curvesIn returns the curves in the profile's vcgt tag.
func curvesIn(t *testing.T, folder string) tone.Channels {
	t.Helper()
	p := profileIn(t, folder)
	if p.Value(tag("vcgt")) == nil {
		return tone.Channels{}
	}
	c, err := p.CurvesInForce()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func tag(name string) icc.Signature {
	return icc.Signature(name[0])<<24 | icc.Signature(name[1])<<16 | icc.Signature(name[2])<<8 | icc.Signature(name[3])
}

// A finished run is left alone to the byte and to the time of its files,
// and one with other options is refused; -resume on nothing begins.
func TestResumeOfNothingAndOfFinished(t *testing.T) {
	t.Parallel()
	want := unbroken(t)
	dir := t.TempDir()
	must(t, dir, short("-resume")...)
	sameAs(t, dir, want)
	before := files(t, dir)
	for _, args := range [][]string{short("-resume"), short("-resume", "-save-aim", "aim.json")} {
		o := must(t, dir, args...)
		if !strings.Contains(o.errors, "nothing was changed") || o.out != "" {
			t.Errorf("%q says %q and %q", args, o.errors, o.out)
		}
	}
	for _, args := range [][]string{{"-out", "o", "-resume"}, short("-resume", "-luminance", "90"), short("-resume", "-seed", "4")} {
		refused(t, outcomeOf(t, dir, args...), "the run in o is finished and was made with other options")
	}
	after := files(t, dir)
	for name, f := range before {
		if after[name] != f {
			t.Errorf("%s was changed", name)
		}
	}
	if len(after) != len(before) {
		t.Errorf("there are %d files, and were %d", len(after), len(before))
	}
	refused(t, outcomeOf(t, dir, short()...), "o holds the result of an earlier run", "-out", "-force")
}

func TestHelp(t *testing.T) {
	t.Parallel()
	o := must(t, t.TempDir(), "-h")
	var options []string
	for line := range strings.Lines(o.errors) {
		if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > 80 {
			t.Errorf("a line of %d characters: %s", n, line)
		}
		if strings.HasPrefix(line, "  -") {
			options = append(options, strings.Fields(line)[0])
		}
	}
	if len(options) != 52 || !slices.IsSorted(options) {
		t.Errorf("%d options: %q; want 52 in alphabetical order", len(options), options)
	}
}

// Plain lines stay few where no terminal redraws them.
func TestProgressElsewhereIsPlain(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	o := must(t, dir, short()...)
	// The curves take most of the time, so that their passes have lines of their own.
	if n := strings.Count(o.errors, "curves, pass 2 of at most 4: "); n < 2 {
		t.Errorf("%d lines tell how far a pass of the curves has come:\n%s", n, o.errors)
	}
	if n := strings.Count(o.errors, "\n"); n > 90 || strings.ContainsAny(o.errors, "\r\x1b█") {
		t.Errorf("%d lines, or a bar in them:\n%s", n, o.errors)
	}
	lines := strings.Split(strings.TrimSuffix(o.out, "\n"), "\n")
	if n := len(lines); n > 25 {
		t.Errorf("the last screen has %d lines, want at most 25", n)
	}
	// What nobody should have to look for: how well the profile tells the truth, and
	// what to load.
	for _, what := range []string{"\n  profile ΔE00 mean ", "\n  give ", "power-2.2.icc to the system"} {
		if !strings.Contains(o.out, what) {
			t.Errorf("the last screen lacks %q:\n%s", what, o.out)
		}
	}
}

// Two runs share a history; -force replaces results and leaves it alone.
func TestHistoryIsShared(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	must(t, dir, short("-history", "h.jsonl")...)
	first := get(t, filepath.Join(dir, "h.jsonl"))
	must(t, dir, short("-history", "h.jsonl", "-out", "p", "-seed", "4")...)
	both := get(t, filepath.Join(dir, "h.jsonl"))
	if !strings.HasPrefix(both, first) || strings.Count(both, "\n") != 2 {
		t.Errorf("the history of two runs:\n%s", both)
	}
	// The same run again is the same entry, another one more.
	must(t, dir, short("-history", "h.jsonl", "-force")...)
	if got := get(t, filepath.Join(dir, "h.jsonl")); got != both {
		t.Errorf("-force changed the history to\n%s", got)
	}
	must(t, dir, short("-history", "h.jsonl", "-force", "-start", "2026-12-24T09:00:00Z")...)
	if got := get(t, filepath.Join(dir, "h.jsonl")); !strings.HasPrefix(got, both) || strings.Count(got, "\n") != 3 {
		t.Errorf("a later run made the history\n%s", got)
	}
}

// The tube of this display gives 88 cd/m² at D65, where 100 are asked for by
// default: that is no fault of the user's.
func TestDefaultAimBends(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	must(t, dir, short(display(t, "crt")...)...)
	folder := filepath.Join(dir, "o")
	if !warned(t, folder, "not 100") || !warned(t, folder, "default aim bends") {
		t.Errorf("warnings %q", warnings(t, folder))
	}
	if y, _ := value(read(t, folder), "luminance_cd_m2").(float64); y < 80 || y > 95 {
		t.Errorf("luminance %v, want the display's own", y)
	}
	if value(read(t, folder), "scenario") != nil {
		t.Error("the built-in display's story is told of another")
	}
}

// So is a default white that the primaries do not hold. The display is made up:
// the tube's with a yellowish blue.
func TestDefaultWhiteBends(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	data := display(t, "crt")
	var lines []string
	for line := range strings.Lines(get(t, data[1])) {
		var nm, r, g, b float64
		if n, _ := fmt.Sscanf(line, "%f,%f,%f,%f", &nm, &r, &g, &b); n == 4 {
			line = fmt.Sprintf("%g,%g,%g,%g\n", nm, r, g, 0.05*b+0.5*g+0.2*r)
		}
		lines = append(lines, line)
	}
	put(t, filepath.Join(dir, "spectra.csv"), strings.Join(lines, ""))
	must(t, dir, short("-display-spectra", "spectra.csv", "-display-tones", data[3])...)
	folder := filepath.Join(dir, "o")
	if !warned(t, folder, "D65 (0.3127,0.3290) lies outside the display's primaries") {
		t.Errorf("warnings %q", warnings(t, folder))
	}
	if d, ok := value(read(t, folder), "white.delta_uv").(float64); !ok || d > 0.0015 {
		t.Errorf("white is %v from the aim that bent", d)
	}
	refused(t, outcomeOf(t, dir, short("-force", "-white", "D65", "-display-spectra", "spectra.csv", "-display-tones", data[3])...), "D65", "nearest")
}

func TestControlsNone(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	must(t, dir, short("-controls", "none")...)
	doc := read(t, filepath.Join(dir, "o"))
	if value(doc, "controls") != nil {
		t.Errorf("controls %v", value(doc, "controls"))
	}
	if strings.Contains(get(t, filepath.Join(dir, "o", "journal.jsonl")), `"control":`) {
		t.Error("a control was set")
	}
	// The curves do it all.
	if d, ok := value(doc, "white.delta_uv").(float64); !ok || d > 0.0015 {
		t.Errorf("white %v from the aim", d)
	}
	if y, ok := value(doc, "luminance_cd_m2").(float64); !ok || math.Abs(y-100) > 2 {
		t.Errorf("luminance %v", y)
	}
}

func TestCorrections(t *testing.T) {
	for _, c := range []struct {
		args      []string
		warns     string
		notes     string
		pairs     bool
		uncertain [2]float64 // bounds of the stated uncertainty in u'v'
		off       [2]float64 // bounds of the true distance of white
	}{
		{[]string{"-correction", "pairs"}, "", "paired readings", true, [2]float64{0.00005, 0.001}, [2]float64{0, 0.0015}},
		{[]string{"-correction", "source"}, "light source is not known", "", false, [2]float64{0.001, 0.03}, [2]float64{0, 0.03}},
		{[]string{"-correction", "source", "-source", "self-luminous-rgb"}, "", "", false, [2]float64{0.004, 0.004}, [2]float64{0, 0.01}},
		// Filters as the simulator's miss by 0.001 at least.
		{[]string{"-correction", "none"}, "not corrected", "", false, [2]float64{0, 0}, [2]float64{0.001, 0.03}},
	} {
		t.Run(strings.Join(c.args[1:], " "), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			// A white that only an uncertain instrument saw is neither passed nor
			// failed.
			want := cli.Undecided
			if c.pairs {
				want = cli.Done
			}
			if o := outcomeOf(t, dir, short(c.args...)...); o.code != want {
				t.Errorf("status %d, want %d: %s", o.code, want, o.errors)
			}
			folder := filepath.Join(dir, "o")
			doc := read(t, folder)
			if c.warns != "" && !warned(t, folder, c.warns) {
				t.Errorf("warnings %q", warnings(t, folder))
			}
			note, _ := value(doc, "instrument.correction").(string)
			if !strings.Contains(note, c.notes) || (note == "") != (c.args[1] == "none") {
				t.Errorf("the correction is said to be %q", note)
			}
			u, _ := value(doc, "instrument.correction_uncertainty_uv").(float64)
			if u < c.uncertain[0] || u > c.uncertain[1] {
				t.Errorf("uncertainty %g, want %v", u, c.uncertain)
			}
			off, ok := value(doc, "white.true_delta_uv").(float64)
			if !ok || off < c.off[0] || off > c.off[1] {
				t.Errorf("white is truly off by %g, want %v", off, c.off)
			}
			t.Logf("stated %.4f, truly off by %.4f", u, off)
			if got := strings.Contains(get(t, filepath.Join(folder, "journal.jsonl")), `"channel":"reference"`); got != c.pairs {
				t.Errorf("reference readings: %v", got)
			}
		})
	}
}

// An aim that is saved and followed gives what the single values gave; what is
// said beside it goes before.
func TestAimIsSavedAndFollowed(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	values := []string{"-white", "D50", "-luminance", "80", "-tone", "lstar", "-black-policy", "lift"}
	must(t, dir, short(append(values, "-save-aim", "aim.json")...)...)
	must(t, dir, short("-out", "p", "-aim", "aim.json")...)
	first, second := filepath.Join(dir, "o"), filepath.Join(dir, "p")
	if get(t, profileName(t, first)) != get(t, profileName(t, second)) {
		t.Error("the profiles differ")
	}
	if a := read(t, second)["aim"].(map[string]any); a["white_name"] != "D50" || a["tone"] != "lstar" || a["black"] != "lift" {
		t.Errorf("the aim is %v", a)
	}
	saved := get(t, filepath.Join(dir, "aim.json"))
	must(t, dir, "-out", "q", "-readings", filepath.Join(first, "readings.csv"), "-aim", "aim.json", "-tone", "srgb", "-save-aim", "more.json")
	if got, want := get(t, filepath.Join(dir, "more.json")), strings.Replace(saved, "lstar", "srgb", 1); got != want {
		t.Errorf("the aim became\n%s\nwant\n%s", got, want)
	}
	// A saved aim was given, all of it.
	put(t, filepath.Join(dir, "bright.json"), strings.Replace(saved, ": 80", ": 400", 1))
	refused(t, outcomeOf(t, dir, short("-out", "r", "-aim", "bright.json")...), "not 400", "nearest")
}

func TestVersionsOfProfile(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	must(t, dir, short("-icc", "2")...)
	for folder, want := range map[string]byte{filepath.Join(dir, "o"): 2, filepath.Join(unbroken(t).dir, "o"): 4} {
		// ICC.1:2022 and ICC.1:2001-04: byte 8 of the header is the major
		// version, bytes 36 to 39 are "acsp", 12 to 15 the class.
		b := get(t, profileName(t, folder))
		if b[8] != want || b[36:40] != "acsp" || b[12:16] != "mntr" {
			t.Errorf("header %q, want version %d of a display's profile", b[:40], want)
		}
		p := profileIn(t, folder)
		for _, name := range []string{"chad", "lumi", "vcgt", "rXYZ", "gXYZ", "bXYZ", "rTRC", "gTRC", "bTRC", "wtpt", "targ"} {
			if p.Value(tag(name)) == nil {
				t.Errorf("version %d has no %s", want, name)
			}
		}
	}
}

// Readings describe the state they were taken in: curves only where somebody
// says which, and the name says so.
func TestReadings(t *testing.T) {
	t.Parallel()
	whole := filepath.Join(unbroken(t).dir, "o")
	mine, curves := filepath.Join(whole, "readings.csv"), filepath.Join(whole, "curves.csv")
	good := readings(t)
	dir := t.TempDir()
	put(t, filepath.Join(dir, "bytes.csv"), good.with(func(r []string) []string { return scaled(r, 1, 3, 255) }).text())
	put(t, filepath.Join(dir, "half.csv"), good.with(func(r []string) []string { return scaled(scaled(r, 4, 6, 0.5), 9, 14, 0.25) }).text())
	put(t, filepath.Join(dir, "bare.csv"), good.with(func(r []string) []string { return r[:8] }).named("ID,R,G,B,X,Y,Z,STAGE").text())
	var fit, proof [][]string
	// The chart is without drift; the proof, which keeps its own, proves.
	for _, r := range good.rows {
		switch inside := !slices.Contains(r[1:4], "0") && !slices.Contains(r[1:4], "1"); {
		case r[7] != measure.StageProof:
			fit = append(fit, r)
		case inside: // none of them an anchor
			proof = append(proof, r)
		}
	}
	put(t, filepath.Join(dir, "fit.csv"), table{good.head, fit}.text())
	put(t, filepath.Join(dir, "proof.csv"), table{good.head, proof}.text())
	bare := []string{"-start", "2026-11-25T09:00:00Z", "-readings"}
	for _, c := range []struct {
		out  string
		args []string
		vcgt bool
		file string
	}{
		{"plain", []string{mine}, false, "2026-11-25_readings_native_as-read.icc"},
		{"cgats", []string{filepath.Join(whole, "readings.cgats.txt")}, false, "2026-11-25_readings.cgats_native_as-read.icc"},
		{"curves", []string{mine, "-curves", curves}, true, "as-read-curves-"},
		{"bytes", []string{"bytes.csv", "-signal-max", "255"}, false, "as-read"},
		{"relative", []string{"half.csv", "-xyz", "relative", "-display-name", "My screen"}, false, "my-screen_native_as-read"},
		{"half", []string{"half.csv"}, false, "as-read"},
		{"bare", []string{"bare.csv"}, false, "as-read"},
		{"verify", []string{"fit.csv", "-verify", "proof.csv"}, false, "as-read"},
		{"share", []string{mine, "-share", "0.1"}, false, "as-read"},
		{"aim", []string{mine, "-luminance", "500", "-white", "D50"}, false, "as-read"},
	} {
		must(t, dir, append(append([]string{"-out", c.out}, bare...), c.args...)...)
		folder := filepath.Join(dir, c.out)
		if got := curvesIn(t, folder); (got.Len() > 0) != c.vcgt {
			t.Errorf("%s: curves of %d entries in the profile", c.out, got.Len())
		}
		if name := filepath.Base(profileName(t, folder)); !strings.Contains(name, c.file) {
			t.Errorf("%s: the profile is called %s, without %s", c.out, name, c.file)
		}
		if value(read(t, folder), "run.adjusted") != false {
			t.Errorf("%s: something was adjusted", c.out)
		}
	}
	of := func(out, path string) any { return value(read(t, filepath.Join(dir, out)), path) }
	profileOf := func(out string) string { return get(t, profileName(t, filepath.Join(dir, out))) }

	// The same colours from other notations.
	for _, out := range []string{"bytes", "relative"} {
		for _, path := range []string{"white.x", "white.y", "profile_accuracy.relative.delta_e_2000.mean"} {
			a, b := of("plain", path).(float64), of(out, path).(float64)
			// A noise that is a share of the light, beside a floor that is not,
			// weighs the dark a little differently where all is scaled.
			if limit := map[string]float64{"bytes": 1e-6, "relative": 0.02}[out]; math.Abs(a-b) > limit*a {
				t.Errorf("%s: %s is %g, and %g as plain readings", out, path, b, a)
			}
		}
	}
	if a, b := of("plain", "luminance_cd_m2").(float64), of("half", "luminance_cd_m2").(float64); math.Abs(a-2*b) > 1e-9*a {
		t.Errorf("luminance %g from readings, %g from half of them", a, b)
	}
	// Relative readings make their white 100 and say that it means nothing.
	if y := of("relative", "luminance_cd_m2").(float64); math.Abs(y-100) > 1e-9 || !warned(t, filepath.Join(dir, "relative"), "readings are relative") {
		t.Errorf("luminance %g, warnings %q", y, warnings(t, filepath.Join(dir, "relative")))
	}
	// The curves are those that were said to be in force, bit for bit.
	if got, want := curvesIn(t, filepath.Join(dir, "curves")).Digest(), curvesIn(t, whole).Digest(); got != want {
		t.Errorf("curves %s, want %s", got, want)
	}
	if n := of("verify", "profile_accuracy.relative.delta_e_2000.count"); n != float64(len(proof)) {
		t.Errorf("%v patches proved the profile, want %d", n, len(proof))
	}
	// With readings of its own for the proof the curves that the table names are
	// missed; there is nothing else to warn of.
	if w := warnings(t, filepath.Join(dir, "verify")); len(w) != 1 || !strings.Contains(w[0], "taken through the curves") {
		t.Errorf("warnings %q", warnings(t, filepath.Join(dir, "verify")))
	}
	// What the table says of its noise is what figures rest on; a table without is
	// taken for single readings, and says so.
	if !warned(t, filepath.Join(dir, "bare"), "state no noise") || warned(t, filepath.Join(dir, "plain"), "state no noise") {
		t.Errorf("warnings %q without the noise, %q with it", warnings(t, filepath.Join(dir, "bare")), warnings(t, filepath.Join(dir, "plain")))
	}
	floor := func(out string) float64 { return of(out, "profile_accuracy.relative.noise_floor.mean").(float64) }
	// Four averages have half the noise of one.
	if a, b := floor("plain"), floor("bare"); !(a < 0.7*b) || of("plain", "profile_accuracy.relative.averages") != 4.0 || of("bare", "profile_accuracy.relative.averages") != 1.0 {
		t.Errorf("floors %g and %g of %v and %v averages", a, b, of("plain", "profile_accuracy.relative.averages"), of("bare", "profile_accuracy.relative.averages"))
	}
	distinct := map[string]bool{}
	for _, r := range good.rows {
		distinct[strings.Join(r[1:4], ",")] = true
	}
	for out, share := range map[string]float64{"plain": 0.2, "share": 0.1} {
		want := math.Round(share * float64(len(distinct)))
		if n := of(out, "profile_accuracy.relative.delta_e_2000.count"); n != want {
			t.Errorf("%s: %v patches proved the profile, want %g of %d", out, n, want, len(distinct))
		}
		if !warned(t, filepath.Join(dir, out), fmt.Sprintf("%g of %d were held back", want, len(distinct))) {
			t.Errorf("%s: warnings %q", out, warnings(t, filepath.Join(dir, out)))
		}
	}
	// An aim is compared, and changes nothing.
	if profileOf("aim") != profileOf("plain") {
		t.Error("an aim changed the profile of readings")
	}
	if d := of("aim", "white.delta_uv").(float64); d < 0.01 {
		t.Errorf("a D65 white is %g from D50", d)
	}
}

// What repeats and ramps miss within the readings' own scatter is data, and is
// told.
func TestScatterIsData(t *testing.T) {
	t.Parallel()
	good := readings(t)
	i := good.grey(t, 0.35, 0.5)
	signal := good.rows[i][1]
	// 2.8 % apart is 4 times the scatter of 0.5 % for each of two.
	apart, _ := good.and(scaled(good.rows[i], 4, 6, 1.028))
	// 1 % darker, a thousandth of signal higher.
	var s float64
	if _, err := fmt.Sscan(signal, &s); err != nil {
		t.Fatal(err)
	}
	fall, _ := good.and(withSignal(scaled(good.rows[i], 4, 6, 0.99), s+0.001))
	dir := t.TempDir()
	// falls counts the falls that are told of, by noise or not.
	falls := func(name, text string) (count int) {
		put(t, filepath.Join(dir, name+".csv"), text)
		must(t, dir, "-out", name, "-readings", name+".csv")
		for _, w := range warnings(t, filepath.Join(dir, name)) {
			if strings.HasPrefix(w, "luminance falls once along a ramp") {
				return 1
			}
			if n, _ := fmt.Sscanf(w, "luminance falls %d times along a ramp", &count); n == 1 {
				return count
			}
		}
		return 0
	}
	before := falls("good", good.text())
	if n := falls("fall", fall.text()); n != before+1 {
		t.Errorf("one more fall makes %d of %d", n, before)
	}
	falls("apart", apart.text())
	if !warned(t, filepath.Join(dir, "apart"), "more than 3 times the scatter") {
		t.Errorf("warnings %q", warnings(t, filepath.Join(dir, "apart")))
	}
}

// A display's name in any script goes through the whole walk.
func TestNameInAnyScript(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	must(t, dir, short("-display-name", "Büro 東京")...)
	if got := value(read(t, filepath.Join(dir, "o")), "display.name"); got != "Büro 東京" {
		t.Errorf("the display is called %q", got)
	}
	if o := outcomeOf(t, dir, short("-out", "p", "-display-name", "two\nlines")...); o.code != cli.BadInput {
		t.Errorf("a name of two lines: status %d: %s", o.code, o.errors)
	}
}

// An aim that a document names is followed, and single values change it; one
// whose room nobody measured is refused before anything is.
func TestStartingPoints(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	must(t, dir, short("-from", "srgb", "-luminance", "90")...)
	doc := read(t, filepath.Join(dir, "o"))
	if y, _ := value(doc, "luminance_cd_m2").(float64); y < 85 || y > 95 {
		t.Errorf("luminance %v, want about 90", y)
	}
	// IEC 61966-2-1: the white of the reference display is D65.
	if d, ok := value(doc, "white.delta_uv").(float64); !ok || d > 0.0015 {
		t.Errorf("white is %v from D65", d)
	}
	if name := profileName(t, filepath.Join(dir, "o")); !strings.Contains(name, "srgb") {
		t.Errorf("the profile's name, %s, does not tell the tone", name)
	}
	refused(t, outcomeOf(t, dir, "-out", "p", "-from", "gsdf"), "gsdf", "ambient light", "measured")
	refused(t, outcomeOf(t, dir, "-out", "p", "-from", "moon"), "moon", "iso3664-prints")
	refused(t, outcomeOf(t, dir, "-out", "p", "-from", "srgb", "-aim", "x.json"), "-from", "-aim", "exclude each other")
}
