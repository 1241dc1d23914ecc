package aim_test

import (
	"errors"
	"fmt"
	"time"

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

// A studio compares prints under 2000 lx beside a display that gives some 250
// cd/m² at D50. The scene is invented.
func ExampleAim_ForPrints() {
	start, err := aim.StartNamed("iso3664-prints")
	if err != nil {
		fmt.Println(err)
		return
	}
	want, err := start.Aim.ForPrints(aim.Print{Reflectance: 0.85, Lux: 2000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("The paper shines at %.0f cd/m².\n", want.Luminance)
	primaries := colorimetry.Matrix{{123.6, 107.4, 54.0}, {63.9, 214.5, 21.6}, {5.7, 35.7, 285.3}}
	reach, err := aim.Reach(want, primaries, colorimetry.XYZ{X: 0.2, Y: 0.2, Z: 0.3})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(reach.Sentence)
	// Output:
	// The paper shines at 541 cd/m².
	// Out of reach: at the white D50 (0.3457,0.3585) the display gives 254.8 cd/m², not 541.1. The nearest aim that can be had: white D50 (0.3457,0.3585) at 254.8 cd/m². The paper shines at 541.1 cd/m²: dim the light on the prints to 941 lx.
}

func ExampleAim_Share() {
	left := aim.Display{
		Name:      "left",
		Primaries: colorimetry.Matrix{{82.4, 71.6, 36.0}, {42.6, 143.0, 14.4}, {3.8, 23.8, 190.2}},
		Black:     colorimetry.XYZ{X: 0.19, Y: 0.2, Z: 0.22},
	}
	right := aim.Display{
		Name:      "right",
		Primaries: colorimetry.Matrix{{77.9, 42.5, 31.7}, {36.6, 110.7, 12.7}, {0, 7.2, 167.1}},
		Black:     colorimetry.XYZ{X: 0.05, Y: 0.05, Z: 0.06},
	}
	shared, err := aim.Aim{White: aim.XY(0.3127, 0.3290)}.Share([]aim.Display{left, right})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range shared.Sentences {
		fmt.Println(s)
	}
	for _, d := range shared.Displays {
		fmt.Printf("%s: %.0f %% of its light, %.0f %% of its gamut\n", d.Name, 100*d.Luminance, 100*d.Gamut)
	}
	// Output:
	// All reach 160 cd/m² there; right sets it.
	// left: 80 % of its light, 100 % of its gamut
	// right: 100 % of its light, 79 % of its gamut
}

func ExampleByEye() {
	// Match the display's white to the paper by eye, then read it.
	read := colorimetry.Chromaticity{X: 0.3412, Y: 0.3551}
	w, err := aim.ByEye(read, "Ngozi Adeyemi", time.Date(2026, 3, 1, 10, 0, 0, 0, time.UTC))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v, matched by %s at %s\n", w, w.By, w.When)
	// Output: 0.3412,0.3551 by eye, matched by Ngozi Adeyemi at 2026-03-01T10:00:00Z
}

func ExampleGSDF() {
	want := aim.Aim{Tone: aim.GSDF{}}
	fmt.Println("needs the room measured:", errors.Is(want.Judgeable(), aim.ErrAmbient))
	want.Ambient = aim.MeasuredAmbient(0.3) // read off the screen, switched off
	f, err := want.On(350, 0.8)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("half signal: %.1f cd/m²\n", 350*f.Light(0.5))
	// Output:
	// needs the room measured: true
	// half signal: 41.0 cd/m²
}

func ExampleStartNamed() {
	start, err := aim.StartNamed("st431")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(start.Document)
	for _, f := range start.Facts[:2] {
		fmt.Printf("%s: %s (%s)\n", f.What, f.Value, f.Source)
	}
	// Output:
	// SMPTE ST 431-1 (ISO 26431-1) and RP 431-2:2011
	// white: x 0.314, y 0.351, within 0.002 in a review room and 0.006 in a theatre (secondary: open summary of ISO 26431-1 / SMPTE ST 431-1)
	// luminance: 48 cd/m² at the centre, within 3.5 in a review room and 10.2 in a theatre (secondary: open summary of ISO 26431-1 / SMPTE ST 431-1)
}
