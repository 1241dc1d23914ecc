package icc_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// A display with the primaries and the white of ITU-R BT.709-6 and an exponent
// of 2.2, described in a version 4 profile and read back.
func Example() {
	white := colorimetry.D65()
	chad, err := colorimetry.Bradford(white, colorimetry.D50())
	if err != nil {
		fmt.Println(err)
		return
	}
	power := &icc.ParametricCurve{Function: 0, G: 2.2}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: "Display in the corner",
		Colorants: [3]colorimetry.XYZ{
			chad.Apply(colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}),
			chad.Apply(colorimetry.XYZ{X: 0.3576, Y: 0.7152, Z: 0.1192}),
			chad.Apply(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}),
		},
		Parametric:    [3]*icc.ParametricCurve{power, power, power},
		Chad:          chad,
		LuminanceCdM2: 120,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	b, err := p.Encode()
	if err != nil {
		fmt.Println(err)
		return
	}

	p, err = icc.Decode(b)
	if err != nil {
		fmt.Println(err)
		return
	}
	e, err := icc.NewEvaluator(p, icc.Relative)
	if err != nil {
		fmt.Println(err)
		return
	}
	c := e.ToPCS(colorimetry.RGB{R: 1, G: 0.5, B: 0})
	fmt.Printf("%s, version %v\n", p.Description(), p.Header.Version)
	fmt.Printf("orange: XYZ %.3f %.3f %.3f\n", c.X, c.Y, c.Z)
	s := e.FromPCS(c)
	fmt.Printf("and back: %.3f %.3f %.3f\n", s.R, s.G, s.B)
	// Output:
	// Display in the corner, version 4.3.0
	// orange: XYZ 0.520 0.378 0.035
	// and back: 1.000 0.500 0.000
}
