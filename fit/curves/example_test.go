package curves_test

import (
	"context"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/curves"
)

func ExampleCorrect() {
	display := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 1})
	run, err := measure.Open(context.Background(), measure.Setup{
		Screen: display, Instrument: display.Spectroradiometer(), Clock: display.Clock(),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	white, err := aim.ParseWhite("D65")
	if err != nil {
		fmt.Println(err)
		return
	}
	want := aim.Aim{White: white, Luminance: 120, Tone: tone.Power{Gamma: 2.2}}
	correction, err := curves.Correct(context.Background(), run, want, curves.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("white %s at %.0f cd/m², %d entries, greys from signal %.2f up\n",
		correction.Aim.White, correction.Aim.Luminance, correction.Curves.Len(), correction.FloorSignal)
	// Output: white D65 at 120 cd/m², 1024 entries, greys from signal 0.26 up
}
