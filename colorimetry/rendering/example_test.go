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
