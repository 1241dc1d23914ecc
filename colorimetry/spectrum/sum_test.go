package spectrum_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// The perfect diffuser has the white's tristimulus values, half of it half of
// them, however the sum is taken.
func TestReflectionOfGreys(t *testing.T) {
	half := must(t, []float64{380, 500, 500.5, 780}, []float64{0.5, 0.5, 0.5, 0.5})
	for _, o := range spectrum.Observers() {
		for _, name := range spectrum.IlluminantNames() {
			light := illuminant(t, name)
			for _, how := range []spectrum.Summation{{}, {StepNM: 1}, {StepNM: 5}, {StepNM: 10, FromNM: 380, ToNM: 780, Beyond: spectrum.Refuse}, {Between: spectrum.PCHIP}, {Between: spectrum.Lagrange}} {
				white, err := o.White(light, how)
				if err != nil || white.Y != 1 {
					t.Fatalf("%s, %s: %v, %v", o.Name, name, white, err)
				}
				grey, err := o.Reflection(half, light, how)
				if err != nil || away(grey.Scale(2), white) > 1e-12 {
					t.Errorf("%s, %s, %+v: %v, white %v, %v", o.Name, name, how, grey, white, err)
				}
				w, err := o.Weights(light, how)
				if err != nil || away(w.White(), white) > 1e-12 {
					t.Fatalf("%s, %s, %+v: white %v by weights, %v", o.Name, name, how, w.White(), err)
				}
				if again, err := w.Reflection(half); err != nil || away(again, grey) > 1e-12 {
					t.Errorf("%s, %s, %+v: %v by weights, %v", o.Name, name, how, again, err)
				}
			}
		}
	}
}

// Weights, sums and single readings agree on real surfaces.
func TestWeightsAgreeWithSums(t *testing.T) {
	o, light := spectrum.CIE1964(), spectrum.IlluminantD65()
	how := spectrum.Summation{FromNM: 380, ToNM: 780, StepNM: 5}
	w, err := o.Weights(light, how)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range spectrum.EvaluationColours() {
		a, err := o.Reflection(s.Reflectance, light, how)
		if err != nil {
			t.Fatal(err)
		}
		_, v := s.Reflectance.Samples()
		if b := w.XYZ(v); away(a, b) > 1e-14 {
			t.Errorf("%s: %v by the sum, %v by weights", s.Name, a, b)
		}
	}
	nm, table := w.Wavelengths(), w.Table()
	if len(nm) != 81 || nm[0] != 380 || nm[80] != 780 || len(table) != 81 || w.Len() != 81 {
		t.Errorf("%d wavelengths from %g", len(nm), nm[0])
	}
	table[40] = colorimetry.XYZ{}
	if w.Table()[40] == table[40] {
		t.Error("a caller can change the weights")
	}
	defer func() {
		if recover() == nil {
			t.Error("too few readings don't panic")
		}
	}()
	w.XYZ(make([]float64, 80))
}

func TestEmissionWith(t *testing.T) {
	o := spectrum.CIE1931()
	for _, p := range spectrum.PanelSources() {
		for i, s := range p.Primaries {
			want := o.Emission(s)
			if got, err := o.EmissionWith(s, spectrum.Summation{}); err != nil || away(got, want) > 1e-12*want.Y+1e-12 {
				t.Errorf("%s: %v, by Emission %v, %v", p.Key, got, want, err)
			}
			// What EmissionWith's comment says of measurements at 4 and 5 nm.
			if p.Key == "blue-red-green" && i == 0 {
				continue // narrow lines
			}
			exact := want.Chromaticity()
			for _, step := range []float64{4, 5} {
				coarse := resample(t, s, spectrum.Resampling{StepNM: step})
				got, err := o.EmissionWith(coarse, spectrum.Summation{StepNM: step})
				if err != nil {
					t.Fatal(err)
				}
				if c := got.Chromaticity(); math.Abs(c.X-exact.X) > 1e-4 || math.Abs(c.Y-exact.Y) > 1e-4 {
					t.Errorf("%s, primary %d at %g nm: %.6f, exactly %.6f", p.Key, i, step, c, exact)
				}
			}
		}
	}
	// A light cut off at 700 nm and what may be made of it.
	cut := must(t, []float64{380, 700}, []float64{1, 1})
	full := must(t, []float64{360, 830}, []float64{1, 1})
	if got, err := o.EmissionWith(cut, spectrum.Summation{Beyond: spectrum.Nearest}); err != nil || away(got, o.Emission(full)) > 1e-9 {
		t.Errorf("%v, %v", got, err)
	}
	if _, err := o.EmissionWith(cut, spectrum.Summation{FromNM: 380, ToNM: 780, Beyond: spectrum.Refuse}); err == nil || !strings.Contains(err.Error(), "380 to 700") {
		t.Errorf("refused: %v", err)
	}
}

