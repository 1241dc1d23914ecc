package appearance_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// colours returns n random ones, dark and light, relative.
func colours(n int) []colorimetry.XYZ {
	r := rand.New(rand.NewPCG(7, 8))
	out := make([]colorimetry.XYZ, n)
	for i := range out {
		out[i], _ = colour(r.Float64(), r.Float64(), r.Float64(), r.Float64())
	}
	return out
}

func models(t testing.TB) (cam02, cam16 *appearance.Model) {
	t.Helper()
	v := appearance.Viewing{White: colorimetry.D65()}
	cam02, err := appearance.NewCIECAM02(v)
	if err != nil {
		t.Fatal(err)
	}
	cam16, err = appearance.NewCAM16(v)
	if err != nil {
		t.Fatal(err)
	}
	return cam02, cam16
}

// perColour is every per-colour function, each reduced to a number.
func perColour(t testing.TB) map[string]func(c colorimetry.XYZ) float64 {
	cam02, cam16 := models(t)
	seen, _ := cam16.Appearance(colorimetry.XYZ{X: 0.2, Y: 0.3, Z: 0.1})
	jab, _ := cam16.Jab(colorimetry.XYZ{X: 0.2, Y: 0.3, Z: 0.1}, appearance.UCS())
	return map[string]func(c colorimetry.XYZ) float64{
		"CIECAM02":   func(c colorimetry.XYZ) float64 { a, _ := cam02.Appearance(c); return a.J },
		"CAM16":      func(c colorimetry.XYZ) float64 { a, _ := cam16.Appearance(c); return a.J },
		"CAM16-back": func(c colorimetry.XYZ) float64 { seen.Hue = c.X; v, _ := cam16.XYZ(seen, appearance.ByJM); return v.X },
		"CAM16-UCS":  func(c colorimetry.XYZ) float64 { a, _ := cam16.Jab(c, appearance.UCS()); return a.J },
		"CAM16-UCS-back": func(c colorimetry.XYZ) float64 {
			jab.A = c.X
			v, _ := cam16.FromJab(jab, appearance.UCS())
			return v.X
		},
		"Oklab":       func(c colorimetry.XYZ) float64 { return appearance.OklabCSS().Oklab(c).L },
		"Oklab-back":  func(c colorimetry.XYZ) float64 { return appearance.OklabFirst().XYZ(appearance.Oklab{L: c.Y}).X },
		"Oklch":       func(c colorimetry.XYZ) float64 { return appearance.Oklab{L: c.Y, A: c.X}.Oklch().Oklab().A },
		"Jzazbz":      func(c colorimetry.XYZ) float64 { j, _ := appearance.FromXYZJzazbz(c); return j.J },
		"Jzazbz-back": func(c colorimetry.XYZ) float64 { v, _ := appearance.Jzazbz{J: c.Y / 20}.XYZ(); return v.X },
		"ICtCp-PQ":    func(c colorimetry.XYZ) float64 { p, _ := appearance.ICtCpPQ.FromXYZ(c); return p.I },
		"ICtCp-HLG":   func(c colorimetry.XYZ) float64 { p, _ := appearance.ICtCpHLG.FromXYZ(c); return p.I },
		"ICtCp-back": func(c colorimetry.XYZ) float64 {
			v, _ := appearance.ICtCpPQ.XYZ(appearance.ICtCp{I: c.Y / 2})
			return v.X
		},
		"quadrature": func(c colorimetry.XYZ) float64 { return appearance.HueOf(appearance.Quadrature(300 * c.Y)) },
	}
}

func TestNoAllocations(t *testing.T) {
	c, sum := colorimetry.XYZ{X: 0.2, Y: 0.3, Z: 0.1}, 0.0
	for name, f := range perColour(t) {
		if n := testing.AllocsPerRun(100, func() { sum += f(c) }); n != 0 {
			t.Errorf("%s: %g allocations a colour", name, n)
		}
	}
	if math.IsNaN(sum) {
		t.Error("a colour of the benchmark is outside a domain")
	}
}

func BenchmarkColour(b *testing.B) {
	const n = 1024
	in := colours(n)
	for name, f := range perColour(b) {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var sum float64
			for b.Loop() {
				for _, c := range in {
					sum += f(c)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/colour")
			if math.IsNaN(sum) {
				b.Fatal("NaN")
			}
		})
	}
}
