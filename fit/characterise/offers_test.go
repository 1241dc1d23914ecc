package characterise_test

import (
	"bytes"
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/hardware"
	"example.org/primaries/fit/profile"
)

// small returns a short walk over an invented display, warm and with its controls
// left alone.
func small(t testing.TB, e simulate.Example, seed uint64) (characterise.Setup, *simulate.Display) {
	t.Helper()
	d := simulate.Invented(e, simulate.Options{Seed: seed})
	return characterise.Setup{
		Measure: measure.Setup{
			Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Clock: d.Clock(),
			Seed: seed, Digest: "test", Start: d.Clock().Now(), Journal: &measure.Memory{},
		},
		Truth: d.Truth, Aim: aim.Aim{White: d65(t), Luminance: 100}, NoControls: true, Patches: 40, ProofPatches: 12,
	}, d
}

// stage returns what a stage of a run took.
func stage(t testing.TB, r *characterise.Result, name string) characterise.Stage {
	t.Helper()
	i := slices.IndexFunc(r.Stages, func(s characterise.Stage) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("no stage %q", name)
	}
	return r.Stages[i]
}

// refusedAtOnce checks that a setup is refused before anything is read.
func refusedAtOnce(t *testing.T, s characterise.Setup, says ...string) error {
	t.Helper()
	journal := &measure.Memory{}
	s.Measure.Journal = journal
	_, err := characterise.Run(context.Background(), s)
	if err == nil {
		t.Errorf("nothing was refused; want %q", says)
		return nil
	}
	for _, text := range says {
		if !strings.Contains(err.Error(), text) {
			t.Errorf("error %v does not say %q", err, text)
		}
	}
	if n := len(journal.Lines()); n > 0 {
		t.Errorf("%v: the journal has %d lines already", err, n)
	}
	return err
}

// A plan chooses patches until its aim or the limit is met and says which; white
// is repeated as in a fixed chart, and a run that was cut goes on to the same.
func TestPlannedChart(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		plan     fit.Adaptive
		patches  int
		most     int // of the patches chosen
		outcomes string
	}{
		{fit.Adaptive{First: 24, Batch: 8, LeastGain: -1}, 40, 40, "40 readings were taken, as many as were allowed"},
		{fit.Adaptive{First: 24, Batch: 8, Aim: 3}, 80, 24, "and 3.000 was the aim"},
	} {
		s, _ := small(t, simulate.CoupledLCD, 3)
		s.Plan, s.Patches = &c.plan, c.patches
		r := run(t, s)
		end := stage(t, r, measure.StageCharts)
		chosen, whites := 0, 0
		for _, m := range r.Chart {
			if strings.HasPrefix(m.Patch.ID, "n") {
				chosen++
			} else if m.Patch.Signal == colorimetry.Gray(1) {
				whites++
			}
		}
		if chosen != c.most || whites < 3 || chosen+whites != len(r.Chart) {
			t.Errorf("%d patches chosen and %d of white among %d; want %d chosen", chosen, whites, len(r.Chart), c.most)
		}
		if !strings.Contains(end.Outcome, c.outcomes) || !strings.Contains(end.Outcome, "the proof decides") {
			t.Errorf("the outcome is %q, want %q", end.Outcome, c.outcomes)
		}
		if r.Drift.Anchors == 0 {
			t.Error("no drift was looked for")
		}
		if c.plan.Aim == 0 {
			again, _ := small(t, simulate.CoupledLCD, 3)
			again.Plan, again.Patches = &c.plan, c.patches
			resumes(t, again, r, s.Measure.Journal.(*measure.Memory).Lines())
		}
	}
}

// resumes checks that a planned run that was cut within its second batch goes on
// to the same profile.
func resumes(t *testing.T, s characterise.Setup, whole *characterise.Result, lines [][]byte) {
	t.Helper()
	at := slices.IndexFunc(lines, func(l []byte) bool { return bytes.Contains(l, []byte(`"id":"n30"`)) })
	if at < 0 {
		t.Fatal("no patch n30 was planned")
	}
	s.Measure.Replay, s.Measure.Journal = lines[:at+1], measure.NewMemory(lines[:at+1])
	if r := run(t, s); !bytes.Equal(r.Profile.Bytes, whole.Profile.Bytes) {
		t.Error("a run that was cut within a planned batch makes another profile")
	}
}

