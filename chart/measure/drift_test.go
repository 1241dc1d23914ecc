package measure

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// panel is a display for tests of what a run does to readings: its colour by
// signal, and the gains of its channels by the share of the run.
type panel struct {
	colour func(colorimetry.RGB) colorimetry.XYZ
	drift  func(u float64) [3]float64
}

var panelLights = colorimetry.Columns(colorimetry.XYZ{X: 41, Y: 21, Z: 2}, colorimetry.XYZ{X: 36, Y: 72, Z: 12}, colorimetry.XYZ{X: 18, Y: 7, Z: 95})

// additive shows the sum of three channels over a leak.
func additive(s colorimetry.RGB) colorimetry.XYZ {
	p := func(v float64) float64 { return 0.001 + 0.999*math.Pow(v, 2.2) }
	return panelLights.FromLinear(colorimetry.RGB{R: p(s.R), G: p(s.G), B: p(s.B)})
}

// interacting is additive but that channels rob each other of up to 12 % of
// their light, and the whole picture dims by up to 15 %.
func interacting(s colorimetry.RGB) colorimetry.XYZ {
	p := func(v, others float64) float64 { return 0.001 + 0.999*math.Pow(v, 2.2)*(1-0.06*others) }
	load := (math.Pow(s.R, 2.2) + math.Pow(s.G, 2.2) + math.Pow(s.B, 2.2)) / 3
	dim := math.Min(1, math.Pow(0.6/math.Max(load, 1e-9), 0.3))
	return panelLights.FromLinear(colorimetry.RGB{R: p(s.R, s.G+s.B), G: p(s.G, s.R+s.B), B: p(s.B, s.R+s.G)}).Scale(dim)
}

func still(float64) [3]float64 { return [3]float64{1, 1, 1} }

// ageing loses 3 % of the luminance and moves white by about 0.003 in u'v'.
func ageing(u float64) [3]float64 {
	e := -math.Expm1(-2*u) / -math.Expm1(-2)
	return [3]float64{1 - 0.016*e, 1 - 0.032*e, 1 - 0.085*e}
}

// swinging goes up and down by 2 %.
func swinging(u float64) [3]float64 {
	s := math.Sin(2 * math.Pi * u)
	return [3]float64{1 + 0.02*s, 1 + 0.015*s, 1 + 0.02*math.Sin(3*u)}
}

// run reads a set one patch every 5 s with the usual noise.
func (p panel) run(set []chart.Patch, seed uint64) (readings []Reading, truth []colorimetry.XYZ) {
	rng := rand.New(rand.NewPCG(seed, 77))
	start := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	inverse, _ := panelLights.Inverse()
	for i, patch := range set {
		c := p.colour(patch.Signal)
		g := p.drift(float64(i) / float64(len(set)-1))
		a := vector(inverse.Apply(c))
		now := panelLights.FromLinear(colorimetry.RGB{R: a[0] * g[0], G: a[1] * g[1], B: a[2] * g[2]})
		read := noisy(rng, now, usualNoise)
		readings = append(readings, Reading{Index: i, Patch: patch, Raw: read, XYZ: read, Time: start.Add(time.Duration(i) * 5 * time.Second),
			Repeats: []colorimetry.XYZ{read}, Covariance: usualNoise.Covariance(read, 1)})
		truth = append(truth, c)
	}
	return readings, truth
}

// anchored is a chart of n patches with white, the primaries and a grey through
// it.
func anchored(n int, seed uint64) []chart.Patch {
	primaries := []colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, colorimetry.Gray(0.5)}
	var out, set []chart.Patch
	rng := rand.New(rand.NewPCG(seed, 55))
	for range n {
		set = append(set, chart.Patch{Signal: colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}})
	}
	for i, p := range chart.Order(set, chart.OrderOptions{Seed: seed}) {
		out = append(out, p)
		if p.Signal == colorimetry.Gray(1) {
			out = append(out, chart.Patch{Signal: primaries[i/20%4]})
		}
	}
	return out
}

// errorIn returns the root mean square distance of readings from the truth, in
// units of the instrument's noise: 1 where only that is left.
func errorIn(readings []Reading, truth []colorimetry.XYZ) float64 {
	sum := 0.0
	for i, r := range readings {
		inverse, err := usualNoise.Covariance(truth[i], 1).Inverse()
		if err != nil {
			panic(err)
		}
		sum += distance2(r.XYZ.Sub(truth[i]), inverse)
	}
	return math.Sqrt(sum / float64(3*len(readings)))
}

// statedError is the same in units of what the readings state.
func statedError(readings []Reading, truth []colorimetry.XYZ) float64 {
	sum := 0.0
	for i, r := range readings {
		inverse, err := r.Covariance.Inverse()
		if err != nil {
			panic(err)
		}
		sum += distance2(r.XYZ.Sub(truth[i]), inverse)
	}
	return math.Sqrt(sum / float64(3*len(readings)))
}

