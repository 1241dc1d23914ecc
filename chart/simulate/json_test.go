package simulate_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
)

func text(t testing.TB, s simulate.Spec) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.WriteJSON(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// everything returns a display that uses every field of Spec.
func everything(t testing.TB) simulate.Spec {
	t.Helper()
	s := simulate.FourSubpixels.Spec().Troubled()
	s.Name, s.Mode, s.Notes = `a "display" [of 3, 4]`, "wide", []string{"one, [2, 3]", "two"}
	s.Coupling, s.Supply = simulate.CoupledLCD.Spec().Coupling, simulate.SaggingPanel.Spec().Supply
	s.Reflectance, s.Dispersion = 0.02, [3]float64{0.5, 1, 1.5}
	s.WarmUp.Decay = 90 * time.Second
	s.Brightness, s.Gain = simulate.Response{Lowest: 0.1, Exponent: 2}, simulate.Response{Lowest: 0.2, Exponent: 1.1, Hold: 3}
	s.Offset = simulate.Offset{Common: 0.08, Each: 0.05, Headroom: 1}
	m, err := s.Emulate(rgb.SRGB())
	if err != nil {
		t.Fatal(err)
	}
	s.Modes = []simulate.Mode{m}
	points, err := tone.NewSampled([]float64{0, 0.1, 0.5, 1}, []float64{0.001, 0.01, 0.2, 1})
	if err != nil {
		t.Fatal(err)
	}
	s.Tones[1] = points
	return s
}

// TestJSON: every display comes back to the bit, and is written the same again.
func TestJSON(t *testing.T) {
	all := map[string]simulate.Spec{"everything": everything(t)}
	for p := simulate.ReferenceOLED; p <= simulate.CRT; p++ {
		all[p.String()] = p.Spec()
	}
	for e := simulate.CoupledLCD; e <= simulate.OfficePanel; e++ {
		all[e.String()] = e.Spec()
	}
	for name, s := range all {
		written := text(t, s)
		back, err := simulate.ReadJSON(strings.NewReader(written))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if again := text(t, back); again != written {
			t.Errorf("%s is written in another way the second time", name)
		}
		if s.Name != back.Name || s.SelfLit != back.SelfLit || s.Origin != back.Origin || fmt.Sprint(s.Notes) != fmt.Sprint(back.Notes) {
			t.Errorf("%s came back as %q, %v, %q, %q", name, back.Name, back.SelfLit, back.Origin, back.Notes)
		}
		o := simulate.Options{RoomLux: 50, WindowShare: 0.7, Place: simulate.Place{X: 0.3, Y: -0.2}, Cold: true}
		if len(s.Modes) > 0 {
			o.Mode = s.Modes[0].Name
		}
		a, err := simulate.New(s, o)
		if err != nil {
			t.Fatal(err)
		}
		b, err := simulate.New(back, o)
		if err != nil {
			t.Fatal(err)
		}
		for k := range 50 {
			signal := colorimetry.RGB{R: float64(k*7%50) / 49, G: float64(k*11%50) / 49, B: float64(k*13%50) / 49}
			at := a.Clock().Now().Add(time.Duration(k) * time.Minute)
			if x, y := a.TruthAt(signal, at), b.TruthAt(signal, at); x != y {
				t.Fatalf("%s shows %v as %v, and as %v when it came back", name, signal, x, y)
			}
		}
		t.Logf("%s: %d bytes, %d lines", name, len(written), strings.Count(written, "\n"))
	}
}

// byHand is a display as somebody would write it.
const byHand = `{
  "kind": "simulated display", "version": 1, "name": "sketch",
  "primaries": {
    "red":   {"wavelength_nm": [400, 620, 630, 700], "radiance_w_per_sr_m2_nm": [0, 0, 0.01, 0]},
    "green": {"wavelength_nm": [400, 520, 530, 700], "radiance_w_per_sr_m2_nm": [0, 0, 0.01, 0]},
    "blue":  {"wavelength_nm": [400, 450, 460, 700], "radiance_w_per_sr_m2_nm": [0, 0, 0.01, 0]}
  },
  "tones": {"red": "2.2", "green": "srgb", "blue": "stretch 0.001 2.4"},
  "coupling": {"red": {"green": 0.02}},
  "drift": {"amount": {"blue": -0.02}, "time": "25m"}
}`

func TestJSONByHand(t *testing.T) {
	s, err := simulate.ReadJSON(strings.NewReader(byHand))
	if err != nil {
		t.Fatal(err)
	}
	if s.Mode != "native" || s.Coupling[0][1] != 0.02 || s.Drift.Amount[2] != -0.02 || s.Drift.Time != 25*time.Minute || s.Tones[2].Light(0) != 0.001 {
		t.Errorf("read as %+v", s)
	}
}

// TestJSONRefusals: what is wrong is named, with its line where it has one.
func TestJSONRefusals(t *testing.T) {
	for _, tc := range []struct {
		name, old, new, says string
		line                 int
	}{
		{"unknown field", `"coupling"`, `"coupeling"`, "coupeling", 9},
		{"unknown in a figure", `{"green": 0.02}`, `{"grey": 0.02}`, "grey", 9},
		{"field twice", `"version": 1,`, `"version": 1, "version": 1,`, "version", 2},
		{"other version", `"version": 1,`, `"version": 2,`, "version 2", 0},
		{"other kind", `simulated display`, `limits`, "limits", 0},
		{"no kind", `"kind": "simulated display", `, ``, "kind", 0},
		{"nameless", `"name": "sketch"`, `"name": ""`, "no name", 0},
		{"no tone", `"red": "2.2", `, ``, "tone of red", 0},
		{"odd tone", `"2.2"`, `"curly"`, "curly", 0},
		{"no spectrum", `"red":   {"wavelength_nm": [400, 620, 630, 700], "radiance_w_per_sr_m2_nm": [0, 0, 0.01, 0]},`, ``, "spectrum of red", 0},
		{"dark spectrum", `[0, 0, 0.01, 0]},
    "green"`, `[0, 0, 0, 0]},
    "green"`, "red primary", 0},
		{"short spectrum", `[400, 450, 460, 700]`, `[400, 450, 700]`, "spectrum of blue", 0},
		{"backwards", `[400, 450, 460, 700]`, `[400, 460, 450, 700]`, "spectrum of blue", 0},
		{"too much coupling", `0.02}`, `0.7}`, "coupling", 0},
		{"odd time", `"25m"`, `"soon"`, "soon", 0},
		{"number for a time", `"25m"`, `25`, "time", 10},
		{"text for a number", `-0.02`, `"much"`, "blue", 10},
		{"something follows", `"25m"}
}`, `"25m"}
} 5`, "follows", 11},
	} {
		bad := strings.Replace(byHand, tc.old, tc.new, 1)
		if bad == byHand {
			t.Fatalf("%s: nothing to replace", tc.name)
		}
		_, err := simulate.ReadJSON(strings.NewReader(bad))
		if err == nil || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: %v", tc.name, err)
			continue
		}
		var where *keep.JSONError
		if tc.line > 0 && (!errors.As(err, &where) || where.Line != tc.line) {
			t.Errorf("%s: %v, want line %d", tc.name, err, tc.line)
		}
	}
	for n := range len(byHand) {
		if _, err := simulate.ReadJSON(strings.NewReader(byHand[:n])); err == nil {
			t.Fatalf("the first %d bytes were taken for a display", n)
		}
	}
	// What cannot be read again is not written.
	for name, change := range map[string]func(*simulate.Spec){
		"unknown tone": func(s *simulate.Spec) { s.Tones[1] = unnamed{} },
		"false tone":   func(s *simulate.Spec) { s.Tones[1] = misnamed{} },
		"long name":    func(s *simulate.Spec) { s.Name = strings.Repeat("x", 1025) },
		"no text":      func(s *simulate.Spec) { s.Origin = "\xff" },
		"many notes":   func(s *simulate.Spec) { s.Notes = make([]string, 65) },
		"no display":   func(s *simulate.Spec) { s.Name = "" },
	} {
		s := simulate.CRT.Spec()
		change(&s)
		var b bytes.Buffer
		if err := s.WriteJSON(&b); err == nil || b.Len() > 0 {
			t.Errorf("%s: %v, %d bytes written", name, err, b.Len())
		}
	}
}

