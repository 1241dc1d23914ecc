package aim_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
)

func ExampleReach() {
	white, err := aim.ParseWhite("D50")
	if err != nil {
		fmt.Println(err)
		return
	}
	// The light in cd/m² that red, green and blue add to the black.
	primaries := colorimetry.Matrix{{41.2, 35.8, 18.0}, {21.3, 71.5, 7.2}, {1.9, 11.9, 95.1}}
	black := colorimetry.XYZ{X: 0.1, Y: 0.1, Z: 0.1}
	reach, err := aim.Reach(aim.Aim{White: white, Luminance: 100}, primaries, black)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(reach.Sentence)
	// Output: Out of reach: at the white D50 (0.3457,0.3585) the display gives 85 cd/m², not 100. The nearest aim that can be had: white D50 (0.3457,0.3585) at 85 cd/m².
}

func ExampleAim_Target() {
	white, err := aim.ParseWhite("0.3127,0.3290")
	if err != nil {
		fmt.Println(err)
		return
	}
	want := aim.Aim{White: white, Luminance: 100, Black: aim.BlackLift}
	black := colorimetry.XYZ{X: 0.2, Y: 0.2, Z: 0.3}
	for _, signal := range []float64{0, 0.5, 1} {
		fmt.Printf("%.2f cd/m²\n", want.Target(signal, black, 100).Y)
	}
	// Output:
	// 0.20 cd/m²
	// 24.71 cd/m²
	// 100.00 cd/m²
}
