package fit_test

import (
	"fmt"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// A model from readings, and the signal that shows a colour on it.
func ExampleBest() {
	// A session takes the readings; here they come from a simulated display
	// and are free of noise.
	display := simulate.Measured(simulate.WideGamutLCD, simulate.Options{})
	var readings []measure.Reading
	for _, p := range chart.Default(175, chart.Options{Bits: 10}) {
		readings = append(readings, measure.Reading{Patch: p, XYZ: display.Truth(p.Signal)})
	}
	model, evidence, err := fit.Best(readings, fit.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(evidence.Chosen)

	grey := colorimetry.D65().Scale(50) // 50 cd/m²
	signal, inGamut := fit.Invert(model, grey)
	fmt.Printf("%.2f %.2f %.2f %v\n", signal.R, signal.G, signal.B, inGamut)
	fmt.Printf("the display shows %.0f cd/m²\n", display.Truth(signal).Y)
	// Output:
	// additive with sampled curves
	// 0.47 0.46 0.45 true
	// the display shows 50 cd/m²
}
