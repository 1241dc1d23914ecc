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

// How a colour seen in lamp light looks in daylight, by CAT16: first with the
// eye wholly adapted to the lamp, then as it adapts to a dim room.
func ExampleAdaptation_Partial() {
	lamp, daylight := colorimetry.Chromaticity{X: 0.4476, Y: 0.4074}.XYZ(1), colorimetry.D65()
	paper := lamp.Scale(0.9)
	for _, d := range []float64{1, colorimetry.DegreeOfAdaptation(0.9, 10)} {
		m, err := colorimetry.CAT16().Partial(lamp, daylight, d)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("D = %.2f: x, y %.4f\n", d, m.Apply(paper).Chromaticity())
	}
	// Output:
	// D = 1.00: x, y {0.3127 0.3290}
	// D = 0.76: x, y {0.3404 0.3451}
}

// From one light to another, the eye adapted to neither wholly.
func ExampleAdaptation_TwoStep() {
	warm, cold := colorimetry.Chromaticity{X: 0.4476, Y: 0.4074}.XYZ(100), colorimetry.D65().Scale(100)
	m, err := colorimetry.CAT16().TwoStep(warm, cold, 0.85, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f\n", m.Apply(colorimetry.XYZ{X: 48.9, Y: 43.6, Z: 6.3}))
	// Output: {41.02 43.66 19.28}
}

// A colour in the cylinder of CIELUV: lightness, chroma, hue.
func ExampleLuv_LCh() {
	white := colorimetry.D65()
	red := colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}
	lch := red.Luv(white).LCh()
	fmt.Printf("%.1f, saturation %.2f\n", lch, lch.Saturation())
	// Output: {53.2 179.1 12.2}, saturation 3.36
}

// A whole row of colours without a call for each.
func ExampleLabRow() {
	colours := []colorimetry.XYZ{{X: 0.2, Y: 0.2, Z: 0.2}, {X: 0.3, Y: 0.2, Z: 0.1}}
	lab := make([]colorimetry.Lab, len(colours))
	colorimetry.LabRow(lab, colours, colorimetry.D50())
	fmt.Printf("%.1f\n", lab)
	// Output: [{51.8 3.6 -7.8} {51.8 46.4 18.0}]
}

// A reading as chromaticity and luminance.
func ExampleXYZ_XyY() {
	fmt.Printf("%.4f\n", colorimetry.XYZ{X: 95, Y: 100, Z: 109}.XyY())
	// Output: {0.3125 0.3289 100.0000}
}
