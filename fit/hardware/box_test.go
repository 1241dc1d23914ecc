package hardware_test

import (
	"context"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
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

// judged is what a table does, by the simulator's truth, in ΔE00.
type judged struct{ mean, p95, most, grey float64 }

// judge holds what is shown against what is wanted, on signals that no loop reads.
func (b *box) judge(wanted func(colorimetry.RGB) colorimetry.XYZ) judged {
	white := wanted(colorimetry.Gray(1))
	var all []float64
	var j judged
	for _, p := range chart.Halton(400, chart.Options{Bits: 10, Seed: 99}) {
		all = append(all, difference2000(b.truth(p.Signal), wanted(p.Signal), white))
	}
	for i := range 65 {
		s := colorimetry.Gray(float64(i) / 64).Quantise(10)
		j.grey = max(j.grey, difference2000(b.truth(s), wanted(s), white))
	}
	slices.Sort(all)
	for _, e := range all {
		j.mean += e / float64(len(all))
	}
	j.p95, j.most = all[len(all)*95/100], all[len(all)-1]
	return j
}

// video is sRGB at 90 cd/m², which all invented displays can show.
var video = hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{Luminance: 90}}

// tenBits are options for a box of 10 bits and few nodes, for tests that are in a
// hurry.
func tenBits() hardware.LoopOptions {
	return hardware.LoopOptions{Options: hardware.Options{Bits: 10, Nodes: 17}}
}

func correct(t testing.TB, b *box, s *measure.Session, m fit.Model, o hardware.LoopOptions) hardware.Result {
	t.Helper()
	r, err := hardware.Correct(context.Background(), s, b, m, video, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
