package profile_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
)

const bits = 10

// corrected returns a simulated display through correction curves of 256
// entries: greys of D65 with power 2.2 and the range-scaled black, down to the
// lowest signal at which every channel can be had, below it over to the
// display's own black. The curves are computed from the truth and then spoilt
// by a smooth ripple of about 0.4 % a channel, as a closed loop leaves it. They
// are the test's own: what the curves' room makes is tested there.
func corrected(t testing.TB, panel simulate.Panel, seed uint64) (*simulate.Display, tone.Channels, float64) {
	t.Helper()
	d := simulate.Measured(panel, simulate.Options{Seed: seed, Bits: bits})
	black := d.Truth(colorimetry.RGB{})
	var top [3]colorimetry.XYZ
	var levels [3][]float64 // luminance that each level of a channel adds, over the full one's
	for c := range 3 {
		at := func(v float64) colorimetry.XYZ {
			s := [3]float64{}
			s[c] = v
			return d.Truth(colorimetry.RGB{R: s[0], G: s[1], B: s[2]}).Sub(black)
		}
		top[c] = at(1)
		for k := range 1024 {
			levels[c] = append(levels[c], at(float64(k)/1023).Y/top[c].Y)
		}
	}
	inv, err := colorimetry.Columns(top[0], top[1], top[2]).Inverse()
	if err != nil {
		t.Fatal(err)
	}
	white := colorimetry.D65()
	l := inv.ToLinear(white)
	white = white.Scale(0.97 / math.Max(l.R, math.Max(l.G, l.B)))
	light := func(s float64) [3]float64 {
		y := black.Y + (white.Y-black.Y)*math.Pow(s, 2.2)
		l := inv.ToLinear(white.Scale(y / white.Y).Sub(black))
		return [3]float64{l.R, l.G, l.B}
	}
	floor := 0.0
	for s := 1.0; s >= 0; s -= 0.001 {
		if v := light(s); math.Min(v[0], math.Min(v[1], v[2])) < 0 {
			floor = s + 0.001
			break
		}
	}
	rng := rand.New(rand.NewPCG(seed, 7))
	var curve [3][]float64
	for c := range 3 {
		phase, size := 6*rng.Float64(), 0.004*rng.NormFloat64()
		highest := 0.0
		for i := range 256 {
			s := float64(i) / 255
			v := light(math.Max(s, floor))[c]
			if s < floor {
				v *= math.Pow(s/floor, 2.2)
			}
			v *= 1 + size*math.Sin(phase+5*s)*(1-s)
			k, _ := slices.BinarySearch(levels[c], v)
			k = min(max(k, 1), 1023)
			f := 0.0
			if step := levels[c][k] - levels[c][k-1]; step > 0 {
				f = math.Min(math.Max((v-levels[c][k-1])/step, 0), 1)
			}
			highest = math.Max(highest, (float64(k-1)+f)/1023)
			curve[c] = append(curve[c], highest)
		}
	}
	channels, err := tone.NewChannels(curve[0], curve[1], curve[2])
	if err != nil {
		t.Fatal(err)
	}
	if err := d.LoadCurves(context.Background(), channels); err != nil {
		t.Fatal(err)
	}
	return d, channels, floor
}

// noise is that of one integration, as the project's main job states it.
var noise = measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}

// read takes the mean of n noisy readings of the truth: what a colorimeter
// whose mismatch was corrected without error would give.
func read(d *simulate.Display, p chart.Patch, n int, rng *rand.Rand) measure.Reading {
	truth := d.Truth(p.Signal)
	var sum colorimetry.XYZ
	for range n {
		v := truth
		if q := truth.Chromaticity(); truth.Y > 0 {
			q.X += noise.Chromaticity * rng.NormFloat64()
			q.Y += noise.Chromaticity * rng.NormFloat64()
			v = q.XYZ(truth.Y * (1 + noise.Luminance*rng.NormFloat64()))
		}
		v.X += noise.FloorCdM2 * rng.NormFloat64()
		v.Y += noise.FloorCdM2 * rng.NormFloat64()
		v.Z += noise.FloorCdM2 * rng.NormFloat64()
		sum = sum.Add(v)
	}
	mean := sum.Scale(1 / float64(n))
	return measure.Reading{Patch: p, XYZ: mean, Covariance: noise.Covariance(mean, n)}
}

// figures are differences over a set of patches.
type figures struct{ mean, p95, max float64 }

