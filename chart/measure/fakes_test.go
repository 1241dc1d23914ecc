package measure

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// fakeClock stands still except while something sleeps or measures.
type fakeClock struct {
	now    time.Time
	sleeps int
}

func (c *fakeClock) Now() time.Time { return c.now }

func (c *fakeClock) Sleep(ctx context.Context, d time.Duration) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	c.sleeps++
	c.now = c.now.Add(d)
	return nil
}

func (c *fakeClock) Restore(_ context.Context, last Reading) error {
	c.now = last.Time
	return nil
}

// fakeDisplay is an additive display with a power of 2.2 and a leak, warming up,
// with one control. It writes down what is done to it.
type fakeDisplay struct {
	clock    *fakeClock
	start    time.Time
	signal   colorimetry.RGB
	curves   tone.Channels
	step     int
	log      []string
	shownAt  []time.Time
	restored int
	fail     func(call string) error // nil = never
}

func newFakeDisplay() *fakeDisplay {
	start := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	return &fakeDisplay{clock: &fakeClock{now: start}, start: start, step: 80}
}

func (d *fakeDisplay) Restore(context.Context, Reading) error { d.restored++; return nil }

func (d *fakeDisplay) note(format string, args ...any) error {
	call := fmt.Sprintf(format, args...)
	d.log = append(d.log, call)
	if d.fail != nil {
		return d.fail(call)
	}
	return nil
}

func (d *fakeDisplay) Show(_ context.Context, s colorimetry.RGB) error {
	if err := d.note("show %v", s); err != nil {
		return err
	}
	d.signal = s
	d.shownAt = append(d.shownAt, d.clock.now)
	return nil
}

func (d *fakeDisplay) LoadCurves(_ context.Context, c tone.Channels) error {
	if err := d.note("curves %s", c.Digest()); err != nil {
		return err
	}
	d.curves = c
	return nil
}

func (d *fakeDisplay) Screen() ScreenInfo { return ScreenInfo{Name: "fake", Mode: "native", Bits: 10} }

func (d *fakeDisplay) Controls() []Control {
	return []Control{{Name: Brightness, Min: 0, Max: 100, Now: d.step}}
}

func (d *fakeDisplay) Set(_ context.Context, name string, step int) error {
	if err := d.note("%s %d", name, step); err != nil {
		return err
	}
	d.step = step
	return nil
}

func (d *fakeDisplay) truth() colorimetry.XYZ {
	m := colorimetry.Columns(colorimetry.XYZ{X: 41, Y: 21, Z: 2}, colorimetry.XYZ{X: 36, Y: 72, Z: 12}, colorimetry.XYZ{X: 18, Y: 7, Z: 95})
	s := d.curves.Apply(d.signal)
	p := func(v float64) float64 { return 0.001 + 0.999*math.Pow(v, 2.2) }
	missing := 0.03 * math.Exp(-d.clock.now.Sub(d.start).Minutes()/4)
	k := float64(d.step) / 80 * (1 - missing)
	return m.FromLinear(colorimetry.RGB{R: p(s.R), G: p(s.G), B: p(s.B)}).Scale(k)
}

// plainScreen is a fakeDisplay that holds no curves and has no controls.
type plainScreen struct{ d *fakeDisplay }

func (p plainScreen) Show(ctx context.Context, s colorimetry.RGB) error { return p.d.Show(ctx, s) }
func (p plainScreen) Screen() ScreenInfo                                { return p.d.Screen() }

// fakeInstrument reads a fakeDisplay with the noise of the main job, keyed by
// reading and repeat.
type fakeInstrument struct {
	d     *fakeDisplay
	noise Noise
	calls int
	fail  func(ctx context.Context, want Request) error // nil = never
}

var usualNoise = Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}

func (f *fakeInstrument) Instrument() InstrumentInfo {
	return InstrumentInfo{Name: "fake", Serial: "7", Noise: f.noise, LowestCdM2: 0.05}
}

