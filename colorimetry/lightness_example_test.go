package colorimetry_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// A grey of 18 % looks about half as light as white.
func ExampleLightness() {
	l := colorimetry.Lightness(0.18)
	fmt.Printf("L* %.1f, and back %.2f\n", l, colorimetry.LightnessInverse(l))
	// Output: L* 49.5, and back 0.18
}

// Before a display of 100 cd/m² whose picture is a fifth as bright on average.
func ExampleDegreeOfAdaptation() {
	fmt.Printf("%.2f\n", colorimetry.DegreeOfAdaptation(1, 20))
	// Output: 0.86
}

// The name of a method, from a file or an option.
func ExampleParseAdaptation() {
	a, err := colorimetry.ParseAdaptation("cat16")
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := a.Complete(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		fmt.Println(err)
		return
	}
	w := m.Apply(colorimetry.D65())
	fmt.Printf("%.4f %.4f %.4f\n", w.X, w.Y, w.Z)
	// Output: 0.9642 1.0000 0.8249
}
