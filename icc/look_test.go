package icc

import (
	"errors"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// The primaries of P3 (SMPTE RP 431-2) under D65 are what their display's profile
// tells, in both versions.
func TestLookingInside(t *testing.T) {
	want := [3]colorimetry.Chromaticity{{X: 0.68, Y: 0.32}, {X: 0.265, Y: 0.69}, {X: 0.15, Y: 0.06}}
	for _, version := range []Version{V2, V4} {
		p, _ := mustMatrix(t, testSpec(t, version, true))
		w, err := p.White()
		if err != nil || math.Abs(w.Chromaticity().X-0.3127) > 5e-5 || math.Abs(w.Chromaticity().Y-0.3290) > 5e-5 || w.Y != 1 {
			t.Errorf("white %v, %v", w.Chromaticity(), err)
		}
		c, err := p.Primaries()
		for i := range c {
			if err != nil || math.Abs(c[i].X-want[i].X) > 1e-4 || math.Abs(c[i].Y-want[i].Y) > 1e-4 {
				t.Errorf("primary %d is %v, %v", i, c[i], err)
			}
		}
		if b, err := p.Black(); err != nil || b.Y > 1e-4 {
			t.Errorf("black %v, %v", b, err)
		}
		if curves, err := p.ToneCurves(); err != nil || len(curves) != 3 || math.Abs(curves[1].At(0.5)-0.2140) > 1e-3 && math.Abs(curves[1].At(0.5)-0.2176) > 1e-3 {
			t.Errorf("%d curves, %v", len(curves), err)
		}
		if g, err := p.Gamut(gamut.Options{}); err != nil || !(g.Volume() > 1.1e6 && g.Volume() < 1.35e6) {
			t.Errorf("gamut: %v", err)
		}
	}
}

// Profiles of strangers: primaries as their standards print them. The profile
// compatible with Adobe RGB (1998) is of version 2 and has no chad.
func TestStrangersPrimaries(t *testing.T) {
	for file, want := range map[string][4]colorimetry.Chromaticity{
		"sRGB.icc":                       {{X: 0.64, Y: 0.33}, {X: 0.30, Y: 0.60}, {X: 0.15, Y: 0.06}, {X: 0.3127, Y: 0.3290}},
		"compatibleWithAdobeRGB1998.icc": {{X: 0.64, Y: 0.33}, {X: 0.21, Y: 0.71}, {X: 0.15, Y: 0.06}, {X: 0.3127, Y: 0.3290}},
	} {
		p := debian(t, file)
		c, err := p.Primaries()
		if err != nil {
			t.Fatal(err)
		}
		w, err := p.White()
		if err != nil {
			t.Fatal(err)
		}
		for i, got := range []colorimetry.Chromaticity{c[0], c[1], c[2], w.Chromaticity()} {
			if math.Hypot(got.X-want[i].X, got.Y-want[i].Y) > 1e-3 {
				t.Errorf("%s: %d is %v, want %v", file, i, got, want[i])
			}
		}
	}
}

func TestDescriptionIn(t *testing.T) {
	p, _ := mustMatrix(t, testSpec(t, V4, true))
	p.Set(TagDescription, LocalizedText{{"ja", "JP", "表示"}, {"de", "DE", "Anzeige"}, {"de", "AT", "Bildschirm"}, {"en", "US", "Display"}})
	for language, want := range map[string]string{"de": "Anzeige", "de-AT": "Bildschirm", "DE-at": "Bildschirm", "de-CH": "Anzeige", "ja": "表示", "fr": "Display", "": "Display"} {
		if got := p.DescriptionIn(language); got != want {
			t.Errorf("%q: %q, want %q", language, got, want)
		}
	}
	p, _ = mustMatrix(t, testSpec(t, V2, true))
	if p.DescriptionIn("de") != p.Description() {
		t.Error("a description of version 2 has no languages")
	}
}

func TestNamedColor(t *testing.T) {
	p := bare(V4, ClassNamedColor, SpaceRGB, SpaceLab)
	c := NamedColor{Name: "Red", Device: []uint16{65535, 0, 13107}}
	if err := c.SetLab(colorimetry.Lab{L: 50, A: 60, B: 30}); err != nil {
		t.Fatal(err)
	}
	p.Set(TagNamedColors, NamedColors{Prefix: "Best ", Channels: 3, Colors: []NamedColor{c}})
	_, p = mustEncode(t, p)
	for _, name := range []string{"Red", "Best Red"} {
		xyz, device, err := p.NamedColor(name)
		if lab := xyz.Lab(colorimetry.D50()); err != nil || deltaE(lab, colorimetry.Lab{L: 50, A: 60, B: 30}) > 0.01 || len(device) != 3 || device[0] != 1 || device[2] != 0.2 {
			t.Errorf("%s: %v %v, %v", name, lab, device, err)
		}
	}
	if _, _, err := p.NamedColor("Blue"); err == nil {
		t.Error("a colour that is not there was found")
	}
	q, _ := mustMatrix(t, testSpec(t, V4, true))
	if _, _, err := q.NamedColor("Red"); err == nil {
		t.Error("a display has a named colour")
	}
}

func TestNothingInside(t *testing.T) {
	p := bare(V4, ClassOutput, SpaceCMYK, SpaceLab)
	if _, err := p.Primaries(); !errors.Is(err, ErrUnsupported) {
		t.Errorf("primaries of inks: %v", err)
	}
	if _, err := p.Gamut(gamut.Options{}); !errors.Is(err, ErrUnsupported) {
		t.Errorf("gamut of inks: %v", err)
	}
	if _, err := p.Black(); !errors.Is(err, ErrUnsupported) {
		t.Errorf("black of no tables: %v", err)
	}
	tableKinds(0)["lut16"](p)
	if b, err := p.Black(); err != nil || !(b.Y < 0.02) {
		t.Errorf("black of inks: %v, %v", b, err)
	}
	if _, err := p.ToneCurves(); !errors.Is(err, ErrUnsupported) {
		t.Errorf("curves of tables: %v", err)
	}
	p.Remove(TagMediaWhite)
	if _, err := p.White(); err == nil {
		t.Error("a white without a tag")
	}
}
