package mismatch_test

import (
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
)

// Five lights as a reference and a colorimeter read them (invented), each with
// the noise of 16 integrations.
func ExampleFit() {
	noise := measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}
	misread := colorimetry.Matrix{{1.02, -0.01, 0}, {0.02, 0.97, 0}, {0, 0.01, 0.95}}
	var pairs []mismatch.Pair
	for _, l := range []struct {
		name string
		xyz  colorimetry.XYZ
	}{
		{"red", colorimetry.XYZ{X: 41, Y: 21, Z: 2}}, {"green", colorimetry.XYZ{X: 36, Y: 72, Z: 12}},
		{"blue", colorimetry.XYZ{X: 18, Y: 7, Z: 95}}, {"white", colorimetry.XYZ{X: 95, Y: 100, Z: 109}},
		{"grey", colorimetry.XYZ{X: 19, Y: 20, Z: 22}},
	} {
		seen := misread.Apply(l.xyz)
		pairs = append(pairs, mismatch.Pair{Name: l.name, Reference: l.xyz, Instrument: seen,
			ReferenceCovariance: noise.Covariance(l.xyz, 16), InstrumentCovariance: noise.Covariance(seen, 16)})
	}
	c, err := mismatch.Fit(pairs, mismatch.FitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	got := c.Correct(misread.Apply(colorimetry.XYZ{X: 50, Y: 60, Z: 100}))
	fmt.Printf("X %.1f Y %.1f Z %.1f\n", got.XYZ.X, got.XYZ.Y, got.XYZ.Z)
	fmt.Printf("white is uncertain by %.5f in u'v'\n", c.UncertaintyUV)
	// Output:
	// X 50.0 Y 60.0 Z 100.0
	// white is uncertain by 0.00019 in u'v'
}
