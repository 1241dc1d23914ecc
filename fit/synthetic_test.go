package fit_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/fit"
)

// display is an additive display. All of this file's displays are invented.
type display struct {
	black     colorimetry.XYZ
	primaries colorimetry.Matrix
	tone      [3]func(float64) float64
}

func (d display) xyz(s colorimetry.RGB) colorimetry.XYZ {
	return d.black.Add(d.primaries.FromLinear(colorimetry.RGB{R: d.tone[0](s.R), G: d.tone[1](s.G), B: d.tone[2](s.B)}))
}

// wide are the primaries of an invented wide-gamut display of about 117 cd/m².
var wide = colorimetry.Columns(
	colorimetry.XYZ{X: 57.1, Y: 26.6, Z: 0.4}, colorimetry.XYZ{X: 30.2, Y: 81.3, Z: 5.1}, colorimetry.XYZ{X: 22.9, Y: 9.2, Z: 121.7})

func power(gamma float64) func(float64) float64 {
	return func(d float64) float64 { return math.Pow(d, gamma) }
}

// sigmoid is a tone as liquid crystals have it without correction, as steep as
// a power of 2 in the middle and flat at both ends.
func sigmoid(d float64) float64 {
	f := func(d float64) float64 { return 1 / (1 + math.Exp(-9*(d-0.62))) }
	return (f(d) - f(0)) / (f(1) - f(0))
}

// bent follows a power of 2.2 down to signal 0.2 and there goes over to a
// straight line that ends in the black early, as where correction curves hand
// over to a leaking panel.
func bent(d float64) float64 {
	if d >= 0.2 {
		return math.Pow(d, 2.2)
	}
	return math.Max(0, (d-0.13)/0.07) * math.Pow(0.2, 2.2)
}

var (
	smooth  = display{colorimetry.XYZ{X: 0.11, Y: 0.12, Z: 0.16}, wide, [3]func(float64) float64{power(2.2), power(2.25), power(2.1)}}
	crystal = display{colorimetry.XYZ{X: 0.21, Y: 0.2, Z: 0.33}, wide, [3]func(float64) float64{sigmoid, power(1.9), sigmoid}}
	leaking = display{wide.FromLinear(colorimetry.RGB{R: 0.008, G: 0.004, B: 0.03}), wide, [3]func(float64) float64{power(2.2), power(2.2), bent}}
	unlit   = display{colorimetry.XYZ{}, wide, [3]func(float64) float64{power(2.4), power(2.4), power(2.4)}}
)

// noise is that of one integration, as the project's main job states it.
var noise = measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}

// read takes the mean of n readings, without noise where n is 0.
func (d display) read(s colorimetry.RGB, n int, rng *rand.Rand) measure.Reading {
	truth := d.xyz(s)
	r := measure.Reading{Patch: chart.Patch{Signal: s}, XYZ: truth, Covariance: noise.Covariance(truth, 4)}
	if n == 0 {
		return r
	}
	var sum colorimetry.XYZ
	for range n {
		v := truth
		if q := truth.Chromaticity(); truth.Y > 0 {
			q.X += noise.Chromaticity * rng.NormFloat64()
			q.Y += noise.Chromaticity * rng.NormFloat64()
			v = q.XYZ(truth.Y * (1 + noise.Luminance*rng.NormFloat64()))
		}
		floor := func() float64 { return noise.FloorCdM2 * rng.NormFloat64() }
		sum = sum.Add(v).Add(colorimetry.XYZ{X: floor(), Y: floor(), Z: floor()})
	}
	r.XYZ = sum.Scale(1 / float64(n))
	r.Covariance = noise.Covariance(r.XYZ, n)
	return r
}

// readings takes a set of count patches with n integrations each.
func (d display) readings(count, n int, seed uint64) []measure.Reading {
	rng := rand.New(rand.NewPCG(seed, 3))
	var out []measure.Reading
	for i, p := range chart.Default(count, chart.Options{Bits: 10}) {
		r := d.read(p.Signal, n, rng)
		r.Index, r.Patch.ID = i, strconv.Itoa(i)
		out = append(out, r)
	}
	return out
}

// seedsOf returns how many seeds a test takes: long is what its figures speak of,
// in short runs, which go through the same code on other processors, short do.
func seedsOf(long, short uint64) uint64 {
	if testing.Short() {
		return short
	}
	return long
}

// unseen are signals for judging: random ones, dark ones and greys.
func unseen() []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(9, 9))
	var out []colorimetry.RGB
	for i := range 600 {
		s := colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}
		switch i % 3 {
		case 1:
			s = colorimetry.RGB{R: s.R * s.R, G: s.G * s.G, B: s.B * s.B}
		case 2:
			s = colorimetry.Gray(s.R)
		}
		out = append(out, s)
	}
	return out
}

// judge returns mean, 95th percentile and maximum of CIEDE2000 between model
// and truth on unseen signals.
func (d display) judge(m fit.Model) (mean, p95, most float64) {
	white := d.xyz(colorimetry.Gray(1))
	var all []float64
	for _, s := range unseen() {
		e := difference.CIEDE2000(d.xyz(s).Lab(white), m.XYZ(s).Lab(white))
		all = append(all, e)
		mean += e
	}
	slices.Sort(all)
	return mean / float64(len(all)), all[len(all)*95/100], all[len(all)-1]
}

func additive(t testing.TB, r []measure.Reading) *fit.AdditiveModel {
	t.Helper()
	m, err := fit.Additive(r, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}
