package spectrum_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/spectrum"
)

// Step, range and sums of the embedded table. ISO/CIE 11664-1:2019 tabulates
// 360 to 830 nm; the sums are those of the CIE's own open table, whose
// SHA-256 is the published one (doi:10.25039/CIE.DS.xvudnb9b).
func TestCIE1931Table(t *testing.T) {
	o := spectrum.CIE1931()
	for i, s := range []spectrum.Spectrum{o.XBar, o.YBar, o.ZBar} {
		nm, v := s.Samples()
		if len(nm) != 471 || nm[0] != 360 || nm[470] != 830 {
			t.Fatalf("function %d: %d samples from %g to %g nm", i, len(nm), nm[0], nm[len(nm)-1])
		}
		var sum float64
		for j := range v {
			if nm[j] != float64(360+j) {
				t.Fatalf("sample %d is at %g nm", j, nm[j])
			}
			sum += v[j]
		}
		if want := []float64{106.8654695, 106.8569171, 106.8922513}[i]; math.Abs(sum-want) > 5e-8 {
			t.Errorf("function %d sums to %.8f, want %.7f", i, sum, want)
		}
	}
	// CIE 1924 V(555 nm) = 1, and values of ISO/CIE 11664-1:2019 from memory.
	if o.YBar.At(555) != 1 || math.Abs(o.XBar.At(600)-1.0622) > 1e-12 || math.Abs(o.ZBar.At(450)-1.77211) > 1e-12 {
		t.Errorf("y(555) %g, x(600) %g, z(450) %g", o.YBar.At(555), o.XBar.At(600), o.ZBar.At(450))
	}
}

// By the definition of the candela, light of 540 THz (555 nm in air, where the
// y function is 1) has 683 lm/W: a flat 1 nm of 1 W/(sr·m²) is 683 cd/m².
func TestEmissionUnit(t *testing.T) {
	s := must(t, []float64{554, 555, 556}, []float64{0, 1, 0})
	if got := spectrum.CIE1931().Emission(s).Y; math.Abs(got-683) > 1e-10 {
		t.Errorf("got %g cd/m², want 683", got)
	}
}

// relative returns the tristimulus values of s with Y = 100.
func relative(s spectrum.Spectrum) colorimetry.XYZ {
	c := spectrum.CIE1931().Emission(s)
	return c.Scale(100 / c.Y)
}

// Illuminant A is a black body of 2848 K with c2 = 1.4350e-2 m·K,
// ISO/CIE 11664-2:2022; CIE 015:2018 prints its white to two decimals.
func TestPlanckianSpectrum(t *testing.T) {
	s, err := spectrum.PlanckianSpectrum(2848 * 1.4388 / 1.4350)
	if err != nil {
		t.Fatal(err)
	}
	got := relative(s)
	if math.Abs(got.X-109.85) > 0.005 || math.Abs(got.Z-35.58) > 0.005 {
		t.Errorf("A: X %.4f, Z %.4f; printed 109.85, 35.58", got.X, got.Z)
	}
	if a := relative(spectrum.IlluminantA()); away(got, a) > 1e-9 {
		t.Errorf("%v by Planck's law, %v by A's formula", got, a)
	}
}

// The 10 nm rows of the tables in CIE 015:2018.
func TestDaylightSpectra(t *testing.T) {
	nominal := 1.4388 / 1.4380
	for name, kelvin := range map[string]float64{"D50": 5000, "D55": 5500, "D65": 6500, "D75": 7500} {
		s, err := spectrum.DaylightSpectrum(kelvin * nominal)
		if err != nil {
			t.Fatal(err)
		}
		checked := 0
		for _, row := range worked.Read(t, "daylight_spectra.csv") {
			nm := row.Num(t, "wavelength_nm")
			if math.Mod(nm, 10) != 0 {
				continue
			}
			checked++
			// Three decimals are printed.
			if got, want := s.At(nm), row.Num(t, name); math.Abs(got-want) > 5.1e-4 {
				t.Errorf("%s at %g nm: got %.4f, want %.3f", name, nm, got, want)
			}
		}
		if checked != 49 {
			t.Errorf("%s: %d wavelengths checked, want 49", name, checked)
		}
	}
}
