package curves_test

import (
	"context"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
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
	// Each 15 % of gain is about 7 % of the codes, by the same survey.
	if lost := 1 - 238.0/256; math.Abs(lost-0.07) > 0.005 || math.Abs(1-math.Pow(0.85, 1/2.2)-0.07) > 0.005 {
		t.Errorf("15 %% of light are %.3f of the codes", lost)
	}
	if _, err := curves.Grade(tone.Channels{}, 8, 17, light, nil); err == nil {
		t.Error("a path of 17 bits passed")
	}
}

// TestLevels holds what is said of each grey against the display: the codes,
// their colour, and where white and tone are had together.
func TestLevels(t *testing.T) {
	for _, bits := range []int{6, 8} {
		noise := mainJob()
		d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 1, Bits: bits, ReferenceNoise: &noise})
		s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
		if err != nil {
			t.Fatal(err)
		}
		r, err := curves.Correct(context.Background(), s, aim.Aim{White: d65(t), Luminance: 100}, curves.Options{})
		if err != nil {
			t.Fatal(err)
		}
		top := float64(int(1)<<bits - 1)
		if len(r.Levels) != int(top)+1 {
			t.Fatalf("%d levels of %d bits", len(r.Levels), bits)
		}
		black := d.Truth(colorimetry.RGB{})
		for _, l := range r.Levels {
			c := r.Curves.Apply(colorimetry.Gray(l.Signal)).Quantise(bits)
			if got := (colorimetry.RGB{R: float64(l.Codes[0]) / top, G: float64(l.Codes[1]) / top, B: float64(l.Codes[2]) / top}); got != c {
				t.Errorf("%d bits, grey %.3f: codes %v, the curves give %v", bits, l.Signal, l.Codes, c)
			}
			// The round corner above the floor is a code and a half of 8 bits.
			if in := l.Signal > r.FloorSignal; in && !l.InReach || l.InReach && l.Signal < r.FloorSignal-0.01 {
				t.Errorf("%d bits, grey %.3f: in reach %v, the floor is %.3f", bits, l.Signal, l.InReach, r.FloorSignal)
			}
			if l.Signal < r.FloorSignal {
				continue
			}
			want, got := r.Aim.Target(l.Signal, black, r.Aim.Luminance), d.Truth(colorimetry.Gray(l.Signal))
			if miss := math.Abs(got.UV().Distance(want.UV()) - l.DeltaUV); miss > 0.0004+3*l.Uncertainty {
				t.Errorf("%d bits, grey %.3f: %.4f ± %.4f off the aim by what is said, %.4f in truth", bits, l.Signal, l.DeltaUV, l.Uncertainty, got.UV().Distance(want.UV()))
			}
			if miss := math.Abs(got.Y/want.Y - 1 - l.DeltaLuminance); miss > 0.01 {
				t.Errorf("%d bits, grey %.3f: luminance %.4f off by what is said, %.4f in truth", bits, l.Signal, l.DeltaLuminance, got.Y/want.Y-1)
			}
			if !(l.HalfCodeUV > 0 && l.HalfCodeUV < 0.03) {
				t.Errorf("%d bits, grey %.3f: half a code turns it by %.4f", bits, l.Signal, l.HalfCodeUV)
			}
		}
		g, f := r.Gradations[0], r.GradationsFound[0]
		if g.Distinct+g.Merged != 256 || g.MeanError >= f.MeanError || g.ContentBits != 8 || g.PathBits != bits {
			t.Errorf("%d bits: %+v after %+v", bits, g, f)
		}
		// 100 of 229 cd/m² are left: much of the codes, and the display's own
		// brightness would do it for nothing.
		said := strings.Join(r.Sentences, " ")
		for words, want := range map[string]bool{"control of the display": true, "dithering": bits < 8, "stay distinct": true} {
			if strings.Contains(said, words) != want {
				t.Errorf("%d bits: %q said %v, want %v: %s", bits, words, !want, want, said)
			}
		}
		if testing.Verbose() {
			t.Log(strings.Join(r.Sentences, "\n"))
		}
	}
}

// TestWeighing: a higher weight of luminance must keep more greys distinct and
// cost colour, and the table says how much of each.
func TestWeighing(t *testing.T) {
	spec, err := simulate.Typical("self-luminous-rgb")
	if err != nil {
		t.Fatal(err)
	}
	d50, err := aim.Illuminant("D50")
	if err != nil {
		t.Fatal(err)
	}
	noise := mainJob()
	for _, bits := range []int{8, 10} {
		var kept []int
		var uvs []float64
		for _, weight := range []float64{0.03, 0.07, 0.15, 0.3, 1} {
			d, err := simulate.New(spec, simulate.Options{Bits: bits, ReferenceNoise: &noise})
			if err != nil {
				t.Fatal(err)
			}
			s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
			if err != nil {
				t.Fatal(err)
			}
			r, err := curves.Correct(context.Background(), s, aim.Aim{White: d50, Luminance: 100}, curves.Options{LuminanceWeight: weight})
			if err != nil {
				t.Fatal(err)
			}
			var uv, y float64
			for _, l := range r.Levels[13:] {
				uv, y = uv+l.DeltaUV/243, y+math.Abs(l.DeltaLuminance)/243
			}
			g := r.Gradations[0]
			t.Logf("%2d bits, weight %.2f: %d of 256 greys distinct, largest step %.2f ΔE00 and %.2f JND; above 5 %% off by %.5f in u'v' and %.4f of luminance; mean error %.2f ΔE00", bits, weight, g.Distinct, g.LargestStep, g.LargestJND, uv, y, g.MeanError)
			kept, uvs = append(kept, g.Distinct), append(uvs, uv)
		}
		if last := len(kept) - 1; kept[last] < kept[0] || uvs[last] <= uvs[0] || bits == 8 && kept[last] < kept[0]+20 {
			t.Errorf("%d bits: greys %v at distances %v", bits, kept, uvs)
		}
	}
}