func TestSummationRefuses(t *testing.T) {
	o, d65 := spectrum.CIE1931(), spectrum.IlluminantD65()
	grey := must(t, []float64{380, 780}, []float64{0.5, 0.5})
	far := must(t, []float64{900, 1000}, []float64{1, 1})
	for name, k := range map[string]struct {
		sample, light spectrum.Spectrum
		how           spectrum.Summation
		says          string
	}{
		"partial":        {grey, d65, spectrum.Summation{Beyond: spectrum.Refuse}, "380 to 780 nm, the sum from 360 to 830"},
		"no overlap":     {far, d65, spectrum.Summation{}, "don't meet"},
		"darkness":       {spectrum.Spectrum{}, d65, spectrum.Summation{}, "don't meet"},
		"infrared light": {grey, far, spectrum.Summation{}, "no two wavelengths"},
		"no light":       {grey, spectrum.Spectrum{}, spectrum.Summation{}, "no two wavelengths"},
		"dark light":     {grey, d65.Scale(0), spectrum.Summation{}, "above 0"},
		"negative light": {grey, d65.Scale(-1), spectrum.Summation{}, "above 0"},
		"endless light":  {grey, d65.Scale(1e306), spectrum.Summation{}, "finite"},
		"endless sample": {grey.Scale(math.MaxFloat64), d65.Scale(1e-300), spectrum.Summation{}, "too large"},
		"step":           {grey, d65, spectrum.Summation{StepNM: -1}, "above 0"},
		"NaN":            {grey, d65, spectrum.Summation{StepNM: math.NaN()}, "above 0"},
		"fine":           {grey, d65, spectrum.Summation{StepNM: 1e-4}, "65536"},
		"range":          {grey, d65, spectrum.Summation{FromNM: 700, ToNM: 400}, "no range"},
		"half a range":   {grey, d65, spectrum.Summation{FromNM: 400}, "no range"},
		"beyond":         {grey, d65, spectrum.Summation{FromNM: 850, ToNM: 900}, "no two wavelengths"},
		"sprague":        {grey, d65, spectrum.Summation{Between: spectrum.Sprague}, "needs 6"},
	} {
		if c, err := o.Reflection(k.sample, k.light, k.how); err == nil || !strings.Contains(err.Error(), k.says) || strings.Count(err.Error(), "spectrum:") != 1 || c != (colorimetry.XYZ{}) {
			t.Errorf("%s: %v and error %v, want one saying %q", name, c, err, k.says)
		}
	}
	for name, table := range map[string]spectrum.ASTM{
		"step": {StepNM: 1}, "few": {FromNM: 400, ToNM: 420}, "range": {FromNM: 700, ToNM: 400}, "passband": {Passband: 9}, "ends": {FromNM: -5, ToNM: 700},
	} {
		if _, err := o.ASTMWeights(d65, table); err == nil {
			t.Errorf("%s is no error", name)
		}
	}
	if _, err := o.ASTMWeights(far, spectrum.ASTM{}); err == nil || !strings.Contains(err.Error(), "above 0") {
		t.Errorf("no light for the weights: %v", err)
	}
}

