package aim_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func mustWhite(t *testing.T, s string) aim.White {
	t.Helper()
	w, err := aim.ParseWhite(s)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func TestParseWhite(t *testing.T) {
	for _, c := range []struct {
		in  string
		at  colorimetry.Chromaticity
		tol float64
		out string
	}{
		// CIE 15:2018, chromaticity coordinates of the illuminants, 1931 observer.
		{"D50", colorimetry.Chromaticity{X: 0.34567, Y: 0.35851}, 5e-5, "D50"},
		{"d55", colorimetry.Chromaticity{X: 0.33243, Y: 0.34744}, 5e-6, "D55"},
		{"D65", colorimetry.Chromaticity{X: 0.31272, Y: 0.32903}, 5e-5, "D65"},
		{"D75", colorimetry.Chromaticity{X: 0.29903, Y: 0.31488}, 5e-6, "D75"},
		// CIE 15:2018, 4.1.2: D65 is the daylight phase of about 6504 K. The
		// locus formula gives x = 0.31271, y = 0.32912 there, the table of
		// the spectrum 0.31272, 0.32903.
		{"6504", colorimetry.Chromaticity{X: 0.3127, Y: 0.3291}, 1e-4, "6504 K"},
		{" 5003 K ", colorimetry.Chromaticity{X: 0.3457, Y: 0.3586}, 1e-4, "5003 K"},
		{"0.3127, 0.329", colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}, 0, "0.3127,0.329"},
	} {
		w := mustWhite(t, c.in)
		if d := math.Hypot(w.At.X-c.at.X, w.At.Y-c.at.Y); d > c.tol*math.Sqrt2 {
			t.Errorf("%q: %v, %.6f from %v", c.in, w.At, d, c.at)
		}
		if w.String() != c.out {
			t.Errorf("%q is named %q, want %q", c.in, w.String(), c.out)
		}
		if again := mustWhite(t, w.String()); again != w {
			t.Errorf("%q does not read back: %v, %v", c.in, w, again)
		}
	}
	if w := mustWhite(t, "Native"); !w.IsNative() || w.String() != "native" || w != aim.Native() {
		t.Errorf("native is %v", w)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, s := range []string{"", "D93", "warm", "0.3", "0.3,", "0.7,0.4", "0,0.3", "NaN", "NaN,0.3", "inf", "-6500", "300", "1e9"} {
		if w, err := aim.ParseWhite(s); err == nil {
			t.Errorf("white %q was read as %v", s, w)
		}
	}
	for _, s := range []string{"", "0", "-80", "NaN", "Inf", "20000", "bright"} {
		if v, err := aim.ParseLuminance(s); err == nil {
			t.Errorf("luminance %q was read as %v", s, v)
		}
	}
	for _, s := range []string{"", "-1", "NaN", "1e9", "deep"} {
		if v, err := aim.ParseBlack(s); err == nil {
			t.Errorf("black %q was read as %v", s, v)
		}
	}
	for s, want := range map[string]float64{"native": 0, "120": 120, " 80.5 ": 80.5} {
		if v, err := aim.ParseLuminance(s); err != nil || v != want {
			t.Errorf("luminance %q: %v, %v", s, v, err)
		}
	}
	if _, err := aim.ParsePolicy("crush"); err == nil {
		t.Error("policy crush was taken")
	}
}

// ITU-R BT.1886, annex 1: L = a·max(V+b, 0)^2.4 with
// a = (Lw^(1/2.4) − Lb^(1/2.4))^2.4, b = Lb^(1/2.4)/(Lw^(1/2.4) − Lb^(1/2.4)).
func TestLiftIsBT1886(t *testing.T) {
	const white, black = 100, 0.1
	lw, lb := math.Pow(white, 1/2.4), math.Pow(black, 1/2.4)
	a, b := math.Pow(lw-lb, 2.4), lb/(lw-lb)
	got := aim.Aim{White: mustWhite(t, "D65"), Luminance: white, Tone: tone.Power{Gamma: 2.4}, Black: aim.BlackLift}
	for i := range 101 {
		v := float64(i) / 100
		want := a * math.Pow(v+b, 2.4)
		if y := got.Target(v, colorimetry.XYZ{X: 0.09, Y: black, Z: 0.2}, white).Y; math.Abs(y/want-1) > 1e-12 {
			t.Errorf("signal %.2f: %.9f, BT.1886 says %.9f", v, y, want)
		}
	}
}

func TestTarget(t *testing.T) {
	black := colorimetry.XYZ{X: 0.5, Y: 0.3, Z: 0.9}
	for _, p := range []aim.Policy{aim.BlackStretch, aim.BlackLift} {
		a := aim.Aim{White: mustWhite(t, "D50"), Luminance: 120, Black: p}
		if d := cmp.Diff(a.White.XYZ(120), a.Target(1, black, 120), cmpopts.EquateApprox(0, 1e-9)); d != "" {
			t.Errorf("%v: white: %s", p, d)
		}
		if y := a.Target(0, black, 120).Y; math.Abs(y-black.Y) > 1e-9 {
			t.Errorf("%v: black has %g cd/m²", p, y)
		}
		last := -1.0
		for i := range 256 {
			c := a.Target(float64(i)/255, black, 120)
			if c.Y <= last {
				t.Errorf("%v: luminance does not rise at %d", p, i)
			}
			if d := c.UV().Distance(a.White.At.UV()); d > 1e-12 {
				t.Errorf("%v: grey %d is %g off the white's chromaticity", p, i, d)
			}
			last = c.Y
		}
		a.BlackCdM2 = 1
		if y := a.Target(0, black, 120).Y; math.Abs(y-1) > 1e-9 {
			t.Errorf("%v: a black of 1 cd/m² came to %g", p, y)
		}
	}
	// Common practice, no source: stretching a power of 2.2.
	want := 0.3 + (120-0.3)*math.Pow(0.5, 2.2)
	if y := (aim.Aim{White: mustWhite(t, "D50")}).Target(0.5, black, 120).Y; math.Abs(y-want) > 1e-9 {
		t.Errorf("half signal: %g, want %g", y, want)
	}
	if c := (aim.Aim{}).Target(0.5, black, 120); c.Finite() {
		t.Errorf("the native white's target is %v; it is not known yet", c)
	}
}

// srgbPrimaries are the columns of IEC 61966-2-1, table 1, times 100 cd/m².
func srgbPrimaries() colorimetry.Matrix {
	return colorimetry.Matrix{{41.24, 35.76, 18.05}, {21.26, 71.52, 7.22}, {1.93, 11.92, 95.05}}
}

func TestColour(t *testing.T) {
	a := aim.Aim{White: mustWhite(t, "D65"), Luminance: 80, Tone: tone.SRGB{}}
	black, white := colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.1}, a.White.XYZ(80)
	for i := range 11 {
		s := float64(i) / 10
		got, err := a.Colour(colorimetry.Gray(s), srgbPrimaries(), black, white)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(a.Target(s, black, 80), got, cmpopts.EquateApprox(1e-9, 1e-9)); d != "" {
			t.Errorf("the neutral of %g is no target: %s", s, d)
		}
	}
	red, err := a.Colour(colorimetry.RGB{R: 1}, srgbPrimaries(), colorimetry.XYZ{}, white)
	if err != nil {
		t.Fatal(err)
	}
	if d := red.UV().Distance(srgbPrimaries().Column(0).UV()); d > 1e-9 {
		t.Errorf("red is %g off the display's own", d)
	}
	if _, err := a.Colour(colorimetry.Gray(1), colorimetry.Matrix{}, black, white); !errors.Is(err, colorimetry.ErrSingular) {
		t.Errorf("no primaries: %v", err)
	}
}

