package controls_test

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
	"github.com/google/go-cmp/cmp"
)

// tube is a fake display with controls of its black, as a cathode-ray tube has
// them, and the instrument that looks at it: an offset, common or of a channel,
// is added to the drive, and light is a power of the drive where that is above
// 0. All of it is invented.
type tube struct {
	list  []measure.Control
	keeps bool // the white keeps its light whatever the offset
	leak  float64
	noise measure.Noise
	seed  uint64
	shown colorimetry.RGB
	now   time.Time
}

func newTube(keeps bool, leak float64, seed uint64, names ...string) *tube {
	p := &tube{keeps: keeps, leak: leak, noise: *mainJob(), seed: seed}
	for _, n := range names {
		c := measure.Control{Name: n, Max: 100, Now: 100}
		if n == measure.Black || strings.HasSuffix(n, "offset") {
			c.Now = 60
		}
		p.list = append(p.list, c)
	}
	return p
}

func (p *tube) Now() time.Time { return p.now }

func (p *tube) Sleep(ctx context.Context, d time.Duration) error {
	p.now = p.now.Add(d)
	return ctx.Err()
}

func (p *tube) Screen() measure.ScreenInfo {
	return measure.ScreenInfo{Name: "fake", Mode: "native", Bits: 10, WindowShare: 0.1}
}

func (p *tube) Show(_ context.Context, s colorimetry.RGB) error { p.shown = s; return nil }

func (p *tube) Instrument() measure.InstrumentInfo {
	return measure.InstrumentInfo{Name: "fake", Noise: p.noise}
}

func (p *tube) Controls() []measure.Control { return append([]measure.Control(nil), p.list...) }

func (p *tube) Set(_ context.Context, name string, step int) error {
	for i := range p.list {
		if p.list[i].Name == name {
			p.list[i].Now = step
		}
	}
	return nil
}

func (p *tube) step(name string, otherwise int) float64 {
	for _, c := range p.list {
		if c.Name == name {
			return float64(c.Now)
		}
	}
	return float64(otherwise)
}

// truth returns the light of a signal.
func (p *tube) truth(s colorimetry.RGB) colorimetry.XYZ {
	// Columns of IEC 61966-2-1, table 1, times 160 cd/m².
	m := colorimetry.Matrix{{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}.Scale(160)
	var light [3]float64
	for c, v := range [3]float64{s.R, s.G, s.B} {
		drive := 0.0012*(p.step(measure.Black, 50)-40) + 0.0008*(p.step([3]string{measure.RedOffset, measure.GreenOffset, measure.BlueOffset}[c], 50)-50)
		top := 1.0
		if p.keeps {
			top = 1 + drive
		}
		gain := 0.5 + 0.5*p.step([3]string{measure.RedGain, measure.GreenGain, measure.BlueGain}[c], 100)/100
		light[c] = gain * math.Pow(math.Max(v+drive, 0)/top, 2.3)
	}
	bright := 0.2 + 0.8*p.step(measure.Brightness, 100)/100
	return m.FromLinear(colorimetry.RGB{R: light[0]*bright + p.leak, G: light[1]*bright + p.leak, B: light[2]*bright + p.leak})
}

func (p *tube) Measure(_ context.Context, r measure.Request) (measure.Sample, error) {
	rnd := rand.New(rand.NewPCG(p.seed, uint64(r.Reading)<<16|uint64(r.Repeat)))
	t := p.truth(p.shown)
	c := t.Chromaticity()
	c.X += p.noise.Chromaticity * rnd.NormFloat64()
	c.Y += p.noise.Chromaticity * rnd.NormFloat64()
	t = c.XYZ(t.Y * (1 + p.noise.Luminance*rnd.NormFloat64()))
	f := p.noise.FloorCdM2
	return measure.Sample{XYZ: t.Add(colorimetry.XYZ{X: f * rnd.NormFloat64(), Y: f * rnd.NormFloat64(), Z: f * rnd.NormFloat64()})}, nil
}

// TestBlack holds the black against the truth over many seeds: it ends at the
// step that is really nearest to the aim's black, or within the share that is
// left alone, in few moves, and says truly how sure it is. Where the display's
// own black is brighter it stops at the highest step that gives it.
func TestBlack(t *testing.T) {
	all := []string{measure.Brightness, measure.RedGain, measure.GreenGain, measure.BlueGain}
	for _, c := range []struct {
		name  string
		names []string
		keeps bool
		leak  float64
		black float64
		ratio float64
		floor bool // the display's own black is brighter than the aim's
	}{
		{"common", append(all[:4:4], measure.Black), true, 0.0001, 0.05, 0, false},
		{"common, up", append(all[:4:4], measure.Black), true, 0.0001, 0.30, 0, false},
		{"common, by ratio", append(all[:4:4], measure.Black), true, 0.0001, 0, 800, false},
		{"common, moves white", append(all[:4:4], measure.Black), false, 0.0001, 0.05, 0, false},
		{"channels", append(all[:4:4], measure.RedOffset, measure.GreenOffset, measure.BlueOffset), true, 0.0001, 0.06, 0, false},
		{"own black above", append(all[:4:4], measure.Black), true, 0.0006, 0.05, 0, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			var nearest, covered, n, moves, mostMoves, readings float64
			var worst float64
			var last string
			for seed := range max(*seedCount, 40) {
				p := newTube(c.keeps, c.leak, seed, c.names...)
				s, err := measure.Open(context.Background(), measure.Setup{Screen: p, Controls: p, Instrument: p, Clock: p})
				if err != nil {
					t.Fatal(err)
				}
				want := aim.Aim{White: d65(t), Luminance: 100, BlackCdM2: c.black, BlackRatio: c.ratio}
				r, err := controls.Guide(context.Background(), s, s.Controls(), want, controls.Options{})
				if err != nil {
					t.Fatal(err)
				}
				last = strings.Join(r.Sentences, " ")
				target := c.black
				if c.ratio > 0 {
					target = 100 / c.ratio
				}
				k := p.truth(colorimetry.RGB{})
				miss := math.Abs(k.Y/target - 1)
				if c.floor {
					// As dark as it gets, and not a step lower than that takes.
					miss = k.Y/(160*c.leak) - 1
				}
				worst = math.Max(worst, miss)
				n++
				if miss <= 0.06 || miss <= bestBlack(p, target)+1e-9 {
					nearest++
				}
				if math.Abs(r.Black.Y-k.Y) <= 1.96*r.BlackUncertainty {
					covered++
				}
				m := 0.0
				for _, s := range r.Steps {
					if s.Control == measure.Black || strings.HasSuffix(s.Control, "offset") {
						m++
					}
				}
				moves += m
				mostMoves = math.Max(mostMoves, m)
				readings += float64(len(s.Readings()))
				if testing.Verbose() && seed == 0 {
					for _, s := range r.Steps {
						t.Log(s.Averages, s.Sentence)
					}
					t.Log(strings.Join(r.Sentences, "\n"))
				}
				if uv := p.truth(colorimetry.Gray(1)).UV().Distance(want.White.At.UV()); uv > 0.002 {
					t.Errorf("seed %d: the white is %.4f off", seed, uv)
				}
			}
			if nearest < 0.9*n || covered < 0.85*n || mostMoves > 12*float64(len(c.names)-4) {
				t.Error("beyond the limits")
			}
			if says := "lower steps would only take"; c.floor != strings.Contains(last, says) {
				t.Errorf("own black above: %v, but %q", c.floor, last)
			}
			t.Logf("%.0f %% nearest or enough, worst %.3f of the black; 95 %% covers %.0f %%; %.1f moves of the black, %.0f at most; %.1f readings", 100*nearest/n, worst, 100*covered/n, moves/n, mostMoves, readings/n)
		})
	}
}

