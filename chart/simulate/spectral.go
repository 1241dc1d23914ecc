package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// SpectralMeter is a spectroradiometer that returns spectra; its X, Y and Z are
// what its observer makes of the spectrum that it returns. The zero value is
// invented: 380 to 780 nm at 2 nm, a bandwidth of 5 nm, the CIE 1931 observer,
// two seconds an integration, trustworthy from 0.01 cd/m².
type SpectralMeter struct {
	Traits
	FromNM, ToNM, StepNM float64 // all 0 are the default; within 200 to 2500, steps of 0.5 to 20
	// BandwidthNM is the full width at half the height of its triangular
	// passband, 0 to 50; 0 is the default.
	BandwidthNM float64
	// Noise is that of one integration, nil for the default.
	Noise *SpectralNoise
	// Observer makes X, Y and Z, and is stated by its name. The zero Observer
	// means CIE 1931.
	Observer spectrum.Observer
}

// SpectralNoise is the noise of one integration of a spectrum, in standard
// deviations of normal deviates. The default is 0.002, 0.003 and 2.5e-7, which
// is invented; the zero value is no noise.
type SpectralNoise struct {
	Whole float64 // of the whole spectrum alike, as a share
	Each  float64 // of the value at each wavelength, as a share, independent
	Floor float64 // at each wavelength, independent, W/(sr m² nm)
}

// SpectroradiometerWith returns a spectroradiometer that looks at d. What it
// states as its noise is that of a reading of d's white. It is an error if a
// figure of m is out of the range stated there.
func (d *Display) SpectroradiometerWith(m SpectralMeter) (measure.Instrument, error) {
	if m.Observer.YBar.Len() == 0 {
		m.Observer = spectrum.CIE1931()
	}
	if err := m.Traits.complete("simulated spectroradiometer", 0.01, 2*time.Second); err != nil {
		return nil, err
	}
	if m.FromNM == 0 && m.ToNM == 0 && m.StepNM == 0 {
		m.FromNM, m.ToNM, m.StepNM = 380, 780, 2
	}
	if m.BandwidthNM == 0 {
		m.BandwidthNM = 5
	}
	noise := SpectralNoise{Whole: 0.002, Each: 0.003, Floor: 2.5e-7}
	if m.Noise != nil {
		noise = *m.Noise
	}
	if !(m.FromNM >= 200 && m.FromNM < m.ToNM && m.ToNM <= 2500 && m.StepNM >= 0.5 && m.StepNM <= 20 && m.ToNM-m.FromNM >= m.StepNM) {
		return nil, fmt.Errorf("simulate: a spectroradiometer from %g to %g nm at %g nm; give a range within 200 to 2500 and steps of 0.5 to 20", m.FromNM, m.ToNM, m.StepNM)
	}
	if !(m.BandwidthNM > 0 && m.BandwidthNM <= 50) || !(noise.Whole >= 0 && noise.Whole <= 1) || !(noise.Each >= 0 && noise.Each <= 1) || !(noise.Floor >= 0 && noise.Floor <= 1) {
		return nil, fmt.Errorf("simulate: a spectroradiometer with the bandwidth %g nm and the noise %+v; give up to 50 nm and 0 to 1", m.BandwidthNM, noise)
	}
	s, err := newArray(d, m, noise)
	if err != nil {
		return nil, err
	}
	white := s.seen(d.amounts(d.now(), colorimetry.Gray(1), steady))
	info := m.Traits.info(true, s.stated(white))
	if m.Observer.Name != spectrum.CIE1931().Name {
		info.Observer = m.Observer.Name
	}
	return d.instrument(arrayEye, s, m.Traits, info), nil
}

// arraySensor sees a value a wavelength.
type arraySensor struct {
	observer spectrum.Observer
	noise    SpectralNoise
	nm       []float64
	sources  [sources][]float64 // through the passband, at nm
	lights   *lights            // as the observer sees those
	dark     float64            // spectral radiance, the same everywhere, of 1 cd/m²
}

