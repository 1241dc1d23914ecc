package rendering_test

import (
	"fmt"

	"example.org/primaries/colorimetry/rendering"
	"example.org/primaries/colorimetry/spectrum"
)

// A white LED that looks fine in Ra is weak in strong red, R9.
func ExampleColourRendering() {
	lamp, err := spectrum.Illuminant("LED-B3")
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := rendering.ColourRendering(lamp)
	fmt.Printf("%.0f K, Ra %.1f, R9 %.1f, %v\n", r.Kelvin, r.Ra, r.R[8], err)
	// Output: 4103 K, Ra 84.8, R9 23.8, <nil>
}

// The fidelity index of a lamp with three narrow bands.
func ExampleColourFidelity() {
	lamp, err := spectrum.Illuminant("FL11")
	if err != nil {
		fmt.Println(err)
		return
	}
	f, err := rendering.ColourFidelity(lamp)
	fmt.Printf("Rf %.0f, %v\n", f.Rf, err)
	// Output: Rf 80, <nil>
}

// Grading a lamp as a simulator of D50. One pair, invented, shows how it is
// called; the standard's five make it a grade.
func ExampleDaylightSimulator() {
	d50, err := spectrum.Illuminant("D50")
	if err != nil {
		fmt.Println(err)
		return
	}
	lamp, err := spectrum.Illuminant("FL8")
	if err != nil {
		fmt.Println(err)
		return
	}
	grey, err := spectrum.New([]float64{400, 700}, []float64{0.5, 0.5})
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := rendering.DaylightSimulator(lamp, d50, []rendering.MetamericPair{{First: grey, Second: grey}})
	fmt.Printf("%.4f from D50, index %.2f, grade %s, %v\n", s.Offset, s.Index, s.Grade, err)
	// Output: 0.0010 from D50, index 0.00, grade A, <nil>
}

// What is published on booths, with how sure each figure is.
func ExampleBoothLimits() {
	for _, l := range rendering.BoothLimits() {
		if l.Standard == "ISO 3664" {
			fmt.Printf("%s, %s: %s %s (%s)\n", l.Quantity, l.Where, l.Limit, l.Unit, l.Sure)
		}
	}
	// Output:
	// illuminance on the print, booth, critical comparison (P1): 2000 ± 500 lx (medium)
	// illuminance on the print, booth, practical appraisal (P2): 500 lx (medium)
}
