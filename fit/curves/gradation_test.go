package curves_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/curves"
)

// TestBitLoss holds the count of greys, merged steps and the largest step
// against figures that this project's survey of the literature (section 3)
// worked out apart from this code, for a display of a power of 2.2 and 8-bit
// greys: 248, 237, 238 and 231 of 256 through an 8-bit table, all through one
// of 10 bits; steps of 0.76 and 0.54 ΔE00 at most, merged ones apart.
func TestBitLoss(t *testing.T) {
	light := func(d colorimetry.RGB) colorimetry.XYZ {
		return primaries().FromLinear(colorimetry.RGB{R: math.Pow(d.R, 2.2), G: math.Pow(d.G, 2.2), B: math.Pow(d.B, 2.2)})
	}
	for _, c := range []struct {
		name        string
		gamma, gain float64
		kept        int
	}{
		{"2.2 to 2.4", 2.4, 1, 248},
		{"2.2 to 1.8", 1.8, 1, 237},
		{"gain 0.85", 2.2, 0.85, 238},
		{"2.4 and gain 0.80", 2.4, 0.80, 231},
	} {
		entry := make([]float64, 256)
		for i := range entry {
			entry[i] = math.Pow(c.gain*math.Pow(float64(i)/255, c.gamma), 1/2.2)
		}
		table, err := tone.NewChannels(entry, entry, entry)
		if err != nil {
			t.Fatal(err)
		}
		for bits, most := range map[int]float64{8: 0.76, 10: 0.54} {
			g, err := curves.Grade(table, 8, bits, light, nil)
			if err != nil {
				t.Fatal(err)
			}
			want := c.kept
			if bits == 10 {
				want = 256
			}
			t.Logf("%-18s %2d bits: %d of 256, %d merged, largest step %.2f ΔE00 at %.3f, %.2f JND", c.name, bits, g.Distinct, g.Merged, g.LargestStep, g.LargestStepAt, g.LargestJND)
			if g.Distinct != want || g.Merged != 256-want || g.ChannelCodes != [3]int{want, want, want} {
				t.Errorf("%s, %d bits: %+v, want %d", c.name, bits, g, want)
			}
			if g.LargestStep > most+0.005 {
				t.Errorf("%s, %d bits: a step of %.3f ΔE00, at most %.2f by the survey", c.name, bits, g.LargestStep, most)
			}
		}
	}
	if _, err := curves.Grade(tone.Channels{}, 8, 17, light, nil); err == nil {
		t.Error("a path of 17 bits passed")
	}
}
