package profile_test

import (
	"fmt"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/profile"
)

func ExampleFileName() {
	day := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	fmt.Println(profile.FileName(day, "Studio display", "native", "D65 100 power 2.2"))
	// Output: 2026-11-25_studio-display_native_d65-100-power-2.2.icc
}

// A table profile of a model, here an invented one, with what it lost.
func ExampleBuild() {
	white := leaky.White()
	r, err := profile.Build(leaky, white, tone.Channels{}, profile.Options{
		Display: "Studio display", Kind: profile.KindTable, Grid: 17, Mapping: profile.MappingToGrey, Knee: 0.9,
	})
	if err != nil {
		panic(err)
	}
	d := r.Diagnostics
	fmt.Println(r.Profile.Description())
	fmt.Printf("loss %.1f, round trip %.1f ΔE00 at most, %d nodes an edge\n", d.LossMax, d.RoundMax, d.NodesBToA)
	fmt.Println(d.Choice)
	predict, err := profile.Predictor(r.Bytes)
	if err != nil {
		panic(err)
	}
	fmt.Printf("full red is %.0f cd/m²\n", predict(colorimetry.RGB{R: 1}).Y)
	// Output:
	// Studio display, native, as measured
	// loss 0.0, round trip 0.0 ΔE00 at most, 17 nodes an edge
	// A matrix alone would lose 0.00 ΔE00 in the mean and 0.02 at most: KindMatrix would do, and every program reads it.
	// full red is 27 cd/m²
}
