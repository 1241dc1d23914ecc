package rgb_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
)

func codec(t testing.TB, s rgb.Space) rgb.Codec {
	t.Helper()
	c, err := rgb.NewCodec(s)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func far(a, b colorimetry.RGB) float64 {
	return math.Max(math.Abs(a.R-b.R), math.Max(math.Abs(a.G-b.G), math.Abs(a.B-b.B)))
}

// testdata/crosscheck_colorjs.csv names its source; twelve digits.
func TestSignalsAgainstColorJS(t *testing.T) {
	rows := worked.Read(t, "crosscheck_colorjs.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	codecs := map[string]rgb.Codec{
		"srgb": codec(t, rgb.SRGB()), "p3": codec(t, rgb.DisplayP3()), "a98rgb": codec(t, rgb.AdobeRGB()),
		"rec2020": codec(t, rgb.BT2020()), "rec2100pq": codec(t, rgb.BT2100PQ()), "acescg": codec(t, rgb.ACEScg()),
	}
	aces, err := colorimetry.Bradford(colorimetry.D65(), rgb.ACEScg().White.XYZ(1))
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		c := colorimetry.XYZ{X: row.Num(t, "X"), Y: row.Num(t, "Y"), Z: row.Num(t, "Z")}
		for name, k := range codecs {
			v := c
			switch name {
			case "rec2100pq":
				v = c.Scale(203.0 / 10000) // its diffuse white
			case "acescg":
				v = aces.Apply(c)
			}
			got, ok := k.Signal(v)
			want := colorimetry.RGB{R: row.Num(t, "R_"+name), G: row.Num(t, "G_"+name), B: row.Num(t, "B_"+name)}
			// The sRGB curve has a slope of 12.92 in the dark.
			if !ok || far(got, want) > 2e-10 {
				t.Errorf("row %d, %s: %v, %v; want %v", i+1, name, got, ok, want)
			}
		}
	}
}

// testdata/crosscheck_culori.csv names its source; twelve digits. For ROMM RGB
// the library takes the primaries of CSS Color Module Level 4, which prints two
// digits more than ISO 22028-2; with them it must agree alike, without them
// within 8e-6.
func TestColoursAgainstCulori(t *testing.T) {
	rows := worked.Read(t, "crosscheck_culori.csv")
	if len(rows) < 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	css := rgb.ROMM()
	css.R, css.G, css.B = colorimetry.Chromaticity{X: 0.734699, Y: 0.265301}, colorimetry.Chromaticity{X: 0.159597, Y: 0.840403}, colorimetry.Chromaticity{X: 0.036598, Y: 0.000105}
	for i, row := range rows {
		signal := colorimetry.RGB{R: row.Num(t, "R"), G: row.Num(t, "G"), B: row.Num(t, "B")}
		for _, k := range []struct {
			name string
			s    rgb.Space
			tol  float64
		}{
			{"rgb", rgb.SRGB(), 1e-11}, {"p3", rgb.DisplayP3(), 1e-11}, {"a98", rgb.AdobeRGB(), 1e-11}, {"prophoto", css, 1e-11}, {"prophoto", rgb.ROMM(), 8e-6},
		} {
			name := k.name
			got := codec(t, k.s).XYZ(signal)
			d := got.Sub(colorimetry.XYZ{X: row.Num(t, "X_"+name), Y: row.Num(t, "Y_"+name), Z: row.Num(t, "Z_"+name)})
			if math.Abs(d.X) > k.tol || math.Abs(d.Y) > k.tol || math.Abs(d.Z) > k.tol {
				t.Errorf("row %d, %s: off by %v", i+1, name, d)
			}
		}
	}
}

func TestGamut(t *testing.T) {
	c := codec(t, rgb.SRGB())
	for _, s := range []colorimetry.RGB{{}, {R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1, B: 1}, {R: 0.3, G: 1}} {
		if got, ok := c.Signal(c.XYZ(s)); !ok || far(got, s) > 1e-12 {
			t.Errorf("%v comes back as %v, in gamut %v", s, got, ok)
		}
	}
	p3 := codec(t, rgb.DisplayP3())
	for _, v := range []colorimetry.XYZ{p3.XYZ(colorimetry.RGB{G: 1}), {X: 2, Y: 2, Z: 2}, {X: -0.1, Y: 0.1, Z: 0.1}, {X: math.NaN(), Y: 1, Z: 1}} {
		got, ok := c.Signal(v)
		if ok {
			t.Errorf("%v is in gamut as %v", v, got)
		}
		if math.IsInf(got.R+got.G+got.B, 0) {
			t.Errorf("%v: an infinity among %v", v, got)
		}
	}
}

