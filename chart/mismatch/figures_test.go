package mismatch_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

var fourSignals = [4]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1, B: 1}}

// bench is a simulated display with a session that reads it.
type bench struct {
	t       *testing.T
	display *simulate.Display
	session *measure.Session
}

func newBench(t *testing.T, spec simulate.Spec, o simulate.Options) bench {
	t.Helper()
	d, err := simulate.New(spec, o)
	if err != nil {
		t.Fatal(err)
	}
	s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	return bench{t, d, s}
}

func (b bench) read(signal colorimetry.RGB, averages int, reference bool) measure.Reading {
	b.t.Helper()
	r, err := b.session.Read(context.Background(), measure.ReadRequest{Stage: measure.StagePairs, Patch: chart.Patch{Signal: signal}, Averages: averages, Reference: reference})
	if err != nil {
		b.t.Fatal(err)
	}
	return r
}

// pairs reads the four colours at some signals with both instruments.
func (b bench) pairs(averages int, levels ...float64) (ref, own []measure.Reading) {
	for _, v := range levels {
		for _, s := range fourSignals {
			s = colorimetry.RGB{R: v * s.R, G: v * s.G, B: v * s.B}
			ref, own = append(ref, b.read(s, averages, true)), append(own, b.read(s, averages, false))
		}
	}
	return ref, own
}

// lights are colours without noise: as a display shows them, and as a
// colorimeter of the same kind sees them.
type lights struct{ truth, seen []colorimetry.XYZ }

// colours returns 200 colours of a display of at least 1 cd/m², and a ramp of
// greys.
func colours(t *testing.T, spec simulate.Spec) lights {
	t.Helper()
	quiet := newBench(t, spec, simulate.Options{Bits: 16, Noise: &measure.Noise{}, ReferenceNoise: &measure.Noise{}})
	rng := rand.New(rand.NewPCG(11, 12))
	var l lights
	add := func(s colorimetry.RGB) {
		if truth := quiet.display.Truth(s); truth.Y >= 1 {
			l.truth, l.seen = append(l.truth, truth), append(l.seen, quiet.read(s, 1, false).Raw)
		}
	}
	for _, s := range fourSignals {
		add(s)
	}
	for len(l.truth) < 200 {
		add(colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()})
	}
	for v := 0.1; v < 1; v += 0.1 {
		add(colorimetry.Gray(v))
	}
	return l
}

// off returns the largest and the mean over colours of the larger of the errors
// in x and in y.
func (l lights) off(correct func(colorimetry.XYZ) colorimetry.XYZ) (most, mean float64) {
	for i, raw := range l.seen {
		a, b := correct(raw).Chromaticity(), l.truth[i].Chromaticity()
		d := math.Max(math.Abs(a.X-b.X), math.Abs(a.Y-b.Y))
		most, mean = math.Max(most, d), mean+d/float64(len(l.seen))
	}
	return most, mean
}

