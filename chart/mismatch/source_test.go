package mismatch

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// filters are invented sensitivities: the observer's own, moved by a few nm and
// with a foot, so that f1' is some percent.
func filters(t *testing.T) [3]spectrum.Spectrum {
	t.Helper()
	o := spectrum.CIE1931()
	var out [3]spectrum.Spectrum
	for i, s := range []spectrum.Spectrum{o.XBar, o.YBar, o.ZBar} {
		nm, v := s.Samples()
		moved := make([]float64, len(v))
		for j, w := range nm {
			moved[j] = s.At(w-[]float64{2, -1.5, 1.2}[i])*(1+0.02*math.Sin(w/30)) + 0.002
		}
		var err error
		if out[i], err = spectrum.New(nm, moved); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// A matrix from the primaries' spectra is exact for every mixture of them,
// since light adds (Grassmann's laws).
func TestFromSourceIsExactForMixtures(t *testing.T) {
	obs, sens := spectrum.CIE1931(), filters(t)
	rng := rand.New(rand.NewPCG(1, 2))
	for _, panel := range spectrum.PanelSources() {
		c, err := FromSource(sens, panel.Primaries, obs)
		if err != nil {
			t.Fatal(err)
		}
		for range 20 {
			mix := panel.Primaries[0].Scale(rng.Float64()).Add(panel.Primaries[1].Scale(rng.Float64())).Add(panel.Primaries[2].Scale(rng.Float64()))
			want, raw := obs.Emission(mix), instrument(sens).Emission(mix)
			if d := c.Apply(raw).Sub(want); math.Abs(d.X)+math.Abs(d.Y)+math.Abs(d.Z) > 1e-9*want.Y {
				t.Fatalf("%s: %v, want %v", panel.Key, c.Apply(raw), want)
			}
			if raw.UV().Distance(want.UV()) < 1e-4 {
				t.Fatalf("%s: the invented instrument has no error to correct", panel.Key)
			}
		}
	}
}

func TestForUnknown(t *testing.T) {
	obs, sens, panels := spectrum.CIE1931(), filters(t), spectrum.PanelSources()
	c, err := ForUnknown(sens, panels, obs)
	if err != nil {
		t.Fatal(err)
	}
	known, err := FromSource(sens, panels[0].Primaries, obs)
	if err != nil {
		t.Fatal(err)
	}
	if c.Matrix != known.Matrix {
		t.Error("the first kind of panel is not the one assumed")
	}
	if !(c.UncertaintyUV > 0 && c.UncertaintyUV <= c.LargestUV && c.UncertaintyY > 0) {
		t.Errorf("spread %g, largest %g, luminance %g", c.UncertaintyUV, c.LargestUV, c.UncertaintyY)
	}
	if _, err := ForUnknown(sens, panels[:1], obs); err == nil {
		t.Error("one kind has no spread")
	}
	if _, err := FromSource(sens, [3]spectrum.Spectrum{}, obs); err == nil {
		t.Error("darkness was corrected")
	}
}

// The stated uncertainty must be that of the correction, seen by drawing the
// readings many times.
func TestFromPairsUncertainty(t *testing.T) {
	truth := [4]colorimetry.XYZ{{X: 41, Y: 21, Z: 2}, {X: 36, Y: 72, Z: 12}, {X: 18, Y: 7, Z: 95}, {X: 95, Y: 100, Z: 109}}
	signals := [4]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, colorimetry.Gray(1)}
	mis := colorimetry.Matrix{{1.03, -0.02, 0.01}, {0.02, 0.97, 0.005}, {-0.004, 0.01, 0.96}}
	noise := [2]measure.Noise{{Chromaticity: 0.0003, Luminance: 0.002, FloorCdM2: 0.002}, {Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}}
	rng := rand.New(rand.NewPCG(3, 4))
	draw := func(c colorimetry.XYZ, n measure.Noise) measure.Reading {
		xy := c.Chromaticity()
		xy.X += n.Chromaticity * rng.NormFloat64()
		xy.Y += n.Chromaticity * rng.NormFloat64()
		got := xy.XYZ(c.Y * (1 + n.Luminance*rng.NormFloat64()))
		return measure.Reading{Raw: got, XYZ: got, Covariance: n.Covariance(c, 1)}
	}
	const draws, times = 3000, 4
	var uv2, y2, stated, statedY float64
	for range draws {
		var ref, meas []measure.Reading
		for i, s := range signals {
			for range times {
				r, m := draw(truth[i], noise[0]), draw(mis.Apply(truth[i]), noise[1])
				r.Patch, m.Patch = chart.Patch{Signal: s}, chart.Patch{Signal: s}
				m.XYZ = colorimetry.XYZ{X: 1} // must not be used
				ref, meas = append(ref, r), append(meas, m)
			}
		}
		c, err := FromPairs(ref, meas)
		if err != nil {
			t.Fatal(err)
		}
		got := c.Apply(mis.Apply(truth[3]))
		d := got.UV().Distance(truth[3].UV())
		uv2 += d * d
		y2 += (got.Y/truth[3].Y - 1) * (got.Y/truth[3].Y - 1)
		stated += c.UncertaintyUV
		statedY += c.UncertaintyY
	}
	// 3000 draws know a root mean square to about 2 %; the draws leave out the
	// floor, which is some 1 % of the noise here.
	if got, want := stated/draws, math.Sqrt(uv2/draws); math.Abs(got/want-1) > 0.06 {
		t.Errorf("u'v' uncertainty is stated as %.6f, seen as %.6f", got, want)
	}
	if got, want := statedY/draws, math.Sqrt(y2/draws); math.Abs(got/want-1) > 0.06 {
		t.Errorf("luminance uncertainty is stated as %.6f, seen as %.6f", got, want)
	}
	t.Logf("u'v' %.6f stated, %.6f seen; Y %.5f, %.5f", stated/draws, math.Sqrt(uv2/draws), statedY/draws, math.Sqrt(y2/draws))
	if _, err := FromPairs(nil, nil); err == nil {
		t.Error("no readings were enough")
	}
}
