package gamut_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/spectrum"
)

// How much of Adobe RGB (1998) a display with the primaries of P3 can show, in
// the diagram that data sheets use.
func ExampleCoverage() {
	p3, adobe := rgb.DisplayP3(), rgb.AdobeRGB()
	display := gamut.UV(p3.R, p3.G, p3.B)
	wanted := gamut.UV(adobe.R, adobe.G, adobe.B)
	fmt.Printf("covers %.1f %%, area %.1f %%\n", 100*gamut.Coverage(display, wanted), 100*gamut.AreaRatio(display, wanted))
	// Output: covers 93.6 %, area 107.6 %
}

// The share of all chromaticities, which the spectrum locus encloses.
func ExampleXY() {
	locus, err := spectrum.CIE1931().SpectralLocus(380, 700, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	s := rgb.BT2020()
	fmt.Printf("%.1f %% in x, y; %.1f %% in u′, v′\n",
		100*gamut.AreaRatio(gamut.XY(s.R, s.G, s.B), gamut.XY(locus...)),
		100*gamut.AreaRatio(gamut.UV(s.R, s.G, s.B), gamut.UV(locus...)))
	// Output: 63.4 % in x, y; 57.3 % in u′, v′
}

// A signage wall with a fourth primary, given in no order.
func ExampleHull() {
	wall := gamut.Hull(gamut.Point{X: 0.30, Y: 0.60}, gamut.Point{X: 0.15, Y: 0.06}, gamut.Point{X: 0.10, Y: 0.40}, gamut.Point{X: 0.64, Y: 0.33}, gamut.Point{X: 0.3127, Y: 0.3290})
	fmt.Printf("%d primaries make the outline, area %.4f\n", len(wall), wall.Area())
	// Output: 4 primaries make the outline, area 0.1510
}

func ExamplePolygon_Contains() {
	s := rgb.SRGB()
	outline := gamut.XY(s.R, s.G, s.B)
	fmt.Println(outline.Contains(gamut.Point{X: 0.50, Y: 0.40}), outline.Contains(gamut.Point{X: 0.25, Y: 0.65}))
	// Output: true false
}

// The volume of an encoding in CIELAB under its own white, and what another
// covers of it.
func ExampleNew() {
	var solids []*gamut.Solid
	for _, s := range []rgb.Space{rgb.SRGB(), rgb.DisplayP3()} {
		codec, err := rgb.NewCodec(s)
		if err != nil {
			fmt.Println(err)
			return
		}
		solid, err := gamut.New(codec.XYZ, gamut.CIELAB(s.White.XYZ(1)), gamut.Options{})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: %.0f thousand ΔE*ab cubed\n", s.Name, solid.Volume()/1000)
		solids = append(solids, solid)
	}
	fmt.Printf("sRGB covers %.0f %% of P3\n", 100*solids[0].Covers(solids[1]))
	// Output:
	// sRGB: 820 thousand ΔE*ab cubed
	// Display P3: 1231 thousand ΔE*ab cubed
	// sRGB covers 67 % of P3
}

// What a display of sRGB can do for a colour beyond it.
func ExampleSolid_Nearest() {
	s := rgb.SRGB()
	codec, err := rgb.NewCodec(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	solid, err := gamut.New(codec.XYZ, gamut.CIELAB(s.White.XYZ(1)), gamut.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range []colorimetry.Lab{{L: 50, A: 20, B: 10}, {L: 55, A: -70, B: -30}} {
		nearest, distance := solid.Nearest(gamut.Coordinates(c))
		fmt.Printf("%t: %.0f %.0f %.0f, %.0f away\n", solid.Contains(gamut.Coordinates(c)), nearest.L, nearest.A, nearest.B, distance)
	}
	// Output:
	// true: 50 20 10, 0 away
	// false: 71 -40 -11, 39 away
}

// The same in CAM16-UCS, for a display of 100 cd/m² in a lit room.
func ExampleCAM16UCS() {
	s := rgb.SRGB()
	codec, err := rgb.NewCodec(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	model, err := appearance.NewCAM16(appearance.Viewing{White: s.White.XYZ(1)})
	if err != nil {
		fmt.Println(err)
		return
	}
	solid, err := gamut.New(codec.XYZ, gamut.CAM16UCS(model), gamut.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	nearest, distance, ok := solid.NearestXYZ(colorimetry.XYZ{X: 0.2, Y: 0.5, Z: 0.1})
	fmt.Printf("%s volume %.0f thousand; nearest XYZ %.2f %.2f %.2f, %.1f away, %t\n",
		solid.Space().Name(), solid.Volume()/1000, nearest.X, nearest.Y, nearest.Z, distance, ok)
	// Output: CAM16-UCS volume 245 thousand; nearest XYZ 0.26 0.51 0.11, 6.3 away, true
}