// unnamed is a tone with a name that nothing reads; misnamed bears another's.
type unnamed struct{ tone.Power }

func (unnamed) String() string               { return "of my own" }
func (unnamed) Light(signal float64) float64 { return signal }

type misnamed struct{ tone.Power }

func (misnamed) String() string               { return "linear" }
func (misnamed) Light(signal float64) float64 { return math.Pow(signal, 2) }

// FuzzReadJSON: whatever is read can be switched on, shows finite light, and is
// written so that it reads as the same.
func FuzzReadJSON(f *testing.F) {
	f.Add([]byte(byHand))
	small := everything(f)
	for c := range small.Primaries {
		p, err := simulate.ReadJSON(strings.NewReader(byHand))
		if err != nil {
			f.Fatal(err)
		}
		small.Primaries[c] = p.Primaries[c]
	}
	small.White.Light = small.Primaries[1]
	f.Add([]byte(text(f, small)))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := simulate.ReadJSON(bytes.NewReader(b))
		if err != nil {
			return
		}
		d, err := simulate.New(s, simulate.Options{})
		if err != nil {
			t.Fatalf("read, and not to be switched on: %v", err)
		}
		for _, g := range []float64{0, 0.4, 1} {
			if c := d.Truth(colorimetry.Gray(g)); !c.Finite() {
				t.Fatalf("grey %g is %v", g, c)
			}
		}
		var w bytes.Buffer
		if err := s.WriteJSON(&w); err != nil {
			t.Fatalf("read, and not to be written: %v", err)
		}
		again, err := simulate.ReadJSON(bytes.NewReader(w.Bytes()))
		if err != nil {
			t.Fatalf("written, and not to be read: %v", err)
		}
		if first, second := w.String(), text(t, again); first != second {
			t.Fatalf("written as\n%s\nthen as\n%s", first, second)
		}
	})
}
