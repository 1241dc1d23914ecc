package spectrum_test

import (
	"fmt"

	"example.org/primaries/colorimetry/spectrum"
)

// A filter shifts a light by so many mired, whatever its temperature.
func ExampleMired() {
	fmt.Printf("%.0f K\n", spectrum.Kelvin(spectrum.Mired(5500)+100))
	// Output: 3548 K
}

// The daylight locus, for a plot.
func ExampleDaylightLocus() {
	locus, err := spectrum.DaylightLocus(5000, 7500, 3)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range locus {
		fmt.Printf("%.4f %.4f\n", c.X, c.Y)
	}
	// Output:
	// 0.3457 0.3587
	// 0.3217 0.3378
	// 0.2991 0.3150
}