func TestReach(t *testing.T) {
	black := colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.15}
	full := srgbPrimaries().FromLinear(colorimetry.Gray(1)).Add(black)
	for _, c := range []struct {
		name string
		a    aim.Aim
		ok   bool
		says string
	}{
		{"zero value", aim.Aim{}, true, ""},
		{"own luminance", aim.Aim{Luminance: full.Y}, true, ""},
		{"D65 at 80", aim.Aim{White: mustWhite(t, "D65"), Luminance: 80}, true, ""},
		{"D50 at 80", aim.Aim{White: mustWhite(t, "D50"), Luminance: 80}, true, ""},
		{"too bright", aim.Aim{White: mustWhite(t, "D65"), Luminance: 300}, false, "not 300"},
		{"D50 too bright", aim.Aim{White: mustWhite(t, "D50"), Luminance: 99}, false, "D50"},
		{"no such colour", aim.Aim{White: mustWhite(t, "0.15,0.75"), Luminance: 20}, false, "outside"},
		{"black too deep", aim.Aim{BlackCdM2: 0.01}, false, "black"},
		{"black too bright", aim.Aim{Luminance: 80, BlackCdM2: 90}, false, "darker"},
		{"white below black", aim.Aim{Luminance: 0.05}, false, "brighter"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := aim.Reach(c.a, srgbPrimaries(), black)
			if err != nil {
				t.Fatal(err)
			}
			if r.OK != c.ok || !strings.Contains(r.Sentence, c.says) {
				t.Errorf("ok %v: %s", r.OK, r.Sentence)
			}
			again, err := aim.Reach(r.Nearest, srgbPrimaries(), black)
			if err != nil || !again.OK {
				t.Errorf("the nearest aim is out of reach itself: %+v: %s (%v)", r.Nearest, again.Sentence, err)
			}
			// The nearest aim as a person would type it from the sentence.
			typed := r.Nearest
			typed.White = mustWhite(t, strings.TrimSpace(typed.White.String()))
			if again, err = aim.Reach(typed, srgbPrimaries(), black); err != nil || !again.OK {
				t.Errorf("the nearest aim as typed is out of reach: %+v: %s (%v)", typed, again.Sentence, err)
			}
		})
	}
	// The weakest channel at D50 is blue: hand calculation from the columns.
	r, err := aim.Reach(aim.Aim{White: mustWhite(t, "D50")}, srgbPrimaries(), colorimetry.XYZ{})
	if err != nil {
		t.Fatal(err)
	}
	inv, _ := srgbPrimaries().Inverse()
	n := inv.ToLinear(mustWhite(t, "D50").XYZ(1))
	if want := 1 / n.Max(); math.Abs(r.MaxLuminance-want) > 1e-9 {
		t.Errorf("D50: %g, want %g", r.MaxLuminance, want)
	}
}