func TestDriftCorrection(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		panel panel
		most  float64 // of what is left, in units of the noise
	}{
		{"additive, no drift", panel{additive, still}, 1.05},
		{"interacting, no drift", panel{interacting, still}, 1.05},
		{"additive, ageing", panel{additive, ageing}, 1.15},
		{"interacting, ageing", panel{interacting, ageing}, 1.15},
		{"additive, swinging", panel{additive, swinging}, 1.2},
		{"interacting, swinging", panel{interacting, swinging}, 1.2},
	} {
		var before, after, stated, worst float64
		n := float64(seeds(4))
		for seed := range seeds(4) {
			readings, truth := c.panel.run(anchored(300, seed), seed)
			d, err := FitDrift(readings, DriftOptions{})
			if err != nil {
				t.Fatal(err)
			}
			fixed := d.Correct(readings)
			b, a := errorIn(readings, truth), errorIn(fixed, truth)
			before, after, stated, worst = before+b/n, after+a/n, stated+statedError(fixed, truth)/n, math.Max(worst, a/math.Min(b, 1))
			if seed == 0 {
				t.Logf("%s: %v; unlike %.3f, noise %.3f", c.name, d, d.Unlike, d.NoiseFactor)
			}
		}
		t.Logf("%-22s error %.3f before, %.3f after (worst against noise %.3f), %.3f of what is stated", c.name, before, after, worst, stated)
		if after > c.most || math.Abs(stated-1) > 0.06 {
			t.Errorf("%s: %.3f after, %.3f of what is stated", c.name, after, stated)
		}
	}
}

// Where there is no drift, none is invented: on 30 runs no correction makes
// readings worse by more than 5 %, and nearly all change nothing.
func TestDriftInventsNone(t *testing.T) {
	t.Parallel()
	worst, changed := 0.0, 0
	for seed := range seeds(30) {
		readings, truth := panel{interacting, still}.run(anchored(200, seed), seed)
		d, err := FitDrift(readings, DriftOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if d.Luminance != 0 || d.UV != 0 {
			changed++
		}
		worst = math.Max(worst, errorIn(d.Correct(readings), truth)/errorIn(readings, truth))
	}
	t.Logf("%d of 30 runs were changed, the worst error is %.3f times as large", changed, worst)
	if worst > 1.05 || changed > 2 {
		t.Errorf("%d of 30 runs were changed, the worst error is %.3f times as large", changed, worst)
	}
}

// Nor is it on a display that neighbours hardly predict, whose patches come in
// the worst order: that of their signals.
func TestDriftInventsNoneInARow(t *testing.T) {
	t.Parallel()
	worst := 0.0
	for seed := range seeds(5) {
		for _, colour := range []func(colorimetry.RGB) colorimetry.XYZ{knotty, interacting} {
			var set []chart.Patch
			for i, p := range chart.Lattice(7) {
				if i%20 == 0 {
					set = append(set, chart.Patch{Signal: colorimetry.Gray(1)})
				}
				set = append(set, p)
			}
			readings, truth := panel{colour, still}.run(set, seed)
			d, err := FitDrift(readings, DriftOptions{})
			if err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, errorIn(d.Correct(readings), truth)/errorIn(readings, truth))
		}
	}
	t.Logf("the worst error is %.3f times as large", worst)
	if worst > 1.05 {
		t.Errorf("the worst error is %.3f times as large", worst)
	}
}

