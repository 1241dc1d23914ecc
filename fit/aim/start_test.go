package aim_test

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"github.com/google/go-cmp/cmp"
)

// Every starting point has a source for each figure, can be saved, and can be
// followed by a display that has enough light; the gsdf needs the room first.
func TestStarts(t *testing.T) {
	wide := colorimetry.Matrix{{600, 350, 250}, {300, 800, 80}, {1, 60, 1300}}
	var names []string
	for _, s := range aim.Starts() {
		names = append(names, s.Name)
		if s.Aim.Start != s.Name || s.Document == "" {
			t.Errorf("%s: aim of %q, document %q", s.Name, s.Aim.Start, s.Document)
		}
		told := map[string]bool{}
		for _, f := range s.Facts {
			told[f.What] = true
			if f.What == "" || f.Value == "" || f.Source == "" {
				t.Errorf("%s: a fact without value or source: %+v", s.Name, f)
			}
		}
		for _, what := range []string{"white", "luminance", "tone", "black"} {
			if !told[what] {
				t.Errorf("%s says nothing of its %s", s.Name, what)
			}
		}
		var b bytes.Buffer
		if err := s.Aim.Write(&b); err != nil {
			t.Fatalf("%s: %v", s.Name, err)
		}
		if got, err := aim.Read(&b); err != nil || cmp.Diff(s.Aim, got) != "" {
			t.Errorf("%s came back as %+v, %v", s.Name, got, err)
		}
		if s.Needs != "" {
			s.Aim.Ambient = aim.MeasuredAmbient(0.3)
		}
		r, err := aim.Reach(s.Aim, wide, colorimetry.XYZ{X: 0.05, Y: 0.05, Z: 0.06})
		if err != nil || !r.OK {
			t.Errorf("%s: %s (%v)", s.Name, r.Sentence, err)
		}
		if got, err := aim.StartNamed(" " + strings.ToUpper(s.Name)); err != nil || got.Name != s.Name {
			t.Errorf("%s is found as %q, %v", s.Name, got.Name, err)
		}
	}
	// The issue's own list.
	want := []string{"bt1886", "bt2100-hlg", "bt2100-pq", "gsdf", "iso3664-prints", "srgb", "st431"}
	if !slices.Equal(names, want) {
		t.Errorf("%v", names)
	}
	if _, err := aim.StartNamed("d93"); err == nil || !strings.Contains(err.Error(), "iso3664-prints") {
		t.Errorf("no such start: %v", err)
	}
}

// What the standards print, each beside its place.
func TestStartFigures(t *testing.T) {
	for name, c := range map[string]struct{ x, y, luminance, half float64 }{
		"bt1886":         {0.3127, 0.3290, 100, 100 * math.Pow(0.5, 2.4)},             // BT.1886, no light in the black
		"srgb":           {0.3127, 0.3290, 80, 80 * math.Pow((0.5+0.055)/1.055, 2.4)}, // IEC 61966-2-1
		"st431":          {0.314, 0.351, 48, 48 * math.Pow(0.5, 2.6)},                 // ST 431-1, RP 431-2
		"iso3664-prints": {0.3457, 0.3585, 135.28, 135.28 * math.Pow(0.5, 2.2)},       // 0.85·500/π
		"bt2100-pq":      {0.3127, 0.3290, 1000, 92.2457},                             // ST 2084 at half signal
		"bt2100-hlg":     {0.3127, 0.3290, 1000, 1000 * math.Pow(1.0/12, 1.2)},        // BT.2100: half signal is 1/12 of the scene
	} {
		s, err := aim.StartNamed(name)
		if err != nil {
			t.Fatal(err)
		}
		a := s.Aim
		if a.White.At != (colorimetry.Chromaticity{X: c.x, Y: c.y}) || math.Abs(a.Luminance-c.luminance) > 0.005 {
			t.Errorf("%s: white %v, %g cd/m²", name, a.White.At, a.Luminance)
		}
		got := a.Target(0.5, colorimetry.XYZ{}, a.Luminance).Y
		if math.Abs(got/c.half-1) > 1e-4 {
			t.Errorf("%s: %g cd/m² at half signal, not %g", name, got, c.half)
		}
	}
}

func TestReachBlackAndTone(t *testing.T) {
	black := colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.1}
	d65 := mustWhite(t, "D65")
	gsdf := func(ambient float64) aim.Aim {
		return aim.Aim{Tone: aim.GSDF{}, Ambient: aim.MeasuredAmbient(ambient)}
	}
	hlg := aim.Aim{White: d65, Luminance: 1.2, Black: aim.BlackLift}
	s, err := aim.StartNamed("bt2100-hlg")
	if err != nil {
		t.Fatal(err)
	}
	hlg.Tone = s.Aim.Tone
	for _, c := range []struct {
		name  string
		a     aim.Aim
		black float64
		ok    bool
		says  string
	}{
		{"500:1 in the dark", aim.Aim{White: d65, Luminance: 80, BlackRatio: 500}, 0.1, true, ""},
		{"1000:1 in the dark", aim.Aim{White: d65, Luminance: 80, BlackRatio: 1000}, 0.1, false, "800:1"},
		{"500:1 in the room", aim.Aim{White: d65, Luminance: 80, BlackRatio: 500, Ambient: aim.MeasuredAmbient(0.1)}, 0.1, false, "400.5:1 as seen"},
		{"the room alone", aim.Aim{White: d65, Luminance: 80, BlackRatio: 500, Ambient: aim.MeasuredAmbient(2)}, 0.1, false, "dim the room until the screen reflects less than 0.16"},
		{"its own ratio", aim.Aim{White: d65, Luminance: 80, BlackRatio: 800}, 0.1, true, ""},
		{"gsdf", gsdf(0.3), 0.1, true, "nothing here is an acceptance test"},
		{"gsdf below the function", gsdf(0.01), 0.02, false, "begins at 0.04998"},
		{"gsdf beyond the function", aim.Aim{Tone: aim.GSDF{}, Ambient: aim.MeasuredAmbient(950)}, 0.1, true, ""},
		{"hlg without room to lift", hlg, 0.9, false, "cannot be lifted"},
	} {
		r, err := aim.Reach(c.a, srgbPrimaries(), black.Scale(c.black/0.1))
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if r.OK != c.ok || !strings.Contains(r.Sentence, c.says) {
			t.Errorf("%s: ok %v: %s", c.name, r.OK, r.Sentence)
		}
		again, err := aim.Reach(r.Nearest, srgbPrimaries(), black.Scale(c.black/0.1))
		if err != nil || !again.OK {
			t.Errorf("%s: the nearest aim is out of reach itself: %+v: %s (%v)", c.name, r.Nearest, again.Sentence, err)
		}
		if _, err := r.Nearest.On(r.Nearest.Luminance, c.black); err != nil {
			t.Errorf("%s: the nearest aim has no tone: %v", c.name, err)
		}
	}
	bright := srgbPrimaries()
	for i := range bright {
		for j := range bright[i] {
			bright[i][j] *= 50
		}
	}
	r, err := aim.Reach(gsdf(0.3), bright, black)
	if err != nil || r.OK || math.Abs(r.Nearest.Luminance-3993) > 0.1 {
		t.Errorf("a display of 5000 cd/m²: %s (%v)", r.Sentence, err)
	}
}
