package difference_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
)

func ExampleCIEDE2000() {
	wanted := colorimetry.Lab{L: 50, A: 2.6772, B: -79.7751}
	shown := colorimetry.Lab{L: 50, A: 0, B: -82.7485}
	fmt.Printf("%.4f\n", difference.CIEDE2000(wanted, shown))
	// Output: 2.0425
}

// Textiles: differences of lightness count half.
func ExampleCIEDE2000Weighted() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	fmt.Printf("%.3f and %.3f\n", difference.CIEDE2000(wanted, shown), difference.CIEDE2000Weighted(wanted, shown, difference.Weights{KL: 2}))
	// Output: 2.803 and 2.391
}

func ExampleCIEDE2000Row() {
	wanted := []colorimetry.Lab{{L: 50, A: 2.5}, {L: 60.2574, A: -34.0099, B: 36.2677}}
	shown := []colorimetry.Lab{{L: 73, A: 25, B: -18}, {L: 60.4626, A: -34.1751, B: 39.4387}}
	d := make([]float64, len(wanted))
	difference.CIEDE2000Row(d, wanted, shown)
	fmt.Printf("%.4f\n", d)
	// Output: [27.1492 1.2644]
}

func ExampleCIEDE2000Steps() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	s := difference.CIEDE2000Steps(wanted, shown, difference.Weights{})
	fmt.Printf("chroma %.2f and %.2f, hue %.1f° and %.1f°\n", s.C1, s.C2, s.H1, s.H2)
	fmt.Printf("ΔL′ %+.2f ΔC′ %+.2f ΔH′ %+.2f\n", s.Parts.L, s.Parts.C, s.Parts.H)
	fmt.Printf("S_L %.3f S_C %.3f S_H %.3f R_T %.3f\n", s.Parts.SL, s.Parts.SC, s.Parts.SH, s.Parts.RT)
	fmt.Printf("ΔE00 %.3f\n", s.Total)
	// Output:
	// chroma 66.25 and 66.64, hue 61.1° and 64.2°
	// ΔL′ +2.00 ΔC′ +0.40 ΔH′ +3.58
	// S_L 1.184 S_C 3.990 S_H 1.604 R_T 0.000
	// ΔE00 2.803
}

// What part of a difference is lightness, chroma and hue?
func ExampleABParts() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	p := difference.ABParts(wanted, shown)
	fmt.Printf("lightness %+.2f, chroma %+.2f, hue %+.2f: %.2f in all\n", p.L, p.C, p.H, p.Total())
	// Output: lightness +2.00, chroma +0.40, hue +3.58: 4.12 in all
}

func ExampleAB() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	fmt.Printf("%.3f\n", difference.AB(wanted, shown))
	// Output: 4.123
}

func ExampleUV() {
	white := colorimetry.D65()
	a := colorimetry.XYZ{X: 0.20, Y: 0.20, Z: 0.20}.Luv(white)
	b := colorimetry.XYZ{X: 0.21, Y: 0.20, Z: 0.19}.Luv(white)
	fmt.Printf("%.3f\n", difference.UV(a, b))
	// Output: 8.061
}

// Black and white, and two strong colours.
func ExampleHyAB() {
	fmt.Printf("%.1f\n", difference.HyAB(colorimetry.Lab{}, colorimetry.Lab{L: 100}))
	fmt.Printf("%.1f\n", difference.HyAB(colorimetry.Lab{L: 53, A: 80, B: 67}, colorimetry.Lab{L: 32, A: 79, B: -108}))
	// Output:
	// 100.0
	// 196.0
}

// The first colour is the reference: the order matters.
func ExampleCIE94() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	fmt.Printf("%.3f\n", difference.CIE94(wanted, shown, difference.GraphicArts()))
	fmt.Printf("%.3f\n", difference.CIE94(shown, wanted, difference.GraphicArts()))
	fmt.Printf("%.3f\n", difference.CIE94(wanted, shown, difference.Textiles()))
	// Output:
	// 2.691
	// 2.687
	// 2.113
}

func ExampleCMC() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	fmt.Printf("2:1 %.3f\n", difference.CMC(wanted, shown, 2, 1))
	fmt.Printf("1:1 %.3f\n", difference.CMC(wanted, shown, 1, 1))
	// Output:
	// 2:1 3.180
	// 1:1 3.486
}

func ExampleDIN99() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	fmt.Printf("%.3f\n", difference.DIN99(wanted, shown, difference.DIN99Weights{}))
	fmt.Printf("%.3f\n", difference.DIN99(wanted, shown, difference.DIN99Weights{KE: 2, KCH: 0.5})) // textiles
	// Output:
	// 2.227
	// 1.692
}

func ExampleCAMUCS() {
	wanted := colorimetry.Lab{L: 62, A: 32, B: 58} // an orange
	shown := colorimetry.Lab{L: 64, A: 29, B: 60}  // a little lighter and yellower
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		fmt.Println(err)
		return
	}
	a, b := wanted.XYZ(colorimetry.D65()), shown.XYZ(colorimetry.D65())
	fmt.Printf("%.3f\n", difference.CAMUCS(m, appearance.UCS(), a, b))
	// Output: 2.895
}

// Two readings from a display in cd/m².
func ExampleXYZITP() {
	fmt.Printf("%.2f\n", difference.XYZITP(colorimetry.D65().Scale(203), colorimetry.D65().Scale(200)))
	// Output: 1.12
}

// Two readings in cd/m², compared relative to the display's white.
func ExampleXYZ2000() {
	white := colorimetry.XYZ{X: 95.0, Y: 100.0, Z: 109.0}
	predicted := colorimetry.XYZ{X: 20.1, Y: 21.0, Z: 23.5}
	read := colorimetry.XYZ{X: 20.4, Y: 21.2, Z: 23.1}
	fmt.Printf("%.2f\n", difference.XYZ2000(predicted, read, white))
	// Output: 1.30
}

// Any metric over two slices.
func ExampleRow() {
	references := []colorimetry.Lab{{L: 50, A: 10, B: 10}, {L: 70, A: -20, B: 5}}
	samples := []colorimetry.Lab{{L: 51, A: 10, B: 10}, {L: 70, A: -20, B: 8}}
	d := make([]float64, len(references))
	difference.Row(d, references, samples, difference.AB)
	fmt.Println(d)
	// Output: [1 3]
}
