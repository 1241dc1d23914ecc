package spectrum_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/spectrum"
	"gonum.org/v1/gonum/interp"
)

// Sprague interpolation of 16 samples at each tenth of a step, ends included.
// Source: test suite of colour-science/colour, printed to 8 decimals; the first
// step, the last step and one in the middle.
func TestSpraguePrinted(t *testing.T) {
	value := []float64{9.37, 12.32, 12.46, 9.51, 5.92, 4.33, 4.29, 3.88, 4.51, 10.92, 27.5, 49.67, 69.59, 81.73, 88.19, 86.05}
	nm := make([]float64, len(value))
	for i := range nm {
		nm[i] = 400 + 10*float64(i)
	}
	fine := resample(t, must(t, nm, value), spectrum.Resampling{Between: spectrum.Sprague})
	for first, want := range map[float64][]float64{
		400: {9.37, 9.72075073, 10.06936191, 10.41147570, 10.74302270, 11.06022653, 11.35960827, 11.63799100, 11.89250427, 12.12058860, 12.32},
		410: {12.32, 12.48873542, 12.62489669, 12.72706530, 12.79433478, 12.82623598, 12.82266243, 12.78379557, 12.71003009, 12.60189921, 12.46},
		480: {4.51, 4.81362075, 5.17028800, 5.58225150, 6.05776000, 6.60890625, 7.24947200, 7.99277300, 8.84950400, 9.82558375, 10.92},
		530: {81.73, 82.64375688, 83.51935227, 84.35919976, 85.15567334, 85.89451368, 86.55823441, 87.12952842, 87.59467414, 87.94694187, 88.19},
		540: {88.19, 88.33345751, 88.37111372, 88.30221714, 88.13600972, 87.88846516, 87.57902706, 87.22734720, 86.85002373, 86.45733945, 86.05},
	} {
		for i, v := range want {
			if got := fine.At(first + float64(i)); math.Abs(got-v) > 5.1e-9 {
				t.Errorf("%g nm: %.9f, printed %.8f", first+float64(i), got, v)
			}
		}
	}
}

// SciPy's PCHIP, and gonum's Fritsch–Butland, on the same 500 sets.
func TestPCHIP(t *testing.T) {
	rows := worked.Read(t, "pchip.csv")
	if len(rows) != 500 {
		t.Fatalf("%d rows, want 500", len(rows))
	}
	for i, row := range rows {
		var nm, v []float64
		for k := range 8 {
			nm, v = append(nm, row.Num(t, fmt.Sprintf("x%d", k))), append(v, row.Num(t, fmt.Sprintf("y%d", k)))
		}
		at, want := row.Num(t, "nm"), row.Num(t, "value")
		s := resample(t, must(t, nm, v), spectrum.Resampling{FromNM: at, ToNM: at + 1, Between: spectrum.PCHIP})
		var g interp.FritschButland
		if err := g.Fit(nm, v); err != nil {
			t.Fatal(err)
		}
		if got := s.At(at); math.Abs(got-want) > 1e-12 || math.Abs(got-g.Predict(at)) > 1e-12 {
			t.Errorf("set %d: %.15g; SciPy %.15g, gonum %.15g", i, got, want, g.Predict(at))
		}
	}
}

// Each method reproduces what it must: straight lines all of them, cubics
// Lagrange inside and parabolas at the ends, fourth order Sprague inside.
func TestInterpolationOrder(t *testing.T) {
	poly := func(c ...float64) func(float64) float64 {
		return func(nm float64) float64 {
			x, y := (nm-500)/100, 0.0
			for i := len(c) - 1; i >= 0; i-- {
				y = y*x + c[i]
			}
			return y
		}
	}
	for _, k := range []struct {
		m      spectrum.Interpolation
		f      func(float64) float64
		lo, hi float64
	}{
		{spectrum.Linear, poly(1, -2), 400, 600},
		{spectrum.PCHIP, poly(1, -2), 400, 600},
		{spectrum.Lagrange, poly(1, -2, 3), 400, 600},
		{spectrum.Lagrange, poly(1, -2, 3, 4), 420, 580},
		{spectrum.Sprague, poly(1, -2), 400, 600},
		{spectrum.Sprague, poly(1, -2, 3, 4, -5), 440, 560},
	} {
		var nm, v []float64
		for w := 400.0; w <= 600; w += 20 {
			nm, v = append(nm, w), append(v, k.f(w))
		}
		s := resample(t, must(t, nm, v), spectrum.Resampling{FromNM: k.lo, ToNM: k.hi, StepNM: 0.5, Between: k.m})
		at, got := s.Samples()
		for i, w := range at {
			if math.Abs(got[i]-k.f(w)) > 1e-12 {
				t.Fatalf("%v from %g to %g nm: at %g %.15g, want %.15g", k.m, k.lo, k.hi, w, got[i], k.f(w))
			}
		}
	}
}