// Two ways from one encoding to another are one.
func TestConversion(t *testing.T) {
	spaces := rgb.Spaces()
	signals := []colorimetry.RGB{{R: 0.2, G: 0.5, B: 0.3}, {R: 0.8, G: 0.7, B: 0.75}, {R: 0.05, G: 0.04, B: 0.06}}
	for _, from := range spaces {
		for _, to := range spaces {
			conv, err := rgb.NewConversion(from, to, colorimetry.CAT16())
			if err != nil {
				t.Fatal(err)
			}
			adapt, err := colorimetry.CAT16().Complete(from.White.XYZ(1), to.White.XYZ(1))
			if err != nil {
				t.Fatal(err)
			}
			row := make([]colorimetry.RGB, len(signals))
			conv.Row(row, signals)
			for i, s := range signals {
				got, ok := conv.Signal(s)
				want, wantOK := codec(t, to).Signal(adapt.Apply(codec(t, from).XYZ(s)))
				if far(got, want) > 1e-12 || ok != wantOK || row[i] != got {
					t.Errorf("%s to %s: %v gives %v, %v; want %v, %v", from.Name, to.Name, s, got, ok, want, wantOK)
				}
			}
		}
	}
	same, err := rgb.NewConversion(rgb.SRGB(), rgb.SRGB(), colorimetry.Adaptation{})
	if err != nil {
		t.Fatal(err)
	}
	if got, ok := same.Signal(signals[0]); !ok || far(got, signals[0]) > 1e-12 {
		t.Errorf("to itself %v becomes %v", signals[0], got)
	}
}

func TestCodecRefuses(t *testing.T) {
	noCurve, line := rgb.SRGB(), rgb.SRGB()
	noCurve.Curve, line.B = nil, line.R
	for _, k := range []struct {
		s    rgb.Space
		says string
	}{{noCurve, "no curve"}, {line, "span no area"}} {
		_, err := rgb.NewCodec(k.s)
		_, errTo := rgb.NewConversion(rgb.SRGB(), k.s, colorimetry.CAT16())
		_, errFrom := rgb.NewConversion(k.s, rgb.SRGB(), colorimetry.CAT16())
		_, errLab := rgb.NewLab8(k.s, colorimetry.CAT16(), colorimetry.D50())
		for _, e := range []error{err, errTo, errFrom, errLab} {
			if e == nil || !strings.Contains(e.Error(), k.says) {
				t.Errorf("error %v, want one saying %q", e, k.says)
			}
		}
	}
	if _, err := rgb.NewConversion(rgb.SRGB(), rgb.ROMM(), colorimetry.Adaptation{}); !errors.Is(err, colorimetry.ErrSingular) {
		t.Errorf("no adaptation between two whites: error %v", err)
	}
	for _, white := range []colorimetry.XYZ{{}, {X: 1, Y: 1}, {X: math.NaN(), Y: 1, Z: 1}} {
		if _, err := rgb.NewLab8(rgb.SRGB(), colorimetry.CAT16(), white); err == nil {
			t.Errorf("white %v is accepted", white)
		}
	}
}

// FuzzCodec leads a signal to XYZ and back in every encoding whose curve has no
// flat part.
func FuzzCodec(f *testing.F) {
	spaces := rgb.Spaces()
	for i := range spaces {
		f.Add(uint8(i), 0.2, 0.5, 0.9)
		f.Add(uint8(i), 0.0, 1.0, 1e-6)
		f.Add(uint8(i), math.Inf(1), math.NaN(), -1.0)
	}
	f.Fuzz(func(t *testing.T, which uint8, r, g, b float64) {
		s := spaces[int(which)%len(spaces)]
		c := codec(t, s)
		signal := colorimetry.RGB{R: r, G: g, B: b}
		xyz := c.XYZ(signal)
		back, ok := c.Signal(xyz)
		for _, v := range []float64{back.R, back.G, back.B} {
			if math.IsInf(v, 0) {
				t.Fatalf("%s: %v comes back as %v", s.Name, signal, back)
			}
		}
		if signal.Min() < 0 || signal.Max() > 1 || math.IsNaN(r+g+b) {
			return
		}
		if _, hlg := s.Curve.(tone.HLGCamera); !ok && !hlg { // its highest light is 1 + 3e-8
			t.Fatalf("%s: %v is out of gamut", s.Name, signal)
		}
		// A matrix mixes the channels' light; a dark channel beside a bright
		// one keeps 1e-15 of it, which a steep curve makes a larger signal.
		want, got := s.Linear(signal), s.Linear(back)
		if d := far(want, got); d > 1e-12 {
			t.Fatalf("%s: light %v comes back as %v", s.Name, want, got)
		}
	})
}

// FuzzConversion holds that no signal makes an infinity.
func FuzzConversion(f *testing.F) {
	f.Add(uint8(0), uint8(3), 0.2, 0.5, 0.9)
	f.Add(uint8(8), uint8(1), math.MaxFloat64, -1e300, math.Inf(-1))
	spaces := rgb.Spaces()
	f.Fuzz(func(t *testing.T, from, to uint8, r, g, b float64) {
		c, err := rgb.NewConversion(spaces[int(from)%len(spaces)], spaces[int(to)%len(spaces)], colorimetry.BradfordAdaptation())
		if err != nil {
			t.Fatal(err)
		}
		out, _ := c.Signal(colorimetry.RGB{R: r, G: g, B: b})
		if math.IsInf(out.R, 0) || math.IsInf(out.G, 0) || math.IsInf(out.B, 0) {
			t.Fatalf("%v", out)
		}
	})
}
