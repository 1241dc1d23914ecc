package rgb_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// The colour that an sRGB signal means, and its signal in Display P3.
func ExampleSpace() {
	from, to := rgb.SRGB(), rgb.DisplayP3()
	toXYZ, err := from.Matrix()
	if err != nil {
		fmt.Println(err)
		return
	}
	p3, err := to.Matrix()
	if err != nil {
		fmt.Println(err)
		return
	}
	fromXYZ, err := p3.Inverse()
	if err != nil {
		fmt.Println(err)
		return
	}
	c := toXYZ.FromLinear(from.Linear(colorimetry.RGB{R: 1, G: 0.5, B: 0}))
	fmt.Printf("XYZ %.4f\n", c)
	fmt.Printf("P3  %.4f\n", to.Signal(fromXYZ.ToLinear(c)))
	// Output:
	// XYZ {0.4889 0.3657 0.0448}
	// P3  {0.9360 0.5272 0.1983}
}

// The matrix of a display whose primaries and 120 cd/m² white were read.
func ExamplePrimariesMatrix() {
	m, err := rgb.PrimariesMatrix(
		colorimetry.Chromaticity{X: 0.681, Y: 0.311}, colorimetry.Chromaticity{X: 0.242, Y: 0.704}, colorimetry.Chromaticity{X: 0.148, Y: 0.052},
		colorimetry.D65().Scale(120))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("red alone: %.1f cd/m²\n", m.Column(0).Y)
	// Output: red alone: 28.6 cd/m²
}
