package rgb_test

import (
	"fmt"
	"image/color"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// The colour that an sRGB signal means, and its signal in Display P3.
func ExampleSpace() {
	from, to := rgb.SRGB(), rgb.DisplayP3()
	toXYZ, err := from.Matrix()
	if err != nil {
		fmt.Println(err)
		return
	}
	p3, err := to.Matrix()
	if err != nil {
		fmt.Println(err)
		return
	}
	fromXYZ, err := p3.Inverse()
	if err != nil {
		fmt.Println(err)
		return
	}
	c := toXYZ.FromLinear(from.Linear(colorimetry.RGB{R: 1, G: 0.5, B: 0}))
	fmt.Printf("XYZ %.4f\n", c)
	fmt.Printf("P3  %.4f\n", to.Signal(fromXYZ.ToLinear(c)))
	// Output:
	// XYZ {0.4889 0.3657 0.0448}
	// P3  {0.9360 0.5272 0.1983}
}

// The matrix of a display whose primaries and 120 cd/m² white were read.
func ExamplePrimariesMatrix() {
	m, err := rgb.PrimariesMatrix(
		colorimetry.Chromaticity{X: 0.681, Y: 0.311}, colorimetry.Chromaticity{X: 0.242, Y: 0.704}, colorimetry.Chromaticity{X: 0.148, Y: 0.052},
		colorimetry.D65().Scale(120))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("red alone: %.1f cd/m²\n", m.Column(0).Y)
	// Output: red alone: 28.6 cd/m²
}

// Between signals and colours: one codec serves any number of them.
func ExampleNewCodec() {
	c, err := rgb.NewCodec(rgb.SRGB())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f\n", c.XYZ(colorimetry.RGB{R: 1, G: 0.5, B: 0}))
	signal, inGamut := c.Signal(colorimetry.XYZ{X: 0.2, Y: 0.6, Z: 0.1})
	fmt.Printf("%.2f %v\n", signal, inGamut)
	// Output:
	// {0.4889 0.3657 0.0448}
	// {0.00 0.97 0.00} false
}

// A picture's green of Display P3 in BT.2020, which encloses it. The red of P3
// would be a trace outside.
func ExampleNewConversion() {
	c, err := rgb.NewConversion(rgb.DisplayP3(), rgb.BT2020(), colorimetry.BradfordAdaptation())
	if err != nil {
		fmt.Println(err)
		return
	}
	signal, inGamut := c.Signal(colorimetry.RGB{G: 1})
	fmt.Printf("%.4f %v\n", signal, inGamut)
	// Output: {0.5099 0.9753 0.1858} true
}

// CIELAB of 8-bit pixels, as an ICC profile of sRGB has it: under D50.
func ExampleNewLab8() {
	table, err := rgb.NewLab8(rgb.SRGB(), colorimetry.BradfordAdaptation(), colorimetry.D50())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f\n", table.Lab(255, 128, 0))
	lab := make([]colorimetry.Lab, 2)
	table.Row(lab, []byte{0, 0, 255, 255, 200, 119, 60, 255}, 4) // the Pix of an image.NRGBA
	fmt.Printf("%.2f\n", lab)
	// Output:
	// {67.82 45.49 74.84}
	// [{29.57 68.29 -112.03} {58.37 28.97 45.57}]
}

// The pixels of an image in another encoding, in the terms of image/color.
func ExampleConversion_Model() {
	c, err := rgb.NewConversion(rgb.SRGB(), rgb.DisplayP3(), colorimetry.BradfordAdaptation())
	if err != nil {
		fmt.Println(err)
		return
	}
	pixel := c.Model().Convert(color.NRGBA{R: 255, G: 0, B: 0, A: 255})
	fmt.Println(rgb.FromColor(pixel).NRGBA())
	// Output: {234 51 35 255}
}

func ExampleFind() {
	s, err := rgb.Find("p3-dci")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.Name, s.White, s.Curve)
	// Output: P3-DCI {0.314 0.351} power 2.6
}
