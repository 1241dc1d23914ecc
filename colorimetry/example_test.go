package colorimetry_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// A display's white and a grey it shows, both read in cd/m²: the grey's
// CIELAB relative to that white.
func ExampleXYZ_Lab() {
	white := colorimetry.XYZ{X: 95.0, Y: 100.0, Z: 109.0}
	grey := colorimetry.XYZ{X: 17.2, Y: 18.0, Z: 19.9}
	fmt.Printf("%.2f\n", grey.Lab(white))
	// Output: {49.50 0.55 -0.53}
}

// How far a white is from D65 in u'v'.
func ExampleUV_Distance() {
	white := colorimetry.XYZ{X: 95.4, Y: 100.0, Z: 107.2}
	fmt.Printf("%.4f\n", white.UV().Distance(colorimetry.D65().UV()))
	// Output: 0.0017
}

// A D65 white seen in the ICC connection space, whose white is D50.
func ExampleBradford() {
	m, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f\n", m.Apply(colorimetry.D65()))
	// Output: {0.9642 1.0000 0.8249}
}
