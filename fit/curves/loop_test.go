package curves_test

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/curves"
	"github.com/google/go-cmp/cmp"
)

// still is a clock on which waiting takes no time.
type still struct{ now time.Time }

func (c *still) Now() time.Time { return c.now }

func (c *still) Sleep(ctx context.Context, d time.Duration) error {
	c.now = c.now.Add(d)
	return ctx.Err()
}

// onPanel makes curves on a fake display.
func onPanel(t *testing.T, p *panel, want aim.Aim) curves.Result {
	t.Helper()
	s, err := measure.Open(context.Background(), measure.Setup{Screen: p, Instrument: p, Clock: &still{}})
	if err != nil {
		t.Fatal(err)
	}
	r, err := curves.Correct(context.Background(), s, want, curves.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r.Curves.Digest() != p.curves.Digest() {
		t.Error("the curves returned are not in force")
	}
	return r
}

// TestDisturbedChannels: the loop must bring a display whose channels disturb
// each other to its aim, although the model that it starts from misses it.
func TestDisturbedChannels(t *testing.T) {
	for _, share := range []float64{0.12, 0.25} {
		for seed := range uint64(3) {
			p := &panel{bits: 10, black: colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.12}, crosstalk: share, noise: mainJob(), seed: seed}
			r := onPanel(t, p, aim.Aim{White: d65(t), Luminance: 100})
			f := judge(p.truth, r)
			p.curves = tone.Channels{}
			model := r.Model.XYZ(colorimetry.Gray(1)).Y/p.truth(colorimetry.Gray(1)).Y - 1
			t.Logf("%.0f %%: white %.5f, luminance %+.4f, greys %.4f, uv %.4f; model %+.3f, first pass white %.4f; misfit %g; %d passes", 100*share, f.whiteUV, f.luminance, f.even, f.evenUV, model, r.Passes[0].WhiteDeltaUV, r.Misfit, len(r.Passes)-1)
			// Greys at the lower end are off by the rounding of the path.
			if f.whiteUV > 0.0008 || math.Abs(f.luminance) > 0.006 || f.even > 0.025 {
				t.Errorf("%+v", f)
			}
			if math.Abs(model) < 0.015 {
				t.Errorf("the model misses the white by %g only: the test shows nothing", model)
			}
			if len(r.Warnings) > 0 {
				t.Errorf("warnings on a steady display: %q", r.Warnings)
			}
		}
	}
}

// TestDepths: on 6, 8 and 10 bits the loop keeps to what the path's rounding
// leaves: greys no further off than one code of every channel at once.
func TestDepths(t *testing.T) {
	for _, bits := range []int{6, 8, 10} {
		p := &panel{bits: bits, noise: mainJob()}
		r := onPanel(t, p, aim.Aim{White: d65(t), Luminance: 100})
		top := float64(int(1)<<bits) - 1
		var worst float64
		for i := 1; i <= int(top); i++ {
			in := colorimetry.Gray(float64(i) / top)
			if in.R < math.Max(0.15, r.HoldSignal) && bits > 6 || in.R < 0.3 {
				continue
			}
			// Half a code of a power of 2.3 at this device signal, and the
			// curve's straight lines and the readings' noise on top.
			d := r.Curves.Apply(in).Min()
			allowed := 2.3*0.5/top/d + 0.006
			miss := math.Abs(p.truth(in).Y/r.Aim.Target(in.R, p.black, r.Aim.Luminance).Y - 1)
			worst = math.Max(worst, miss/allowed)
		}
		t.Logf("%d bits: %.2f of what rounding and noise allow; rounding %.3f hold %.3f lost %d and %d", bits, worst, r.QuantisationFloor, r.HoldSignal, r.LostLevels8, r.LostLevels10)
		if worst > 1 {
			t.Errorf("%d bits: %.2f times what is allowed", bits, worst)
		}
	}
}

// TestBlackPolicies holds a display with a bright neutral black to the aim's
// own curve, by both policies and with a black that was asked for.
func TestBlackPolicies(t *testing.T) {
	black := d65(t).XYZ(0.4)
	for _, a := range []aim.Aim{
		{White: d65(t), Luminance: 100},
		{White: d65(t), Luminance: 100, Black: aim.BlackLift, Tone: tone.Power{Gamma: 2.4}},
		{White: d65(t), Luminance: 100, BlackCdM2: 1},
		{White: d65(t), Tone: tone.SRGB{}},
	} {
		p := &panel{bits: 10, black: black, noise: mainJob()}
		r := onPanel(t, p, a)
		f := judge(p.truth, r)
		if f.whiteUV > 0.0008 || f.even > 0.01 || f.every > 0 {
			t.Errorf("%+v: %+v", a, f)
		}
		want := black.Y
		if a.BlackCdM2 > 0 {
			want = a.BlackCdM2
		}
		if y := p.truth(colorimetry.RGB{}).Y; math.Abs(y-want) > 0.01 {
			t.Errorf("%+v: the black is %g cd/m², want %g", a, y, want)
		}
		if r.HoldSignal > 0.05 {
			t.Errorf("%+v: holds from %g only", a, r.HoldSignal)
		}
	}
}

