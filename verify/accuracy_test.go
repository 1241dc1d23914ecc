package verify_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// reading returns a reading of signal s with the given averages.
func reading(s colorimetry.RGB, xyz colorimetry.XYZ, cov colorimetry.Matrix, averages int) measure.Reading {
	var r measure.Reading
	r.Patch.Signal = s
	r.XYZ, r.Covariance = xyz, cov
	r.Repeats = make([]colorimetry.XYZ, averages)
	return r
}

// covariance returns that of independent normal errors of standard deviation
// s in x and in y and of the share p in Y, to first order.
func covariance(c colorimetry.XYZ, s, p float64) colorimetry.Matrix {
	q := c.Chromaticity()
	x, y, Y := q.X, q.Y, c.Y
	j := colorimetry.Matrix{ // ∂(X, Y, Z)/∂(x, y, Y)
		{Y / y, -x * Y / (y * y), x / y},
		{0, 0, 1},
		{-Y / y, -Y/y - (1-x-y)*Y/(y*y), (1 - x - y) / y},
	}
	return j.Mul(colorimetry.Diagonal(s*s, s*s, p*Y*p*Y)).Mul(j.Transpose())
}

// display is an additive display with a power-law tone and D65 white of
// 100 cd/m², primaries of Display P3 (SMPTE RP 431-2).
func display(s colorimetry.RGB) colorimetry.XYZ {
	// White D65; columns by SMPTE RP 177, from CSS Color Module Level 4,
	// "lin_P3_to_XYZ", in decimal form.
	m := colorimetry.Matrix{
		{0.4865709486482162, 0.26566769316909306, 0.1982172852343625},
		{0.2289745640697488, 0.6917385218365064, 0.079286914093745},
		{0, 0.04511338185890264, 1.043944368900976},
	}
	g := func(v float64) float64 { return 100 * math.Pow(v, 2.2) }
	return m.FromLinear(colorimetry.RGB{R: g(s.R), G: g(s.G), B: g(s.B)})
}

// signals returns n reproducible signals, white first.
func signals(n int) []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(7, 7))
	s := []colorimetry.RGB{{R: 1, G: 1, B: 1}}
	for len(s) < n {
		s = append(s, colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()})
	}
	return s
}

