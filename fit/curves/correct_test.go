package curves_test

import (
	"context"
	"errors"
	"flag"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
	"example.org/primaries/fit/curves"
)

// mainJob is the noise of the main job's colorimeter.
func mainJob() measure.Noise {
	return measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}
}

func d65(t *testing.T) aim.White {
	t.Helper()
	w, err := aim.Illuminant("D65")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// figures are what curves do in truth, on the simulator's noiseless light.
type figures struct {
	whiteUV, whiteRead float64 // Δu'v'
	luminance          float64 // share of the aim's
	even               float64 // largest relative miss of luminance on 33 even greys above HoldSignal
	every              float64 // share of all codes above HoldSignal that miss by more than 2 %
	evenUV             float64 // largest Δu'v' on those 33 above the floor and 5 % signal
}

func judge(truth func(colorimetry.RGB) colorimetry.XYZ, r curves.Result) figures {
	a := r.Aim
	black, white := truth(colorimetry.RGB{}), truth(colorimetry.Gray(1))
	f := figures{whiteUV: white.UV().Distance(a.White.At.UV()), luminance: white.Y/a.Luminance - 1}
	f.whiteRead = r.Passes[len(r.Passes)-1].WhiteDeltaUV
	miss := func(s float64) (y, uv float64) {
		c, want := truth(colorimetry.Gray(s)), a.Target(math.Round(s*1023)/1023, black, a.Luminance)
		return math.Abs(c.Y/want.Y - 1), c.UV().Distance(want.UV())
	}
	for i := 1; i <= 32; i++ {
		s := float64(i) / 32
		y, uv := miss(s)
		if s >= r.HoldSignal {
			f.even = math.Max(f.even, y)
		}
		if s >= math.Max(r.FloorSignal, 0.05) {
			f.evenUV = math.Max(f.evenUV, uv)
		}
	}
	var n float64
	for i := int(math.Ceil(r.HoldSignal * 1023)); i < 1024; i++ {
		if y, _ := miss(float64(i) / 1023); y > 0.02 {
			f.every++
		}
		n++
	}
	f.every /= n
	return f
}

// walk does the main job up to the curves on a measured display: pairs,
// controls where wanted, curves. The colorimeter is corrected by the readings
// of the three primaries with both instruments.
func walk(t *testing.T, d *simulate.Display, want aim.Aim, useControls bool, o curves.Options) (*measure.Session, curves.Result) {
	t.Helper()
	ctx := context.Background()
	s, err := measure.Open(ctx, measure.Setup{Screen: d, Controls: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	correct(t, s)
	if useControls {
		g, err := controls.Guide(ctx, s, s.Controls(), want, controls.Options{})
		if err != nil {
			t.Fatal(err)
		}
		want = g.Aim
	}
	r, err := curves.Correct(ctx, s, want, o)
	if err != nil {
		t.Fatal(err)
	}
	return s, r
}

func correct(t *testing.T, s *measure.Session) {
	t.Helper()
	var side [2][3]colorimetry.XYZ
	for k := range 2 {
		for c, p := range [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} {
			r, err := s.Read(context.Background(), measure.ReadRequest{Stage: measure.StagePairs, Patch: chart.Patch{Signal: p}, Averages: 16, Reference: k == 1})
			if err != nil {
				t.Fatal(err)
			}
			side[k][c] = r.XYZ
		}
	}
	inv, err := colorimetry.Columns(side[0][0], side[0][1], side[0][2]).Inverse()
	if err != nil {
		t.Fatal(err)
	}
	s.SetCorrection(colorimetry.Columns(side[1][0], side[1][1], side[1][2]).Mul(inv))
}

// seedCount is how many seeds the main job's test runs: the limits speak of 20,
// and all 20 are within them; a few keep the whole suite short.
var seedCount = flag.Uint64("seeds", 4, "number of seeds of the main job's test")

// TestMainJob holds the loop against the limits of the main job on the three
// measured displays: white within 0.0015 in u'v' of the aim, as read and in
// truth, luminance within 2 %, greys above HoldSignal within 2 %, in at least
// 19 of 20 seeds.
func TestMainJob(t *testing.T) {
	seeds := *seedCount
	if testing.Short() {
		seeds = 1
	}
	for _, p := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD, simulate.CRT} {
		for _, with := range []bool{true, false} {
			name := p.String() + map[bool]string{true: ", controls", false: ", curves alone"}[with]
			t.Run(name, func(t *testing.T) {
				var worst figures
				var took time.Duration
				failed, warned := uint64(0), 0
				for seed := range seeds {
					d := simulate.Measured(p, simulate.Options{Seed: seed})
					begin := time.Now()
					_, r := walk(t, d, aim.Aim{White: d65(t), Luminance: 100}, with, curves.Options{})
					took += time.Since(begin)
					f := judge(d.Truth, r)
					if f.whiteUV > 0.0015 || f.whiteRead > 0.0015 || math.Abs(f.luminance) > 0.02 || f.even > 0.02 {
						failed++
					}
					if testing.Verbose() {
						t.Logf("seed %2d: white %.5f, read %.5f; luminance %+.4f of %.2f; greys %.4f, %.2f %% of codes beyond; uv %.4f; floor %.3f rounding %.3f hold %.3f; passes %d misfit %g jumps %g grain %g lost %d %d", seed, f.whiteUV, f.whiteRead, f.luminance, r.Aim.Luminance, f.even, 100*f.every, f.evenUV, r.FloorSignal, r.QuantisationFloor, r.HoldSignal, len(r.Passes)-1, r.Misfit, r.Jumps, r.Grain, r.LostLevels8, r.LostLevels10)
					}
					worst.whiteUV, worst.whiteRead = math.Max(worst.whiteUV, f.whiteUV), math.Max(worst.whiteRead, f.whiteRead)
					worst.luminance, worst.even = math.Max(worst.luminance, math.Abs(f.luminance)), math.Max(worst.even, f.even)
					worst.every, worst.evenUV = math.Max(worst.every, f.every), math.Max(worst.evenUV, f.evenUV)
					smooth(t, r.Curves)
					warned += len(r.Warnings)
					for _, w := range r.Warnings {
						t.Logf("seed %d: %s", seed, w)
					}
				}
				t.Logf("worst of %d seeds: white %.5f (read %.5f), luminance %.4f, greys %.4f, %.2f %% of codes beyond 2 %%, greys' uv %.4f; %v each", seeds, worst.whiteUV, worst.whiteRead, worst.luminance, worst.even, 100*worst.every, worst.evenUV, took/time.Duration(seeds))
				// Nothing changes on these displays while they are measured: at
				// four standard deviations hardly one look in a thousand warns.
				if warned > 1 {
					t.Errorf("%d warnings on steady displays", warned)
				}
				if failed*20 > seeds {
					t.Errorf("%d of %d seeds beyond the limits", failed, seeds)
				}
			})
		}
	}
}

// smooth fails on curves of a 10-bit path that do not begin at 0, that fall, or
// that are off a smooth course by more than the rounding of three channels
// together and displays' own tones: in their upper half, by more than two codes
// off the mean of the sixteen entries to both sides.
func smooth(t *testing.T, c tone.Channels) {
	t.Helper()
	r, g, b := c.Codes()
	for _, v := range [3][]uint16{r, g, b} {
		if len(v) != 1024 || v[0] != 0 {
			t.Errorf("%d entries that begin at %d", len(v), v[0])
		}
		for i := 1; i < len(v); i++ {
			if v[i] < v[i-1] {
				t.Errorf("entry %d falls from %d to %d", i, v[i-1], v[i])
			}
		}
		for i := 512; i < len(v)-16; i++ {
			var mean float64
			for j := i - 16; j <= i+16; j++ {
				mean += float64(v[j]) / 33
			}
			if d := math.Abs(float64(v[i])-mean) * 1023 / 65535; d > 2 {
				t.Errorf("entry %d is %.1f codes off its neighbours", i, d)
			}
		}
	}
}

func TestBadInput(t *testing.T) {
	d := simulate.Measured(simulate.CRT, simulate.Options{})
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	for name, o := range map[string]curves.Options{
		"bits": {Bits: 5}, "entries": {Entries: 5000}, "passes": {Passes: -1}, "averages": {Averages: 1000},
	} {
		if _, err := curves.Correct(context.Background(), s, aim.Aim{}, o); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if len(s.Readings()) != 0 {
		t.Error("bad options cost readings")
	}
	if _, err := curves.Correct(context.Background(), s, aim.Aim{White: aim.XY(0.1, 0.8)}, curves.Options{}); err == nil || !strings.Contains(err.Error(), "outside") {
		t.Errorf("white out of reach: %v", err)
	}
	if _, err := curves.Correct(context.Background(), s, aim.Aim{Luminance: 20, BlackCdM2: 30}, curves.Options{}); err == nil || !strings.Contains(err.Error(), "brighter") {
		t.Errorf("black above white: %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := curves.Correct(ctx, s, aim.Aim{}, curves.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func BenchmarkCorrect(b *testing.B) {
	for b.Loop() {
		d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 1})
		s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := curves.Correct(context.Background(), s, aim.Aim{Luminance: 100}, curves.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
