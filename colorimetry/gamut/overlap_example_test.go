package gamut_test

import (
	"fmt"

	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/rgb"
)

// What two gamuts have in common, and its outline for a drawing.
func ExampleOverlap() {
	p3, adobe := rgb.DisplayP3(), rgb.AdobeRGB()
	a, b := gamut.XY(p3.R, p3.G, p3.B), gamut.XY(adobe.R, adobe.G, adobe.B)
	outline, err := a.Clip(b)
	fmt.Printf("area %.4f, %d corners, %v\n", gamut.Overlap(a, b), len(outline), err)
	// Output: area 0.1334, 4 corners, <nil>
}