func newArray(d *Display, m SpectralMeter, noise SpectralNoise) (*arraySensor, error) {
	a := &arraySensor{observer: m.Observer, noise: noise}
	for k := 0; ; k++ {
		nm := m.FromNM + float64(k)*m.StepNM
		if nm > m.ToNM+1e-9 {
			break
		}
		a.nm = append(a.nm, nm)
	}
	var seen [sources]spectrum.Spectrum
	for n, s := range d.spectra {
		a.sources[n] = make([]float64, len(a.nm))
		for i, nm := range a.nm {
			a.sources[n][i] = passed(s, nm, m.BandwidthNM)
		}
		var err error
		if seen[n], err = spectrum.New(a.nm, a.sources[n]); err != nil {
			return nil, fmt.Errorf("simulate: the spectroradiometer's wavelengths: %w", err)
		}
	}
	a.lights = seenBy(m.Observer, &seen)
	flat := make([]float64, len(a.nm))
	for i := range flat {
		flat[i] = 1
	}
	y := a.emission(flat).Y
	if !(y > 0) {
		return nil, fmt.Errorf("simulate: the spectroradiometer's observer sees nothing from %g to %g nm", m.FromNM, m.ToNM)
	}
	a.dark = 1 / y
	return a, nil
}

// passed returns what a triangular passband of the given full width at half
// its height lets through at nm: the mean of s, weighted by the triangle.
func passed(s spectrum.Spectrum, nm, width float64) float64 {
	const steps = 24 // from the middle to either end, a width away
	var sum, weights float64
	for j := -steps + 1; j < steps; j++ {
		w := 1 - math.Abs(float64(j))/steps
		sum += w * s.At(nm+width*float64(j)/steps)
		weights += w
	}
	return sum / weights
}

// emission returns what the observer makes of values at a's wavelengths.
func (a *arraySensor) emission(values []float64) colorimetry.XYZ {
	return a.observer.Emission(a.spectrum(values))
}

func (a *arraySensor) spectrum(values []float64) spectrum.Spectrum {
	s, err := spectrum.New(a.nm, values)
	if err != nil {
		panic("simulate: a spectrum went out of all bounds: " + err.Error())
	}
	return s
}

// seen returns the spectrum of amounts, free of noise.
func (a *arraySensor) seen(in amounts) []float64 {
	v := make([]float64, len(a.nm))
	for n, amount := range in {
		if amount == 0 {
			continue
		}
		for i, s := range a.sources[n] {
			v[i] += amount * s
		}
	}
	return v
}

func (a *arraySensor) luminance(in amounts) float64 { return a.lights.mix(in).Y }

func (a *arraySensor) sense(in amounts, _ float64, r *rand.Rand) (colorimetry.XYZ, spectrum.Spectrum) {
	v := a.seen(in)
	whole := 1 + a.noise.Whole*r.NormFloat64()
	for i := range v {
		each, floor := r.NormFloat64(), r.NormFloat64()
		v[i] = v[i]*whole*(1+a.noise.Each*each) + a.noise.Floor*floor
	}
	s := a.spectrum(v)
	return a.observer.Emission(s), s
}

func (a *arraySensor) shift(_ colorimetry.XYZ, s spectrum.Spectrum, offset float64, scale colorimetry.XYZ) (colorimetry.XYZ, spectrum.Spectrum) {
	_, v := s.Samples()
	for i := range v {
		v[i] = v[i]*scale.Y + offset*a.dark
	}
	s = a.spectrum(v)
	return a.observer.Emission(s), s
}

// stated returns the noise of readings of a light: what the deviates at its
// wavelengths do to Y, to x and y, and to the dark, by their derivatives.
func (a *arraySensor) stated(light []float64) measure.Noise {
	c := a.emission(light)
	total, p := c.X+c.Y+c.Z, c.Chromaticity()
	var y, xy, floor float64
	unit := make([]float64, len(a.nm))
	for i, v := range light {
		unit[i] = 1
		w := a.emission(unit)
		unit[i] = 0
		all := w.X + w.Y + w.Z
		sq := func(x float64) float64 { return x * x }
		y += sq(w.Y * v / c.Y)
		xy += (sq((w.X-p.X*all)*v/total) + sq((w.Y-p.Y*all)*v/total)) / 2
		floor += (sq(w.X) + sq(w.Y) + sq(w.Z)) / 3
	}
	n := a.noise
	return measure.Noise{
		Chromaticity: n.Each * math.Sqrt(xy),
		Luminance:    math.Sqrt(n.Whole*n.Whole + n.Each*n.Each*y),
		FloorCdM2:    n.Floor * math.Sqrt(floor),
	}
}