// Anchors that were misread are named and bend nothing.
func TestDriftOutliers(t *testing.T) {
	t.Parallel()
	for seed := range seeds(4) {
		set := anchored(300, seed)
		readings, truth := panel{additive, ageing}.run(set, seed)
		var spoiled []int
		for i, p := range set {
			if p.Signal == colorimetry.Gray(1) && i > 0 && len(spoiled) < 3 && i%40 < 21 {
				readings[i].XYZ = readings[i].XYZ.Scale(0.93)
				spoiled = append(spoiled, i)
			}
		}
		d, err := FitDrift(readings, DriftOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(d.Outliers, spoiled) {
			t.Errorf("seed %d: %v are left out, %v were spoiled", seed, d.Outliers, spoiled)
		}
		for _, i := range spoiled {
			readings[i].XYZ = truth[i]
		}
		if e := errorIn(d.Correct(readings), truth); e > 1.3 { // 13 whites are left of 16
			t.Errorf("seed %d: error %.3f", seed, e)
		}
	}
}

// Another instant than the start may be asked for: the state there is 1, and
// going there from the start is going back from there.
func TestDriftToAnInstant(t *testing.T) {
	readings, truth := panel{additive, ageing}.run(anchored(300, 1), 1)
	to := readings[len(readings)/2].Time
	d, err := FitDrift(readings, DriftOptions{To: to})
	if err != nil {
		t.Fatal(err)
	}
	there, first := d.At(to), d.At(readings[0].Time)
	for i := range 3 {
		for j := range 3 {
			if want := colorimetry.Identity()[i][j]; math.Abs(there[i][j]-want) > 1e-9 {
				t.Fatalf("at the instant itself %v", there)
			}
		}
	}
	white := first.Apply(colorimetry.XYZ{X: 95, Y: 100, Z: 109})
	if white.Y < 101.2 || white.Y > 102.8 { // ageing(0.5) is 2.2 % of 3 %
		t.Errorf("the white of 100 was %.2f at the start", white.Y)
	}
	fixed := d.Correct(readings)
	for i := range truth {
		g := ageing(0.5)
		inverse, _ := panelLights.Inverse()
		a := vector(inverse.Apply(truth[i]))
		truth[i] = panelLights.FromLinear(colorimetry.RGB{R: a[0] * g[0], G: a[1] * g[1], B: a[2] * g[2]})
	}
	if e := errorIn(fixed, truth); e > 1.15 {
		t.Errorf("error %.3f against the state at the instant", e)
	}
	if fixed[3].Raw != readings[3].Raw || !reflect.DeepEqual(readings[3].Repeats, fixed[3].Repeats) {
		t.Error("what was read is gone")
	}
}

// Noise larger than stated is noise, not drift.
func TestDriftNoisyAnchors(t *testing.T) {
	t.Parallel()
	ratio := 0.0
	for seed := range seeds(4) {
		readings, truth := panel{additive, still}.run(anchored(300, seed), seed)
		for i := range readings {
			readings[i].Covariance = readings[i].Covariance.Scale(1.0 / 4) // states half the noise
		}
		d, err := FitDrift(readings, DriftOptions{})
		if err != nil {
			t.Fatal(err)
		}
		ratio += errorIn(d.Correct(readings), truth) / errorIn(readings, truth) / float64(seeds(4))
		if d.NoiseFactor < 2.5 {
			t.Errorf("seed %d: noise factor %.2f, 4 is true", seed, d.NoiseFactor)
		}
	}
	if ratio > 1.03 {
		t.Errorf("error times %.3f", ratio)
	}
}

// Displays whose dark levels drift otherwise than white say so.
func TestDriftUnlike(t *testing.T) {
	readings, truth := panel{additive, ageing}.run(anchored(600, 3), 3)
	for i := range readings {
		if readings[i].Patch.Signal != colorimetry.Gray(1) {
			u := float64(i) / float64(len(readings))
			readings[i].XYZ = readings[i].XYZ.Scale(1 + 0.015*u) // half the drift elsewhere
		}
	}
	d, err := FitDrift(readings, DriftOptions{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("unlike %.2f", d.Unlike)
	if d.Unlike < 0.1 {
		t.Errorf("anchors that drift by half of others are unlike by %.3f", d.Unlike)
	}
	if s := statedError(d.Correct(readings), truth); s > 1.5 {
		t.Errorf("error %.2f of what is stated", s)
	}
}

func TestDriftRefuses(t *testing.T) {
	readings, _ := panel{additive, still}.run(anchored(100, 1), 1)
	bad := slices.Clone(readings)
	bad[5].XYZ.Y = math.NaN()
	infinite := slices.Clone(readings)
	infinite[5].Covariance[1][1] = math.Inf(1)
	for name, c := range map[string]struct {
		readings []Reading
		o        DriftOptions
	}{
		"nothing":             {nil, DriftOptions{}},
		"no repeats":          {readings[:5], DriftOptions{}},
		"one reading":         {readings, DriftOptions{Least: 1}},
		"anchor not read":     {readings, DriftOptions{Anchors: []colorimetry.RGB{{R: 0.123}}}},
		"not a number":        {bad, DriftOptions{}},
		"infinite covariance": {infinite, DriftOptions{}},
	} {
		if _, err := FitDrift(c.readings, c.o); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if d := (Drift{}); d.At(time.Now()) != colorimetry.Identity() || !reflect.DeepEqual(d.Correct(readings), readings) {
		t.Error("the zero drift changes readings")
	}
	for i := range readings {
		readings[i].Channel = ChannelReference
	}
	if _, err := FitDrift(readings, DriftOptions{}); err == nil {
		t.Error("a reference's readings are anchors")
	}
	// No time passes at all: nothing to tell, nothing breaks.
	readings, _ = panel{additive, still}.run(anchored(100, 1), 1)
	for i := range readings {
		readings[i].Time = readings[0].Time
	}
	if _, err := FitDrift(readings, DriftOptions{}); err != nil {
		t.Error(err)
	}
}

func BenchmarkDrift(b *testing.B) {
	readings, _ := panel{additive, ageing}.run(anchored(1000, 1), 1)
	for b.Loop() {
		if _, err := FitDrift(readings, DriftOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
