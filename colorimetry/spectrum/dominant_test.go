package spectrum_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/spectrum"
)

// Root finding elsewhere on 500 random colours and whites.
func TestDominantRandom(t *testing.T) {
	rows := worked.Read(t, "dominant.csv")
	if len(rows) != 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	o := spectrum.CIE1931()
	for i, row := range rows {
		white := colorimetry.Chromaticity{X: row.Num(t, "xw"), Y: row.Num(t, "yw")}
		c := colorimetry.Chromaticity{X: row.Num(t, "x"), Y: row.Num(t, "y")}
		d, err := o.Dominant(c, white)
		if err != nil {
			t.Errorf("row %d: %v", i, err)
			continue
		}
		nm, purity := row.Num(t, "nm"), row.Num(t, "purity")
		if math.Abs(d.WavelengthNM-nm) > 1e-7 || d.Complementary != (row["complementary"] == "1") || math.Abs(d.ExcitationPurity-purity) > 1e-9 {
			t.Errorf("row %d: %v, want %g nm, complementary %s, purity %g", i, d, nm, row["complementary"], purity)
		}
	}
}

// Values that another library's tests hold, to seven decimals and whole nm.
// Its line of purples joins 360 and 830 nm, ours 380 and 700 nm, which moves
// the purple boundary by 0.0002.
func TestDominantPrinted(t *testing.T) {
	o, white := spectrum.CIE1931(), colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	for _, k := range []struct {
		c                         colorimetry.Chromaticity
		nm                        float64
		complementary             bool
		at                        colorimetry.Chromaticity
		excitation, colorimetric  float64
		place, tolerance, tolBoth float64
	}{
		{colorimetry.Chromaticity{X: 0.54369557, Y: 0.32107944}, 616, false, colorimetry.Chromaticity{X: 0.68354746, Y: 0.31628409}, 0.622885671878446, 0.613582813175483, 1e-7, 1e-7, 1e-7},
		{colorimetry.Chromaticity{X: 0.37605506, Y: 0.24452225}, 509, true, colorimetry.Chromaticity{X: 0.45723147, Y: 0.13628148}, 0.438347859215887, 0.244307811178847, 3e-4, 1e-3, 1e-3},
	} {
		d, err := o.Dominant(k.c, white)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(d.WavelengthNM-k.nm) > 0.5 || d.Complementary != k.complementary ||
			math.Hypot(d.Boundary.X-k.at.X, d.Boundary.Y-k.at.Y) > k.place || math.Abs(d.ExcitationPurity-k.excitation) > k.tolerance || math.Abs(d.ColorimetricPurity-k.colorimetric) > k.tolBoth {
			t.Errorf("%v: %+v, want %+v", k.c, d, k)
		}
	}
}

func TestDominantEdges(t *testing.T) {
	o, white := spectrum.CIE1931(), colorimetry.Chromaticity{X: 1.0 / 3, Y: 1.0 / 3}
	// Monochromatic light is its own dominant wavelength, with purity 1. Above
	// 699 nm the locus stands still.
	for nm := 380.0; nm <= 698; nm += 0.37 {
		c, ok := o.Monochromatic(nm)
		if !ok {
			t.Fatal(nm)
		}
		d, err := o.Dominant(c, white)
		// Near the ends a ray crosses the locus at a flat angle or stands still.
		tol := 1e-6
		if nm < 400 || nm > 690 {
			tol = 1e-3
		}
		if err != nil || math.Abs(d.WavelengthNM-nm) > tol || d.Complementary || math.Abs(d.ExcitationPurity-1) > 1e-9 || math.Abs(d.ColorimetricPurity-1) > 1e-9 {
			t.Errorf("%g nm: %+v, %v", nm, d, err)
		}
	}
	for _, other := range spectrum.Observers() {
		for nm := 420.0; nm <= 680; nm += 3.1 {
			c, _ := other.Monochromatic(nm)
			if d, err := other.Dominant(c, white); err != nil || math.Abs(d.WavelengthNM-nm) > 1e-6 {
				t.Errorf("%s, %g nm: %+v, %v", other.Name, nm, d, err)
			}
		}
	}
	if _, err := o.Dominant(white, white); !errors.Is(err, spectrum.ErrNoHue) {
		t.Errorf("the white: %v", err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for name, k := range map[string]struct {
		c, w colorimetry.Chromaticity
		says string
	}{
		"NaN":      {colorimetry.Chromaticity{X: nan, Y: 0.3}, white, "finite"},
		"infinite": {colorimetry.Chromaticity{X: 0.3, Y: inf}, white, "finite"},
		"outside":  {colorimetry.Chromaticity{X: 0.3, Y: 0.3}, colorimetry.Chromaticity{X: 0.1, Y: 0.1}, "not inside"},
		"far out":  {colorimetry.Chromaticity{X: 0.3, Y: 0.3}, colorimetry.Chromaticity{X: 0.9, Y: 0.9}, "not inside"},
	} {
		if _, err := o.Dominant(k.c, k.w); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%s: error %v, want one saying %q", name, err, k.says)
		}
	}
	if d, err := o.Dominant(colorimetry.Chromaticity{X: 0.3, Y: 0}, white); err != nil || !math.IsNaN(d.ColorimetricPurity) || !(d.ExcitationPurity > 1) || !d.Complementary {
		t.Errorf("y = 0: %+v, %v", d, err)
	}
	for _, far := range []float64{1e10, 1e150, 1e300, math.MaxFloat64} {
		if d, err := o.Dominant(colorimetry.Chromaticity{X: far, Y: 5e-324}, white); err == nil && (math.IsInf(d.ExcitationPurity, 0) || math.IsInf(d.ColorimetricPurity, 0)) {
			t.Errorf("%g: %+v", far, d)
		}
	}
	short := must(t, []float64{500, 501}, []float64{1, 1})
	if _, err := (spectrum.Observer{XBar: short, YBar: short, ZBar: short}).Dominant(colorimetry.Chromaticity{X: 0.3, Y: 0.3}, white); err == nil || !strings.Contains(err.Error(), "3 are needed") {
		t.Errorf("two wavelengths: %v", err)
	}
	for name, k := range map[string]struct {
		nm            float64
		complementary bool
		purity        float64
		white         colorimetry.Chromaticity
		says          string
	}{
		"infrared":  {701, false, 0.5, white, "380 to 700"},
		"NaN":       {nan, false, 0.5, white, "380 to 700"},
		"purity":    {500, false, 1.1, white, "0 to 1"},
		"NaN too":   {500, false, nan, white, "0 to 1"},
		"no purple": {600, true, 0.5, white, "no purple"},
		"white":     {500, false, 0.5, colorimetry.Chromaticity{X: 0.9, Y: 0.9}, "not inside"},
	} {
		if _, err := o.FromDominant(k.nm, k.complementary, k.purity, k.white); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%s: error %v, want one saying %q", name, err, k.says)
		}
	}
	if c, ok := o.Monochromatic(200); ok || !math.IsNaN(c.X) {
		t.Errorf("200 nm: %v, %v", c, ok)
	}
}

