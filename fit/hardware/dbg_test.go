package hardware_test

import (
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit"
	"example.org/primaries/fit/hardware"
)

func TestDbg(t *testing.T) {
	e := simulate.CoupledLCD
	readings := characterised(t, e, 1, 150)
	residual, _ := fit.Residual(readings, nil, fit.Options{})
	b := &box{display: simulate.Invented(e, simulate.Options{Bits: 10, Seed: 2})}
	want := hardware.Want{Space: rgb.SRGB()}
	want.Aim.Luminance = 100
	var d hardware.Diagnostics
	for _, o := range []hardware.Options{{Bits: 10, Nodes: 17}, {Bits: 16, PathBits: 10, Nodes: 33}} {
		b.table, d = build(t, residual, want, o)
		white := d.White
		t.Logf("%+v", d)
		for i := range 33 {
			s := colorimetry.Gray(float64(i) / 64).Quantise(10)
			w := hardware.WantedOf(residual, want, s)
			tr, mo := b.truth(s), residual.XYZ(b.device(s))
			t.Logf("%.4f dev %.4v want %.3f truth %.3f model %.3f: true %.3f model %.3f", s.R, b.device(s), w, tr, mo, difference.CIEDE2000(w.Lab(white), tr.Lab(white)), difference.CIEDE2000(w.Lab(white), mo.Lab(white)))
		}
	}
}
