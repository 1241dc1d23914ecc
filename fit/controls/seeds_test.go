package controls_test

import (
	"context"
	"math"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
)

// TestManySeeds counts, over many seeds of an instrument's noise, how often
// guidance ends at the brightness step that is truly nearest to the luminance,
// how far off it is elsewhere, what it takes, and how often the 95 % interval of
// what it says is left holds the truth. Menus of even, coarse, steep and held
// steps, and displays whose channels interact, are among them.
func TestManySeeds(t *testing.T) {
	for _, c := range []struct {
		name             string
		spec             simulate.Spec
		luminance        float64
		gain, brightness simulate.Response
	}{
		{"oled", simulate.ReferenceOLED.Spec(), 100, simulate.Response{}, simulate.Response{}},
		{"lcd", simulate.WideGamutLCD.Spec(), 120, simulate.Response{}, simulate.Response{}},
		{"crt", simulate.CRT.Spec(), 80, simulate.Response{}, simulate.Response{}},
		{"coarse gains", simulate.WideGamutLCD.Spec(), 120, simulate.Response{Lowest: 0.2, Exponent: 2.2}, simulate.Response{}},
		{"steep brightness", simulate.WideGamutLCD.Spec(), 90, simulate.Response{}, simulate.Response{Lowest: 0.01, Exponent: 3}},
		{"held steps", simulate.WideGamutLCD.Spec(), 110, simulate.Response{Lowest: 0.5, Exponent: 0.8, Hold: 4}, simulate.Response{Lowest: 0.08, Exponent: 1.5, Hold: 5}},
		{"sagging", simulate.SaggingPanel.Spec(), 90, simulate.Response{}, simulate.Response{}},
		{"coupled", simulate.CoupledLCD.Spec(), 120, simulate.Response{}, simulate.Response{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var n, nearest, inY, inUV, moves, mostMoves, readings, mostReadings, integrations, worstY, worstUV float64
			for seed := range max(*seedCount, 40) {
				spec := c.spec
				spec.Gain, spec.Brightness = c.gain, c.brightness
				d, err := simulate.New(spec, simulate.Options{Seed: seed, ReferenceNoise: mainJob()})
				if err != nil {
					t.Fatal(err)
				}
				s := open(t, d)
				want := aim.Aim{White: d65(t), Luminance: c.luminance}
				r, err := controls.Guide(context.Background(), s, s.Controls(), want, controls.Options{})
				if err != nil {
					t.Fatal(err)
				}
				n++
				y := left(t, d, want.White)
				over := math.Abs(y-c.luminance) - math.Abs(best(t, d, want)-c.luminance)
				if over <= 1e-9 {
					nearest++
				}
				worstY = math.Max(worstY, over/c.luminance)
				if math.Abs(r.Reachable-y) <= 1.96*r.LuminanceUncertainty {
					inY++
				}
				white := d.Truth(colorimetry.Gray(1)).UV()
				worstUV = math.Max(worstUV, white.Distance(want.White.At.UV()))
				// 2.45 standard deviations of one direction hold 95 % of a plane;
				// the uncertainty is the root of both directions' variances.
				if white.Distance(r.White.UV()) <= 2.45/math.Sqrt2*r.WhiteUncertainty {
					inUV++
				}
				m := 0.0
				for _, step := range r.Steps {
					if step.Control != "" {
						m++
					}
				}
				moves, mostMoves = moves+m, math.Max(mostMoves, m)
				readings, mostReadings = readings+float64(len(s.Readings())), math.Max(mostReadings, float64(len(s.Readings())))
				for _, x := range s.Readings() {
					integrations += float64(len(x.Repeats))
				}
			}
			t.Logf("%.0f %% at the nearest step, worst %.4f of the luminance off it; white %.5f at most; 95 %% hold %.0f %% of luminances, %.0f %% of whites; %.1f moves, %.0f at most; %.1f readings, %.0f at most, of %.0f integrations",
				100*nearest/n, worstY, worstUV, 100*inY/n, 100*inUV/n, moves/n, mostMoves, readings/n, mostReadings, integrations/n)
			// Where a supply sags the primaries change with brightness, by more
			// than the readings' noise: the interval, which is that of the
			// noise, holds the luminance less often.
			if nearest < 0.88*n || worstY > 0.006 || worstUV > 0.002 || inY < 0.8*n || inUV < 0.85*n || mostMoves > 20 || mostReadings > 24 {
				t.Error("beyond the limits")
			}
		})
	}
}
