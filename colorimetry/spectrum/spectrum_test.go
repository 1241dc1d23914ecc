package spectrum_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/spectrum"
)

func must(t testing.TB, nm, v []float64) spectrum.Spectrum {
	t.Helper()
	s, err := spectrum.New(nm, v)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestAt(t *testing.T) {
	s := must(t, []float64{400, 410, 450}, []float64{1, 3, -1})
	for nm, want := range map[float64]float64{399.9: 0, 400: 1, 405: 2, 410: 3, 430: 1, 450: -1, 450.1: 0, math.Inf(1): 0} {
		if got := s.At(nm); math.Abs(got-want) > 1e-15 {
			t.Errorf("at %g nm: %g, want %g", nm, got, want)
		}
	}
	if got := s.At(math.NaN()); !math.IsNaN(got) {
		t.Errorf("at NaN: %g", got)
	}
	var dark spectrum.Spectrum
	if lo, hi := dark.Range(); dark.At(500) != 0 || lo != 0 || hi != 0 || dark.Integral(s) != 0 || s.Integral(dark) != 0 {
		t.Error("darkness shines")
	}
}

func TestAddAndScale(t *testing.T) {
	a := must(t, []float64{400, 500, 600}, []float64{0, 1, 0})
	b := must(t, []float64{400, 450, 600}, []float64{2, 0, 2})
	sum := a.Add(b.Scale(3))
	for nm := 400.0; nm <= 600; nm += 12.5 {
		if got, want := sum.At(nm), a.At(nm)+3*b.At(nm); math.Abs(got-want) > 1e-14 {
			t.Errorf("at %g nm: %g, want %g", nm, got, want)
		}
	}
	if sum.Len() != 4 {
		t.Errorf("%d samples, want 4", sum.Len())
	}
	// Operands stay as they were.
	if a.At(500) != 1 || b.At(400) != 2 {
		t.Error("an operand changed")
	}
	nm, v := a.Samples()
	nm[1], v[1] = 7, 7
	if a.At(500) != 1 {
		t.Error("Samples hands out its own slices")
	}
}

// Sums that can be done in the head.
func TestIntegral(t *testing.T) {
	flat := must(t, []float64{400, 700}, []float64{2, 2})
	ramp := must(t, []float64{500.5, 510.5}, []float64{0, 10})
	// 501 to 510: 0.5, 1.5 … 9.5, which is 50, times 2.
	if got := flat.Integral(ramp); math.Abs(got-100) > 1e-12 {
		t.Errorf("got %g, want 100", got)
	}
	if a, b := flat.Integral(ramp), ramp.Integral(flat); a != b {
		t.Errorf("%g one way, %g the other", a, b)
	}
	// At whole nm and between them the same sum: the last sample is at 560 nm.
	each := resample(t, ramp.Add(flat), spectrum.Resampling{FromNM: 450, ToNM: 560})
	odd := each.Add(must(t, []float64{560.5, 561.5}, []float64{0, 0}))
	for _, o := range spectrum.Observers() {
		if a, b := each.Integral(o.YBar), odd.Integral(o.YBar); !(math.Abs(a-b) <= 1e-12*a) {
			t.Errorf("%s: %.15g by one way, %.15g by the other", o.Name, a, b)
		}
	}
	if got := each.Integral(must(t, []float64{561, 562}, []float64{1, 1})); got != 0 {
		t.Errorf("spectra at whole nm that do not meet give %g", got)
	}
	if got := flat.Integral(must(t, []float64{710, 720}, []float64{1, 1})); got != 0 {
		t.Errorf("spectra that do not meet give %g", got)
	}
	if got := flat.Integral(must(t, []float64{500.2, 500.8}, []float64{1, 1})); got != 0 {
		t.Errorf("a spectrum between two whole nm gives %g", got)
	}
}

func TestNewRefuses(t *testing.T) {
	for name, k := range map[string]struct {
		nm, v []float64
		says  string
	}{
		"lengths":    {[]float64{400, 410}, []float64{1}, "2 wavelengths but 1"},
		"one sample": {[]float64{400}, []float64{1}, "1 samples"},
		"metres":     {[]float64{4e-7, 5e-7}, []float64{1, 1}, "give nm"},
		"NaN":        {[]float64{400, math.NaN()}, []float64{1, 1}, "give nm"},
		"order":      {[]float64{400, 400}, []float64{1, 1}, "not above"},
		"value":      {[]float64{400, 410}, []float64{1, math.Inf(1)}, "give a number within"},
	} {
		if _, err := spectrum.New(k.nm, k.v); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%s: error %v, want one saying %q", name, err, k.says)
		}
	}
}

func TestEqual(t *testing.T) {
	a, err := spectrum.New([]float64{400, 500}, []float64{1, 2})
	if err != nil {
		t.Fatal(err)
	}
	b, err := spectrum.New([]float64{400, 501}, []float64{1, 2})
	if err != nil {
		t.Fatal(err)
	}
	if none := (spectrum.Spectrum{}); !a.Equal(a.Scale(2).Scale(0.5)) || a.Equal(a.Scale(2)) || a.Equal(b) || a.Equal(none) || !none.Equal(none) {
		t.Error("spectra are equal where their samples are, and nowhere else")
	}
}
