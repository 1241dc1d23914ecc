package hardware_test

import (
	"context"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit"
	"example.org/primaries/fit/hardware"
)

// box is a simulated display behind a box that holds a table. It rounds what
// enters and what leaves to the display's depth.
type box struct {
	display *simulate.Display
	table   hardware.Table
	loads   []string // digests
}

func (b *box) Screen() measure.ScreenInfo { return b.display.Screen() }

func (b *box) device(s colorimetry.RGB) colorimetry.RGB {
	bits := b.display.Screen().Bits
	return b.table.Apply(s.Quantise(bits)).Quantise(bits)
}

func (b *box) Show(ctx context.Context, s colorimetry.RGB) error {
	return b.display.Show(ctx, b.device(s))
}

func (b *box) Load(_ context.Context, t hardware.Table) error {
	b.table, b.loads = t, append(b.loads, t.Digest())
	return nil
}

// truth returns what is really shown for a source signal.
func (b *box) truth(s colorimetry.RGB) colorimetry.XYZ { return b.display.Truth(b.device(s)) }

// run opens a session on the box.
func (b *box) run(t testing.TB, replay [][]byte) (*measure.Session, *measure.Memory) {
	t.Helper()
	journal := measure.NewMemory(replay)
	s, err := measure.Open(context.Background(), measure.Setup{
		Screen: b, Instrument: b.display.Spectroradiometer(), Clock: b.display.Clock(), Journal: journal, Replay: replay,
	})
	if err != nil {
		t.Fatal(err)
	}
	return s, journal
}

// characterised reads a chart on the bare display.
func characterised(t testing.TB, e simulate.Example, seed uint64, n int) []measure.Reading {
	t.Helper()
	d := simulate.Invented(e, simulate.Options{Bits: 10, Seed: seed})
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	r, err := s.ReadSet(context.Background(), measure.StageCharts, chart.Default(n, chart.Options{Bits: 10, Seed: seed}), 2)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// judged is what a table does, by the simulator's truth.
type judged struct{ mean, p95, most, grey float64 }

// judge holds what is shown against what is wanted, on signals that no loop
// reads, where the truth can show it.
func judge(t testing.TB, b *box, wanted func(colorimetry.RGB) colorimetry.XYZ, inReach func(colorimetry.RGB) bool) judged {
	t.Helper()
	white := wanted(colorimetry.Gray(1))
	var all []float64
	var j judged
	for _, p := range chart.Halton(400, chart.Options{Bits: 10, Seed: 99}) {
		if inReach(p.Signal) {
			all = append(all, difference.CIEDE2000(wanted(p.Signal).Lab(white), b.truth(p.Signal).Lab(white)))
		}
	}
	for i := range 65 {
		s := colorimetry.Gray(float64(i) / 64).Quantise(10)
		j.grey = max(j.grey, difference.CIEDE2000(wanted(s).Lab(white), b.truth(s).Lab(white)))
	}
	slices.Sort(all)
	for _, e := range all {
		j.mean += e / float64(len(all))
	}
	j.p95, j.most = all[len(all)*95/100], all[len(all)-1]
	return j
}

func TestLoop(t *testing.T) {
	for _, e := range invented {
		readings := characterised(t, e, 1, 150)
		model, err := fit.Additive(readings, fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		residual, err := fit.Residual(readings, nil, fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range []fit.Model{model, residual} {
			b := &box{display: simulate.Invented(e, simulate.Options{Bits: 10, Seed: 2})}
			s, _ := b.run(t, nil)
			want := hardware.Want{Space: rgb.SRGB()}
			want.Aim.Luminance = 100
			r, err := hardware.Correct(context.Background(), s, b, m, want, hardware.LoopOptions{Options: hardware.Options{Bits: 10, Nodes: 17}})
			if err != nil {
				t.Fatal(err)
			}
			j := judge(t, b, r.Wanted, func(s colorimetry.RGB) bool { return true })
			for _, p := range r.Passes {
				t.Logf("mean %.3f p95 %.3f noise %.3f loss %.3f white %.3f grey %.3f", p.InReach.Mean, p.InReach.P95, p.Noise.Mean, p.Loss, p.White, p.Greys.Mean)
			}
			first, _ := build(t, m, want, hardware.Options{Bits: 10, Nodes: 17})
			b.table = first
			t.Logf("%v %s: truth %+v after model alone %+v; %s", e, m.Name(), j, judge(t, b, r.Wanted, func(s colorimetry.RGB) bool { return true }), r.Sentences)
		}
	}
}