// Nothing is allocated for a colour.
func TestAllocations(t *testing.T) {
	o, d65, fl := spectrum.CIE1931(), spectrum.IlluminantD65(), illuminant(t, "FL11")
	chip := spectrum.MunsellChips()[7].Reflectance
	w, err := o.ASTMWeights(d65, spectrum.ASTM{})
	if err != nil {
		t.Fatal(err)
	}
	readings := make([]float64, w.Len())
	c, white := colorimetry.Chromaticity{X: 0.4, Y: 0.35}, colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	sprague := spectrum.Summation{Between: spectrum.Sprague}
	pchip := spectrum.Summation{Between: spectrum.PCHIP}
	lagrange := spectrum.Summation{Between: spectrum.Lagrange}
	for name, f := range map[string]func() error{
		"At":              func() error { chip.At(456.7); return nil },
		"Emission":        func() error { o.Emission(fl); return nil },
		"EmissionWith":    func() error { _, err := o.EmissionWith(fl, sprague); return err },
		"Reflection":      func() error { _, err := o.Reflection(chip, d65, pchip); return err },
		"White":           func() error { _, err := o.White(fl, lagrange); return err },
		"Weights.XYZ":     func() error { w.XYZ(readings); return nil },
		"Weights.White":   func() error { w.White(); return nil },
		"Weights of chip": func() error { _, err := w.Reflection(chip); return err },
		"CCT":             func() error { _, _, err := spectrum.CCT(c); return err },
		"FromCCT":         func() error { _, err := spectrum.FromCCT(5000, 0.003); return err },
		"Planckian":       func() error { _, err := spectrum.Planckian(5000); return err },
		"Daylight":        func() error { _, err := spectrum.Daylight(5000); return err },
		"Dominant":        func() error { _, err := o.Dominant(c, white); return err },
		"FromDominant":    func() error { _, err := o.FromDominant(550, false, 0.5, white); return err },
		"Monochromatic":   func() error { o.Monochromatic(550); return nil },
	} {
		if err := f(); err != nil { // and lets tables be made
			t.Errorf("%s: %v", name, err)
		}
		if n := testing.AllocsPerRun(20, func() { _ = f() }); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
}

// A surface between black and the perfect diffuser lies between their Y; the
// result is linear in the surface.
func FuzzReflection(f *testing.F) {
	f.Add(0.0, 0.5, 1.0, 0.25, 380.0, 100.0)
	f.Add(1.0, 1.0, 0.0, 1e-300, 400.5, 33.3)
	o, light := spectrum.CIE1931(), spectrum.IlluminantD50()
	f.Fuzz(func(t *testing.T, a, b, c, d, from, step float64) {
		v := []float64{a, b, c, d}
		for _, x := range v {
			if !(x >= 0 && x <= 1) {
				return
			}
		}
		if !(step > 0.01) {
			return
		}
		s, err := spectrum.New([]float64{from, from + step, from + 2*step, from + 3*step}, v)
		if err != nil {
			return
		}
		for _, how := range []spectrum.Summation{{}, {Between: spectrum.PCHIP}, {StepNM: 5, Beyond: spectrum.Nothing}} {
			one, err := o.Reflection(s, light, how)
			if err != nil {
				return
			}
			if !(one.Y >= 0 && one.Y <= 1+1e-12) || !one.Finite() {
				t.Fatalf("%v with %+v", one, how)
			}
			two, err := o.Reflection(s.Scale(2), light, how)
			if err != nil || away(two, one.Scale(2)) > 1e-12 {
				t.Fatalf("%v, twice as much %v, %v", one, two, err)
			}
		}
	})
}

func benchmark(b *testing.B, f func()) {
	b.Helper()
	b.ReportAllocs()
	for b.Loop() {
		f()
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N), "ns/colour")
}

func BenchmarkEmission(b *testing.B) {
	o, s := spectrum.CIE1931(), spectrum.PanelSources()[0].Primaries[1]
	benchmark(b, func() { o.Emission(s) })
}

func BenchmarkReflection(b *testing.B) {
	o, d65, s := spectrum.CIE1931(), spectrum.IlluminantD65(), spectrum.MunsellChips()[0].Reflectance
	for _, m := range []spectrum.Interpolation{spectrum.Linear, spectrum.Sprague, spectrum.PCHIP, spectrum.Lagrange} {
		b.Run(m.String(), func(b *testing.B) {
			how := spectrum.Summation{Between: m}
			benchmark(b, func() {
				if _, err := o.Reflection(s, d65, how); err != nil {
					b.Fatal(err)
				}
			})
		})
	}
}

func BenchmarkWeights(b *testing.B) {
	w, err := spectrum.CIE1931().ASTMWeights(spectrum.IlluminantD65(), spectrum.ASTM{})
	if err != nil {
		b.Fatal(err)
	}
	readings := make([]float64, w.Len())
	benchmark(b, func() { w.XYZ(readings) })
}

func BenchmarkDominant(b *testing.B) {
	o := spectrum.CIE1931()
	c, white := colorimetry.Chromaticity{X: 0.4, Y: 0.35}, colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	benchmark(b, func() {
		if _, err := o.Dominant(c, white); err != nil {
			b.Fatal(err)
		}
	})
}
