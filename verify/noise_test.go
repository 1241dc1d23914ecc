package verify_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// TestNoiseFloorTable holds the floor against figures computed apart from this
// library: 20,000 trials, independent normal errors in x, y and Y, reference =
// truth, absolute, nominal D65 white, Display P3 primaries, CIEDE2000, mean
// and 95th percentile.
//
// Source: this project's literature notes, "Noise floor of ΔE" (computed).
func TestNoiseFloorTable(t *testing.T) {
	colours := []colorimetry.RGB{{R: 1, G: 1, B: 1}, colorimetry.Gray(math.Pow(0.18, 1/2.2)), {R: 1}, {G: 1}, {B: 1}}
	for _, c := range []struct {
		xy, share float64
		mean      [5]float64
		p95       [2]float64
	}{
		{0.0005, 0.005, [5]float64{0.51, 0.31, 0.25, 0.13, 0.20}, [2]float64{1.10, 0.63}},
		{0.001, 0.01, [5]float64{1.01, 0.61, 0.49, 0.26, 0.39}, [2]float64{2.16, 1.24}},
		{0.002, 0.02, [5]float64{1.95, 1.20, 0.98, 0.52, 0.79}, [2]float64{4.05, 2.42}},
		{0.004, 0.03, [5]float64{3.67, 2.25, 1.86, 0.90, 1.53}, [2]float64{7.41, 4.59}},
	} {
		for k, s := range colours {
			xyz := display(s)
			var set []measure.Reading
			for range 400 { // many alike, so that the percentile of a trial is that of the error
				set = append(set, reading(s, xyz, covariance(xyz, c.xy, c.share), 1))
			}
			a, err := verify.Aim(display, set, verify.Options{Seed: 3, Trials: 50})
			if err != nil {
				t.Fatal(err)
			}
			// Both means have a sampling error: a deviation of about 0.55 of
			// the mean over √20,000, together 0.55 %, three times that, and
			// half the last digit printed.
			if tol := 0.005 + 0.017*c.mean[k]; math.Abs(a.NoiseFloor.Mean-c.mean[k]) > tol {
				t.Errorf("σ %g, %g, %v: floor %.3f, want %.2f ± %.3f", c.xy, c.share, s, a.NoiseFloor.Mean, c.mean[k], tol)
			}
			// The sampling error of a 95th percentile is about 1 %, and the
			// mean of the percentiles of 400 lies within 0.5 % of it.
			if k < 2 && math.Abs(a.NoiseFloor.P95-c.p95[k]) > 0.005+0.03*c.p95[k] {
				t.Errorf("σ %g, %g, %v: 95th percentile of the floor %.3f, want %.2f", c.xy, c.share, s, a.NoiseFloor.P95, c.p95[k])
			}
			if k == 0 {
				t.Logf("σ %g, %g: white %.3f (%.2f)", c.xy, c.share, a.NoiseFloor.Mean, a.NoiseFloor.P95)
			}
		}
	}
}

// noisy reads every signal of a display with independent errors in x, y and Y,
// drawn in that space, not through the covariance.
func noisy(rng *rand.Rand, set []colorimetry.RGB, of verify.Predict, xy, share float64) []measure.Reading {
	var out []measure.Reading
	for _, s := range set {
		c := of(s)
		q := c.Chromaticity()
		q.X += xy * rng.NormFloat64()
		q.Y += xy * rng.NormFloat64()
		out = append(out, reading(s, q.XYZ(c.Y*(1+share*rng.NormFloat64())), covariance(c, xy, share), 4))
	}
	return out
}

