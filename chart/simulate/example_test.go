package simulate_test

import (
	"context"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// A reading of white by the colorimeter, and what it should have been.
func Example() {
	ctx := context.Background()
	display := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 1})
	white := colorimetry.Gray(1)
	if err := display.Show(ctx, white); err != nil {
		fmt.Println(err)
		return
	}
	sample, err := display.Colorimeter().Measure(ctx, measure.Request{Signal: white})
	if err != nil {
		fmt.Println(err)
		return
	}
	read, truth := sample.XYZ, display.Truth(white)
	fmt.Printf("read  %.0f cd/m², off by %.3f in u'v'\n", read.Y, read.UV().Distance(truth.UV()))
	fmt.Printf("truth %.1f cd/m², x %.4f y %.4f\n", truth.Y, truth.Chromaticity().X, truth.Chromaticity().Y)
	fmt.Printf("it took %v\n", sample.Duration)
	// Output:
	// read  162 cd/m², off by 0.003 in u'v'
	// truth 157.1 cd/m², x 0.3086 y 0.3230
	// it took 1s
}

// A controlled display: brightness turned down until white is at most
// 100 cd/m².
func ExampleDisplay_Set() {
	ctx := context.Background()
	display := simulate.Measured(simulate.WideGamutLCD, simulate.Options{})
	for step := 100; display.Truth(colorimetry.Gray(1)).Y > 100; step-- {
		if err := display.Set(ctx, measure.Brightness, step); err != nil {
			fmt.Println(err)
			return
		}
	}
	fmt.Printf("step %d, %.1f cd/m²\n", display.Controls()[0].Now, display.Truth(colorimetry.Gray(1)).Y)
	// Output:
	// step 53, 99.7 cd/m²
}
