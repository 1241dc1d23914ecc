package icc_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/icc"
)

// display returns the profile of an invented display with the primaries and the
// white of ITU-R BT.709-6, whose blacks emit a share of its white.
func display(name string, black float64) *icc.Profile {
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		panic(err)
	}
	var curve []float64
	for i := range 256 {
		v := float64(i) / 255
		curve = append(curve, black+(1-black)*v*v)
	}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: name,
		Colorants: [3]colorimetry.XYZ{
			chad.Apply(colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}),
			chad.Apply(colorimetry.XYZ{X: 0.3576, Y: 0.7152, Z: 0.1192}),
			chad.Apply(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}),
		},
		Curves:        [3][]float64{curve, curve, curve},
		Chad:          chad,
		LuminanceCdM2: 120,
	})
	if err != nil {
		panic(err)
	}
	return p
}

// What a signal looks like on the display.
func ExampleToPCS() {
	to, err := icc.ToPCS(display("In the office", 0), icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab})
	if err != nil {
		fmt.Println(err)
		return
	}
	lab := make([]float64, to.Outputs())
	to.Eval(lab, []float64{1, 0.5, 0})
	fmt.Printf("%.1f %.1f %.1f\n", lab[0], lab[1], lab[2])
	// Output: 69.6 41.3 75.8
}

// The signal for a colour; one that the display cannot make becomes one that it
// can.
func ExampleFromPCS() {
	from, err := icc.FromPCS(display("In the office", 0), icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, lab := range [][]float64{{50, 20, 10}, {50, -90, 10}} {
		signal := make([]float64, from.Outputs())
		from.Eval(signal, lab)
		fmt.Printf("%.3f %.3f %.3f\n", signal[0], signal[1], signal[2])
	}
	// Output:
	// 0.573 0.379 0.368
	// 0.000 0.549 0.352
}

// From one display to another, black staying black.
func ExampleJoin() {
	studio, lobby := display("Studio", 0), display("Lobby", 0.01)
	for _, compensate := range []bool{false, true} {
		chain, err := icc.Join(icc.Options{Intent: icc.Relative, BlackPoint: compensate}, lobby, studio)
		if err != nil {
			fmt.Println(err)
			return
		}
		signal := []float64{0, 0, 0}
		chain.Eval(signal, signal)
		fmt.Printf("%.3f\n", signal[1])
	}
	// Output:
	// 0.100
	// 0.000
}

// What a profile says of its display.
func ExampleProfile_Primaries() {
	p := display("In the office", 0.002)
	c, err := p.Primaries()
	if err != nil {
		fmt.Println(err)
		return
	}
	white, err := p.White()
	if err != nil {
		fmt.Println(err)
		return
	}
	black, err := p.Black()
	if err != nil {
		fmt.Println(err)
		return
	}
	luminance, _ := p.Luminance()
	fmt.Printf("red %.3f %.3f, white %.4f %.4f\n", c[0].X, c[0].Y, white.Chromaticity().X, white.Chromaticity().Y)
	fmt.Printf("white %.0f cd/m², black %.2f cd/m²\n", luminance, luminance*black.Y)
	// Output:
	// red 0.637 0.330, white 0.3127 0.3290
	// white 120 cd/m², black 0.24 cd/m²
}

// How much of all colours a display makes.
func ExampleProfile_Gamut() {
	solid, err := display("In the office", 0).Gamut(gamut.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f thousand ΔE*ab cubed\n", solid.Volume()/1000)
	// Output: 833 thousand ΔE*ab cubed
}

func ExampleBlackPoint() {
	black, err := icc.BlackPoint(display("Lobby", 0.01), icc.Relative)
	fmt.Printf("%.4f, %v\n", black.Y, err)
	// Output: 0.0100, <nil>
}

func ExampleLocalizedText_In() {
	text := icc.LocalizedText{{Language: "en", Country: "US", Text: "Lobby"}, {Language: "de", Country: "DE", Text: "Empfang"}}
	fmt.Println(text.In("de"), text.In("de-CH"), text.In("fr"))
	// Output: Empfang Empfang Lobby
}