// What cannot be meant is refused before the first reading.
func TestSetupIsCheckedFirst(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		change func(*characterise.Setup)
		says   string
	}{
		{"patches", func(s *characterise.Setup) { s.Patches = 2801 }, "1 to 2800"},
		{"plan", func(s *characterise.Setup) { s.Plan = &fit.Adaptive{Aim: -1} }, "mean error of -1"},
		{"plan below its first", func(s *characterise.Setup) { s.Plan, s.Patches = &fit.Adaptive{}, 10 }, "at least 12"},
		{"knee", func(s *characterise.Setup) { s.Profile.Knee = 2 }, "the knee is at 2"},
		{"black", func(s *characterise.Setup) { s.Profile.Black = 9 }, "black option 9"},
		{"nodes", func(s *characterise.Setup) { s.HardwareTable = &characterise.HardwareTable{Nodes: 66} }, "2 to 65"},
		{"bits", func(s *characterise.Setup) { s.HardwareTable = &characterise.HardwareTable{Bits: 9} }, "a table of 9 bits"},
		{"correction", func(s *characterise.Setup) { s.Correction.Kind = "guess" }, `"guess" is not known`},
		{"no pairs", func(s *characterise.Setup) {
			s.Correction.Kind, s.Measure.Reference = characterise.FromPairs, nil
		}, "needs a reference"},
		{"nothing saved", func(s *characterise.Setup) { s.Correction.Kind = characterise.FromSaved }, `correction "saved"`},
		{"no such display", func(s *characterise.Setup) { s.Earlier = &characterise.Earlier{Display: "other"} }, `of the display "other"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, _ := small(t, simulate.CoupledLCD, 1)
			c.change(&s)
			refusedAtOnce(t, s, c.says)
		})
	}
}

// earlierOf returns a run as its files tell of it.
func earlierOf(t testing.TB, r *characterise.Result) characterise.Read {
	t.Helper()
	var file bytes.Buffer
	if err := chart.WriteCSV(&file, characterise.Table(r, r.InState()), chart.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	read, err := characterise.ReadTable(&file, "readings.csv", 0, false)
	if err != nil {
		t.Fatal(err)
	}
	return read
}

// With an earlier run of a display whose channels disturb each other, through
// other curves, 16 patches do what 48 do alone, over two seeds, since the truth of
// one scatters by a third; that of another display or with other curves is refused.
func TestEarlierRun(t *testing.T) {
	t.Parallel()
	s, _ := small(t, simulate.CoupledLCD, 5)
	s.Patches = 100
	was := run(t, s)
	read := earlierOf(t, was)
	earlier, err := characterise.NewEarlier(read, was.InForce)
	if err != nil {
		t.Fatal(err)
	}
	miss := func(r *characterise.Result) (mean float64) {
		white := r.White.XYZ
		signals := chart.Lattice(7)
		for _, p := range signals {
			mean += difference.CIEDE2000(r.Truth(p.Signal).Lab(white), r.Model.XYZ(p.Signal).Lab(white)) / float64(len(signals))
		}
		return mean
	}
	again := func(seed uint64, e *characterise.Earlier) *characterise.Result {
		s, _ := small(t, simulate.CoupledLCD, seed)
		s.Aim.Luminance = 90 // other curves
		s.Plan, s.Earlier = &fit.Adaptive{Aim: 0.3}, e
		return run(t, s)
	}
	var missed, missedAlone float64
	for seed := uint64(6); seed < 8; seed++ {
		alone, with := again(seed, nil), again(seed, earlier)
		missed, missedAlone = missed+miss(with)/2, missedAlone+miss(alone)/2
		t.Logf("%d readings of now: %.3f ΔE00 in truth; %d with the earlier run: %.3f. %s", len(alone.Chart), miss(alone), len(with.Chart), miss(with), with.Evidence.Reason)
		if with.InForce.Digest() == was.InForce.Digest() {
			t.Error("both runs have the same curves: nothing was put right")
		}
		if with.Evidence.Chosen != characterise.EarlierName || len(with.Chart) > len(alone.Chart)/2 {
			t.Errorf("chosen is %q of %d readings; without the earlier run there were %d", with.Evidence.Chosen, len(with.Chart), len(alone.Chart))
		}
	}
	if missed > 1.2*missedAlone {
		t.Errorf("with the earlier run the model is %.3f ΔE00 from the truth, without it %.3f", missed, missedAlone)
	}

	if _, err := characterise.NewEarlier(read, tone.Identity(256)); err == nil || !strings.Contains(err.Error(), "give the curves that this run wrote") {
		t.Errorf("other curves: %v", err)
	}
	other, _ := small(t, simulate.SmoothLCD, 5)
	other.Earlier = earlier
	if err := refusedAtOnce(t, other, "the earlier run is of the display"); !errors.Is(err, characterise.ErrOtherDisplay) {
		t.Errorf("another display's run: %v", err)
	}
}

// The table brings the bare display to the aim, and goes wrong where the curves
// that it holds are loaded as well.
func TestHardwareTable(t *testing.T) {
	t.Parallel()
	s, d := small(t, simulate.CoupledLCD, 7)
	s.HardwareTable, s.Patches = &characterise.HardwareTable{Nodes: 9}, 60
	r := run(t, s)
	made := r.HardwareTable
	if made == nil || made.Table.Nodes() != 9 || made.Table.Bits() != 12 {
		t.Fatalf("the table is %+v", made)
	}
	for _, text := range []string{"9 nodes", "Nothing was read through it"} {
		if out := stage(t, r, "table").Outcome; !strings.Contains(out, text) {
			t.Errorf("%q does not say %q", out, text)
		}
	}
	// How to load it is said once.
	if said := strings.Join(append(slices.Clone(r.Warnings), stage(t, r, "table").Outcome), "\n"); strings.Count(said, "load it without them") != 1 || strings.Count(said, "applied twice") != 1 {
		t.Errorf("how to load it is not said once: %q", said)
	}
	miss := func() (mean float64) {
		for i := range 11 {
			grey := colorimetry.Gray(0.5 + float64(i)/20)
			want := r.Aim.TargetOf(grey.G, r.Black, made.Diagnostics.White)
			mean += difference.CIEDE2000(want.Lab(made.Diagnostics.White), d.Truth(made.Table.Through(grey)).Lab(made.Diagnostics.White)) / 11
		}
		return mean
	}
	twice := miss()
	if err := d.LoadCurves(context.Background(), tone.Channels{}); err != nil {
		t.Fatal(err)
	}
	bare := miss()
	t.Logf("greys through the table: %.2f ΔE00 from the aim in truth, %.2f with the curves loaded as well", bare, twice)
	if bare > 1 || twice < 3*bare {
		t.Errorf("greys through the table miss the aim by %.2f ΔE00, and by %.2f where the curves are loaded as well", bare, twice)
	}
	if diff := made.TakenMean; !(diff > 0 && diff < 0.3) || made.Diagnostics.Chromatic.Count == 0 {
		t.Errorf("rounding costs %g; figures %+v", diff, made.Diagnostics)
	}
	var file bytes.Buffer
	if err := hardware.WriteCLF(&file, made.Table); err != nil {
		t.Fatal(err)
	}

	in := characterise.Brought{
		Readings: r.InState(), Stated: r.InForce.Digest(), Screen: r.Screen, HardwareTable: &characterise.HardwareTable{Nodes: 5},
	}
	if _, err := characterise.FromReadings(context.Background(), in); err == nil || !strings.Contains(err.Error(), "take in the curves") {
		t.Errorf("a table of readings whose curves are missing: %v", err)
	}
	in.InForce = r.InForce
	brought, err := characterise.FromReadings(context.Background(), in)
	if err != nil || brought.HardwareTable == nil || !strings.Contains(brought.HardwareTable.Use, "applied twice") || !slices.Contains(brought.Warnings, brought.HardwareTable.Use) {
		t.Errorf("a table of readings: %v", err)
	}
}

// A correction that a run's pairs made serves the next, without a reading, and no
// other instrument or display.
func TestSavedCorrection(t *testing.T) {
	t.Parallel()
	s, _ := small(t, simulate.SmoothLCD, 8)
	first := run(t, s)
	if first.Saved == nil {
		t.Fatal("nothing was saved")
	}
	var file bytes.Buffer
	if err := first.Saved.Write(&file); err != nil {
		t.Fatal(err)
	}
	saved, err := mismatch.Read(&file)
	if err != nil {
		t.Fatal(err)
	}
	s, _ = small(t, simulate.SmoothLCD, 9)
	s.Measure.Reference, s.Correction.Saved, s.Profile.Knee = nil, &saved, 0.7
	r := run(t, s)
	if got := stage(t, r, measure.StagePairs); got.Readings != 0 || !strings.Contains(got.Outcome, "and saved") {
		t.Errorf("the stage took %d readings: %q", got.Readings, got.Outcome)
	}
	if slices.ContainsFunc(r.Warnings, func(w string) bool { return strings.Contains(w, "clocks") }) {
		t.Errorf("warnings %q", r.Warnings)
	}
	if r.Saved != nil || r.Correction == nil || r.Correction.Matrix != first.Correction.Matrix {
		t.Errorf("the correction in force is %+v", r.Correction)
	}
	if kind := r.Model.Name(); kind != fit.AdditiveName && kind != fit.GainOffsetGammaName {
		t.Errorf("a smooth display was fitted as %q", kind)
	} else if !slices.ContainsFunc(r.Warnings, func(w string) bool { return strings.Contains(w, "Ask for tables") }) {
		t.Errorf("a knee for a matrix goes without a word: %q", r.Warnings)
	}
	if off := r.Truth(colorimetry.Gray(1)).UV().Distance(r.Aim.White.At.UV()); off > 0.0015 {
		t.Errorf("true white is %.4f in u'v' from the aim", off)
	}
	for _, change := range []func(*mismatch.Saved){
		func(m *mismatch.Saved) { m.Serial = "another" },
		func(m *mismatch.Saved) { m.Display = "another" },
	} {
		other := saved
		change(&other)
		s, _ := small(t, simulate.SmoothLCD, 9)
		s.Correction.Saved = &other
		if err := refusedAtOnce(t, s, `"another"`); !errors.Is(err, mismatch.ErrOtherInstrument) {
			t.Errorf("another unit's correction: %v", err)
		}
	}
	// One that was made after the run began tells that a clock is wrong.
	saved.Date = saved.Date.AddDate(70, 0, 0)
	s, _ = small(t, simulate.SmoothLCD, 9)
	s.Correction.Saved = &saved
	w, err := characterise.Begin(context.Background(), s)
	if err == nil {
		err = w.CorrectInstrument(context.Background())
	}
	if err != nil {
		t.Fatal(err)
	}
	if list := w.Result().Warnings; !slices.ContainsFunc(list, func(w string) bool { return strings.Contains(w, "one of the two clocks was wrong") }) {
		t.Errorf("a correction of another century goes without a word: %q", list)
	}
}

// A name that no file can carry is refused, with what is wrong with it.
func TestNamesAreChecked(t *testing.T) {
	t.Parallel()
	for name, says := range map[string]string{
		"":                       "has no name",
		strings.Repeat("x", 201): "is 201 bytes long, and 200 are possible",
		"two\nlines":             "holds a control character",
		"caf\xe9":                "is no text in UTF-8",
	} {
		_, err := characterise.FromReadings(context.Background(), characterise.Brought{Screen: measure.ScreenInfo{Name: name}})
		if !errors.Is(err, characterise.ErrName) || !strings.Contains(err.Error(), says) {
			t.Errorf("%.10q: %v, want %q", name, err, says)
		}
	}
}

// The options of profiles reach the bytes, and a profile that holds the curves in
// two places says so.
func TestProfileOptions(t *testing.T) {
	t.Parallel()
	s, _ := small(t, simulate.SmoothLCD, 10)
	s.Profile = profile.Options{Kind: profile.KindTable, Mapping: profile.MappingToGrey, Knee: 0.7, Grid: 9, SystemCalibration: true, Black: profile.BlackZero}
	r := run(t, s)
	for _, text := range []string{"towards the grey", "0.7", "MHC2"} {
		if !bytes.Contains(r.Profile.Bytes, []byte(text)) && !bytes.Contains(r.Profile.Bytes, utf16(text)) {
			t.Errorf("the profile does not hold %q", text)
		}
	}
	for _, says := range []string{"carries the curves twice", "tables, and they hold the black as it was measured"} {
		if !slices.ContainsFunc(r.Warnings, func(w string) bool { return strings.Contains(w, says) }) {
			t.Errorf("no warning says %q: %q", says, r.Warnings)
		}
	}
}

// utf16 returns text of 7 bits as profiles hold it.
func utf16(text string) (b []byte) {
	for _, c := range []byte(text) {
		b = append(b, 0, c)
	}
	return b
}
