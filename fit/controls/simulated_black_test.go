package controls_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
)

// TestBlackOfSimulated holds the black of simulated displays, whose offsets act
// before a measured tone, against the truth without noise. A common control ends
// within the share that is left alone or at the step that is really nearest;
// offsets of channels each so in their share of the white. White and luminance
// stay at the aim.
func TestBlackOfSimulated(t *testing.T) {
	biased := simulate.ReferenceOLED.Spec()
	biased.Offset = simulate.Offset{Each: 0.1}
	leaking := simulate.WideGamutLCD.Spec()
	leaking.Offset = simulate.Offset{Common: 0.1}
	for _, c := range []struct {
		name  string
		spec  simulate.Spec
		want  aim.Aim
		floor bool // the display's own black is brighter than the aim's
	}{
		{"tube", simulate.CRT.Spec(), aim.Aim{Luminance: 80, BlackCdM2: 0.1}, false},
		{"tube by ratio", simulate.OldCRT.Spec(), aim.Aim{Luminance: 70, BlackRatio: 400}, false},
		{"offsets of channels", biased, aim.Aim{Luminance: 100, BlackCdM2: 0.05}, false},
		{"leaking, up", leaking, aim.Aim{Luminance: 120, BlackCdM2: 1.2}, false},
		{"leaking, own black above", leaking, aim.Aim{Luminance: 120, BlackCdM2: 0.05}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			var n, ended, covered, inY, moves, worst float64
			for seed := range max(*seedCount, 20) {
				d, err := simulate.New(c.spec, simulate.Options{Seed: seed, ReferenceNoise: mainJob()})
				if err != nil {
					t.Fatal(err)
				}
				s := open(t, d)
				c.want.White = d65(t)
				r, err := controls.Guide(context.Background(), s, s.Controls(), c.want, controls.Options{})
				if err != nil {
					t.Fatal(err)
				}
				n++
				if black := d.Truth(colorimetry.RGB{}); math.Abs(r.Black.Y-black.Y) <= 1.96*r.BlackUncertainty {
					covered++
				}
				for _, step := range r.Steps {
					if step.Control == measure.Black || strings.HasSuffix(step.Control, "offset") {
						moves++
					}
				}
				if says := strings.Contains(strings.Join(r.Sentences, " "), "lower steps would only take"); says != c.floor {
					t.Errorf("seed %d: own black above: %v, but %q", seed, c.floor, r.Sentences)
				}
				if text := strings.Join(r.Sentences, " "); strings.Contains(text, "lies beyond it") {
					t.Errorf("seed %d: the aim's black lies within the controls' range, but %q", seed, text)
				}
				over := overBlack(t, d, c.want, c.floor, r.BlackUncertainty)
				worst = math.Max(worst, over)
				if over <= 0 {
					ended++
				}
				if uv := d.Truth(colorimetry.Gray(1)).UV().Distance(c.want.White.At.UV()); uv > 0.002 {
					t.Errorf("seed %d: the white is %.4f off", seed, uv)
				}
				y := left(t, d, c.want.White)
				if math.Abs(r.Reachable-y) <= 1.96*r.LuminanceUncertainty {
					inY++
				}
				// A last step of the black may move the white by less than its readings
				// tell: two steps of brightness lie 0.018 apart.
				if over := math.Abs(y-c.want.Luminance) - math.Abs(best(t, d, c.want)-c.want.Luminance); over > 0.018*c.want.Luminance {
					t.Errorf("seed %d: the luminance is %.2f cd/m² further off than need be", seed, over)
				}
			}
			t.Logf("%.0f %% at the aim or the nearest step, the worst %.3f of the black beyond; 95 %% cover %.0f %% of blacks, %.0f %% of luminances; %.1f moves of the black", 100*ended/n, worst, 100*covered/n, 100*inY/n, moves/n)
			if ended < 0.9*n || covered < 0.85*n || inY < 0.8*n {
				t.Error("beyond the limits")
			}
		})
	}
}

// overBlack returns by how much, as a share of the aim's black, the true black
// is further off than its controls' nearest step leaves it and than guidance leaves
// alone, which is 0.05 as far as readings of a standard uncertainty let it be known;
// the worst of all controls. Where the display's own black is brighter than the
// aim's, nearest is any step that gives that, if the next one up does not.
func overBlack(t *testing.T, d *simulate.Display, want aim.Aim, floor bool, uncertainty float64) float64 {
	t.Helper()
	y := want.BlackCdM2
	if want.BlackRatio > 0 {
		y = want.Luminance / want.BlackRatio
	}
	k := d.Truth(colorimetry.RGB{})
	m := colorimetry.Columns(d.Truth(colorimetry.RGB{R: 1}).Sub(k), d.Truth(colorimetry.RGB{G: 1}).Sub(k), d.Truth(colorimetry.RGB{B: 1}).Sub(k))
	inverse, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	target := inverse.ToLinear(want.White.At.XYZ(y))
	miss := map[string]func() float64{
		measure.Black:       func() float64 { return d.Truth(colorimetry.RGB{}).Y/y - 1 },
		measure.RedOffset:   func() float64 { return inverse.ToLinear(d.Truth(colorimetry.RGB{})).R/target.R - 1 },
		measure.GreenOffset: func() float64 { return inverse.ToLinear(d.Truth(colorimetry.RGB{})).G/target.G - 1 },
		measure.BlueOffset:  func() float64 { return inverse.ToLinear(d.Truth(colorimetry.RGB{})).B/target.B - 1 },
	}
	worst := math.Inf(-1)
	for _, c := range d.Controls()[4:] {
		off, least := math.Abs(miss[c.Name]()), math.Inf(1)
		for step := range c.Max + 1 {
			set(t, d, c.Name, step)
			least = math.Min(least, math.Abs(miss[c.Name]()))
		}
		if floor {
			// The next step up must be brighter by more than what counts as the same.
			set(t, d, c.Name, c.Now+3)
			if math.Abs(miss[c.Name]())-off < 0.02 {
				off = math.Inf(1)
			}
		}
		set(t, d, c.Name, c.Now)
		worst = math.Max(worst, off-math.Max(least*(1+1e-9), math.Max(0.06, 0.05+2*uncertainty/y)))
	}
	return worst
}
