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

// The luminance that a PQ signal of 58 % means, whatever the display.
func ExamplePQLuminance() {
	fmt.Printf("%.0f cd/m²\n", tone.PQLuminance(0.58))
	// Output: 202 cd/m²
}

// The signal that means 203 cd/m², the white of captions and paper in
// high-dynamic-range pictures.
func ExamplePQSignal() {
	fmt.Printf("%.4f\n", tone.PQSignal(203))
	// Output: 0.5807
}

// A PQ picture on a display that ends at 600 cd/m².
func ExamplePQ() {
	display := tone.PQ{PeakCdM2: 600}
	fmt.Printf("%.4f %.4f\n", display.Light(0.58), display.Light(0.8))
	// Output: 0.3361 1.0000
}

// One HLG picture on three displays: the system gamma grows with the peak.
func ExampleHLG() {
	for _, peak := range []float64{400, 1000, 4000} {
		display := tone.HLG{WhiteCdM2: peak}
		fmt.Printf("gamma %.3f: 75 %% signal shows %.0f cd/m²\n", display.Gamma(), peak*display.Light(0.75))
	}
	// Output:
	// gamma 1.033: 75 % signal shows 101 cd/m²
	// gamma 1.200: 75 % signal shows 203 cd/m²
	// gamma 1.481: 75 % signal shows 559 cd/m²
}

// The system gamma acts on luminance: a saturated blue stays dim.
func ExampleHLG_Display() {
	light := tone.HLG{}.Display(colorimetry.RGB{B: 1})
	fmt.Printf("%.0f %% of what blue gives in a white\n", light.B/10)
	// Output: 57 % of what blue gives in a white
}

// The reference curve of television on a display with 0.05 cd/m² in its black.
func ExampleBT1886() {
	display := tone.BT1886{WhiteCdM2: 100, BlackCdM2: 0.05}
	fmt.Printf("%.2f %.2f %.0f cd/m²\n", 100*display.Light(0), 100*display.Light(0.1), 100*display.Light(1))
	// Output: 0.05 0.86 100 cd/m²
}

// Just-noticeable differences between the black and the white of a display, as
// seen with the ambient light that it reflects.
func ExampleNewGSDF() {
	display, err := tone.NewGSDF(400, 0.4, 0.2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f to %.0f; half the signal: %.1f cd/m²\n", display.Index(0), display.Index(1), 400*display.Light(0.5))
	// Output: 52 to 673; half the signal: 40.5 cd/m²
}

func ExampleGSDFLuminance() {
	cdM2, ok := tone.GSDFLuminance(500)
	fmt.Printf("%.2f cd/m² %v\n", cdM2, ok)
	_, ok = tone.GSDFLuminance(2000)
	fmt.Println(ok)
	// Output:
	// 119.13 cd/m² true
	// false
}

func ExampleGSDFIndex() {
	index, ok := tone.GSDFIndex(100)
	fmt.Printf("%.1f %v\n", index, ok)
	// Output: 476.4 true
}

// The curve of an sRGB profile, as its curve tag states it.
func ExampleNewParametric() {
	c, err := tone.NewParametric(3, 2.4, 1/1.055, 0.055/1.055, 1/12.92, 0.04045)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.6f %.6f\n", c.Light(0.5), tone.SRGB{}.Light(0.5))
	// Output: 0.214041 0.214041
}

// The black at the ends of a stretched curve is the display's own.
func ExampleStretch() {
	c := tone.Stretch(tone.SRGB{}, 0.001)
	fmt.Printf("%s: %.4f %.4f\n", c, c.Light(0), c.Light(1))
	// Output: stretch 0.001 srgb: 0.0010 1.0000
}