// TestNothingToDo: a display that has its aim keeps nearly all its levels.
func TestNothingToDo(t *testing.T) {
	p := &panel{bits: 10, noise: mainJob()}
	gamma := [3]float64{2.3, 2.2, 2.1}
	r := onPanel(t, p, aim.Aim{})
	if y := primaries().FromLinear(colorimetry.Gray(1)).Y; math.Abs(r.Aim.Luminance/y-1) > 0.005 {
		t.Errorf("native luminance %g, the display has %g", r.Aim.Luminance, y)
	}
	for i := 20; i < 256; i++ {
		v := float64(i) / 255
		d := r.Curves.Apply(colorimetry.Gray(v))
		for c, got := range [3]float64{d.R, d.G, d.B} {
			if want := math.Pow(v, 2.2/gamma[c]); math.Abs(got-want) > 0.006 {
				t.Errorf("channel %d at %.3f: %.4f, by hand %.4f", c, v, got, want)
			}
		}
	}
	if r.LostLevels8 > 2 {
		t.Errorf("%d levels lost", r.LostLevels8)
	}
}

// TestResume: whatever reading the journal ends with, the curves are the same
// to the byte.
func TestResume(t *testing.T) {
	for _, c := range []struct {
		name  string
		panel simulate.Panel
		o     curves.Options
		cuts  []float64
	}{
		{"even", simulate.WideGamutLCD, curves.Options{Passes: 2}, []float64{0, 0.33, 0.5, 0.75, 0.98, 1}},
		// Passes that read code by code, each by what those before it said.
		{"uneven", simulate.ReferenceOLED, curves.Options{Bits: 8}, []float64{0.6, 0.9}},
	} {
		t.Run(c.name, func(t *testing.T) {
			run := func(journal *measure.Memory, replay [][]byte) curves.Result {
				t.Helper()
				d := simulate.Measured(c.panel, simulate.Options{Seed: 5, Bits: c.o.Bits})
				s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock(), Journal: journal, Replay: replay})
				if err != nil {
					t.Fatal(err)
				}
				r, err := curves.Correct(context.Background(), s, aim.Aim{White: d65(t), Luminance: 100}, c.o)
				if err != nil {
					t.Fatal(err)
				}
				if s.Curves().Digest() != r.Curves.Digest() {
					t.Error("the curves returned are not in force")
				}
				return r
			}
			whole := measure.NewMemory(nil)
			want := run(whole, nil)
			if c.name == "uneven" && want.Jumps+want.Grain == 0 {
				t.Error("the tone counts as even: the test shows nothing")
			}
			lines := whole.Lines()
			for _, share := range c.cuts {
				cut := max(int(share*float64(len(lines))), 1)
				got := run(measure.NewMemory(lines[:cut]), lines[:cut])
				if d := cmp.Diff(want.Curves.Digest(), got.Curves.Digest()); d != "" {
					t.Errorf("resumed after %d of %d lines: %s", cut, len(lines), d)
				}
				if d := cmp.Diff(want.Passes, got.Passes); d != "" {
					t.Errorf("resumed after %d of %d lines: %s", cut, len(lines), d)
				}
			}
		})
	}
}

// TestFloor: on the display that leaks blue the floor is where physics has it,
// greys keep their luminance below it, and their colour goes over to the
// native black's without a step back.
func TestFloor(t *testing.T) {
	d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 4})
	k := d.Truth(colorimetry.RGB{})
	m := colorimetry.Columns(d.Truth(colorimetry.RGB{R: 1}).Sub(k), d.Truth(colorimetry.RGB{G: 1}).Sub(k), d.Truth(colorimetry.RGB{B: 1}).Sub(k))
	inv, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	_, r := walk(t, d, aim.Aim{White: d65(t)}, false, curves.Options{})
	floor := 1.0
	for floor > 0 && inv.ToLinear(r.Aim.Target(floor, k, r.Aim.Luminance).Sub(k)).Min() >= 0 {
		floor -= 0.001
	}
	// Stated for this display with its measurements: a D65 grey of this display begins near 20 % signal.
	t.Logf("floor %.3f, by the truth %.3f (%s)", r.FloorSignal, floor, r.FloorCause)
	if math.Abs(r.FloorSignal-floor) > 0.01 || math.Abs(floor-0.2) > 0.03 || !strings.Contains(r.FloorCause, "blue") {
		t.Errorf("floor %.3f (%s), by the truth %.3f", r.FloorSignal, r.FloorCause, floor)
	}
	if d.Truth(colorimetry.RGB{}) != k {
		t.Error("signal 0 is not the native black")
	}
	last := math.Inf(1)
	for i := range 64 {
		s := float64(i) / 63 * floor
		c, want := d.Truth(colorimetry.Gray(s)), r.Aim.Target(math.Round(s*1023)/1023, k, r.Aim.Luminance)
		if miss := math.Abs(c.Y/want.Y - 1); miss > 0.02 {
			t.Errorf("luminance is %.4f off at signal %.3f below the floor", miss, s)
		}
		off := c.UV().Distance(want.UV())
		if off > last+0.002 {
			t.Errorf("at signal %.3f the colour goes back from the white: %.4f after %.4f", s, off, last)
		}
		last = math.Min(last, off)
	}
	if black := k.UV().Distance(r.Aim.White.At.UV()); black < 0.01 || last > 0.002 {
		t.Errorf("the black is %.4f off the white's chromaticity and the grey at the floor %.4f: nothing to go over", black, last)
	}
}
