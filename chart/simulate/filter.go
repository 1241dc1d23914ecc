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

// Colorimeter returns a filter colorimeter that looks at d. It sees with
// [Display.Sensitivities], which is why its readings lie up to 0.01 in x and y
// from the truth until they are corrected, and it has the noise that
// [Options] says. One integration takes a second of simulated time, in the
// dark up to four.
func (d *Display) Colorimeter() measure.Instrument {
	return d.mustHave(d.ColorimeterWith(FilterMeter{}))
}

// Spectroradiometer returns an instrument that looks at d and sees with the
// CIE 1931 functions themselves: its readings differ from the truth by noise
// only. It returns no spectra; [Display.SpectroradiometerWith] does. One
// integration takes two seconds of simulated time, in the dark up to eight.
func (d *Display) Spectroradiometer() measure.Instrument {
	var t Traits
	err := t.complete("simulated spectroradiometer", 0.01, 2*time.Second)
	noise := *d.options.ReferenceNoise
	return d.mustHave(d.instrument(spectralEye, filterSensor{d.light, noise, 0}, t, t.info(true, noise)), err)
}

// mustHave returns an instrument of the defaults, which have no error.
func (d *Display) mustHave(i measure.Instrument, err error) measure.Instrument {
	if err != nil {
		panic(err)
	}
	return i
}

func (d *Display) instrument(e eye, s sensor, t Traits, info measure.InstrumentInfo) measure.Instrument {
	return (&instrument{display: d, eye: e, sensor: s, traits: t, info: info, dark: d.clock.start}).as()
}

// Sensitivities returns the spectral sensitivities of the colorimeter's X, Y
// and Z channels, in the place of the three colour-matching functions.
func (d *Display) Sensitivities() [3]spectrum.Spectrum {
	o := filterObserver()
	return [3]spectrum.Spectrum{o.XBar, o.YBar, o.ZBar}
}

// FilterMeter is a filter colorimeter. The zero value is
// [Display.Colorimeter]: invented, with one second an integration, trustworthy
// from 0.02 cd/m².
type FilterMeter struct {
	Traits
	// Noise is that of one integration, nil for what [Options] says.
	Noise *measure.Noise
	// QuantumCdM2 is what one count means, in X, Y and Z, in an integration of
	// the time in good light; a longer one counts finer in proportion. 0 means
	// that it does not count.
	QuantumCdM2 float64
	// Sensitivities are those of its X, Y and Z channels; three zero Spectra
	// mean [Display.Sensitivities].
	Sensitivities [3]spectrum.Spectrum
}

// ColorimeterWith returns a filter colorimeter that looks at d. It is an error
// if a figure of m is out of the range stated there.
func (d *Display) ColorimeterWith(m FilterMeter) (measure.Instrument, error) {
	if err := m.Traits.complete("simulated filter colorimeter", 0.02, time.Second); err != nil {
		return nil, err
	}
	if !(m.QuantumCdM2 >= 0) || math.IsInf(m.QuantumCdM2, 1) {
		return nil, fmt.Errorf("simulate: a colorimeter whose counts mean %g cd/m²; give 0 or above", m.QuantumCdM2)
	}
	seen := d.seen
	if s := m.Sensitivities; s[0].Len()+s[1].Len()+s[2].Len() > 0 {
		o, err := spectrum.NewObserver(m.Name, s[0], s[1], s[2])
		if err != nil {
			return nil, fmt.Errorf("simulate: the colorimeter's sensitivities: %w", err)
		}
		seen = seenBy(o, &d.spectra)
	}
	noise := *noiseOr(m.Noise, *d.options.Noise)
	return d.instrument(filterEye, filterSensor{seen, noise, m.QuantumCdM2}, m.Traits, m.Traits.info(false, noise)), nil
}

// filterSensor sees three numbers.
type filterSensor struct {
	lights  *lights
	noise   measure.Noise
	quantum float64
}

func (f filterSensor) luminance(a amounts) float64 { return f.lights.mix(a).Y }

func (f filterSensor) sense(a amounts, stretch float64, r *rand.Rand) (colorimetry.XYZ, spectrum.Spectrum) {
	c := disturb(f.lights.mix(a), f.noise, r)
	if q := f.quantum / stretch; q > 0 {
		c = colorimetry.XYZ{X: math.RoundToEven(c.X/q) * q, Y: math.RoundToEven(c.Y/q) * q, Z: math.RoundToEven(c.Z/q) * q}
	}
	return c, spectrum.Spectrum{}
}

func (f filterSensor) shift(c colorimetry.XYZ, _ spectrum.Spectrum, offset float64, scale colorimetry.XYZ) (colorimetry.XYZ, spectrum.Spectrum) {
	return colorimetry.XYZ{X: c.X*scale.X + offset, Y: c.Y*scale.Y + offset, Z: c.Z*scale.Z + offset}, spectrum.Spectrum{}
}
