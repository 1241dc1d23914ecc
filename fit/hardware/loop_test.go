package hardware_test

import (
	"context"
	"errors"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/hardware"
	"github.com/google/go-cmp/cmp"
)

func additiveModel(t testing.TB, readings []measure.Reading) fit.Model {
	t.Helper()
	m, err := fit.Additive(readings, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// On displays whose channels disturb each other the loop brings the table of a
// model that does not know of it to the wanted colours, judged by the simulator's
// truth, through a box and a path of 10 bits, whose rounding alone costs 0.1 ΔE00
// in the mean.
func TestCorrect(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name      string
		display   simulate.Example
		alone     bool    // without the readings that the model was fitted to
		mean, p95 float64 // limits in ΔE00
		share     float64 // of the model's own table's mean that may be left
	}{
		{"coupled", simulate.CoupledLCD, false, 0.15, 0.35, 0.2},
		{"sagging", simulate.SaggingPanel, false, 0.12, 0.28, 0.35},
		{"sagging, model alone", simulate.SaggingPanel, true, 0.14, 0.3, 0.4},
		// Its light has a bend wherever another channel becomes the weakest, which
		// what fit.Residual learns of channels in common follows.
		{"four sub-pixels", simulate.FourSubpixels, false, 0.15, 0.4, 0.06},
		{"four sub-pixels, model alone", simulate.FourSubpixels, true, 0.15, 0.4, 0.06},
		{"crosstalk, model alone", simulate.CrosstalkPanel, true, 0.15, 0.4, 0.06},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			if testing.Short() && c.name != "sagging" {
				t.Skip("one display is enough for a short run")
			}
			readings := characterised(t, c.display, 1, 100)
			m := additiveModel(t, readings)
			b := &box{display: simulate.Invented(c.display, simulate.Options{Bits: 10, Seed: 2})}
			s, _ := b.run(t, nil)
			o := tenBits()
			if !c.alone {
				o.Readings = readings
			}
			r := correct(t, b, s, m, o)
			after, inForce := b.judge(r.Wanted), b.table.Digest()
			b.table, _ = build(t, m, video, o.Options)
			before := b.judge(r.Wanted)
			for _, p := range r.Passes {
				t.Logf("read: mean %.3f, 95 %% %.3f; noise %.3f and %.3f, loss %.3f; greys %.3f; change %.3f", p.InReach.Mean, p.InReach.P95, p.Noise.Mean, p.Noise.P95, p.Loss, p.Greys.Mean, p.Change)
			}
			t.Logf("true: %+v, before %+v; %q", after, before, r.Sentences)
			if after.mean > c.mean || after.p95 > c.p95 || after.mean > c.share*before.mean {
				t.Errorf("true: %+v, before %+v", after, before)
			}
			kept := r.Passes[r.Kept]
			if inForce != r.Table.Digest() || kept.Table != inForce || b.loads[len(b.loads)-1] != inForce || r.Table.Bits() != 10 {
				t.Error("the table that was kept is not in force")
			}
			if kept.InReach.Mean > r.Passes[0].InReach.Mean/2 || len(r.Sentences) < 2 {
				t.Errorf("kept is %+v", kept)
			}
		})
	}
}

// A display that is as the model says is left alone: the first table is read to
// be as good as noise and rounding let it be.
func TestNothingToCorrect(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("TestCorrect is enough for a short run")
	}
	b := &box{display: simulate.Invented(simulate.SaggingPanel, simulate.Options{Bits: 10, Seed: 3})}
	s, _ := b.run(t, nil)
	o := tenBits()
	o.Nodes = 33
	r := correct(t, b, s, exact(simulate.SaggingPanel), o)
	p := r.Passes[0]
	t.Logf("%+v; %q", p, r.Sentences)
	if len(r.Passes) != 1 || !p.Settled || len(b.loads) != 1 || r.Kept != 0 {
		t.Errorf("%d passes, the first %+v", len(r.Passes), p)
	}
}