func TestExtrapolation(t *testing.T) {
	s := must(t, []float64{400, 410, 430}, []float64{1, 2, 4})
	for e, want := range map[spectrum.Extrapolation][2]float64{
		spectrum.Usual: {1, 4}, spectrum.Nearest: {1, 4}, spectrum.Nothing: {0, 0}, spectrum.Straight: {0, 5},
	} {
		r := resample(t, s, spectrum.Resampling{FromNM: 390, ToNM: 440, StepNM: 10, Beyond: e})
		if r.At(390) != want[0] || r.At(440) != want[1] || r.At(420) != 3 {
			t.Errorf("%v: %g and %g beyond the ends, want %v", e, r.At(390), r.At(440), want)
		}
	}
}

func TestResampleRefuses(t *testing.T) {
	s := must(t, []float64{400, 410, 430}, []float64{1, 2, 4})
	for name, k := range map[string]struct {
		s    spectrum.Spectrum
		how  spectrum.Resampling
		says string
	}{
		"darkness":       {spectrum.Spectrum{}, spectrum.Resampling{}, "no samples"},
		"range":          {s, spectrum.Resampling{FromNM: 430, ToNM: 400}, "no range"},
		"NaN":            {s, spectrum.Resampling{FromNM: math.NaN(), ToNM: 400}, "no range"},
		"step":           {s, spectrum.Resampling{StepNM: -1}, "above 0"},
		"too many":       {s, spectrum.Resampling{StepNM: 1e-5}, "more than 65536"},
		"one":            {s, spectrum.Resampling{StepNM: 31}, "single sample"},
		"beyond":         {s, spectrum.Resampling{FromNM: 400, ToNM: 440, StepNM: 10, Beyond: spectrum.Refuse}, "choose a rule"},
		"few":            {s, spectrum.Resampling{Between: spectrum.Sprague}, "needs 6"},
		"unequal":        {must(t, []float64{1, 2, 3, 4, 5, 7}, make([]float64, 6)), spectrum.Resampling{Between: spectrum.Sprague}, "equally spaced"},
		"no such method": {s, spectrum.Resampling{Between: 9}, "interpolation 9"},
		"no such rule":   {s, spectrum.Resampling{Beyond: 9}, "extrapolation 9"},
		"overflow":       {must(t, []float64{400, 410}, []float64{1, -1}).Scale(math.MaxFloat64), spectrum.Resampling{FromNM: 390, ToNM: 420, Beyond: spectrum.Straight}, "too large"},
	} {
		if _, err := k.s.Resample(k.how); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%s: error %v, want one saying %q", name, err, k.says)
		}
	}
}