func TestReachNearestIsNearest(t *testing.T) {
	// Of all whites on a fine grid that the display can have, none may be
	// noticeably nearer to the one asked for than the one named.
	want := mustWhite(t, "0.25,0.07")
	r, err := aim.Reach(aim.Aim{White: want}, srgbPrimaries(), colorimetry.XYZ{})
	if err != nil {
		t.Fatal(err)
	}
	if !r.OK {
		for x := 0.16; x < 0.4; x += 0.002 {
			for y := 0.07; y < 0.4; y += 0.002 {
				g, err := aim.Reach(aim.Aim{White: aim.XY(x, y)}, srgbPrimaries(), colorimetry.XYZ{})
				if err != nil {
					t.Fatal(err)
				}
				if d := g.Nearest.White.At.UV().Distance(want.At.UV()); g.OK && d < r.Nearest.White.At.UV().Distance(want.At.UV())-2e-4 {
					t.Fatalf("%.4f,%.4f is nearer than %v", x, y, r.Nearest.White)
				}
			}
		}
		return
	}
	t.Fatal("the white is within reach; the test needs one that is not")
}

func TestSaved(t *testing.T) {
	points, err := tone.NewSampled([]float64{0, 0.4, 1}, []float64{0, 0.1, 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range []aim.Aim{
		{},
		{White: mustWhite(t, "D65"), Luminance: 120, Tone: tone.SRGB{}, Black: aim.BlackLift, BlackCdM2: 0.2},
		{White: mustWhite(t, "5800"), Tone: points},
		{White: aim.XY(0.31, 0.33), Luminance: 80.25, Tone: tone.BT1886{}},
		{White: paperWhite(t), BlackRatio: 1000, Ambient: aim.MeasuredAmbient(0)},
		{White: eyeWhite(t), Tone: aim.GSDF{}, Ambient: aim.Ambient{Source: aim.AmbientEstimated, CdM2: 0.3}},
		(aim.Aim{}).Resolved(colorimetry.XYZ{X: 95.1234567, Y: 100.7654321, Z: 108.1}),
		{Luminance: 60, Print: aim.Print{PaperCdM2: 61, Lux: 230}},
	} {
		var b bytes.Buffer
		if err := a.Write(&b); err != nil {
			t.Fatal(err)
		}
		got, err := aim.Read(bytes.NewReader(b.Bytes()))
		if err != nil {
			t.Fatalf("%s: %v", b.Bytes(), err)
		}
		if d := cmp.Diff(a, got, cmpopts.IgnoreFields(aim.Aim{}, "Tone")); d != "" || got.Curve().String() != a.Curve().String() {
			t.Errorf("%+v came back as %+v: %s", a, got, d)
		}
		var direct aim.Aim
		if err := json.Unmarshal(b.Bytes(), &direct); err != nil || direct.White != a.White {
			t.Errorf("%s: %+v, %v", b.Bytes(), direct, err)
		}
		for i := range b.Len() - 1 {
			if _, err := aim.Read(bytes.NewReader(b.Bytes()[:i])); err == nil {
				t.Errorf("%d of %d bytes were read as an aim", i, b.Len())
			}
		}
	}
}

// version1 is a file as the first version of this package wrote it.
const version1 = `{
  "kind": "display aim",
  "version": 1,
  "white": "D65",
  "luminance_cd_m2": 120,
  "tone": "power 2.2",
  "black_policy": "lift",
  "black_cd_m2": "native"
}
`

func TestReadVersion1(t *testing.T) {
	got, err := aim.Read(strings.NewReader(version1))
	if err != nil {
		t.Fatal(err)
	}
	want := aim.Aim{White: mustWhite(t, "D65"), Luminance: 120, Tone: tone.Power{Gamma: 2.2}, Black: aim.BlackLift}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
	for _, field := range []string{`"start": "srgb"`, `"white_xy": {"x": 0.3127, "y": 0.329}`, `"black_ratio": 100`, `"ambient": {"source": "measured", "cd_m2": 1}`, `"print": {"reflectance": 0.85, "lux": 500}`} {
		if _, err := aim.Read(strings.NewReader(strings.Replace(version1, `"white"`, field+`, "white"`, 1))); err == nil || !strings.Contains(err.Error(), "version 1") {
			t.Errorf("%s in version 1: %v", field, err)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	var b bytes.Buffer
	if err := (aim.Aim{White: mustWhite(t, "D65"), Luminance: 80}).Write(&b); err != nil {
		t.Fatal(err)
	}
	good := b.String()
	for _, c := range []struct{ name, from, to string }{
		{"later version", `"version": 2`, `"version": 3`},
		{"no version", `"version": 2`, `"version": 0`},
		{"other kind", `"display aim"`, `"history"`},
		{"unknown field", `"version": 2`, `"version": 2, "gamma": 2.2`},
		{"unknown start", `"version": 2`, `"version": 2, "start": "d93"`},
		{"ratio below 1", `"version": 2`, `"version": 2, "black_ratio": 0.5`},
		{"ambient of no source", `"version": 2`, `"version": 2, "ambient": {"source": "unknown", "cd_m2": 1}`},
		{"unknown field of ambient", `"version": 2`, `"version": 2, "ambient": {"source": "measured", "cd_m2": 1, "lux": 3}`},
		{"paper of two luminances", `"version": 2`, `"version": 2, "print": {"reflectance": 0.8, "paper_cd_m2": 100}`},
		{"paper without light", `"version": 2`, `"version": 2, "print": {"reflectance": 0.8}`},
		{"a match of a white that has none", `"version": 2`, `"version": 2, "white_matched": {"by": "Ada", "when": "2026-03-01T10:00:00Z"}`},
		{"a match without its time", `"D65"`, `"0.3127,0.3290 by eye", "white_matched": {"by": "Ada", "when": "March"}`},
		{"a match by nobody", `"D65"`, `"0.3127,0.3290 by eye"`},
		{"a white that is elsewhere", `"x": 0.3127`, `"x": 0.3137`},
		{"fields of version 2 in version 1", `"version": 2`, `"version": 1`},
		{"bad white", `"D65"`, `"D66"`},
		{"bad tone", `"power 2.2"`, `"steep"`},
		{"bad policy", `"stretch"`, `"crush"`},
		{"luminance in words", `80`, `"bright"`},
		{"negative luminance", `80`, `-80`},
		{"huge luminance", `80`, `1e300`},
		{"black above white", `"black_cd_m2": "native"`, `"black_cd_m2": 100`},
		{"trailing text", "}", "} {}"},
	} {
		bad := strings.Replace(good, c.from, c.to, 1)
		if bad == good {
			t.Errorf("%s: nothing was replaced in %s", c.name, good)
		}
		if a, err := aim.Read(strings.NewReader(bad)); err == nil {
			t.Errorf("%s was read as %+v", c.name, a)
		} else if !strings.HasPrefix(err.Error(), "aim: ") {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, old := range []string{version1, strings.Replace(version1, "D65", "0.3100,0.3300", 1)} {
		f.Add([]byte(old))
	}
	f.Add([]byte(strings.Replace(version1, "power 2.2", "points 0,0.1 0.5,0.3 1,1", 1)))
	f.Add([]byte(strings.Replace(version1, "power 2.2", "hlg 1000 0.05", 1)))
	seeds := []aim.Aim{{}, {White: aim.XY(0.3, 0.3), Luminance: 80, Black: aim.BlackLift}, {White: aim.White{Name: "0.3000,0.3100 by eye", At: colorimetry.Chromaticity{X: 0.3, Y: 0.31}, By: "Ada", When: "2026-03-01T10:00:00Z"}, BlackRatio: 500, Ambient: aim.MeasuredAmbient(0.2)}}
	for _, s := range aim.Starts() {
		seeds = append(seeds, s.Aim)
	}
	for _, a := range seeds {
		b, err := json.Marshal(a)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		a, err := aim.Read(bytes.NewReader(b))
		if err != nil {
			return
		}
		var out bytes.Buffer
		if err := a.Write(&out); err != nil {
			t.Fatalf("%s was read and cannot be written: %v", b, err)
		}
		again, err := aim.Read(&out)
		if err != nil || again.White != a.White || again.Luminance != a.Luminance {
			t.Fatalf("%+v came back as %+v, %v", a, again, err)
		}
		if d := cmp.Diff(a, again, cmpopts.IgnoreFields(aim.Aim{}, "Tone")); d != "" || again.Curve().String() != a.Curve().String() {
			t.Fatalf("%+v came back as %+v: %s", a, again, d)
		}
		if f, err := a.On(1000, 1); err == nil && math.IsNaN(f.Light(0.5)) {
			t.Fatalf("%+v has no light at half signal", a)
		}
		if r, err := aim.Reach(a, srgbPrimaries(), colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.1}); err == nil && r.Nearest.Luminance > r.MaxLuminance*1.01 {
			t.Fatalf("%+v: %+v is out of reach", a, r)
		}
	})
}
