package rgb_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
)

// testdata/spaces.csv: primaries and whites as the standards of its rows print
// them, and matrices worked out elsewhere in double precision: 5e-15 is the
// rounding of some ten operations.
func TestSpacesAgainstStandards(t *testing.T) {
	spaces := map[string]rgb.Space{
		"srgb": rgb.SRGB(), "bt709": rgb.BT709(), "bt601_525": rgb.BT601Lines525(), "bt601_625": rgb.BT601Lines625(),
		"bt2020_10bit": rgb.BT2020(), "bt2020_12bit": rgb.BT2100PQ(), "bt1886_reference": rgb.BT709(), "dci_p3": rgb.P3DCI(),
		"p3_d65": rgb.P3D65(), "display_p3": rgb.DisplayP3(), "adobe_rgb_1998": rgb.AdobeRGB(), "romm_rgb": rgb.ROMM(),
		"aces_ap0": rgb.ACES2065(), "aces_ap1": rgb.ACEScg(),
	}
	rows := worked.Read(t, "spaces.csv")
	if len(rows) != len(spaces) {
		t.Fatalf("%d rows, want %d", len(rows), len(spaces))
	}
	for _, row := range rows {
		s, ok := spaces[row["name"]]
		if !ok {
			t.Fatalf("no encoding for %q", row["name"])
		}
		xy := func(p string) colorimetry.Chromaticity {
			return colorimetry.Chromaticity{X: row.Num(t, p+"x"), Y: row.Num(t, p+"y")}
		}
		if s.R != xy("r") || s.G != xy("g") || s.B != xy("b") || s.White != xy("w") {
			t.Errorf("%s: primaries and white are %v", row["name"], s)
		}
		m, err := s.Matrix()
		if err != nil {
			t.Fatal(err)
		}
		if d := worst(t, m, row); d > 5e-15 {
			t.Errorf("%s: off by %.3g", row["name"], d)
		}
	}
	if a, b := rgb.BT2100HLG(), rgb.BT2100PQ(); a.R != b.R || a.G != b.G || a.B != b.B || a.White != b.White {
		t.Errorf("BT.2100 has two sets of primaries: %v and %v", a, b)
	}
}

// The matrices that SMPTE ST 2065-1 and Academy S-2014-004 print to ten
// digits; from memory, the documents were not opened.
func TestACESAsPrinted(t *testing.T) {
	for _, k := range []struct {
		s    rgb.Space
		want colorimetry.Matrix
	}{
		{rgb.ACES2065(), colorimetry.Matrix{{0.9525523959, 0, 0.0000936786}, {0.3439664498, 0.7281660966, -0.0721325464}, {0, 0, 1.0088251844}}},
		{rgb.ACEScg(), colorimetry.Matrix{{0.6624541811, 0.1340042065, 0.1561876870}, {0.2722287168, 0.6740817658, 0.0536895174}, {-0.0055746495, 0.0040607335, 1.0103391003}}},
	} {
		m, err := k.s.Matrix()
		if err != nil {
			t.Fatal(err)
		}
		for i := range 3 {
			for j := range 3 {
				if math.Abs(m[i][j]-k.want[i][j]) > 5.1e-11 {
					t.Errorf("%s [%d][%d]: %.12f, printed %.10f", k.s.Name, i, j, m[i][j], k.want[i][j])
				}
			}
		}
	}
}

// testdata/colorants.csv: what Little CMS writes into profiles. The tags have
// 16 binary digits after the point, hence 2e-6 beside their rounding of 7.7e-6.
func TestColorantsAgainstLittleCMS(t *testing.T) {
	rows := worked.Read(t, "colorants.csv")
	if len(rows) != 12 {
		t.Fatalf("%d rows, want 12", len(rows))
	}
	for i, row := range rows {
		s := rgb.SRGB()
		if row["primaries"] == "P3" {
			s = rgb.DisplayP3()
		}
		s.White = colorimetry.Chromaticity{X: row.Num(t, "xw"), Y: row.Num(t, "yw")}
		m, err := s.Matrix()
		if err != nil {
			t.Fatal(err)
		}
		adapt, err := colorimetry.Bradford(s.White.XYZ(1), colorimetry.D50())
		if err != nil {
			t.Fatal(err)
		}
		m = adapt.Mul(m)
		for j, name := range []string{"r", "g", "b"} {
			want := colorimetry.XYZ{X: row.Num(t, name+"X"), Y: row.Num(t, name+"Y"), Z: row.Num(t, name+"Z")}
			if d := m.Column(j).Sub(want); math.Abs(d.X) > 2e-6 || math.Abs(d.Y) > 2e-6 || math.Abs(d.Z) > 2e-6 {
				t.Errorf("row %d, %s: off by %v", i+1, name, d)
			}
		}
	}
}

func TestFind(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range rgb.Spaces() {
		if seen[s.Name] {
			t.Errorf("two encodings are called %s", s.Name)
		}
		seen[s.Name] = true
		if got, err := rgb.Find(strings.ToUpper(s.Name)); err != nil || got != s {
			t.Errorf("%s: found %v, %v", s.Name, got, err)
		}
	}
	for name, want := range map[string]rgb.Space{"srgb": rgb.SRGB(), "bt2100-pq": rgb.BT2100PQ(), "p3 d65": rgb.P3D65(), "aces cg": rgb.ACEScg(), "adobergb1998": rgb.AdobeRGB()} {
		if got, err := rgb.Find(name); err != nil || got != want {
			t.Errorf("%q: found %v, %v", name, got, err)
		}
	}
	for _, bad := range []string{"", "rgb", "cmyk", "!"} {
		if _, err := rgb.Find(bad); err == nil || !strings.Contains(err.Error(), "Display P3") || strings.Count(err.Error(), "rgb:") != 1 {
			t.Errorf("%q: error %v", bad, err)
		}
	}
}

// The curve that each standard names: the exponent of the theatre, the knee of
// ROMM, 10,000 cd/m² at the top of PQ.
func TestSpaceCurves(t *testing.T) {
	for name, k := range map[string][2]float64{
		"P3-DCI":           {rgb.P3DCI().Curve.Light(0.5), math.Pow(0.5, 2.6)},
		"P3-D65":           {rgb.P3D65().Curve.Light(0.5), math.Pow(0.5, 2.6)},
		"ROMM RGB":         {rgb.ROMM().Curve.Light(0.03), 0.03 / 16},
		"ACEScg":           {rgb.ACEScg().Curve.Light(-3), -3},
		"BT.2100 PQ":       {rgb.BT2100PQ().Curve.Light(1), 1},
		"BT.2100 HLG":      {rgb.BT2100HLG().Curve.Light(0.5), 1.0 / 12},
		"BT.601 525 lines": {rgb.BT601Lines525().Curve.Light(0.5), math.Pow(0.5, 2.4)},
	} {
		if math.Abs(k[0]-k[1]) > 1e-15 {
			t.Errorf("%s: %g, want %g", name, k[0], k[1])
		}
	}
	if rgb.DisplayP3().Curve != (tone.SRGB{}) {
		t.Error("Display P3 has not the curve of sRGB")
	}
}