// A smooth spectrum read through a triangle: the correction takes away all but
// a small part of the passband's effect, and agrees with the coefficients that
// Stearns and Stearns (1988) round to 0.083.
func TestCorrectBandpass(t *testing.T) {
	bell := func(nm float64) float64 { return math.Exp(-math.Pow((nm-550)/40, 2)) }
	var nm, truth, read []float64
	for w := 400.0; w <= 700; w += 10 {
		var sum float64
		for d := -10.0; d <= 10; d += 0.1 {
			sum += bell(w+d) * (1 - math.Abs(d)/10) / 100
		}
		nm, truth, read = append(nm, w), append(truth, bell(w)), append(read, sum)
	}
	s, err := must(t, nm, read).CorrectBandpass(10)
	if err != nil {
		t.Fatal(err)
	}
	_, got := s.Samples()
	var before, after float64
	for i := range truth {
		before, after = math.Max(before, math.Abs(read[i]-truth[i])), math.Max(after, math.Abs(got[i]-truth[i]))
	}
	if before < 0.009 || after > 0.0006 {
		t.Errorf("off by %.5f before, %.5f after", before, after)
	}
	s, err = must(t, []float64{400, 410, 420, 430}, []float64{0, 0, 12, 0}).CorrectBandpass(10)
	if err != nil {
		t.Fatal(err)
	}
	if _, got := s.Samples(); fmt.Sprintf("%.6f", got) != "[0.000000 -1.000000 14.000000 -1.000000]" {
		t.Errorf("coefficients times 12 are %v", got)
	}
	for name, err := range map[string]error{
		"unequal": func() error { _, err := must(t, []float64{1, 2, 4}, make([]float64, 3)).CorrectBandpass(1); return err }(),
		"few":     func() error { _, err := must(t, []float64{1, 2}, make([]float64, 2)).CorrectBandpass(1); return err }(),
		"wide":    func() error { _, err := must(t, []float64{1, 2, 3}, make([]float64, 3)).CorrectBandpass(4); return err }(),
		"NaN": func() error {
			_, err := must(t, []float64{1, 2, 3}, make([]float64, 3)).CorrectBandpass(math.NaN())
			return err
		}(),
	} {
		if err == nil {
			t.Errorf("%s is no error", name)
		}
	}
}

func TestMultiply(t *testing.T) {
	light := must(t, []float64{400, 500, 600}, []float64{0, 2, 4})
	filter := must(t, []float64{450, 550, 700}, []float64{0.5, 0.5, 0.5})
	p := light.Multiply(filter)
	if lo, hi := p.Range(); lo != 500 || hi != 600 {
		// 450 nm is the filter's first sample, at which light is between two.
		if lo != 450 || hi != 600 {
			t.Errorf("%g to %g nm", lo, hi)
		}
	}
	if p.At(450) != 0.5 || p.At(575) != 1.75 {
		t.Errorf("%g at 450 nm, %g at 575 nm", p.At(450), p.At(575))
	}
	if dark := light.Multiply(must(t, []float64{700, 800}, []float64{1, 1})); dark.Len() != 0 {
		t.Error("ranges that do not meet shine")
	}
}

// Whatever is asked, samples that fall on the spectrum's own come back as they
// were, PCHIP keeps between its neighbours, and nothing is NaN or infinite.
func FuzzResample(f *testing.F) {
	f.Add(1.0, 0.5, 2.0, 0.0, 1.0, 1.0, 380.0, 5.0, 1)
	f.Add(-1e-9, 1e9, 0.0, 0.0, 3.0, -2.0, 400.0, 10.0, 2)
	f.Add(1.0, 1.0, 1.0, 1e300, 1.0, -1e300, 350.5, 0.1, 3)
	f.Fuzz(func(t *testing.T, a, b, c, d, e, g, from, step float64, method int) {
		if !(from >= 1 && from < 2000 && step >= 1e-3 && step < 100) {
			return
		}
		v := []float64{a, b, c, d, e, g}
		nm := make([]float64, len(v))
		for i := range nm {
			nm[i] = from + float64(i)*step
		}
		s, err := spectrum.New(nm, v)
		if err != nil {
			return
		}
		m := spectrum.Interpolation(((method % 4) + 4) % 4)
		r, err := s.Resample(spectrum.Resampling{FromNM: from, ToNM: nm[5], StepNM: step / 4, Between: m})
		if err != nil {
			return
		}
		at, got := r.Samples()
		for i, x := range got {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%v at %g nm: %g", m, at[i], x)
			}
			lo, hi := v[min(i/4, 5)], v[min(i/4+1, 5)]
			if i%4 == 0 && at[i] == nm[i/4] && x != v[i/4] {
				t.Fatalf("%v: sample %d became %g, was %g", m, i/4, x, v[i/4])
			}
			slack := 1e-9 * (math.Abs(lo) + math.Abs(hi))
			if i%4 != 0 && (m == spectrum.Linear || m == spectrum.PCHIP) && (x < math.Min(lo, hi)-slack || x > math.Max(lo, hi)+slack) {
				t.Fatalf("%v at %g nm: %g is not between %g and %g", m, at[i], x, lo, hi)
			}
		}
	})
}
