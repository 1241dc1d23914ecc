package spectrum_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/spectrum"
)

// The panels are invented; what they must be is plausible. Primaries lie
// within a region around those of the encodings, 100 cd/m² of D65 together,
// and the kinds differ from each other. Regions: common knowledge, no source.
func TestPanelSources(t *testing.T) {
	o := spectrum.CIE1931()
	panels := spectrum.PanelSources()
	if len(panels) != 6 {
		t.Fatalf("%d panels, want 6", len(panels))
	}
	reference := area(rgb.SRGB().R, rgb.SRGB().G, rgb.SRGB().B)
	seen := map[string]bool{}
	for _, p := range panels {
		if p.Key == "" || p.Description == "" || seen[p.Key] {
			t.Errorf("key %q, description %q", p.Key, p.Description)
		}
		seen[p.Key] = true
		var sum colorimetry.XYZ
		var c [3]colorimetry.Chromaticity
		for i, s := range p.Primaries {
			nm, v := s.Samples()
			if len(nm) != 401 || nm[0] != 380 || nm[400] != 780 {
				t.Errorf("%s: %d samples", p.Key, len(nm))
			}
			for _, x := range v {
				if !(x >= 0) {
					t.Fatalf("%s: a spectrum holds %g", p.Key, x)
				}
			}
			light := o.Emission(s)
			sum = sum.Add(light)
			c[i] = light.Chromaticity()
		}
		if d := sum.Sub(colorimetry.D65().Scale(100)); math.Abs(d.X)+math.Abs(d.Y)+math.Abs(d.Z) > 1e-10 {
			t.Errorf("%s: white is %v", p.Key, sum)
		}
		for i, k := range []struct{ x0, x1, y0, y1 float64 }{{0.62, 0.72, 0.28, 0.37}, {0.12, 0.32, 0.58, 0.80}, {0.13, 0.16, 0.03, 0.07}} {
			if !(c[i].X > k.x0 && c[i].X < k.x1 && c[i].Y > k.y0 && c[i].Y < k.y1) {
				t.Errorf("%s: primary %d is %.4f", p.Key, i, c[i])
			}
		}
		share := area(c[0], c[1], c[2]) / reference
		if narrow := p.Key == "blue-yellow"; narrow != (share < 1.05) || share < 0.85 || share > 2 {
			t.Errorf("%s: the triangle in u'v' is %.2f of sRGB's", p.Key, share)
		}
	}
}

// area is that of a triangle in u'v'.
func area(a, b, c colorimetry.Chromaticity) float64 {
	p, q, r := a.UV(), b.UV(), c.UV()
	return math.Abs((q.U-p.U)*(r.V-p.V)-(r.U-p.U)*(q.V-p.V)) / 2
}

// What coarser sampling costs, as Integral's comment states it: the worst over
// every place where the samples can begin.
func TestCoarseSampling(t *testing.T) {
	o := spectrum.CIE1931()
	for _, k := range []struct{ step, xy, y, yLines float64 }{{4, 0.0007, 0.0021, 0.004}, {5, 0.00135, 0.0034, 0.016}} {
		for _, p := range spectrum.PanelSources() {
			for i, s := range p.Primaries {
				exact := o.Emission(s)
				for begin := 380.0; begin < 380+k.step; begin++ {
					var nm, v []float64
					for w := begin; w <= 780; w += k.step {
						nm, v = append(nm, w), append(v, s.At(w))
					}
					got := o.Emission(must(t, nm, v))
					a, b := got.Chromaticity(), exact.Chromaticity()
					limit := k.y
					if p.Key == "blue-red-green" && i == 0 {
						limit = k.yLines
					}
					if d := math.Max(math.Abs(a.X-b.X), math.Abs(a.Y-b.Y)); d > k.xy || math.Abs(got.Y/exact.Y-1) > limit {
						t.Errorf("%s, primary %d, %g nm from %g: off by %.5f in x or y, %.4f in Y", p.Key, i, k.step, begin, d, got.Y/exact.Y-1)
					}
				}
			}
		}
	}
}

func TestPanelSourcesAreTheCallersOwn(t *testing.T) {
	a := spectrum.PanelSources()
	a[0].Key, a[0].Primaries[0] = "changed", spectrum.Spectrum{}
	if b := spectrum.PanelSources(); b[0].Key == "changed" || b[0].Primaries[0].Len() == 0 {
		t.Error("a caller can change what others get")
	}
}