func TestSpectralLocus(t *testing.T) {
	for _, o := range spectrum.Observers() {
		lo, _ := o.Range()
		l, err := o.SpectralLocus(math.Max(lo, 380), 700, 1)
		if err != nil || float64(len(l)) != 701-math.Max(lo, 380) {
			t.Fatalf("%s: %d points, %v", o.Name, len(l), err)
		}
	}
	// ISO/CIE 11664-1:2019 prints chromaticities of the spectrum to five
	// decimals; these from memory: 520 nm 0.07430, 0.83380 and 700 nm 0.73469,
	// 0.26531.
	l, err := spectrum.CIE1931().SpectralLocus(520, 700, 180)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []colorimetry.Chromaticity{{X: 0.07430, Y: 0.83380}, {X: 0.73469, Y: 0.26531}} {
		if math.Abs(l[i].X-want.X) > 5e-6 || math.Abs(l[i].Y-want.Y) > 5e-6 {
			t.Errorf("%.6f, want %v", l[i], want)
		}
	}
	for _, k := range [][3]float64{{700, 380, 1}, {380, 700, 0}, {200, 700, 1}, {380, 700, 1e-5}} {
		if _, err := spectrum.CIE1931().SpectralLocus(k[0], k[1], k[2]); err == nil {
			t.Errorf("%v is no error", k)
		}
	}
}

// There and back on the documented domain: any wavelength, purity and white
// inside the locus.
func FuzzDominant(f *testing.F) {
	f.Add(550.0, false, 0.5, 0.3127, 0.3290)
	f.Add(500.0, true, 0.9, 0.3457, 0.3585)
	f.Add(380.0, false, 1.0, 0.45, 0.41)
	f.Add(699.99, false, 0.01, 0.28, 0.29)
	f.Add(493.0, true, 1e-6, 1.0/3, 1.0/3)
	o := spectrum.CIE1931()
	f.Fuzz(func(t *testing.T, nm float64, complementary bool, purity, x, y float64) {
		white := colorimetry.Chromaticity{X: x, Y: y}
		c, err := o.FromDominant(nm, complementary, purity, white)
		if err != nil {
			if c != (colorimetry.Chromaticity{}) {
				t.Fatalf("an error comes with %v", c)
			}
			return
		}
		if !(c.X >= -1e-12 && c.Y >= -1e-12 && c.X+c.Y <= 1+1e-12) {
			t.Fatalf("%v is no chromaticity", c)
		}
		d, err := o.Dominant(c, white)
		if errors.Is(err, spectrum.ErrNoHue) && purity < 1e-15 {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		// The direction from the white is known to a rounding of c.
		far := math.Hypot(c.X-white.X, c.Y-white.Y)
		noise := 4e-16 / far
		back, err := o.FromDominant(d.WavelengthNM, d.Complementary, math.Min(d.ExcitationPurity, 1), white)
		if err != nil {
			t.Fatalf("%v, %v: %v", white, d, err)
		}
		if e := math.Hypot(back.X-c.X, back.Y-c.Y); e > 1e-12+10*noise*far {
			t.Fatalf("%g nm, purity %g beside %v: %v comes back as %v", nm, purity, white, c, back)
		}
	})
}
