package measure_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry/tone"
)

// desk is a display with an instrument before it, on some evening.
type desk struct {
	name string
	make func(seed uint64, mishaps ...simulate.Mishap) *simulate.Display
}

// desks are displays of each kind, drifting, with an instrument that sees the
// room.
func desks() []desk {
	invented := func(e simulate.Example, window float64) func(uint64, ...simulate.Mishap) *simulate.Display {
		return func(seed uint64, mishaps ...simulate.Mishap) *simulate.Display {
			spec := simulate.Invented(e, simulate.Options{}).Spec()
			spec.Reflectance = 0.02
			spec.Drift = spec.Troubled().Drift
			spec.Dimming = simulate.Dimming{From: 0.25, Exponent: 0.3}
			d, err := simulate.New(spec, simulate.Options{Seed: seed, WindowShare: window, RoomLux: 10, Mishaps: mishaps})
			if err != nil {
				panic(err)
			}
			return d
		}
	}
	measured := func(p simulate.Panel) func(uint64, ...simulate.Mishap) *simulate.Display {
		return func(seed uint64, mishaps ...simulate.Mishap) *simulate.Display {
			return simulate.Measured(p, simulate.Options{Seed: seed, Mishaps: mishaps})
		}
	}
	return []desk{
		{"coupled LCD", invented(simulate.CoupledLCD, 0.1)},
		{"sagging panel", invented(simulate.SaggingPanel, 0.4)},
		{"four sub-pixels", invented(simulate.FourSubpixels, 0.1)},
		{"reference OLED", measured(simulate.ReferenceOLED)},
		{"wide-gamut LCD", measured(simulate.WideGamutLCD)},
	}
}

