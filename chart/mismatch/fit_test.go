package mismatch

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// With the same variance for every component, and an instrument without noise,
// the weights fall out: the worked table of least squares holds.
func TestFitWorked(t *testing.T) {
	rows := table(t, "least_squares_matrix.csv")
	pairs := map[string][]Pair{}
	for _, row := range rows {
		n := row["case"]
		pairs[n] = append(pairs[n], Pair{row["patch"], xyzOf(t, row, "_ref"), xyzOf(t, row, "_tgt"),
			colorimetry.Identity(), colorimetry.Identity().Scale(1e-24)})
	}
	for _, row := range rows {
		if row["patch"] != "0" {
			continue
		}
		f, err := Fit(pairs[row["case"]], FitOptions{MostUV: 10})
		if err != nil {
			t.Fatal(err)
		}
		want := matrixOf(t, row)
		for i := range 3 {
			for j := range 3 {
				if d := math.Abs(f.Matrix[i][j] - want[i][j]); !(d <= 1e-9) {
					t.Errorf("%s: m%d%d = %.12g, want %.12g", row["case"], i+1, j+1, f.Matrix[i][j], want[i][j])
				}
			}
		}
		if r := num(t, row, "rms_residual"); math.Abs(f.Residual-r) > 1e-8 || f.Misfit != 0 || f.Freedom != 15 {
			t.Errorf("%s: residual %.9g, want %.9g; misfit %g, freedom %d", row["case"], f.Residual, r, f.Misfit, f.Freedom)
		}
	}
}

var someLights = []colorimetry.XYZ{{X: 41, Y: 21, Z: 2}, {X: 36, Y: 72, Z: 12}, {X: 18, Y: 7, Z: 95}, {X: 95, Y: 100, Z: 109}, {X: 20, Y: 21, Z: 23}, {X: 50, Y: 60, Z: 100}}

var misread = colorimetry.Matrix{{1.03, -0.02, 0.01}, {0.02, 0.97, 0.005}, {-0.004, 0.01, 0.96}}

func disturbed(c colorimetry.XYZ, n measure.Noise, rng *rand.Rand) colorimetry.XYZ {
	xy := c.Chromaticity()
	xy.X += n.Chromaticity * rng.NormFloat64()
	xy.Y += n.Chromaticity * rng.NormFloat64()
	return xy.XYZ(c.Y * (1 + n.Luminance*rng.NormFloat64()))
}

// What a correction says of its error in any colour must be what draws show: by
// the squared error in units of the stated covariance, which has a mean of 3,
// for weighted pairs, for the four-colour method, and for weighted pairs with a
// misfit. Residuals must be as large as the noise: ChiSquared about Freedom.
func TestStatedCovariances(t *testing.T) {
	noise := [2]measure.Noise{{Chromaticity: 0.0002, Luminance: 0.002, FloorCdM2: 1e-6}, {Chromaticity: 0.0005, Luminance: 0.005, FloorCdM2: 1e-6}}
	colours := []colorimetry.XYZ{{X: 95, Y: 100, Z: 109}, {X: 20, Y: 30, Z: 10}, {X: 18, Y: 7, Z: 95}, {X: 41, Y: 21, Z: 2}}
	rng := rand.New(rand.NewPCG(7, 8))
	const draws = 1500
	truly, err := misread.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	var seen [2][4]float64
	var chi float64
	misfits := 0
	for range draws {
		var pairs []Pair
		for _, l := range someLights {
			raw := misread.Apply(l)
			pairs = append(pairs, Pair{"", disturbed(l, noise[0], rng), disturbed(raw, noise[1], rng), noise[0].Covariance(l, 1), noise[1].Covariance(raw, 1)})
		}
		fit, err := Fit(pairs, FitOptions{})
		if err != nil {
			t.Fatal(err)
		}
		chi += fit.ChiSquared / draws
		if fit.Misfit > 0 {
			misfits++
			continue // it states more, rightly so: it cannot know
		}
		var r, m four
		for i := range 4 {
			r.xyz[i], m.xyz[i], r.cov[i], m.cov[i] = pairs[i].Reference, pairs[i].Instrument, pairs[i].ReferenceCovariance, pairs[i].InstrumentCovariance
		}
		four, err := FourColour(r.xyz, m.xyz)
		if err != nil {
			t.Fatal(err)
		}
		if err := four.carry(r, m); err != nil {
			t.Fatal(err)
		}
		for i, c := range []Correction{fit.Correction, four} {
			for k, l := range colours {
				raw := misread.Apply(l)
				got := c.Correct(raw)
				inv, err := got.Systematic.Inverse()
				if err != nil {
					t.Fatal(err)
				}
				d := got.XYZ.Sub(truly.Apply(raw))
				w := inv.Apply(d)
				seen[i][k] += (d.X*w.X + d.Y*w.Y + d.Z*w.Z) / 3
			}
		}
	}
	n := float64(draws - misfits)
	for i, name := range []string{"weighted", "four-colour"} {
		for k := range colours {
			ratio := seen[i][k] / n
			t.Logf("%s, colour %d: squared error over what is stated %.3f", name, k, ratio)
			// 1500 draws of 3 components know it to 2 %; runs with a misfit, the 5 %
			// with the largest residuals, are left out, whose errors are alike.
			if ratio < 0.92 || ratio > 1.08 {
				t.Errorf("%s, colour %d: squared error is %.3f of what is stated", name, k, ratio)
			}
		}
	}
	if math.Abs(chi/9-1) > 0.05 || misfits < draws/40 || misfits > draws/12 {
		t.Errorf("chi squared %.2f of 9 degrees, %d of %d draws told a misfit", chi, misfits, draws)
	}
}

