package tone_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

func ExampleParse() {
	c, err := tone.Parse("power 2.2")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: half the signal gives %.4f of the light\n", c, c.Light(0.5))
	// Output: power 2.2: half the signal gives 0.2176 of the light
}

// The two black policies on a display whose black is 0.2 % of its white.
func ExampleLift() {
	base := tone.Power{Gamma: 2.2}
	for _, c := range []tone.Curve{base, tone.Lift(base, 0.002), tone.Stretch(base, 0.002)} {
		fmt.Printf("%.4f %.4f %.4f\n", c.Light(0), c.Light(0.1), c.Light(1))
	}
	// Output:
	// 0.0000 0.0063 1.0000
	// 0.0020 0.0162 1.0000
	// 0.0020 0.0083 1.0000
}

// A curve through levels that somebody measured.
func ExampleNewSampled() {
	c, err := tone.NewSampled([]float64{0, 0.25, 0.5, 0.75, 1}, []float64{0.001, 0.048, 0.22, 0.53, 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("18 %% of the light takes a signal of %.3f\n", c.Signal(0.18))
	// Output: 18 % of the light takes a signal of 0.454
}

func ExampleIdentity() {
	curves := tone.Identity(256)
	fmt.Println(curves.Len(), curves.Apply(colorimetry.RGB{R: 0, G: 0.2, B: 1}))
	// Output: 256 {0 0.2 1}
}
