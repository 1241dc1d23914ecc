package report_test

import (
	"context"
	"math"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
)

// TestUncertaintyCoversTheTruth: over whole runs on simulated displays, each with
// an instrument corrected by pairs of its own, white and luminance lie as far
// from the simulator's truth as their uncertainties say: the mean square of the
// distance in standard uncertainties is 1. By noise alone it is far above.
//
// Over 16 runs a mean square with 32 degrees of freedom lies between 0.45 and
// 1.9, one with 16 between 0.25 and 2.5, in about 998 of 1000 cases (χ², by common
// tables, from memory).
func TestUncertaintyCoversTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("16 whole runs")
	}
	const seeds = 8
	var white, whiteNoise, light, lightNoise float64
	for _, panel := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD} {
		for seed := range uint64(seeds) {
			d := simulate.Measured(panel, simulate.Options{Seed: seed + 1})
			run, err := characterise.Run(context.Background(), characterise.Setup{
				Measure: measure.Setup{Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Controls: d, Clock: d.Clock(),
					Seed: seed + 1, Digest: "test", Start: d.Clock().Now()},
				Truth: d.Truth, Aim: aim.Aim{White: aim.XY(0.3127, 0.3290), Luminance: 100}, Patches: 60, ProofPatches: 100,
			})
			if err != nil {
				t.Fatal(err)
			}
			r, truth := fromRun(t, run), run.Truth(colorimetry.Gray(1))
			missed := run.ProofWhite.XYZ.UV().Distance(truth.UV())
			white += missed * missed / (2 * r.White.SpreadUV * r.White.SpreadUV) / (2 * seeds)
			whiteNoise += missed * missed / (2 * r.White.RepeatUV * r.White.RepeatUV) / (2 * seeds)
			off := r.LuminanceCdM2 - truth.Y
			light += off * off / (math.Pow(r.LuminanceSpreadCdM2, 2) + math.Pow(r.LuminanceSystematicCdM2, 2)) / (2 * seeds)
			lightNoise += off * off / math.Pow(r.LuminanceSpreadCdM2, 2) / (2 * seeds)
		}
	}
	t.Logf("mean square in standard uncertainties: white %.2f (by noise alone %.2f), luminance %.2f (%.2f)", white, whiteNoise, light, lightNoise)
	if white < 0.45 || white > 1.9 || light < 0.25 || light > 2.5 {
		t.Errorf("mean squares %.2f and %.2f, want about 1", white, light)
	}
	if whiteNoise < 2 || lightNoise < 2 {
		t.Errorf("noise alone explains white and luminance (%.2f, %.2f): this test shows nothing", whiteNoise, lightNoise)
	}
}