func summary(v []float64) figures {
	v = slices.Clone(v)
	slices.Sort(v)
	var sum float64
	for _, x := range v {
		sum += x
	}
	return figures{sum / float64(len(v)), v[len(v)*95/100], v[len(v)-1]}
}

// run measures the set of 175 patches, fits, writes a profile and proves it on the
// 120 others through its bytes, against noiseless truth and as read, relative to the
// measured white.
func run(t testing.TB, panel simulate.Panel, set, proof chart.Set, seed uint64) (truth, asRead figures, model string) {
	t.Helper()
	d, curves, _ := corrected(t, panel, seed)
	rng := rand.New(rand.NewPCG(seed, 11))
	// White is read with 16 integrations first and with 4 wherever the order
	// puts it again; the white of the profile is the mean of all of them.
	full := colorimetry.Gray(1)
	readings := []measure.Reading{read(d, chart.Patch{ID: "white", Signal: full}, 16, rng)}
	white, count := readings[0].XYZ.Scale(16), 16.0
	for _, p := range chart.Order(set, chart.OrderOptions{Seed: seed}) {
		r := read(d, p, 4, rng)
		if p.Signal == full {
			white, count = white.Add(r.XYZ.Scale(4)), count+4
		}
		readings = append(readings, r)
	}
	white = white.Scale(1 / count)
	m, evidence, err := fit.Best(readings, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := profile.Build(m, white, curves, profile.Options{Display: panel.String(), Created: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	predict, err := profile.Predictor(r.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	var a, b []float64
	for _, p := range proof {
		got := predict(p.Signal).Lab(white)
		a = append(a, difference.CIEDE2000(d.Truth(p.Signal).Lab(white), got))
		b = append(b, difference.CIEDE2000(read(d, p, 4, rng).XYZ.Lab(white), got))
	}
	return summary(a), summary(b), evidence.Chosen
}

// TestMeasuredDisplays holds the whole way from readings to bytes against the
// project's own limits: true mean 0.35 and max 1.2, as read mean 0.5, in every
// seed. The largest difference as read is held to 1.5 over 20 seeds in
// fit/characterise. With a perfect model 3 of 200 seeds read one light grey
// beyond that by noise alone; here 2.5, which noise reaches once in a million
// greys, tells a fault.
func TestMeasuredDisplays(t *testing.T) {
	seeds := uint64(5)
	if testing.Short() {
		seeds = 1
	}
	set := chart.Default(175, chart.Options{Bits: bits})
	proof := chart.Apart(set, 120, chart.Options{Bits: bits, Seed: 1000})
	for _, panel := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD, simulate.CRT} {
		t.Run(panel.String(), func(t *testing.T) {
			t.Parallel()
			missed := 0
			var sum, worst, sumRead, worstRead figures
			models := map[string]int{}
			for seed := range seeds {
				truth, asRead, model := run(t, panel, set, proof, seed)
				models[model]++
				if truth.mean > 0.35 || truth.max > 1.2 || asRead.mean > 0.5 || asRead.max > 2.5 {
					missed++
					t.Logf("seed %d misses: true %+.3f, as read %+.3f", seed, truth, asRead)
				}
				add(&sum, &worst, truth, seeds)
				add(&sumRead, &worstRead, asRead, seeds)
			}
			_, _, floor := corrected(t, panel, 0)
			t.Logf("floor signal %.3f; true ΔE00: mean %.3f, 95 %% %.3f, max %.3f (worst seed %.3f, %.3f, %.3f); as read: mean %.3f, 95 %% %.3f, max %.3f (worst seed %.3f, %.3f, %.3f); %d seeds; %v",
				floor, sum.mean, sum.p95, sum.max, worst.mean, worst.p95, worst.max,
				sumRead.mean, sumRead.p95, sumRead.max, worstRead.mean, worstRead.p95, worstRead.max, seeds, fmt.Sprint(models))
			if missed > 0 {
				t.Errorf("%d of %d seeds miss the limits", missed, seeds)
			}
			if sum.mean > 0.15 {
				t.Errorf("true mean %.3f, want at most 0.15", sum.mean)
			}
		})
	}
}

func add(sum, worst *figures, f figures, n uint64) {
	sum.mean += f.mean / float64(n)
	sum.p95 += f.p95 / float64(n)
	sum.max += f.max / float64(n)
	worst.mean, worst.p95, worst.max = math.Max(worst.mean, f.mean), math.Max(worst.p95, f.p95), math.Max(worst.max, f.max)
}
