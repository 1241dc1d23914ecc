package simulate

import (
	"math"
	"sync"

	"example.org/primaries/colorimetry/spectrum"
)

// filterObserver returns the colorimeter's sensitivities as an observer.
//
// They are invented, by a formula: the CIE 1931 functions, each lobe shifted
// and widened about its peak, then every channel scaled so that CIE standard
// illuminant A reads right, as photometers are calibrated. The long-wave lobe
// of x (peak 599 nm, from 504 nm up) is shifted by 1 nm and widened by 2 %;
// its short-wave lobe (446 nm, below 504 nm) shifted by 2 nm; y (555 nm)
// shifted by −1.5 nm and widened by 3 %; z (446 nm) shifted by 1.5 nm and
// widened by 3 %. The y channel departs from V(λ) by f1′ = 3.6 %; filter
// colorimeters of 1.9 to 5.5 % have been reported.
var filterObserver = sync.OnceValue(func() spectrum.Observer {
	cie := spectrum.CIE1931()
	const parting = 504 // nm, the low point between the two lobes of x
	long := lobe{cie.XBar, parting, math.Inf(1), 599, 1, 1.02}
	short := lobe{cie.XBar, math.Inf(-1), parting, 446, 2, 1}
	y := lobe{cie.YBar, math.Inf(-1), math.Inf(1), 555, -1.5, 1.03}
	z := lobe{cie.ZBar, math.Inf(-1), math.Inf(1), 446, 1.5, 1.03}
	return spectrum.Observer{
		Name: "simulated filter colorimeter",
		XBar: calibrated(cie.XBar, long, short),
		YBar: calibrated(cie.YBar, y),
		ZBar: calibrated(cie.ZBar, z),
	}
})

// lobe is the part of a function from a wavelength to another, in nm, moved by
// a shift in nm and stretched by a factor about its peak.
type lobe struct {
	of                           spectrum.Spectrum
	from, to, peak, shift, width float64
}

func (l lobe) at(nm float64) float64 {
	w := l.peak + (nm-l.peak-l.shift)/l.width
	if w < l.from || w >= l.to {
		return 0
	}
	return l.of.At(w)
}

// calibrated returns the sum of the lobes at 1 nm, 360 to 830 nm, scaled so
// that illuminant A gives what the function want gives.
func calibrated(want spectrum.Spectrum, lobes ...lobe) spectrum.Spectrum {
	var nm, v []float64
	var asked, got float64
	for w := 360.0; w <= 830; w++ {
		var sum float64
		for _, l := range lobes {
			sum += l.at(w)
		}
		nm, v = append(nm, w), append(v, sum)
		asked += illuminantA(w) * want.At(w)
		got += illuminantA(w) * sum
	}
	s, err := spectrum.New(nm, v)
	if err != nil {
		panic("simulate: the colorimeter's own sensitivities are unusable: " + err.Error())
	}
	return s.Scale(asked / got)
}

// illuminantA returns CIE standard illuminant A at a wavelength in nm, 100 at
// 560 nm.
//
// Source: ISO/CIE 11664-2:2022, 4.1, the defining formula.
func illuminantA(nm float64) float64 {
	const c = 1.435e7 / 2848
	return 100 * math.Pow(560/nm, 5) * math.Expm1(c/560) / math.Expm1(c/nm)
}
