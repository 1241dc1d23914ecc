package spectrum

import (
	"fmt"
	"math"
)

// Resampling says at which wavelengths a spectrum is wanted, and by which
// rules. Its zero value is the spectrum's own range at 1 nm along straight
// lines.
type Resampling struct {
	FromNM, ToNM float64 // 0 and 0: the spectrum's own range
	StepNM       float64 // 0: 1 nm
	Between      Interpolation
	Beyond       Extrapolation // Usual is Nearest
}

// Resample returns s at FromNM, FromNM + StepNM and so on up to ToNM. Where
// these are s's own samples the values are unchanged.
//
// It is an error if the numbers make no range, if more than 65536 samples
// result, if Sprague interpolation meets unequal steps or fewer than six
// samples, if Refuse meets a range that s doesn't cover, or if s is darkness.
//
// Source: CIE 015:2018 and CIE 167:2005, clauses on interpolation and
// extrapolation.
func (s Spectrum) Resample(how Resampling) (Spectrum, error) {
	if s.Len() == 0 {
		return Spectrum{}, fmt.Errorf("spectrum: no samples to resample")
	}
	from, to, step := how.FromNM, how.ToNM, how.StepNM
	lo, hi := s.Range()
	if from == 0 && to == 0 {
		from, to = lo, hi
	}
	if step == 0 {
		step = 1
	}
	if err := checkRange(from, to, step); err != nil {
		return Spectrum{}, err
	}
	if err := s.suits(how.Between, how.Beyond); err != nil {
		return Spectrum{}, err
	}
	n := 1 + int(math.Floor((to-from)/step+1e-9))
	if n < 2 {
		return Spectrum{}, fmt.Errorf("spectrum: %g to %g nm at %g nm is a single sample", from, to, step)
	}
	last := from + float64(n-1)*step
	if how.Beyond == Refuse && (from < lo || last > hi) {
		return Spectrum{}, fmt.Errorf("spectrum: samples reach from %g to %g nm, but %g to %g nm are asked for; choose a rule for what is beyond", lo, hi, from, last)
	}
	out := Spectrum{make([]float64, n), make([]float64, n)}
	c := s.walk(how.Between, how.Beyond.or(Nearest))
	for i := range out.nm {
		out.nm[i] = from + float64(i)*step
		out.value[i] = c.at(out.nm[i])
		if v := out.value[i]; math.IsNaN(v) || math.IsInf(v, 0) {
			return Spectrum{}, fmt.Errorf("spectrum: the values around %g nm are too large to interpolate", out.nm[i])
		}
	}
	return out, nil
}

// checkRange says what is wrong with a range of wavelengths.
func checkRange(from, to, step float64) error {
	switch {
	case !(from >= 1 && to <= 1e5 && from < to):
		return fmt.Errorf("spectrum: %g to %g is no range of wavelengths; give both ends in nm, the lower one first", from, to)
	case !(step > 0):
		return fmt.Errorf("spectrum: a step of %g nm; it must be above 0", step)
	case (to-from)/step >= maxSamples:
		return fmt.Errorf("spectrum: %g to %g nm at %g nm are more than %d samples", from, to, step, maxSamples)
	}
	return nil
}

// Multiply returns s·t at the wavelengths of both over the range that both
// cover: light through a filter, or reflected by a surface. Between the
// samples the product runs straight, which is exact where one of the two is
// constant. Ranges that don't meet give darkness.
func (s Spectrum) Multiply(t Spectrum) Spectrum {
	lo1, hi1 := s.Range()
	lo2, hi2 := t.Range()
	lo, hi := math.Max(lo1, lo2), math.Min(hi1, hi2)
	all := merge(s.nm, t.nm)
	var out Spectrum
	for _, w := range all {
		if w >= lo && w <= hi {
			out.nm = append(out.nm, w)
			out.value = append(out.value, s.At(w)*t.At(w))
		}
	}
	if len(out.nm) < 2 {
		return Spectrum{}
	}
	return out
}

// CorrectBandpass returns what s would be if the instrument's passband were
// infinitely narrow. widthNM is the passband's full width at half its height;
// the passband is a triangle, and s is equally spaced. The second difference,
// times half the passband's variance of widthNM²/6, is taken away; with a width
// of one step the coefficients are −1/12, 7/6, −1/12 and at the ends 13/12,
// −1/12.
//
// Noise grows: by a factor of 1.17 where the width is the step, by more where
// it is wider. It is an error if s has fewer than three samples or unequal
// steps, or if widthNM is not above 0 and at most 3 steps, beyond which the
// correction means nothing.
//
// Source: Stearns and Stearns, Color Res. Appl. 13(4) 257-259 (1988), who
// round 1/12 to 0.083. CIE 214:2014 treats other passbands.
func (s Spectrum) CorrectBandpass(widthNM float64) (Spectrum, error) {
	step, equal := s.step()
	if len(s.nm) < 3 || !equal {
		return Spectrum{}, fmt.Errorf("spectrum: bandpass correction needs at least 3 equally spaced samples; resample first")
	}
	if !(widthNM > 0 && widthNM <= 3*step) {
		return Spectrum{}, fmt.Errorf("spectrum: a passband of %g nm; above 0 and up to 3 steps of %g nm can be corrected", widthNM, step)
	}
	r := widthNM / step
	a := r * r / 12
	out := Spectrum{s.nm, make([]float64, len(s.nm))}
	last := len(s.value) - 1
	for i, v := range s.value {
		l, r := s.value[max(i-1, 0)], s.value[min(i+1, last)]
		out.value[i] = v + a*(v-l) + a*(v-r)
	}
	return out, nil
}