// TestSharmaPairs leads published CIEDE2000 pairs through a whole comparison.
//
// Source: Sharma, Wu and Dalal, Color Res. Appl. 30(1) 21-30 (2005), table 1,
// pairs 1, 17, 20 and 25.
func TestSharmaPairs(t *testing.T) {
	for _, p := range []struct {
		a, b colorimetry.Lab
		want float64
	}{
		{colorimetry.Lab{L: 50, A: 2.6772, B: -79.7751}, colorimetry.Lab{L: 50, A: 0, B: -82.7485}, 2.0425},
		{colorimetry.Lab{L: 50, A: 2.5, B: 0}, colorimetry.Lab{L: 73, A: 25, B: -18}, 27.1492},
		{colorimetry.Lab{L: 50, A: 2.5, B: 0}, colorimetry.Lab{L: 58, A: 24, B: 15}, 19.4535},
		{colorimetry.Lab{L: 60.2574, A: -34.0099, B: 36.2677}, colorimetry.Lab{L: 60.4626, A: -34.1751, B: 39.4387}, 1.2644},
	} {
		white := colorimetry.D65().Scale(80)
		half := colorimetry.Gray(0.5)
		predict := func(s colorimetry.RGB) colorimetry.XYZ {
			if s == half {
				return p.a.XYZ(white)
			}
			return white
		}
		a, err := verify.Profile(predict, []measure.Reading{
			reading(colorimetry.Gray(1), white, colorimetry.Matrix{}, 16),
			reading(half, p.b.XYZ(white), colorimetry.Matrix{}, 4)}, verify.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, got := range []verify.Accuracy{a.Relative, a.Absolute} {
			if math.Abs(got.DeltaE2000.Max-p.want) > 5e-5 { // the table prints four digits
				t.Errorf("%v, %v, %s: got %.5f, want %.4f", p.a, p.b, got.Reference, got.DeltaE2000.Max, p.want)
			}
			if got.Averages != 4 || got.NoiseFloor.Known {
				t.Errorf("averages %d, floor %+v", got.Averages, got.NoiseFloor)
			}
		}
		if a.Relative.WhiteAverages != 16 {
			t.Errorf("white averages %d, want 16", a.Relative.WhiteAverages)
		}
	}
}

// TestRelativeAndAbsolute: a display 10 % brighter than predicted is without
// error relative to its white, and brighter by the lightness of 1.1 in
// absolute figures: L* = 116·∛1.1 − 16 = 103.745 by hand.
func TestRelativeAndAbsolute(t *testing.T) {
	brighter := func(s colorimetry.RGB) colorimetry.XYZ { return display(s).Scale(1.1) }
	relative, absolute, err := verify.Truth(display, brighter, signals(50), verify.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if relative.DeltaE2000.Max > 1e-9 {
		t.Errorf("relative: %v, want 0", relative.DeltaE2000)
	}
	white := absolute.Patches[0]
	if math.Abs(white.Got.L-103.7448) > 5e-4 || math.Abs(white.Want.L-100) > 1e-9 {
		t.Errorf("absolute white L* %.4f and %.4f, want 103.7448 and 100", white.Got.L, white.Want.L)
	}
	if absolute.Basis != verify.AgainstTruth || !absolute.NoiseFloor.Known || absolute.NoiseFloor.Max != 0 || absolute.Averages != 0 {
		t.Errorf("truth has noise or averages: %+v", absolute)
	}
	aim, err := verify.Aim(display, []measure.Reading{reading(colorimetry.Gray(1), brighter(colorimetry.Gray(1)), colorimetry.Matrix{}, 2)}, verify.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if aim.Reference != verify.Absolute || aim.DeltaE2000.Max != white.DeltaE2000 || aim.Averages != 2 {
		t.Errorf("aim: %+v, want the white's %v", aim, white.DeltaE2000)
	}
}

func TestWhiteApart(t *testing.T) {
	set := []measure.Reading{reading(colorimetry.Gray(0.5), display(colorimetry.Gray(0.5)), colorimetry.Matrix{}, 4)}
	if _, err := verify.Profile(display, set, verify.Options{}); !errors.Is(err, verify.ErrNoWhite) {
		t.Errorf("no white: got %v, want ErrNoWhite", err)
	}
	white := reading(colorimetry.Gray(1), display(colorimetry.Gray(1)).Scale(2), colorimetry.Matrix{}, 16)
	a, err := verify.Profile(display, set, verify.Options{White: &white})
	if err != nil {
		t.Fatal(err)
	}
	// Half the relative luminance: 0.5^2.2/2 of the white.
	want := colorimetry.Lightness(math.Pow(0.5, 2.2) / 2)
	if got := a.Relative.Patches[0].Got.L; math.Abs(got-want) > 1e-9 || a.Relative.WhiteAverages != 16 {
		t.Errorf("L* %.4f (white averages %d), want %.4f (16)", got, a.Relative.WhiteAverages, want)
	}
}

func TestStrata(t *testing.T) {
	var set []measure.Reading
	for _, s := range []colorimetry.RGB{
		{R: 1, G: 1, B: 1}, {R: 0.1, G: 0.1, B: 0.1}, // neutrals, the first on the boundary, the second dark
		{R: 0.7}, {G: 1, B: 1}, // primaries and secondaries, on the boundary
		{R: 0.2, G: 0.6, B: 1},   // boundary
		{R: 0.5, G: 0.6, B: 0.7}, // rest
	} {
		set = append(set, reading(s, display(s), colorimetry.Matrix{}, 1))
	}
	a, err := verify.Profile(display, set, verify.Options{})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]int{}
	for _, s := range a.Relative.Strata {
		got[s.Name] = s.DeltaE2000.Count
	}
	want := map[string]int{verify.Neutrals: 2, verify.Primaries: 2, verify.Boundary: 4, verify.Dark: 1, verify.Rest: 1}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestBadReadings(t *testing.T) {
	good := reading(colorimetry.Gray(1), display(colorimetry.Gray(1)), colorimetry.Matrix{}, 1)
	nan := good
	nan.Patch.ID, nan.XYZ.X = "edge", math.NaN()
	negative := good
	negative.Covariance = colorimetry.Diagonal(1, -1, 1)
	infinite := good
	infinite.Covariance[1][2] = math.Inf(1)
	dark := func(colorimetry.RGB) colorimetry.XYZ { return colorimetry.XYZ{} }
	broken := func(s colorimetry.RGB) colorimetry.XYZ {
		if s == colorimetry.Gray(0.5) {
			return colorimetry.XYZ{Y: math.NaN()}
		}
		return display(s)
	}
	for _, c := range []struct {
		name    string
		predict verify.Predict
		set     []measure.Reading
		says    string
	}{
		{"nothing", display, nil, "no reading"},
		{"NaN", display, []measure.Reading{good, nan}, "reading 1 (edge)"},
		{"negative variance", display, []measure.Reading{negative}, "negative variance"},
		{"infinite variance", display, []measure.Reading{infinite}, "covariance"},
		{"black white", dark, []measure.Reading{good}, "white predicted"},
		{"broken prediction", broken, []measure.Reading{good, reading(colorimetry.Gray(0.5), colorimetry.XYZ{}, colorimetry.Matrix{}, 1)}, "prediction for reading 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := verify.Profile(c.predict, c.set, verify.Options{}); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want an error that says %q", err, c.says)
			}
		})
	}
}
