package controls_test

import (
	"context"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/controls"
)

func ExampleGuide() {
	quiet := measure.Noise{}
	display := simulate.Measured(simulate.CRT, simulate.Options{ReferenceNoise: &quiet})
	run, err := measure.Open(context.Background(), measure.Setup{
		Screen: display, Controls: display, Instrument: display.Spectroradiometer(), Clock: display.Clock(),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	settled, err := controls.Guide(context.Background(), run, run.Controls(), aim.Aim{Luminance: 80}, controls.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(settled.Steps[0].Sentence)
	fmt.Printf("brightness %d, %.1f cd/m²\n", settled.Settings[0].Now, settled.White.Y)
	// Output:
	// White as found: 99.8 cd/m².
	// brightness 85, 79.9 cd/m²
}