// bestBlack returns how far off the nearest step of the common control is.
func bestBlack(p *tube, target float64) float64 {
	was := p.step(measure.Black, -1)
	if was < 0 {
		return 0
	}
	best := math.Inf(1)
	for s := range 101 {
		_ = p.Set(context.Background(), measure.Black, s)
		best = math.Min(best, math.Abs(p.truth(colorimetry.RGB{}).Y/target-1))
	}
	_ = p.Set(context.Background(), measure.Black, int(was))
	return best
}

// TestBlackResume: whatever reading the journal ends with, the controls of the
// black end up at the same steps.
func TestBlackResume(t *testing.T) {
	run := func(journal *measure.Memory, replay [][]byte) []measure.Control {
		t.Helper()
		p := newTube(false, 0.0001, 3, measure.Brightness, measure.RedGain, measure.Black)
		s, err := measure.Open(context.Background(), measure.Setup{Screen: p, Controls: p, Instrument: p, Clock: p, Journal: journal, Replay: replay})
		if err != nil {
			t.Fatal(err)
		}
		r, err := controls.Guide(context.Background(), s, newTube(false, 0, 0, measure.Brightness, measure.RedGain, measure.Black).list, aim.Aim{White: d65(t), Luminance: 90, BlackCdM2: 0.06}, controls.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return r.Settings
	}
	whole := measure.NewMemory(nil)
	want := run(whole, nil)
	if want[2].Now == 60 {
		t.Fatal("the black did not move: the test shows nothing")
	}
	lines := whole.Lines()
	for cut := 1; cut <= len(lines); cut += 2 {
		if d := cmp.Diff(want, run(measure.NewMemory(lines[:cut]), lines[:cut])); d != "" {
			t.Errorf("resumed after %d of %d lines: %s", cut, len(lines), d)
		}
	}
}

// TestBlackLeftAlone: an aim that names no black leaves its control alone.
func TestBlackLeftAlone(t *testing.T) {
	p := newTube(true, 0.0001, 1, measure.Brightness, measure.Black, measure.Black)
	s, err := measure.Open(context.Background(), measure.Setup{Screen: p, Controls: p, Instrument: p, Clock: p})
	if err != nil {
		t.Fatal(err)
	}
	r, err := controls.Guide(context.Background(), s, s.Controls(), aim.Aim{Luminance: 100}, controls.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range r.Steps {
		if step.Control == measure.Black || step.Black {
			t.Errorf("%+v", step)
		}
	}
	if len(r.Settings) != 3 || r.Black != (colorimetry.XYZ{}) || r.DeltaBlack != 0 {
		t.Errorf("settings %v, black %v", r.Settings, r.Black)
	}
}
