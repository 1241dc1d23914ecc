package spectrum

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
)

// Illuminant returns the relative spectrum of a CIE illuminant:
//
//	A                     incandescent light, from its formula, 300 to 830 nm at 1 nm
//	C                     the older average daylight, 300 to 780 nm at 5 nm
//	D50 D55 D65 D75       daylight, as DaylightSpectrum, 300 to 830 nm at 10 nm
//	E                     equal energy, 300 to 830 nm at 1 nm
//	FL1 … FL12            fluorescent lamps, 380 to 780 nm at 5 nm
//	FL3.1 … FL3.15        fluorescent lamps, newer set, likewise
//	HP1 … HP5             high-pressure discharge lamps, likewise
//	ID50 ID65             daylight behind window glass, 300 to 780 nm at 5 nm
//	LED-B1 … LED-V2       white LEDs, 380 to 780 nm at 5 nm
//
// Lamps with lines are tabulated as 5 nm averages, whose chromaticities the
// standard sums at 5 nm: [Observer.White] and [Observer.Reflection] do so. Names
// are taken in upper and lower case. Any other is an error; [IlluminantNames] lists all, and every [Spectrum] of
// your own serves as well.
//
// Sources: CIE 015:2018, lamps in tables 10 to 12; ISO/CIE 11664-2:2022;
// CIE 184:2009.
func Illuminant(name string) (Spectrum, error) {
	for _, c := range []columns{computed(), illuminants(), fluorescent(), discharge(), led()} {
		if s, ok := c.find(name); ok {
			return s, nil
		}
	}
	return Spectrum{}, fmt.Errorf("spectrum: no illuminant is called %.40q; there are %s", name, strings.Join(IlluminantNames(), " "))
}

// IlluminantNames returns the names that [Illuminant] takes. Each call returns
// a new slice.
func IlluminantNames() []string {
	return slices.Concat(computed().names, illuminants().names, fluorescent().names, discharge().names, led().names)
}

// IlluminantA returns CIE standard illuminant A, incandescent light.
//
// Source: ISO/CIE 11664-2:2022, formula with c2/T = 1.435e7/2848 nm.
func IlluminantA() Spectrum { return computed().spectra[0] }

// IlluminantD50 returns CIE standard illuminant D50, the daylight of graphic
// arts.
//
// Source: ISO/CIE 11664-2:2022.
func IlluminantD50() Spectrum { return computed().spectra[1] }

// IlluminantD65 returns CIE standard illuminant D65, average daylight.
//
// Source: ISO/CIE 11664-2:2022.
func IlluminantD65() Spectrum { return computed().spectra[3] }

// olderC2 is the ratio of today's constant c2 of Planck's law to the one from
// which the daylight illuminants have their names.
//
// Source: CIE 015:2018, 4.1.2.
const olderC2 = 1.4388 / 1.4380

// computed holds the illuminants that follow from a formula.
var computed = sync.OnceValue(func() columns {
	c := columns{names: []string{"A"}, spectra: []Spectrum{tabulate(func(nm float64) float64 {
		return 100 * planckLaw(nm, 1.435e7/2848) / planckLaw(560, 1.435e7/2848)
	})}}
	for _, d := range []struct {
		name   string
		kelvin float64
	}{{"D50", 5000}, {"D55", 5500}, {"D65", 6500}, {"D75", 7500}} {
		s, err := DaylightSpectrum(d.kelvin * olderC2)
		if err != nil {
			panic(err) // all four are in range
		}
		c.names, c.spectra = append(c.names, d.name), append(c.spectra, s)
	}
	c.names, c.spectra = append(c.names, "E"), append(c.spectra, equalEnergy().Scale(100))
	return c
})

// equalEnergy is 1 from 300 to 830 nm.
var equalEnergy = sync.OnceValue(func() Spectrum {
	return tabulate(func(float64) float64 { return 1 })
})

// planckLaw is Planck's law but for a factor, c2OverT in nm.
func planckLaw(nm, c2OverT float64) float64 {
	return math.Pow(560/nm, 5) / math.Expm1(c2OverT/nm)
}

// tabulate returns f at 300 to 830 nm in steps of 1 nm.
func tabulate(f func(nm float64) float64) Spectrum {
	s := Spectrum{make([]float64, 531), make([]float64, 531)}
	for i := range s.nm {
		s.nm[i] = float64(300 + i)
		s.value[i] = f(s.nm[i])
	}
	return s
}
