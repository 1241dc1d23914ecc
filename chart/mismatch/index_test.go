package mismatch_test

import (
	"math"
	"testing"

	"example.org/primaries/chart/mismatch"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry/spectrum"
)

// Figures worked outside this library by plain sums over the published tables
// of CIE 1931 and CIE 1964 and the formula of illuminant A.
func TestIndexWorked(t *testing.T) {
	flat, err := spectrum.New([]float64{300, 900}, []float64{1, 1})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		of   spectrum.Spectrum
		want float64
	}{
		"the 10° observer's y": {spectrum.CIE1964().YBar, 0.09504258512240517},
		"a flat sensitivity":   {flat, 1.0733342055195918},
		"V(λ)":                 {spectrum.Photopic(), 0},
		"V(λ) on any scale":    {spectrum.Photopic().Scale(37), 0},
	} {
		got, err := mismatch.Index(c.of)
		if err != nil || math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s: %.9f, %v, want %.9f", name, got, err, c.want)
		}
	}
	e, err := spectrum.Illuminant("E")
	if err != nil {
		t.Fatal(err)
	}
	if f, err := mismatch.Factor(spectrum.CIE1964().YBar, e, spectrum.Spectrum{}); err != nil || math.Abs(f-0.966015267276166) > 1e-6 {
		t.Errorf("the 10° observer's y under equal energy: factor %.9f, %v", f, err)
	}
	if _, err := mismatch.Index(spectrum.Spectrum{}); err == nil {
		t.Error("darkness has an index")
	}
	if _, err := mismatch.Factor(flat, spectrum.Spectrum{}, e); err == nil {
		t.Error("no light has a factor")
	}
}

// The simulated colorimeter states f1′ = 3.6 % of its Y channel. Its factor is
// 1 where it was calibrated, and the one by which its readings are off on a
// panel.
func TestIndexOfTheSimulatedColorimeter(t *testing.T) {
	b := newBench(t, typical(t, "rgb-leds"), simulate.Options{})
	sens, obs := b.display.Sensitivities(), spectrum.CIE1931()
	f1, err := mismatch.Indices(sens, obs)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("f1′ of X, Y, Z: %.2f, %.2f, %.2f %%", 100*f1[0], 100*f1[1], 100*f1[2])
	if one, err := mismatch.Index(sens[1]); err != nil || math.Abs(one-f1[1]) > 1e-12 || math.Abs(one-0.036) > 0.0005 {
		t.Errorf("f1′ is %.4f, stated as 0.036; %v", one, err)
	}
	eye, err := spectrum.NewObserver("colorimeter", sens[0], sens[1], sens[2])
	if err != nil {
		t.Fatal(err)
	}
	for _, light := range b.display.Spec().Primaries {
		f, err := mismatch.Factors(sens, obs, light, spectrum.Spectrum{})
		if err != nil {
			t.Fatal(err)
		}
		want, raw := obs.Emission(light), eye.Emission(light)
		for i, v := range [3][2]float64{{raw.X, want.X}, {raw.Y, want.Y}, {raw.Z, want.Z}} {
			// The colorimeter reads illuminant A right to its own rounding.
			if math.Abs(f[i]*v[0]/v[1]-1) > 1e-6 {
				t.Errorf("channel %d: %g times %g is not %g", i, f[i], v[0], v[1])
			}
		}
		if same, err := mismatch.Factor(sens[1], light, light); err != nil || math.Abs(same-1) > 1e-12 {
			t.Errorf("factor of its own calibration: %g, %v", same, err)
		}
	}
	if _, err := mismatch.Indices([3]spectrum.Spectrum{}, obs); err == nil {
		t.Error("darkness has indices")
	}
	if _, err := mismatch.Factors(sens, obs, spectrum.Spectrum{}, spectrum.Spectrum{}); err == nil {
		t.Error("no light has factors")
	}
}