// TestFloorIsWhatAPerfectProfileShows reads a display again and again and
// compares with the very display: the statistics' average must be the floor
// that any one of the sets states, and their scatter its spread.
func TestFloorIsWhatAPerfectProfileShows(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	set := signals(60)
	const runs = 150
	var mean, squares, p95, absolute float64
	var floor, spread, absoluteFloor verify.Floor
	for range runs {
		a, err := verify.Profile(display, noisy(rng, set, display, 0.001, 0.005), verify.Options{Seed: rng.Uint64(), Trials: 40})
		if err != nil {
			t.Fatal(err)
		}
		mean += a.Relative.DeltaE2000.Mean / runs
		squares += a.Relative.DeltaE2000.Mean * a.Relative.DeltaE2000.Mean / runs
		p95 += a.Relative.DeltaE2000.P95 / runs
		absolute += a.Absolute.DeltaE2000.Mean / runs
		floor.Mean += a.Relative.NoiseFloor.Mean / runs
		floor.P95 += a.Relative.NoiseFloor.P95 / runs
		spread.Mean += a.Relative.Spread.Mean / runs
		absoluteFloor.Mean += a.Absolute.NoiseFloor.Mean / runs
	}
	deviation := math.Sqrt(squares - mean*mean)
	t.Logf("relative mean %.4f, floor %.4f; p95 %.4f, floor %.4f; absolute %.4f, floor %.4f; deviation %.4f, spread %.4f", mean, floor.Mean, p95, floor.P95, absolute, absoluteFloor.Mean, deviation, spread.Mean)
	// Three standard errors of the mean over the runs.
	if tol := 3 * deviation / math.Sqrt(runs); math.Abs(mean-floor.Mean) > tol {
		t.Errorf("relative: mean %.4f, floor %.4f ± %.4f", mean, floor.Mean, tol)
	}
	if math.Abs(p95-floor.P95) > 0.04*p95 {
		t.Errorf("relative: p95 %.4f, floor %.4f", p95, floor.P95)
	}
	if math.Abs(absolute-absoluteFloor.Mean) > 0.02*absolute {
		t.Errorf("absolute: mean %.4f, floor %.4f", absolute, absoluteFloor.Mean)
	}
	// A standard deviation over 150 runs is good to 6 %, and a spread about a
	// reading that is noisy itself is somewhat larger: within a third.
	if spread.Mean < 0.75*deviation || spread.Mean > 1.5*deviation {
		t.Errorf("spread %.4f, scatter seen %.4f", spread.Mean, deviation)
	}
}

// TestWhiteCarriesItsNoise: a set that is only white is without error relative
// to itself, and has a floor relative to a white that was read apart.
func TestWhiteCarriesItsNoise(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	set := noisy(rng, []colorimetry.RGB{colorimetry.Gray(1)}, display, 0.001, 0.01)
	own, err := verify.Profile(display, set, verify.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r := own.Relative; r.DeltaE2000.Max > 1e-9 || !r.NoiseFloor.Known || r.NoiseFloor.Max > 1e-9 {
		t.Errorf("white under itself: %v, floor %v", r.DeltaE2000, r.NoiseFloor)
	}
	apart, err := verify.Profile(display, set, verify.Options{White: &set[0], Trials: 4000})
	if err != nil {
		t.Fatal(err)
	}
	// Two readings differ by √2 of what one differs from the truth, 1.01, less
	// some percent since CIEDE2000 compresses chroma. Within 5 %.
	if got, want := apart.Relative.NoiseFloor.Mean, math.Sqrt2*1.01; math.Abs(got-want) > 0.05*want {
		t.Errorf("floor under a white read apart %.3f, want about %.3f", got, want)
	}
}

// TestSharedUncertainty: what all readings have in common moves absolute
// figures and leaves relative ones alone. For one white patch it is no
// different from noise: 1.01 for 0.001 and 1 %, as in the table above.
func TestSharedUncertainty(t *testing.T) {
	white := colorimetry.Gray(1)
	exact := []measure.Reading{reading(white, display(white), colorimetry.Matrix{}, 1)}
	a, err := verify.Profile(display, exact, verify.Options{Trials: 20000, Shared: measure.Noise{Chromaticity: 0.001, Luminance: 0.01}})
	if err != nil {
		t.Fatal(err)
	}
	if got := a.Absolute.NoiseFloor.Mean; math.Abs(got-1.01) > 0.022 {
		t.Errorf("absolute floor %.3f, want 1.01", got)
	}
	if a.Relative.NoiseFloor.Known {
		t.Errorf("relative floor %v, want unknown", a.Relative.NoiseFloor)
	}
}

func TestSameSeedSameFloor(t *testing.T) {
	set := noisy(rand.New(rand.NewPCG(1, 1)), signals(30), display, 0.001, 0.005)
	run := func(seed uint64) verify.ProfileAccuracy {
		a, err := verify.Profile(display, set, verify.Options{Seed: seed, Trials: 20})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	if d := cmp.Diff(run(1), run(1)); d != "" {
		t.Error(d)
	}
	if run(1).Relative.NoiseFloor == run(2).Relative.NoiseFloor {
		t.Error("two seeds gave the same floor to the last bit")
	}
}

func BenchmarkProfile150(b *testing.B) {
	set := noisy(rand.New(rand.NewPCG(1, 1)), signals(150), display, 0.001, 0.005)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := verify.Profile(display, set, verify.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