func typical(t *testing.T, key string) simulate.Spec {
	t.Helper()
	s, err := simulate.Typical(key)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// moved returns a light whose wavelengths are shifted by some nm and stretched
// about its middle of gravity.
func moved(t *testing.T, s spectrum.Spectrum, shift, stretch float64) spectrum.Spectrum {
	t.Helper()
	nm, v := s.Samples()
	var sum, first float64
	for i, w := range nm {
		sum, first = sum+v[i], first+v[i]*w
	}
	for i, w := range nm {
		v[i] = s.At(first/sum + (w-first/sum-shift)/stretch)
	}
	out, err := spectrum.New(nm, v)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The figures of the project's aim: on every typical light source a correction
// leaves at most 0.0008 in x and in y without noise, and at most 0.0012 with 16
// averages of both instruments, on any of some 200 colours of the display that
// it was made on. The bound with noise is for the median of 20 seeds and for
// the worst. Another unit of the same technology, primaries moved by 1.5 nm and
// 3 % wider (invented), is printed and has no bound but to be no worse than
// the instrument uncorrected.
func TestFiguresOfFiveLightSources(t *testing.T) {
	seeds := 20
	if testing.Short() {
		seeds = 4
	}
	for _, source := range spectrum.PanelSources() {
		spec := typical(t, source.Key)
		l := colours(t, spec)
		raw, _ := l.off(func(c colorimetry.XYZ) colorimetry.XYZ { return c })
		quiet := newBench(t, spec, simulate.Options{Noise: &measure.Noise{}, ReferenceNoise: &measure.Noise{}})
		exact, err := mismatch.FromPairs(quiet.pairs(1, 1))
		if err != nil {
			t.Fatal(err)
		}
		clean, _ := l.off(exact.Apply)
		spectra, err := mismatch.FromSource(quiet.display.Sensitivities(), spec.Primaries, spectrum.CIE1931())
		if err != nil {
			t.Fatal(err)
		}
		made, _ := l.off(spectra.Apply)

		var noisy, fitted []float64
		for seed := range seeds {
			b := newBench(t, spec, simulate.Options{Seed: uint64(seed + 1)})
			ref, own := b.pairs(16, 1)
			four, err := mismatch.FromPairs(ref, own)
			if err != nil {
				t.Fatal(err)
			}
			most, _ := l.off(four.Apply)
			noisy = append(noisy, most)
			fit, err := mismatch.Fit(pairsOf(ref, own), mismatch.FitOptions{})
			if err != nil {
				t.Fatal(err)
			}
			most, _ = l.off(fit.Apply)
			fitted = append(fitted, most)
		}
		slices.Sort(noisy)
		slices.Sort(fitted)

		other := spec
		for c, nm := range []float64{1.5, -1.5, 1.5} {
			other.Primaries[c] = moved(t, spec.Primaries[c], nm, 1.03)
		}
		unit := colours(t, other)
		unitRaw, _ := unit.off(func(c colorimetry.XYZ) colorimetry.XYZ { return c })
		unitOff, _ := unit.off(exact.Apply)

		t.Logf("%-20s largest error in x or y: uncorrected %.4f; corrected %.1e without noise (by spectra %.1e); 16 averages: four-colour median %.5f worst %.5f, weighted pairs %.5f, %.5f; another unit %.4f → %.4f",
			source.Key, raw, clean, made, noisy[seeds/2], noisy[seeds-1], fitted[seeds/2], fitted[seeds-1], unitRaw, unitOff)
		if clean > 0.0008 || made > 0.0008 {
			t.Errorf("%s: without noise %.5f and %.5f are left, want at most 0.0008", source.Key, clean, made)
		}
		if noisy[seeds-1] > 0.0012 || fitted[seeds-1] > 0.0012 {
			t.Errorf("%s: with 16 averages %.5f and %.5f are left, want at most 0.0012", source.Key, noisy[seeds-1], fitted[seeds-1])
		}
		if raw < 0.002 || unitOff > unitRaw {
			t.Errorf("%s: %.5f off without a correction; another unit %.5f, and %.5f with it", source.Key, raw, unitRaw, unitOff)
		}
	}
}

func pairsOf(ref, own []measure.Reading) []mismatch.Pair {
	var out []mismatch.Pair
	for i := range ref {
		out = append(out, mismatch.Pair{Reference: ref[i].XYZ, Instrument: own[i].Raw, ReferenceCovariance: ref[i].Covariance, InstrumentCovariance: own[i].Covariance})
	}
	return out
}

// A white sub-pixel (invented: half of the common light, from a broader
// spectrum than the primaries' sum) makes mixtures that no matrix serves
// exactly: red, green, blue and white alone leave more than 0.0008 without
// noise, weighted pairs over the gamut do not.
func TestFiguresOfAWhiteSubpixel(t *testing.T) {
	spec := typical(t, "self-luminous-white")
	p := spec.Primaries
	broad := moved(t, p[0].Add(p[1]).Add(p[2]), 4, 1.15)
	spec.White = simulate.WhiteSubpixel{Light: broad, Share: 0.5, Relief: 0.9, Current: 0.3}
	l := colours(t, spec)
	quiet := newBench(t, spec, simulate.Options{Noise: &measure.Noise{}, ReferenceNoise: &measure.Noise{}})
	ref, own := quiet.pairs(16, 1)
	four, err := mismatch.FromPairs(ref, own)
	if err != nil {
		t.Fatal(err)
	}
	plain, err := mismatch.LeastSquares(xyzOf(ref), rawOf(own))
	if err != nil {
		t.Fatal(err)
	}
	most, mean := l.off(four.Apply)
	other, otherMean := l.off(plain.Apply)
	raw, _ := l.off(func(c colorimetry.XYZ) colorimetry.XYZ { return c })
	for _, level := range []float64{1, 0.6} {
		for _, c := range []colorimetry.RGB{{G: level, B: level}, {R: level, B: level}, {R: level, G: level}, {R: 1, G: level, B: level}, {R: level, G: 1, B: level}, {R: level, G: level, B: 1}, {R: level, G: level, B: level}} {
			ref, own = append(ref, quiet.read(c, 16, true)), append(own, quiet.read(c, 16, false))
		}
	}
	fit, err := mismatch.Fit(pairsOf(ref, own), mismatch.FitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	weighted, weightedMean := l.off(fit.Apply)
	t.Logf("largest error in x or y: uncorrected %.4f; four-colour %.5f (mean %.5f), least squares %.5f (%.5f), weighted pairs %.5f (%.5f), misfit %.5f",
		raw, most, mean, other, otherMean, weighted, weightedMean, fit.Misfit)
	if weighted > 0.0008 || weighted < 1e-6 || most > other {
		t.Errorf("weighted pairs leave %.5f, want at most 0.0008, and something; four-colour %.5f, least squares %.5f", weighted, most, other)
	}
}

func rawOf(readings []measure.Reading) (out []colorimetry.XYZ) {
	for _, r := range readings {
		out = append(out, r.Raw)
	}
	return out
}
