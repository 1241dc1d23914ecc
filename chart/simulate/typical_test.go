package simulate_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// TestTypical: every kind of light source makes a display of D65 at 200 cd/m²
// that is called typical and invented.
func TestTypical(t *testing.T) {
	for _, source := range spectrum.PanelSources() {
		s, err := simulate.Typical(source.Key)
		if err != nil {
			t.Fatal(err)
		}
		d, err := simulate.New(s, simulate.Options{})
		if err != nil {
			t.Fatal(err)
		}
		w, k := d.Truth(colorimetry.Gray(1)), d.Truth(colorimetry.RGB{})
		if math.Abs(w.Y-200) > 1e-6 || w.UV().Distance(colorimetry.D65().UV()) > 1e-6 {
			t.Errorf("%s: white %v", source.Key, w)
		}
		if want := map[bool]float64{true: 0, false: 0.2}[s.SelfLit]; math.Abs(k.Y-want) > 1e-9 || s.SelfLit != strings.HasPrefix(source.Key, "self") {
			t.Errorf("%s: black %v", source.Key, k)
		}
		if !strings.Contains(s.Name, "Typical") || !strings.Contains(s.Origin, "invented") {
			t.Errorf("%s: %q, %q", source.Key, s.Name, s.Origin)
		}
	}
	if _, err := simulate.Typical("gas light"); err == nil || !strings.Contains(err.Error(), "rgb-leds") {
		t.Errorf("an unknown source: %v", err)
	}
}

// TestOrigins: the measured displays say what they are.
func TestOrigins(t *testing.T) {
	for _, e := range embedded {
		if o := e.panel.Spec().Origin; !strings.Contains(o, "additive reconstruction from measured spectra and tone levels") {
			t.Errorf("%v says of itself %q", e.panel, o)
		}
	}
	for e := simulate.CoupledLCD; e <= simulate.FourSubpixels; e++ {
		if s := e.Spec(); !strings.Contains(s.Origin, "invented") || !strings.Contains(s.Name, "invented") {
			t.Errorf("%v says of itself %q", e, s.Origin)
		}
	}
}
