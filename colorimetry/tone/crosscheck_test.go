package tone_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/tone"
)

// testdata/crosscheck.csv names its source; twelve digits, of which the power laws
// magnify the rounding of v.
func TestAgainstOtherLibraries(t *testing.T) {
	const diffuse, scale = 203.0 / 10000, 3.7743 // what the library calls 1 in PQ and in HLG
	pq, hlg := tone.PQ{}, tone.HLGCamera{}
	checks := []struct {
		column string
		got    func(v float64) float64
		tol    float64
	}{
		{"light_srgb", tone.SRGB{}.Light, 1e-10}, {"signal_srgb", tone.SRGB{}.Signal, 1e-10},
		{"light_srgb_culori", tone.SRGB{}.Light, 1e-10}, {"signal_srgb_culori", tone.SRGB{}.Signal, 1e-10},
		{"light_adobe", tone.Power{Gamma: 563.0 / 256}.Light, 1e-10}, {"signal_adobe", tone.Power{Gamma: 563.0 / 256}.Signal, 1e-10},
		{"light_romm", tone.ROMM{}.Light, 1e-10}, {"signal_romm", tone.ROMM{}.Signal, 1e-10},
		{"light_bt1886", tone.BT1886{}.Light, 1e-10}, {"signal_bt1886", tone.BT1886{}.Signal, 1e-10},
		{"light_bt2020", tone.BT2020{}.Light, 1e-10}, {"signal_bt2020", tone.BT2020{}.Signal, 1e-10},
		{"light_pq", func(v float64) float64 { return pq.Light(v) / diffuse }, 1e-10},
		{"signal_pq", func(v float64) float64 { return pq.Signal(v * diffuse) }, 1e-10},
		// The library has b and c in eight digits: 4.7e-10 in c are 2.7e-9 of
		// the light.
		{"light_hlg", func(v float64) float64 { return hlg.Light(v) * scale }, 3e-9},
		{"signal_hlg", func(v float64) float64 { return hlg.Signal(v / scale) }, 3e-9},
		{"lstar", func(v float64) float64 { return 100 * tone.LStar{}.Signal(v) }, 1e-10},
	}
	rows := worked.Read(t, "crosscheck.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	for i, row := range rows {
		v := row.Num(t, "v")
		for _, k := range checks {
			if got, want := k.got(v), row.Num(t, k.column); math.Abs(got-want) > k.tol*math.Abs(want) {
				t.Errorf("row %d, %s of %g: got %.13g, want %.13g", i+1, k.column, v, got, want)
			}
		}
	}
}
