package verify_test

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// A display whose profile is right about everything but its luminance: nothing
// to see relative to its white, and a difference in absolute figures.
func ExampleProfile() {
	light := func(peak float64) verify.Predict {
		return func(s colorimetry.RGB) colorimetry.XYZ {
			return colorimetry.D65().Scale(peak * math.Pow(s.G, 2.2))
		}
	}
	profile, display := light(100), light(104)
	var readings []measure.Reading
	for _, v := range []float64{0.25, 0.5, 0.75, 1} {
		r := measure.Reading{XYZ: display(colorimetry.Gray(v))}
		r.Patch.Signal = colorimetry.Gray(v)
		readings = append(readings, r)
	}
	a, err := verify.Profile(profile, readings, verify.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("relative %.2f, absolute %.2f\n", a.Relative.DeltaE2000.Mean, a.Absolute.DeltaE2000.Mean)
	for _, v := range verify.Judge(verify.Default().Under("profile_accuracy"), a.Figures("profile_accuracy")) {
		fmt.Printf("%s: %s (%s)\n", v.Limit.Name, v.State, v.Limit.Source)
	}
	// Output:
	// relative 0.00, absolute 0.76
	// average error of the profile, relative: passed (common practice, no source)
}
