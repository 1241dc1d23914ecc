package icc_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// TestLittleCMSOpensTheWalksProfiles holds the profiles that the whole job
// writes, of three measured displays in both versions, against Little CMS:
// 1,000 colours each, relative and absolute. The limit is 0.05 ΔE*ab, since
// their curves are sampled.
func TestLittleCMSOpensTheWalksProfiles(t *testing.T) {
	white, err := aim.Illuminant("D65")
	if err != nil {
		t.Fatal(err)
	}
	for _, panel := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD, simulate.CRT} {
		for _, version := range []icc.Version{icc.V4, icc.V2} {
			t.Run(fmt.Sprint(panel, ", ", version), func(t *testing.T) {
				d := simulate.Measured(panel, simulate.Options{Seed: 11})
				run, err := characterise.Run(context.Background(), characterise.Setup{
					Measure: measure.Setup{Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Controls: d, Clock: d.Clock(), Seed: 11},
					Aim:     aim.Aim{White: white, Luminance: 100},
					Profile: profile.Options{Version: version},
				})
				if err != nil {
					t.Fatal(err)
				}
				against(t, run.Profile.Bytes)
			})
		}
	}
}

func against(t *testing.T, b []byte) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "walk.icc")
	if err := os.WriteFile(file, b, 0o666); err != nil {
		t.Fatal(err)
	}
	p, err := icc.Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	for _, intent := range []icc.Intent{icc.Relative, icc.Absolute} {
		e, err := icc.NewEvaluator(p, intent)
		if err != nil {
			t.Fatal(err)
		}
		signals := icc.TestSignals(uint64(intent))
		device := make([][3]float64, len(signals))
		for i, c := range signals {
			device[i] = [3]float64{255 * c.R, 255 * c.G, 255 * c.B}
		}
		worst := 0.0
		for i, v := range icc.Transicc(t, file, "*Lab", intent, device) {
			ours := e.ToPCS(signals[i]).Lab(colorimetry.D50())
			worst = max(worst, math.Sqrt(math.Pow(v[0]-ours.L, 2)+math.Pow(v[1]-ours.A, 2)+math.Pow(v[2]-ours.B, 2)))
		}
		t.Logf("%v: worst ΔE*ab of %d colours %.4f", intent, len(signals), worst)
		if worst > 0.05 {
			t.Errorf("%v: worst ΔE*ab %.4f, at most 0.05", intent, worst)
		}
	}
}