// at opens a session on a display.
func at(t testing.TB, d *simulate.Display) *measure.Session {
	t.Helper()
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock(), Journal: &measure.Memory{}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// seeds returns how many seeds a test takes: fewer where tests are to be short.
func seeds(n int) uint64 {
	if testing.Short() {
		return uint64(max(n/5, 1))
	}
	return uint64(n)
}

// bends are curves that a run might have in force.
func bends(t testing.TB) tone.Channels {
	t.Helper()
	var c [3][]float64
	for i := range 33 {
		v := float64(i) / 32
		c[0] = append(c[0], 0.97*v)
		c[1] = append(c[1], 0.92*v*(0.85+0.15*v))
		c[2] = append(c[2], v*(0.9+0.1*v))
	}
	curves, err := tone.NewChannels(c[0], c[1], c[2])
	if err != nil {
		t.Fatal(err)
	}
	return curves
}

// clean inspects a display on which nothing is wrong.
func clean(t testing.TB, d *simulate.Display, curves tone.Channels) measure.Inspection {
	t.Helper()
	s := at(t, d)
	if curves.Len() > 0 {
		if err := s.LoadCurves(context.Background(), curves); err != nil {
			t.Fatal(err)
		}
	}
	got, err := measure.Inspect(context.Background(), s, measure.InspectOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// found returns the condition of an error, "" for none and "?" for another error.
func found(err error) measure.Condition {
	var c *measure.ConditionError
	switch {
	case err == nil:
		return ""
	case errors.As(err, &c) && c.Evidence != "" && c.Remedy != "":
		return c.Condition
	}
	return measure.Condition("? " + err.Error())
}

// alone are the mishaps that a single state gives away.
func alone(k simulate.MishapKind) bool {
	switch k {
	case simulate.Asleep, simulate.Covered, simulate.Clipped, simulate.Duplicated, simulate.Late:
		return true
	}
	return false
}

// Each mishap is called by its name, on every display, and none where there is
// none: with what the display was like some time before, and where a single
// state tells, without.
func TestInspectFindsMishaps(t *testing.T) {
	t.Parallel()
	none := tone.Channels{}
	for _, desk := range desks() {
		known := clean(t, desk.make(100), none).Readings
		curved := clean(t, desk.make(101), bends(t)).Readings
		for seed := range seeds(4) {
			for _, kind := range simulate.MishapKinds() {
				curves, reference := none, known
				if kind == simulate.CurvesLost {
					curves, reference = bends(t), curved
				}
				for _, o := range []measure.InspectOptions{{Known: reference}, {}, {Known: known}} {
					if o.Known == nil && !alone(kind) {
						continue
					}
					s := at(t, desk.make(seed, simulate.Mishap{Kind: kind}))
					if curves.Len() > 0 {
						if err := s.LoadCurves(context.Background(), curves); err != nil {
							t.Fatal(err)
						}
					}
					_, err := measure.Inspect(context.Background(), s, o)
					if got := found(err); got != kind.Condition() {
						t.Errorf("%s, seed %d, %s (known: %v): %q, want %q\n%v", desk.name, seed, kind, o.Known != nil, got, kind.Condition(), err)
					}
				}
			}
		}
	}
}

// On 20 clean evenings a display, drifting meanwhile, nothing is found.
func TestInspectNoFalseAlarm(t *testing.T) {
	t.Parallel()
	none := tone.Channels{}
	count := 0
	for _, desk := range desks() {
		known := clean(t, desk.make(100), none).Readings
		curved := clean(t, desk.make(101), bends(t)).Readings
		for seed := range seeds(20) {
			for _, o := range []measure.InspectOptions{{}, {Known: known}, {Known: curved}} {
				s := at(t, desk.make(seed))
				if o.Known != nil && &o.Known[0] == &curved[0] || seed%2 == 1 {
					if err := s.LoadCurves(context.Background(), bends(t)); err != nil {
						t.Fatal(err)
					}
				}
				if seed%3 == 2 { // later in the evening
					if _, err := s.Read(context.Background(), measure.ReadRequest{}); err != nil {
						t.Fatal(err)
					}
					if err := s.Rest(context.Background(), 45*time.Minute); err != nil {
						t.Fatal(err)
					}
				}
				count++
				if _, err := measure.Inspect(context.Background(), s, o); err != nil {
					t.Errorf("%s, seed %d, known: %v: %v", desk.name, seed, o.Known != nil, err)
				}
			}
		}
	}
	t.Logf("%d inspections", count)
}

// A person mends what was found; the run that is resumed, and the session that
// goes on, look again.
func TestInspectAgain(t *testing.T) {
	ctx := context.Background()
	display := func() *simulate.Display {
		return desks()[0].make(1, simulate.Mishap{Kind: simulate.Asleep, Readings: 26})
	}
	journal := &measure.Memory{}
	open := func(d *simulate.Display, lines [][]byte) *measure.Session {
		journal = measure.NewMemory(lines)
		s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock(), Journal: journal, Replay: lines})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	s := open(display(), nil)
	if _, err := measure.Inspect(ctx, s, measure.InspectOptions{}); found(err) != measure.DisplayDark {
		t.Fatal(err)
	}
	// The display wakes in the middle of the third look, which contradicts
	// itself: a fourth is taken.
	s = open(display(), journal.Lines())
	if _, err := measure.Inspect(ctx, s, measure.InspectOptions{}); err != nil || len(s.Readings()) != 4*len(measure.InspectionPatches()) {
		t.Fatalf("%d readings, %v", len(s.Readings()), err)
	}
	straight := open(display(), journal.Lines())
	if _, err := measure.Inspect(ctx, straight, measure.InspectOptions{}); err != nil || fmt.Sprint(straight.Readings()) != fmt.Sprint(s.Readings()) {
		t.Errorf("replayed: %d readings of %d, %v", len(straight.Readings()), len(s.Readings()), err)
	}
	for _, o := range []measure.InspectOptions{{Luminance: -1}, {Gain: 2}, {Averages: -3}} {
		if _, err := measure.Inspect(ctx, open(desks()[0].make(1), nil), o); err == nil {
			t.Errorf("%+v is taken", o)
		}
	}
	clipped := open(desks()[0].make(1, simulate.Mishap{Kind: simulate.Clipped}), nil)
	if _, err := measure.Inspect(ctx, clipped, measure.InspectOptions{Ignore: []measure.Condition{measure.OutputClipped}}); err != nil {
		t.Errorf("clipping that is as it should be: %v", err)
	}
}

// watched is a chart of 130 patches with anchors that a watch knows.
func watched(seed uint64) chart.Set {
	anchors := append(driftAnchors(), chart.Patch{ID: "black"})
	return chart.Order(chart.Sobol(130, chart.Options{Seed: seed, Bits: 10}), chart.OrderOptions{Seed: seed, AnchorEvery: 15, Anchors: anchors})
}

// charts holds watched charts by their seed.
type charts map[uint64]chart.Set

func (c charts) watched(seed uint64) chart.Set {
	if c[seed] == nil {
		c[seed] = watched(seed)
	}
	return c[seed]
}

// read inspects and reads a watched chart, going on with lines.
func (c charts) read(t testing.TB, d *simulate.Display, curves tone.Channels, lines [][]byte, seed uint64) (*measure.Memory, measure.ChartResult, error) {
	t.Helper()
	ctx := context.Background()
	journal := measure.NewMemory(lines)
	s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock(), Journal: journal, Replay: lines})
	if err != nil {
		t.Fatal(err)
	}
	if curves.Len() > 0 {
		if err := s.LoadCurves(ctx, curves); err != nil {
			t.Fatal(err)
		}
	}
	look, err := measure.Inspect(ctx, s, measure.InspectOptions{})
	if err != nil {
		return journal, measure.ChartResult{}, err
	}
	got, err := s.ReadChart(ctx, measure.StageCharts, c.watched(seed), measure.ChartOptions{Watch: &look, KeepDrift: true, KeepOutliers: true})
	return journal, got, err
}