// A run that was cut off anywhere goes on to the same table, and asks the box for
// no table whose readings it has, but for the one that stays.
func TestResume(t *testing.T) {
	t.Parallel()
	m := additiveModel(t, characterised(t, simulate.SaggingPanel, 1, 60))
	o := tenBits()
	o.Nodes, o.Patches, o.Passes, o.WhiteAverages = 5, 24, 3, 2
	fresh := func(replay [][]byte) (hardware.Result, *box, *measure.Memory) {
		b := &box{display: simulate.Invented(simulate.SaggingPanel, simulate.Options{Bits: 10, Seed: 2})}
		s, journal := b.run(t, replay)
		return correct(t, b, s, m, o), b, journal
	}
	want, first, journal := fresh(nil)
	lines := journal.Lines()
	if len(want.Passes) < 2 {
		t.Fatalf("%d passes: the test shows nothing", len(want.Passes))
	}
	var notes int
	for _, l := range lines {
		if strings.Contains(string(l), want.Passes[1].Table) {
			notes++
		}
	}
	if notes != 1 {
		t.Errorf("the journal names the second table %d times", notes)
	}
	for _, cut := range []int{3, len(lines) / 3, len(lines) / 2, len(lines) - 1, len(lines)} {
		got, b, _ := fresh(lines[:cut])
		if d := cmp.Diff(want.Passes, got.Passes); d != "" || got.Table.Digest() != want.Table.Digest() {
			t.Errorf("resumed after %d of %d lines: %s", cut, len(lines), d)
		}
		if b.table.Digest() != want.Table.Digest() || len(b.loads) > len(first.loads) {
			t.Errorf("resumed after %d of %d lines: %d tables were loaded, and the last is not the one", cut, len(lines), len(b.loads))
		}
		if cut == len(lines) && !slices.Equal(b.loads, []string{want.Table.Digest()}) {
			t.Errorf("all was in the journal, and the box was asked for %q", b.loads)
		}
	}
}

// stubborn is a box that takes no table.
type stubborn struct{ err error }

func (s stubborn) Load(context.Context, hardware.Table) error { return s.err }

func TestCorrectRefuses(t *testing.T) {
	t.Parallel()
	m := exact(simulate.SaggingPanel)
	b := &box{display: simulate.Invented(simulate.SaggingPanel, simulate.Options{Bits: 10})}
	s, _ := b.run(t, nil)
	for says, o := range map[string]hardware.LoopOptions{
		"101 averages":    {Averages: 101},
		"9 passes":        {Passes: 9},
		"12 patches":      {Patches: 12},
		"white averages":  {WhiteAverages: -1},
		"limited range":   {Options: hardware.Options{In: hardware.Limited}},
		"66 nodes":        {Options: hardware.Options{Nodes: 66}},
		"on a path of 14": {Options: hardware.Options{PathBits: 14}},
	} {
		if _, err := hardware.Correct(context.Background(), s, b, m, video, o); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("want %q, got %v", says, err)
		}
	}
	box := stubborn{errors.New("no room")}
	if _, err := hardware.Correct(context.Background(), s, box, m, video, tenBits()); !errors.Is(err, box.err) || !strings.Contains(err.Error(), "loading the table") {
		t.Errorf("the loader's error comes back as %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := hardware.Correct(ctx, s, b, m, video, tenBits()); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A model that is not separable can be learned over, too: here one of a kind that
// does not suit the display.
func TestCorrectOverResidual(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("TestCorrect is enough for a short run")
	}
	m, err := fit.Of(fit.PairsName, characterised(t, simulate.FourSubpixels, 1, 60), fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	b := &box{display: simulate.Invented(simulate.FourSubpixels, simulate.Options{Bits: 10, Seed: 2})}
	s, _ := b.run(t, nil)
	o := tenBits() // without the readings, so that the model lies under what is learned
	o.Nodes, o.Passes = 9, 3
	r := correct(t, b, s, m, o)
	after := b.judge(r.Wanted)
	b.table, _ = build(t, m, video, o.Options)
	before := b.judge(r.Wanted)
	t.Logf("true: %+v, before %+v", after, before)
	if after.mean > before.mean*0.7 {
		t.Errorf("true: %+v, before %+v", after, before)
	}
	if _, ok := r.Model.(fit.Separable); ok || r.Model.XYZ(colorimetry.Gray(1)).Y < 100 {
		t.Errorf("learned is %s", r.Model.Name())
	}
}
