package aim

import (
	"strings"
	"testing"
)

func TestWith(t *testing.T) {
	a, err := Aim{Luminance: 80, BlackCdM2: 0.2}.With(Words{White: "D50", Tone: "srgb", Policy: "lift"})
	if err != nil {
		t.Fatal(err)
	}
	if a.White.Name != "D50" || a.Curve().String() != "srgb" || a.Black != BlackLift || a.Luminance != 80 || a.BlackCdM2 != 0.2 {
		t.Errorf("the aim became %+v", a)
	}
	some := Words{"D50", "90", "srgb", "0.1", "lift", "0.2"}.Only(func(part string) bool { return part == "tone" || part == "black-policy" })
	if want := (Words{Tone: "srgb", Policy: "lift"}); some != want {
		t.Errorf("tone and policy alone: %+v", some)
	}
	a, err = a.With(Words{Black: "1000 : 1", Ambient: "0.4", Tone: "GSDF"})
	if err != nil || a.BlackRatio != 1000 || a.BlackCdM2 != 0 || a.Ambient != MeasuredAmbient(0.4) || a.Curve() != (GSDF{}) {
		t.Errorf("the aim became %+v, %v", a, err)
	}
	if a, err = a.With(Words{Black: "0.3"}); err != nil || a.BlackRatio != 0 || a.BlackCdM2 != 0.3 {
		t.Errorf("the black became %g, or %g:1, %v", a.BlackCdM2, a.BlackRatio, err)
	}
	for name, w := range map[string]Words{
		"ratio": {Black: "1:1"}, "paper": {Luminance: "paper 0.85"}, "ambient": {Ambient: "bright"},
		"white": {White: "D51"}, "luminance": {Luminance: "-3"}, "tone": {Tone: "steep"}, "black": {Black: "dark"}, "black policy": {Policy: "squash"},
	} {
		if _, err := (Aim{}).With(w); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: error %v does not name it", name, err)
		}
	}
}
