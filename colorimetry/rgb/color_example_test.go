package rgb_test

import (
	"fmt"
	"image/color"

	"example.org/primaries/colorimetry/rgb"
)

// The standard library's colours as signals.
func ExampleFromColor() {
	c := rgb.FromColor(color.NRGBA{R: 255, G: 128, A: 255})
	fmt.Printf("%.3f %.3f %.3f\n", c.Signal.R, c.Signal.G, c.Signal.B)
	// Output: 1.000 0.502 0.000
}

// Every encoding that Find knows.
func ExampleSpaces() {
	for _, s := range rgb.Spaces() {
		fmt.Println(s.Name)
	}
	// Output:
	// ACES2065-1
	// ACEScg
	// Adobe RGB (1998)
	// BT.601 525 lines
	// BT.601 625 lines
	// BT.709
	// BT.2020
	// BT.2100 HLG
	// BT.2100 PQ
	// Display P3
	// P3-D65
	// P3-DCI
	// ROMM RGB
	// sRGB
}