func (f *fakeInstrument) Measure(ctx context.Context, want Request) (Sample, error) {
	f.calls++
	if f.fail != nil {
		if err := f.fail(ctx, want); err != nil {
			return Sample{}, err
		}
	}
	f.d.clock.now = f.d.clock.now.Add(time.Second)
	rng := rand.New(rand.NewPCG(uint64(want.Reading), uint64(want.Repeat)))
	return Sample{XYZ: noisy(rng, f.d.truth(), f.noise), Duration: time.Second}, nil
}

// noisy draws one integration of the light c.
func noisy(rng *rand.Rand, c colorimetry.XYZ, n Noise) colorimetry.XYZ {
	xy := c.Chromaticity()
	xy.X += n.Chromaticity * rng.NormFloat64()
	xy.Y += n.Chromaticity * rng.NormFloat64()
	got := xy.XYZ(c.Y * (1 + n.Luminance*rng.NormFloat64()))
	return got.Add(colorimetry.XYZ{X: n.FloorCdM2 * rng.NormFloat64(), Y: n.FloorCdM2 * rng.NormFloat64(), Z: n.FloorCdM2 * rng.NormFloat64()})
}

// rig is one set of fake hardware.
type rig struct {
	display    *fakeDisplay
	instrument *fakeInstrument
	reference  *fakeInstrument
	journal    *Memory
}

func newRig() *rig {
	d := newFakeDisplay()
	return &rig{d, &fakeInstrument{d: d, noise: usualNoise}, &fakeInstrument{d: d, noise: Noise{0.0003, 0.002, 0.001}}, &Memory{}}
}

func (r *rig) setup() Setup {
	return Setup{Screen: r.display, Instrument: r.instrument, Reference: r.reference, Controls: r.display, Clock: r.display.clock,
		Journal: r.journal, Digest: "d1", Seed: 5, Start: r.display.start}
}

// resume returns the setup of a run that goes on, on fresh hardware, from lines.
func (r *rig) resume(lines [][]byte) Setup {
	r.journal = NewMemory(lines)
	s := r.setup()
	s.Replay = lines
	return s
}

func (r *rig) open(t testing.TB) *Session {
	t.Helper()
	s, err := Open(context.Background(), r.setup())
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func white() chart.Patch { return chart.Patch{ID: "white", Signal: colorimetry.Gray(1)} }
func black() chart.Patch { return chart.Patch{ID: "black"} }

func grey(v float64) ReadRequest {
	return ReadRequest{Stage: StageCharts, Patch: chart.Patch{Signal: colorimetry.Gray(v)}}
}

func ramp(n int) []chart.Patch {
	out := make([]chart.Patch, n)
	for i := range out {
		out[i] = chart.Patch{ID: fmt.Sprint(i), Signal: colorimetry.Gray(float64(i) / float64(n-1))}
	}
	return out
}

// seeds returns how many seeds a test takes: fewer where tests are to be short.
func seeds(n int) uint64 {
	if testing.Short() {
		return uint64(max(n/5, 1))
	}
	return uint64(n)
}

var errBroken = errors.New("the fake was told to fail")

// brokenJournal takes lines until it is full.
type brokenJournal struct {
	Memory
	appends, syncs int // how many of each go well; negative = all
}

func (b *brokenJournal) Append(line []byte) error {
	if b.appends == 0 {
		return errBroken
	}
	b.appends--
	return b.Memory.Append(line)
}

func (b *brokenJournal) Sync() error {
	if b.syncs == 0 {
		return errBroken
	}
	b.syncs--
	return nil
}

// seeded gives an instrument's noise another seed.
type seeded struct {
	driftingDisplay
	seed int
}

func (s seeded) Measure(ctx context.Context, want Request) (Sample, error) {
	want.Reading += 10_000 * s.seed
	return s.driftingDisplay.Measure(ctx, want)
}

func newRand(want Request) *rand.Rand {
	return rand.New(rand.NewPCG(uint64(want.Reading), uint64(want.Repeat)))
}

// darkInstrument sees nothing.
type darkInstrument struct{}

func (darkInstrument) Instrument() InstrumentInfo                       { return InstrumentInfo{Name: "dark"} }
func (darkInstrument) Measure(context.Context, Request) (Sample, error) { return Sample{}, nil }