// A misfit that is there is found, in size, and states itself in the error.
func TestMisfit(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	small := measure.Noise{Chromaticity: 0.0001, Luminance: 0.0005, FloorCdM2: 1e-6}
	var sum, uv float64
	const draws = 200
	for range draws {
		var pairs []Pair
		for i := range 30 {
			l := someLights[i%6]
			raw := misread.Apply(l)
			odd := disturbed(l, measure.Noise{Chromaticity: 0.001, Luminance: 0.008}, rng)
			pairs = append(pairs, Pair{"", odd, raw, small.Covariance(l, 1), small.Covariance(raw, 1)})
		}
		f, err := Fit(pairs, FitOptions{})
		if err != nil {
			t.Fatal(err)
		}
		sum, uv = sum+f.Misfit/draws, uv+f.UncertaintyUV/draws
		if len(f.Residuals) != 30 || f.LargestUV <= 0 {
			t.Fatalf("%+v", f)
		}
	}
	t.Logf("misfit %.5f, uncertainty of white %.5f in u'v'", sum, uv)
	if math.Abs(sum/0.001-1) > 0.05 || uv < 0.0009 || uv > 0.0012 {
		t.Errorf("a misfit of 0.001 came out as %.5f, in u'v' of white %.5f", sum, uv)
	}
}

func TestFitRefuses(t *testing.T) {
	good := func() (out []Pair) {
		n := measure.Noise{Chromaticity: 0.0005, Luminance: 0.002, FloorCdM2: 0.001}
		for _, l := range someLights {
			raw := misread.Apply(l)
			out = append(out, Pair{"light", l, raw, n.Covariance(l, 4), n.Covariance(raw, 4)})
		}
		return out
	}
	if _, err := Fit(good(), FitOptions{}); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		spoil func(p []Pair) []Pair
		want  error // nil = any
	}{
		"two pairs":         {func(p []Pair) []Pair { return p[:2] }, nil},
		"greys alone":       {func(p []Pair) []Pair { return []Pair{p[3], p[4], p[3], p[4]} }, ErrDegenerate},
		"two of one colour": {func(p []Pair) []Pair { return []Pair{p[0], p[0], p[1], p[1]} }, ErrDegenerate},
		"red and green swapped": {func(p []Pair) []Pair {
			p[0].Reference, p[1].Reference = p[1].Reference, p[0].Reference
			return p
		}, ErrUnsupported},
		"one reading of the patch before": {func(p []Pair) []Pair {
			p[5].Reference = colorimetry.XYZ{X: 52, Y: 60, Z: 92}
			return p
		}, ErrUnsupported},
		"so much noise": {func(p []Pair) []Pair {
			for i := range p {
				p[i].InstrumentCovariance = p[i].InstrumentCovariance.Scale(4000)
			}
			return p
		}, ErrUnsupported},
		"a corner of the gamut": {func(p []Pair) []Pair {
			n := measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}
			var out []Pair
			for _, l := range []colorimetry.XYZ{{X: 95, Y: 100, Z: 109}, {X: 96, Y: 100, Z: 105}, {X: 97, Y: 103, Z: 109}} {
				out = append(out, Pair{"near white", l, l, n.Covariance(l, 16), n.Covariance(l, 16)})
			}
			return out
		}, ErrUnsupported},
		"darkness":     {func(p []Pair) []Pair { p[2].Reference = colorimetry.XYZ{}; return p }, nil},
		"no number":    {func(p []Pair) []Pair { p[1].Instrument.Z = math.NaN(); return p }, nil},
		"no variance":  {func(p []Pair) []Pair { p[1].ReferenceCovariance = colorimetry.Diagonal(-1e9, 1, 1); return p }, nil},
		"bad variance": {func(p []Pair) []Pair { p[1].ReferenceCovariance[1][2] = math.NaN(); return p }, nil},
	} {
		_, err := Fit(c.spoil(good()), FitOptions{})
		if err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		} else {
			t.Logf("%s: %v", name, err)
		}
	}
	if _, err := Fit(good(), FitOptions{MostUV: -1}); err == nil {
		t.Error("a limit below 0 was taken")
	}
}

// A certificate's uncertainty is added as stated at white.
func TestWithUncertainty(t *testing.T) {
	c := Correction{Matrix: colorimetry.Identity()}
	white := colorimetry.XYZ{X: 95, Y: 100, Z: 109}
	got := c.WithUncertainty(white, 0.003, 0.02).WithUncertainty(white, 0.004, 0)
	r := measure.Reading{XYZ: white, Covariance: got.Covariance.Of(white)}
	if math.Abs(r.SpreadUV()-0.005) > 1e-9 || math.Abs(r.SpreadShare()-0.02) > 1e-12 || math.Abs(got.UncertaintyUV-0.005) > 1e-12 || got.UncertaintyY != 0.02 {
		t.Errorf("%g, %g; %g, %g", r.SpreadUV(), r.SpreadShare(), got.UncertaintyUV, got.UncertaintyY)
	}
	// One error for all: greys keep their difference but for their luminance.
	if d := got.Covariance.Of(white.Sub(white.Scale(0.999))); d[1][1] > 1e-5 {
		t.Errorf("neighbours differ by %v", d)
	}
	if got := c.WithUncertainty(colorimetry.XYZ{}, 1, 1); got != c {
		t.Error("darkness is uncertain")
	}
}
