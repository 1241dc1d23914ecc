package transform_test

import (
	"context"
	"fmt"
	"image"
	"image/color"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// encoding makes the profile of an encoding with a power for its curve.
func encoding(s rgb.Space, power float64) *icc.Profile {
	m, err := s.Matrix()
	if err != nil {
		panic(err)
	}
	chad, err := colorimetry.Bradford(s.White.XYZ(1), colorimetry.D50())
	if err != nil {
		panic(err)
	}
	m = chad.Mul(m)
	c := &icc.ParametricCurve{G: power}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: s.Name, Chad: chad, Parametric: [3]*icc.ParametricCurve{c, c, c},
		Colorants: [3]colorimetry.XYZ{m.Column(0), m.Column(1), m.Column(2)},
	})
	if err != nil {
		panic(err)
	}
	return p
}

// A picture of wide colours for a display of narrow ones, and which of its pixels the
// display cannot show.
func ExampleTransform_Convert() {
	photograph, display := encoding(rgb.DisplayP3(), 2.2), encoding(rgb.SRGB(), 2.2)
	picture := image.NewNRGBA(image.Rect(0, 0, 2, 1))
	picture.SetNRGBA(0, 0, color.NRGBA{200, 180, 160, 255})
	picture.SetNRGBA(1, 0, color.NRGBA{20, 250, 30, 255})

	ctx, o := context.Background(), transform.Options{Intent: icc.Relative}
	t, err := transform.New(o, photograph, display)
	if err != nil {
		panic(err)
	}
	converted, err := t.Convert(ctx, picture)
	if err != nil {
		panic(err)
	}
	asked, err := transform.New(o, photograph)
	if err != nil {
		panic(err)
	}
	shown, err := transform.New(o, photograph, display, display)
	if err != nil {
		panic(err)
	}
	alarm, err := asked.Alarm(ctx, shown, picture, transform.AlarmOptions{Tolerance: 1})
	if err != nil {
		panic(err)
	}
	for x := range 2 {
		fmt.Println(converted.At(x, 0), "beyond the display:", alarm.AlphaAt(x, 0).A == 255)
	}
	// Output:
	// {204 179 157 255} beyond the display: false
	// {0 255 0 255} beyond the display: true
}
