package spectrum

import (
	"fmt"
	"strings"

	"example.org/primaries/colorimetry"
)

// Observer is a colorimetric observer: three colour-matching functions of
// wavelength. Yours is made as any struct is, and does all that a standard one
// does; [NewObserver] checks it on the way. It is immutable and safe for
// concurrent use.
type Observer struct {
	Name             string
	XBar, YBar, ZBar Spectrum
}

// maxEfficacy is the luminous efficacy Km in lm/W that turns watts weighted
// with the y function into lumens.
//
// Source: ISO/CIE 23539:2023; BIPM, SI Brochure, 9th edition (2019).
const maxEfficacy = 683

func named(name string, c columns) Observer {
	return Observer{name, c.spectra[0], c.spectra[1], c.spectra[2]}
}

// CIE1931 returns the CIE 1931 standard colorimetric observer (2°), 360 to
// 830 nm at 1 nm.
//
// Source: ISO/CIE 11664-1:2019.
func CIE1931() Observer { return named("CIE 1931 2°", cie1931()) }

// CIE1964 returns the CIE 1964 standard colorimetric observer (10°), for
// fields larger than 4°; 360 to 830 nm at 1 nm.
//
// Source: ISO/CIE 11664-1:2019, annex B.
func CIE1964() Observer { return named("CIE 1964 10°", cie1964()) }

// CIE2015TwoDegree returns the colour-matching functions that follow from the
// cone fundamentals for 2°, 390 to 830 nm at 1 nm. Its Y is luminance as the
// cones make it, not that of CIE 1931.
//
// Source: CIE 170-2:2015.
func CIE2015TwoDegree() Observer { return named("CIE 2015 2°", cie2015Two()) }

// CIE2015TenDegree returns the colour-matching functions that follow from the
// cone fundamentals for 10°, 390 to 830 nm at 1 nm.
//
// Source: CIE 170-2:2015.
func CIE2015TenDegree() Observer { return named("CIE 2015 10°", cie2015Ten()) }

// Observers returns the standard observers, oldest first. Each call returns a
// new slice.
func Observers() []Observer {
	return []Observer{CIE1931(), CIE1964(), CIE2015TwoDegree(), CIE2015TenDegree()}
}

// ObserverNamed returns the standard observer of that name: "CIE 1931 2°",
// "CIE 1964 10°", "CIE 2015 2°" or "CIE 2015 10°". For command lines, "CIE",
// spaces and the degree sign may be left out and hyphens put in: "1931",
// "1964", "2015-2", "2015-10". Any other name is an error that lists them.
func ObserverNamed(name string) (Observer, error) {
	want := observerKey(name)
	var all []string
	for _, o := range Observers() {
		key := observerKey(o.Name)
		// The year alone tells the two older ones.
		if want == key || len(want) == 4 && want != "2015" && want == key[:4] {
			return o, nil
		}
		all = append(all, fmt.Sprintf("%q", o.Name))
	}
	return Observer{}, fmt.Errorf("spectrum: no observer is called %.40q; there are %s", name, strings.Join(all, ", "))
}

var observerNoise = strings.NewReplacer("CIE", "", "cie", "", " ", "", "°", "", "-", "")

func observerKey(name string) string { return observerNoise.Replace(name) }

// NewObserver returns an observer with these colour-matching functions, whose
// ranges and steps may differ. It is an error if one is dark or if y sums to
// nothing, since every tristimulus value would be on a scale of no meaning.
func NewObserver(name string, x, y, z Spectrum) (Observer, error) {
	for i, s := range []Spectrum{x, y, z} {
		if s.Len() == 0 {
			return Observer{}, fmt.Errorf("spectrum: observer %.40q: its %s function has no samples", name, []string{"x", "y", "z"}[i])
		}
	}
	if one := equalEnergy(); !(y.Integral(one) > 0) {
		return Observer{}, fmt.Errorf("spectrum: observer %.40q: its y function sums to %g over 300 to 830 nm; it must be above 0", name, y.Integral(one))
	}
	return Observer{name, x, y, z}, nil
}

// Range returns the first and last wavelength in nm of its functions, taken
// together.
func (o Observer) Range() (lo, hi float64) {
	lo, hi = o.XBar.Range()
	for _, s := range [...]Spectrum{o.YBar, o.ZBar} {
		a, b := s.Range()
		lo, hi = min(lo, a), max(hi, b)
	}
	return lo, hi
}

// Emission returns the absolute tristimulus values in cd/m² of light whose
// spectral radiance s is in W/(sr·m²·nm), summed as [Spectrum.Integral] says.
// A relative spectrum gives relative values that are right among each other.
// [Observer.EmissionWith] sums in other ways.
func (o Observer) Emission(s Spectrum) colorimetry.XYZ {
	return colorimetry.XYZ{X: s.Integral(o.XBar), Y: s.Integral(o.YBar), Z: s.Integral(o.ZBar)}.Scale(maxEfficacy)
}

// Cones holds the three cone fundamentals: the sensitivities of the long-,
// middle- and short-wavelength cones at the cornea, in energy units, each with
// its greatest value 1.
type Cones struct{ L, M, S Spectrum }

// ConesTwoDegree returns the cone fundamentals for 2°, 390 to 830 nm at 1 nm;
// S is 0 where it isn't tabulated.
//
// Source: CIE 170-1:2006; Stockman and Sharpe, Vision Res. 40(13) 1711-1737
// (2000).
func ConesTwoDegree() Cones { return cones(conesTwo()) }

// ConesTenDegree returns the cone fundamentals for 10°, 390 to 830 nm at 1 nm;
// S is 0 where it isn't tabulated.
//
// Source: CIE 170-1:2006; Stockman and Sharpe, Vision Res. 40(13) 1711-1737
// (2000).
func ConesTenDegree() Cones { return cones(conesTen()) }

func cones(c columns) Cones { return Cones{c.spectra[0], c.spectra[1], c.spectra[2]} }

// Photopic returns the spectral luminous efficiency V(λ) of eyes adapted to
// light, 360 to 830 nm at 1 nm. It is the y function of [CIE1931].
//
// Source: CIE 1924, in ISO/CIE 23539:2023.
func Photopic() Spectrum { return CIE1931().YBar }

// Scotopic returns the spectral luminous efficiency V′(λ) of eyes adapted to
// darkness, 380 to 780 nm at 1 nm.
//
// Source: CIE 1951, in ISO/CIE 23539:2023.
func Scotopic() Spectrum { return scotopic().spectra[0] }
