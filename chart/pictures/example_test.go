package pictures_test

import (
	"fmt"
	"image"
	"image/color"

	"example.org/primaries/chart/pictures"
	"example.org/primaries/colorimetry/rgb"
)

// Two patches stand for a picture that is grey on three quarters and orange on
// the rest.
func ExamplePatches() {
	m := image.NewNRGBA(image.Rect(0, 0, 40, 40))
	for y := range 40 {
		for x := range 40 {
			c := color.NRGBA{R: 128, G: 128, B: 128, A: 255}
			if x < 20 && y < 20 {
				c = color.NRGBA{R: 255, G: 128, A: 255}
			}
			m.SetNRGBA(x, y, c)
		}
	}
	picks, err := pictures.Patches([]pictures.Picture{{Name: "quilt", Image: m}}, 2, pictures.Options{Target: rgb.SRGB()})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range picks {
		fmt.Printf("%s from %s: %.3f %.3f %.3f, %.0f %%\n", p.ID, p.Picture, p.Signal.R, p.Signal.G, p.Signal.B, 100*p.Share)
	}
	// Output:
	// picture1 from quilt: 0.502 0.502 0.502, 75 %
	// picture2 from quilt: 1.000 0.502 0.000, 25 %
}
