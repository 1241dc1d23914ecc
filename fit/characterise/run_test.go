package characterise_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
	"example.org/primaries/verify"
)

// setup returns the walk over a simulated display, cold at the start.
func setup(t testing.TB, panel simulate.Panel, seed uint64) (characterise.Setup, *simulate.Display) {
	t.Helper()
	d := simulate.Measured(panel, simulate.Options{Seed: seed, Cold: true})
	white, err := aim.Illuminant("D65")
	if err != nil {
		t.Fatal(err)
	}
	return characterise.Setup{
		Measure: measure.Setup{
			Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Controls: d, Clock: d.Clock(),
			Seed: seed, Digest: "test",
		},
		Truth: d.Truth, Aim: aim.Aim{White: white, Luminance: 100},
	}, d
}

// figures are what the main job is judged by.
type figures struct {
	whiteRead, whiteTrue, luminance, grey float64
	readMean, readMax, trueMean, trueMax  float64
	before, after, floor                  float64
}

func judge(t testing.TB, r *characterise.Result) figures {
	t.Helper()
	predict, err := profile.Predictor(r.Profile.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	o := verify.Options{White: &r.ProofWhite, Trials: 1}
	read, err := verify.Profile(predict, r.Proof, o)
	if err != nil {
		t.Fatal(err)
	}
	var signals []colorimetry.RGB
	for _, p := range r.Proof {
		signals = append(signals, p.Patch.Signal)
	}
	truth, _, err := verify.Truth(predict, r.Truth, signals, o)
	if err != nil {
		t.Fatal(err)
	}
	aimUV := r.Aim.White.At.UV()
	f := figures{
		whiteRead: r.ProofWhite.XYZ.UV().Distance(aimUV), whiteTrue: r.Truth(colorimetry.Gray(1)).UV().Distance(aimUV),
		luminance: math.Abs(r.ProofWhite.XYZ.Y/r.Aim.Luminance - 1),
		readMean:  read.Relative.DeltaE2000.Mean, readMax: read.Relative.DeltaE2000.Max,
		trueMean: truth.DeltaE2000.Mean, trueMax: truth.DeltaE2000.Max,
		floor: r.Curves.HoldSignal,
	}
	// The greys of the path that lie above the floor, on the truth, as shares
	// of the luminance that the aim asks for, the black being the display's.
	whiteXYZ, black := r.Aim.White.XYZ(r.Aim.Luminance), r.Truth(colorimetry.RGB{})
	for _, p := range chart.Quantise(chart.Neutral(52), r.Screen.Bits) {
		if s := p.Signal.R; s >= r.Curves.HoldSignal {
			want := r.Aim.TargetOf(s, black, whiteXYZ).Y
			f.grey = math.Max(f.grey, math.Abs(r.Truth(p.Signal).Y/want-1))
		}
	}
	return f
}

func TestTwentySeeds(t *testing.T) {
	for _, panel := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD, simulate.CRT} {
		t.Run(panel.String(), func(t *testing.T) {
			var all []figures
			for seed := range uint64(20) {
				s, _ := setup(t, panel, seed+1)
				r, err := characterise.Run(context.Background(), s)
				if err != nil {
					t.Fatalf("seed %d: %v", seed+1, err)
				}
				f := judge(t, r)
				all = append(all, f)
				t.Logf("seed %2d: %+v L %.1f", seed+1, f, r.Aim.Luminance)
			}
			for name, get := range map[string]func(figures) float64{
				"whiteRead": func(f figures) float64 { return f.whiteRead }, "whiteTrue": func(f figures) float64 { return f.whiteTrue },
				"luminance": func(f figures) float64 { return f.luminance }, "grey": func(f figures) float64 { return f.grey },
				"readMean": func(f figures) float64 { return f.readMean }, "readMax": func(f figures) float64 { return f.readMax },
				"trueMean": func(f figures) float64 { return f.trueMean }, "trueMax": func(f figures) float64 { return f.trueMax },
			} {
				var v []float64
				for _, f := range all {
					v = append(v, get(f))
				}
				slices.Sort(v)
				t.Logf("%s: median %.4f, 19th %.4f, worst %.4f", name, v[9], v[18], v[19])
			}
		})
	}
}