// What goes wrong in the middle of a run is called by its name; when it is
// mended the run goes on, and what was read meanwhile is read anew.
func TestWatchFindsMishaps(t *testing.T) {
	t.Parallel()
	sets := charts{}
	for n, desk := range desks() {
		for seed := range seeds(2) {
			// The colorimeter sees with filters of its own: a clean run is the truth.
			clean := map[bool]measure.ChartResult{}
			for _, curves := range []tone.Channels{{}, bends(t)} {
				_, want, err := sets.read(t, desk.make(seed+50), curves, nil, seed)
				if err != nil {
					t.Fatal(err)
				}
				clean[curves.Len() > 0] = want
			}
			for k, kind := range simulate.MishapKinds() {
				curves := tone.Channels{}
				if kind == simulate.CurvesLost {
					curves = bends(t)
				}
				mishap := simulate.Mishap{Kind: kind, Reading: 30 + 8*k + 5*n}
				journal, _, err := sets.read(t, desk.make(seed, mishap), curves, nil, seed)
				if got := found(err); got != kind.Condition() {
					t.Errorf("%s, seed %d, %s: %q, want %q\n%v", desk.name, seed, kind, got, kind.Condition(), err)
					continue
				}
				d := desk.make(seed)
				_, got, err := sets.read(t, d, curves, journal.Lines(), seed)
				if err != nil || len(got.Mended) != 1 || got.Mended[0].Condition != kind.Condition() {
					t.Errorf("%s, seed %d, %s: mended: %v, %v", desk.name, seed, kind, got.Mended, err)
					continue
				}
				want := clean[curves.Len() > 0]
				for i, r := range got.Readings {
					w := want.Readings[i].XYZ
					if d := math.Abs(r.XYZ.Y - w.Y); d > 0.04*w.Y+0.06 {
						t.Errorf("%s, seed %d, %s: patch %d (%v) reads %.4g, %.4g without", desk.name, seed, kind, i, r.Patch, r.XYZ.Y, w.Y)
						break
					}
				}
			}
		}
	}
}

// Nothing is found where nothing is wrong, drift and outliers notwithstanding.
func TestWatchNoFalseAlarm(t *testing.T) {
	t.Parallel()
	sets := charts{}
	looks := 0
	for _, desk := range desks() {
		for seed := range seeds(20) {
			journal, got, err := sets.read(t, desk.make(seed), tone.Channels{}, nil, seed)
			if err != nil || len(got.Mended) > 0 {
				t.Errorf("%s, seed %d: %v, %v", desk.name, seed, got.Mended, err)
			}
			record, err := measure.ReadJournal(journal.Lines())
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range record.Readings {
				if r.Stage == measure.StageInspection {
					looks++
				}
			}
		}
	}
	t.Logf("%.2f looks a run beyond the first and the last", float64(looks)/float64(len(measure.InspectionPatches()))/float64(5*seeds(20))-2)
}

