package difference_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
)

// Two greys of a high dynamic range display, a tenth apart in luminance.
func ExampleITP() {
	a, ok := appearance.ICtCpPQ.FromXYZ(colorimetry.D65().Scale(500))
	b, ok2 := appearance.ICtCpPQ.FromXYZ(colorimetry.D65().Scale(550))
	fmt.Printf("%.1f, %t\n", difference.ITP(a, b), ok && ok2)
	// Output: 7.4, true
}

func ExampleJZ() {
	a, ok := appearance.FromXYZJzazbz(colorimetry.D65().Scale(500))
	b, ok2 := appearance.FromXYZJzazbz(colorimetry.D65().Scale(550))
	fmt.Printf("%.4f, %t\n", difference.JZ(a, b), ok && ok2)
	// Output: 0.0116, true
}

func ExampleOK() {
	f := appearance.OklabCSS()
	fmt.Printf("%.3f\n", difference.OK(f.Oklab(colorimetry.XYZ{X: 0.4, Y: 0.3, Z: 0.2}), f.Oklab(colorimetry.XYZ{X: 0.4, Y: 0.3, Z: 0.25})))
	// Output: 0.021
}
