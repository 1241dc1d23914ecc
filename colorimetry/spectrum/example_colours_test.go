package spectrum_test

import (
	"fmt"
	"log"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// A strong red of the colour-rendering test set by daylight and by
// incandescent light. The standard writes 100 times these numbers.
func ExampleObserver_Reflection() {
	red := spectrum.TestColours()[8]
	for _, name := range []string{"D65", "A"} {
		light, err := spectrum.Illuminant(name)
		if err != nil {
			log.Fatal(err)
		}
		c, err := spectrum.CIE1931().Reflection(red.Reflectance, light, spectrum.Summation{})
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%s under %s: %.4f\n", red.Name, name, c)
	}
	// Output:
	// TCS09 under D65: {0.2061 0.1126 0.0434}
	// TCS09 under A: {0.3350 0.1661 0.0136}
}

// The white of a fluorescent lamp, as CIE 015:2018 prints it.
func ExampleObserver_White() {
	lamp, err := spectrum.Illuminant("FL11")
	if err != nil {
		log.Fatal(err)
	}
	white, err := spectrum.CIE1931().White(lamp, spectrum.Summation{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.4f\n", white.Chromaticity())
	// Output: {0.3805 0.3769}
}

// Many surfaces under one light: the weights are made once.
func ExampleObserver_Weights() {
	how := spectrum.Summation{StepNM: 5, FromNM: 380, ToNM: 780}
	w, err := spectrum.CIE1964().Weights(spectrum.IlluminantD50(), how)
	if err != nil {
		log.Fatal(err)
	}
	for _, s := range spectrum.EvaluationColours()[:3] {
		_, values := s.Reflectance.Samples() // at the weights' own wavelengths
		fmt.Printf("%s %.4f\n", s.Name, w.XYZ(values))
	}
	// Output:
	// CES01 {0.6697 0.6032 0.4961}
	// CES02 {0.3382 0.2373 0.1822}
	// CES03 {0.0660 0.0560 0.0422}
}

// A spectrophotometer that reads each 10 nm through a passband of 10 nm.
func ExampleObserver_ASTMWeights() {
	w, err := spectrum.CIE1964().ASTMWeights(spectrum.IlluminantD50(), spectrum.ASTM{
		FromNM: 400, ToNM: 700, Passband: spectrum.Deconvolved,
	})
	if err != nil {
		log.Fatal(err)
	}
	readings := make([]float64, w.Len())
	for i := range readings {
		readings[i] = 0.18
	}
	fmt.Printf("%d readings: %.4f\n", w.Len(), w.XYZ(readings))
	// Output: 31 readings: {0.1739 0.1800 0.1464}
}

// An instrument's 5 nm spectrum at 1 nm. The figures are invented.
func ExampleSpectrum_Resample() {
	s, err := spectrum.New([]float64{500, 505, 510, 515, 520, 525}, []float64{1, 3, 7, 9, 8, 5})
	if err != nil {
		log.Fatal(err)
	}
	for _, m := range []spectrum.Interpolation{spectrum.Linear, spectrum.Sprague, spectrum.PCHIP} {
		fine, err := s.Resample(spectrum.Resampling{Between: m})
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%s: %d samples, %.3f at 512 nm\n", m, fine.Len(), fine.At(512))
	}
	// Output:
	// linear: 26 samples, 7.800 at 512 nm
	// sprague: 26 samples, 8.155 at 512 nm
	// pchip: 26 samples, 8.088 at 512 nm
}

func ExampleSpectrum_CorrectBandpass() {
	s, err := spectrum.New([]float64{500, 510, 520, 530, 540}, []float64{0, 0, 12, 0, 0})
	if err != nil {
		log.Fatal(err)
	}
	s, err = s.CorrectBandpass(10)
	if err != nil {
		log.Fatal(err)
	}
	_, values := s.Samples()
	fmt.Printf("%.2f\n", values)
	// Output: [0.00 -1.00 14.00 -1.00 0.00]
}

// Paper in front of a display: its light is the booth's, times the paper.
func ExampleSpectrum_Multiply() {
	paper, err := spectrum.New([]float64{380, 420, 780}, []float64{0.5, 0.85, 0.85})
	if err != nil {
		log.Fatal(err)
	}
	o := spectrum.CIE1931()
	booth := spectrum.IlluminantD50()
	a, b := o.Emission(booth), o.Emission(booth.Multiply(paper))
	fmt.Printf("%.3f of the light, x %.4f → %.4f\n", b.Y/a.Y, a.Chromaticity().X, b.Chromaticity().X)
	// Output: 0.850 of the light, x 0.3457 → 0.3459
}

// All illuminants by name, and one of them.
func ExampleIlluminant() {
	fmt.Println(len(spectrum.IlluminantNames()), "illuminants")
	s, err := spectrum.Illuminant("LED-B3")
	if err != nil {
		log.Fatal(err)
	}
	lo, hi := s.Range()
	fmt.Printf("%g to %g nm, %.2f at 455 nm\n", lo, hi, s.At(455))
	// Output:
	// 50 illuminants
	// 380 to 780 nm, 14.58 at 455 nm
}

// A light as four observers see it.
func ExampleObservers() {
	light, err := spectrum.PlanckianSpectrum(4000)
	if err != nil {
		log.Fatal(err)
	}
	for _, o := range spectrum.Observers() {
		fmt.Printf("%s: %.4f\n", o.Name, o.Emission(light).Chromaticity())
	}
	// Output:
	// CIE 1931 2°: {0.3804 0.3767}
	// CIE 1964 10°: {0.3827 0.3759}
	// CIE 2015 2°: {0.3837 0.3780}
	// CIE 2015 10°: {0.3835 0.3757}
}

// Your own observer is as good as a standard one.
func ExampleNewObserver() {
	std := spectrum.CIE1931()
	o, err := spectrum.NewObserver("less blue", std.XBar, std.YBar, std.ZBar.Scale(0.9))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s: %.4f\n", o.Name, o.Emission(spectrum.IlluminantD65()).Chromaticity())
	// Output: less blue: {0.3243 0.3412}
}

// The chromaticity of a light of 3000 K, a little below the locus.
func ExampleFromCCT() {
	c, err := spectrum.FromCCT(3000, -0.003)
	if err != nil {
		log.Fatal(err)
	}
	kelvin, duv, err := spectrum.CCT(c)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.4f: %.1f K, Duv %.4f, %.1f mired\n", c, kelvin, duv, spectrum.Mired(kelvin))
	// Output: {0.4326 0.3952}: 3000.0 K, Duv -0.0030, 333.3 mired
}

// Three places on the Planckian locus, equally far apart in mired.
func ExamplePlanckianLocus() {
	locus, err := spectrum.PlanckianLocus(2500, 10000, 3)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.4f\n", locus)
	// Output: [{0.4770 0.4137} {0.3804 0.3767} {0.2806 0.2883}]
}

func ExampleObserver_Dominant() {
	white := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	d, err := spectrum.CIE1931().Dominant(colorimetry.Chromaticity{X: 0.64, Y: 0.33}, white)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.1f nm, purity %.3f\n", d.WavelengthNM, d.ExcitationPurity)
	// Output: 611.3 nm, purity 0.917
}

// The outline of all chromaticities, which a straight line closes.
func ExampleObserver_SpectralLocus() {
	locus, err := spectrum.CIE1931().SpectralLocus(380, 700, 80)
	if err != nil {
		log.Fatal(err)
	}
	for _, c := range locus {
		fmt.Printf("%.4f\n", c)
	}
	// Output:
	// {0.1741 0.0050}
	// {0.1440 0.0297}
	// {0.2296 0.7543}
	// {0.6915 0.3083}
	// {0.7347 0.2653}
}

// Daylight, scaled to 100 cd/m².
func ExampleObserver_Emission() {
	light, err := spectrum.DaylightSpectrum(6504)
	if err != nil {
		log.Fatal(err)
	}
	o := spectrum.CIE1931()
	unit := o.Emission(light).Y
	c := o.Emission(light.Scale(100 / unit)) // 100 cd/m²
	fmt.Printf("%.2f\n", c)
	// Output: {95.05 100.00 108.91}
}

func ExampleObserverNamed() {
	o, err := spectrum.ObserverNamed("1964")
	if err != nil {
		log.Fatal(err)
	}
	lo, hi := o.Range()
	fmt.Printf("%s, %g to %g nm\n", o.Name, lo, hi)
	// Output: CIE 1964 10°, 360 to 830 nm
}

func ExamplePlanckian() {
	c, err := spectrum.Planckian(2856)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.4f\n", c)
	// Output: {0.4475 0.4074}
}

func ExampleMunsellChips() {
	chips := spectrum.MunsellChips()
	_, v := chips[5].Reflectance.Samples()
	fmt.Printf("%d chips; %s reflects %.2f of 780 nm\n", len(chips), chips[5].Name, v[len(v)-1])
	// Output: 120 chips; 5R_4_8 reflects 0.34 of 780 nm
}

// What incandescent light is worth to eyes adapted to darkness, beside those
// adapted to light.
func ExampleScotopic() {
	light := spectrum.IlluminantA()
	fmt.Printf("%.3f\n", light.Integral(spectrum.Scotopic())/light.Integral(spectrum.Photopic()))
	// Output: 0.567
}