// What goes wrong while suspects are read again is found, too, and what was read
// then does not count.
func TestWatchWhileReadingAgain(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	set := watched(3)
	read := func(lines [][]byte, mishaps ...simulate.Mishap) (*measure.Memory, *measure.Session, measure.ChartResult, error) {
		d := desks()[0].make(3, mishaps...)
		i, err := d.ColorimeterWith(simulate.FilterMeter{Traits: simulate.Traits{Outliers: simulate.Outliers{Probability: 0.03, Size: 0.2}}})
		if err != nil {
			t.Fatal(err)
		}
		journal := measure.NewMemory(lines)
		s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: i, Clock: d.Clock(), Journal: journal, Replay: lines})
		if err != nil {
			t.Fatal(err)
		}
		look, err := measure.Inspect(ctx, s, measure.InspectOptions{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.ReadChart(ctx, measure.StageCharts, set, measure.ChartOptions{Watch: &look})
		return journal, s, got, err
	}
	_, s, want, err := read(nil)
	if err != nil || len(want.Again) == 0 {
		t.Fatalf("%d read again, %v", len(want.Again), err)
	}
	first := 0 // reading that is taken again
	for i, r := range s.Readings() {
		if r.Stage == measure.StageCharts && r.Patch == set[want.Again[0].At] {
			first = i
			if i > len(set) {
				break
			}
		}
	}
	journal, _, _, err := read(nil, simulate.Mishap{Kind: simulate.Covered, Reading: first})
	if found(err) != measure.DisplayDark {
		t.Fatalf("covered from reading %d on: %v", first, err)
	}
	_, _, got, err := read(journal.Lines())
	if err != nil || len(got.Mended) != 1 || len(got.Again) != len(want.Again) {
		t.Fatalf("mended: %v, %d read again, %v", got.Mended, len(got.Again), err)
	}
	for i, r := range got.Readings {
		if w := want.Readings[i].XYZ.Y; math.Abs(r.XYZ.Y-w) > 0.04*w+0.06 {
			t.Errorf("patch %d reads %.4g, %.4g undisturbed", i, r.XYZ.Y, w)
		}
	}
}

// Trouble that passes by itself spoils nothing and stops nothing; trouble that
// comes again and again is told, and the run goes on when it is resumed.
func TestWatchTroubleThatPasses(t *testing.T) {
	sets := charts{}
	passing := func(times, every int) []simulate.Mishap {
		var out []simulate.Mishap
		for n := range times {
			out = append(out, simulate.Mishap{Kind: simulate.Covered, Reading: 30 + every*n, Readings: 14})
		}
		return out
	}
	_, want, err := sets.read(t, desks()[0].make(9), tone.Channels{}, nil, 9)
	if err != nil {
		t.Fatal(err)
	}
	_, got, err := sets.read(t, desks()[0].make(9, passing(1, 0)...), tone.Channels{}, nil, 9)
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range got.Readings {
		if w := want.Readings[i].XYZ.Y; math.Abs(r.XYZ.Y-w) > 0.05*w+0.06 {
			t.Errorf("patch %d reads %.4g, %.4g undisturbed", i, r.XYZ.Y, w)
		}
	}
	told := 0
	var lines [][]byte
	for range 20 {
		journal, got, err := sets.read(t, desks()[0].make(9, passing(12, 55)...), tone.Channels{}, lines, 9)
		if err == nil {
			if told == 0 || len(got.Readings) != len(want.Readings) {
				t.Errorf("told %d times, %d readings", told, len(got.Readings))
			}
			return
		}
		if found(err) == "" || found(err)[0] == '?' {
			t.Fatal(err)
		}
		told, lines = told+1, journal.Lines()
	}
	t.Errorf("told %d times, and never done", told)
}
