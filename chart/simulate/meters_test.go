package simulate_test

import (
	"context"
	"math"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

func spectral(t testing.TB, d *simulate.Display, m simulate.SpectralMeter) measure.Instrument {
	t.Helper()
	i, err := d.SpectroradiometerWith(m)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

func filter(t testing.TB, d *simulate.Display, m simulate.FilterMeter) measure.Instrument {
	t.Helper()
	i, err := d.ColorimeterWith(m)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

// TestSpectra: without noise and with a passband that is narrow the spectrum is
// that of the display; with a wider one a peak is what the triangle makes of a
// Gaussian, and the correction of Stearns and Stearns brings it back. X, Y and
// Z are always the named observer's of the spectrum that is returned.
func TestSpectra(t *testing.T) {
	quiet := &simulate.SpectralNoise{}
	d := plain(t, func(s *simulate.Spec) { s.Primaries = spectrum.PanelSources()[4].Primaries }, simulate.Options{})
	signal := colorimetry.RGB{R: 1, G: 0.5}
	show(t, d, signal)
	want := d.Spec().Primaries[0].Add(d.Spec().Primaries[1].Scale(math.Pow(32768.0/65535, 2.2)))
	narrow := read(t, spectral(t, d, simulate.SpectralMeter{StepNM: 1, FromNM: 380, ToNM: 780, BandwidthNM: 0.01, Noise: quiet}), 0, 0)
	near(t, "narrow passband", narrow.XYZ, d.Truth(signal), 1e-6)
	wide := read(t, spectral(t, d, simulate.SpectralMeter{StepNM: 5, FromNM: 380, ToNM: 780, BandwidthNM: 10, Noise: quiet}), 0, 0)
	corrected, err := wide.Spectrum.CorrectBandpass(10)
	if err != nil {
		t.Fatal(err)
	}
	nm, v := wide.Spectrum.Samples()
	if len(nm) != 81 || nm[0] != 380 || nm[80] != 780 {
		t.Fatalf("%d wavelengths from %g to %g", len(nm), nm[0], nm[80])
	}
	peak := want.At(620)
	for i, w := range nm {
		// A triangle of 10 nm against its own integral at 0.01 nm.
		var tri, sum float64
		for x := -9.995; x < 10; x += 0.01 {
			tri, sum = tri+(1-math.Abs(x)/10)*want.At(w+x), sum+1-math.Abs(x)/10
		}
		if math.Abs(v[i]-tri/sum) > 1e-3*peak {
			t.Errorf("at %g nm %g, the triangle makes %g", w, v[i], tri/sum)
		}
		if off := math.Abs(corrected.At(w) - want.At(w)); off > 0.01*peak || off > math.Abs(v[i]-want.At(w))+0.003*peak {
			t.Errorf("at %g nm %g corrected, %g read, %g is there", w, corrected.At(w), v[i], want.At(w))
		}
	}
	if lost := 1 - wide.Spectrum.At(620)/peak; lost < 0.01 {
		t.Errorf("a passband of 10 nm takes %.4f off a peak of 34 nm", lost)
	}
	for _, o := range spectrum.Observers() {
		i := spectral(t, d, simulate.SpectralMeter{Observer: o})
		s := read(t, i, 3, 1)
		if s.XYZ != o.Emission(s.Spectrum) {
			t.Errorf("%s: %v is not the spectrum's %v", o.Name, s.XYZ, o.Emission(s.Spectrum))
		}
		if info := i.Instrument(); !info.Spectral || info.Observer != o.Name && !(info.Observer == "" && o.Name == spectrum.CIE1931().Name) {
			t.Errorf("%s states %+v", o.Name, info)
		}
	}
}

// TestSpectralNoise: the noise that is stated is the one that is seen, on white
// and in the dark; bounds as in TestNoise, for n = 2000.
func TestSpectralNoise(t *testing.T) {
	const n = 2000
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 4})
	i := spectral(t, d, simulate.SpectralMeter{StepNM: 4, FromNM: 380, ToNM: 780, Noise: &simulate.SpectralNoise{Whole: 0.003, Each: 0.02, Floor: 1e-6}})
	stated := i.Instrument().Noise
	show(t, d, colorimetry.Gray(1))
	var x, y, lum, dark []float64
	for k := range n {
		c := read(t, i, k, 0).XYZ
		x, y, lum = append(x, c.Chromaticity().X), append(y, c.Chromaticity().Y), append(lum, c.Y)
	}
	show(t, d, colorimetry.RGB{})
	for k := range n {
		c := read(t, i, n+k, 0).XYZ
		dark = append(dark, c.X*c.X+c.Y*c.Y+c.Z*c.Z)
	}
	_, sx := moments(x)
	_, sy := moments(y)
	mean, sd := moments(lum)
	square, _ := moments(dark)
	got := measure.Noise{Chromaticity: math.Sqrt((sx*sx + sy*sy) / 2), Luminance: sd / mean, FloorCdM2: math.Sqrt(square / 3)}
	t.Logf("seen %+v, stated %+v", got, stated)
	for what, r := range map[string]float64{"chromaticity": got.Chromaticity / stated.Chromaticity, "luminance": got.Luminance / stated.Luminance, "floor": got.FloorCdM2 / stated.FloorCdM2} {
		if math.Abs(r-1) > 0.07 {
			t.Errorf("%s: the noise seen is %.3f of what is stated", what, r)
		}
	}
}

// TestCounts: readings are whole counts, which mean less in the longer
// integrations of the dark.
func TestCounts(t *testing.T) {
	d := plain(t, nil, simulate.Options{})
	i := filter(t, d, simulate.FilterMeter{QuantumCdM2: 0.05, Traits: simulate.Traits{Longest: 10}})
	for _, tc := range []struct{ grey, longest float64 }{{1, 1}, {0.5, 1}, {0.03, 10}, {0, 10}} {
		show(t, d, colorimetry.Gray(tc.grey))
		s := read(t, i, 0, 0)
		stretch := s.Duration.Seconds()
		if math.Abs(stretch-tc.longest) > 1e-9 {
			t.Errorf("grey %g took %v", tc.grey, s.Duration)
		}
		q := 0.05 / stretch
		for _, v := range []float64{s.XYZ.X, s.XYZ.Y, s.XYZ.Z} {
			if n := v / q; math.Abs(n-math.Round(n)) > 1e-6 {
				t.Errorf("grey %g reads %g, which is %g counts", tc.grey, v, n)
			}
		}
		exact := read(t, filter(t, d, simulate.FilterMeter{}), 0, 0).XYZ
		if off := s.XYZ.Sub(exact); math.Abs(off.Y) > q/2+1e-9 {
			t.Errorf("grey %g reads %g, %g is there", tc.grey, s.XYZ.Y, exact.Y)
		}
	}
}

// TestOutliers: as rare as stated, as far off as stated, the rest untouched to
// the bit, and the same whatever was read before.
func TestOutliers(t *testing.T) {
	const n, probability = 20000, 0.02
	d := simulate.Measured(simulate.CRT, simulate.Options{Seed: 8})
	clean := d.Colorimeter()
	rare := filter(t, d, simulate.FilterMeter{Traits: simulate.Traits{Outliers: simulate.Outliers{Probability: probability, Size: 0.2}}})
	show(t, d, colorimetry.Gray(1))
	found, up := 0, 0
	for k := range n {
		a, b := read(t, clean, k, 0).XYZ, read(t, rare, k, 0).XYZ
		if a == b {
			continue
		}
		found++
		if r := b.Y / a.Y; r > 1 {
			up++
		} else if math.Abs(math.Abs(r-1)-0.2) > 1e-9 {
			t.Fatalf("an outlier of %g", r)
		}
	}
	// Binomial: standard deviation √(n·p·(1−p)) = 20, and 10 of about 400.
	t.Logf("%d of %d integrations are outliers, %d of them upwards", found, n, up)
	if math.Abs(float64(found)-n*probability) > 80 || math.Abs(float64(up)-float64(found)/2) > 40 {
		t.Errorf("%d outliers, %d of them upwards; expected 400 and 200", found, up)
	}
	array := spectral(t, d, simulate.SpectralMeter{Traits: simulate.Traits{Outliers: simulate.Outliers{Probability: 1}}})
	if s := read(t, array, 0, 0); s.XYZ != spectrum.CIE1931().Emission(s.Spectrum) || math.Abs(s.XYZ.Y/d.Truth(colorimetry.Gray(1)).Y-1) < 0.08 {
		t.Errorf("a spectral outlier reads %v", s.XYZ)
	}
}

// TestDarkCalibration: readings are right until the calibration expires, then
// rise in proportion to time; a new one ends that, and takes time.
func TestDarkCalibration(t *testing.T) {
	ctx := context.Background()
	for name, make := range map[string]func(*simulate.Display) measure.Instrument{
		"filter": func(d *simulate.Display) measure.Instrument {
			return filter(t, d, simulate.FilterMeter{Traits: simulate.Traits{Dark: simulate.Dark{Valid: 30 * time.Minute, CdM2PerHour: 0.06}}, Sensitivities: spectrumOfCIE()})
		},
		"spectral": func(d *simulate.Display) measure.Instrument {
			return spectral(t, d, simulate.SpectralMeter{Noise: &simulate.SpectralNoise{}, BandwidthNM: 0.01, FromNM: 380, ToNM: 780, StepNM: 1,
				Traits: simulate.Traits{Dark: simulate.Dark{Valid: 30 * time.Minute, CdM2PerHour: 0.06}}})
		},
	} {
		d := plain(t, nil, simulate.Options{})
		i := make(d)
		calibrator, ok := i.(measure.DarkCalibrator)
		if !ok {
			t.Fatalf("%s: not a dark calibrator", name)
		}
		start, signal := d.Clock().Now(), colorimetry.Gray(0.5)
		show(t, d, signal)
		if want := start.Add(30 * time.Minute); !calibrator.DarkCalibration().Equal(want) {
			t.Errorf("%s: holds until %v, want %v", name, calibrator.DarkCalibration(), want)
		}
		off := func() float64 { return read(t, i, 0, 0).XYZ.Y - d.Truth(signal).Y }
		at := func(m time.Duration) {
			if err := d.Clock().Restore(ctx, measure.Reading{Time: start.Add(m)}); err != nil {
				t.Fatal(err)
			}
		}
		for _, tc := range []struct {
			after time.Duration
			want  float64
		}{{0, 0}, {29 * time.Minute, 0}, {35 * time.Minute, 0}, {45 * time.Minute, 0.01}, {95 * time.Minute, 0.06}} {
			at(tc.after)
			if got := off(); math.Abs(got-tc.want) > 2e-5 {
				t.Errorf("%s: after %v off by %.6f, want %g", name, tc.after, got, tc.want)
			}
		}
		if err := calibrator.CalibrateDark(ctx); err != nil {
			t.Fatal(err)
		}
		if got := off(); math.Abs(got) > 2e-5 {
			t.Errorf("%s: off by %g after a dark calibration", name, got)
		}
		done, cancel := context.WithCancel(ctx)
		cancel()
		if err := i.(measure.DarkCalibrator).CalibrateDark(done); err == nil {
			t.Errorf("%s: calibrated although the context is done", name)
		}
	}
	if _, ok := plain(t, nil, simulate.Options{}).Colorimeter().(measure.DarkCalibrator); ok {
		t.Error("the default colorimeter asks for dark calibrations")
	}
}

// TestWholeRefresh: an instrument that spans whole periods reads a flickering
// light as steady.
func TestWholeRefresh(t *testing.T) {
	d := plain(t, func(s *simulate.Spec) { s.Flicker = simulate.Flicker{Hz: 48.3, Depth: 1, Duty: 0.5} }, simulate.Options{})
	i := filter(t, d, simulate.FilterMeter{Sensitivities: spectrumOfCIE(), Traits: simulate.Traits{WholeRefresh: true}})
	show(t, d, colorimetry.Gray(1))
	for k := range 5 {
		s := read(t, i, k, 0)
		near(t, "whole periods", s.XYZ, d.Truth(colorimetry.Gray(1)), 1e-12)
		if n := s.Duration.Seconds() * 48.3; math.Abs(n-math.Round(n)) > 1e-4 || s.Duration < time.Second {
			t.Errorf("%v are %g periods", s.Duration, n)
		}
	}
}

// TestUse: an ambient instrument reads a perfect diffuser, E/π in the room's
// colour, whatever is shown or nothing at all; covering it darkens it.
func TestUse(t *testing.T) {
	d := plain(t, nil, simulate.Options{RoomLux: 500, Mishaps: []simulate.Mishap{{Kind: simulate.RoomChanged, CdM2: 1, Reading: 2, Readings: 1}, {Kind: simulate.Covered, Reading: 3}}})
	i := spectral(t, d, simulate.SpectralMeter{Traits: simulate.Traits{Use: measure.UseAmbient}, Noise: &simulate.SpectralNoise{}})
	for k, want := range []float64{500 / math.Pi, 500 / math.Pi, 500/math.Pi + 100, 0} {
		got := read(t, i, k, 0).XYZ
		if math.Abs(got.Y-want) > 1e-3*want {
			t.Errorf("reading %d: %g cd/m² of the diffuser, want %g", k, got.Y, want)
		}
		if off := got.UV().Distance(colorimetry.D65().UV()); want > 0 && off > 2e-4 {
			t.Errorf("reading %d: %.5f off D65 in u'v'", k, off)
		}
		if k == 0 {
			show(t, d, colorimetry.Gray(1))
		}
	}
}

// TestInfo: what an instrument is told to state, it states.
func TestInfo(t *testing.T) {
	d := simulate.Measured(simulate.CRT, simulate.Options{})
	traits := simulate.Traits{Name: "bench meter", Serial: "7", Use: measure.UseContact, WholeRefresh: true, LowestCdM2: 0.1,
		Certificate: "K-1", CertificateUV: 0.0004, CertificateLuminance: 0.012}
	want := measure.InstrumentInfo{Name: "bench meter", Serial: "7", Use: measure.UseContact, WholeRefresh: true, LowestCdM2: 0.1,
		Certificate: "K-1", CertificateUV: 0.0004, CertificateLuminance: 0.012, Noise: measure.Noise{Luminance: 0.01}}
	if got := filter(t, d, simulate.FilterMeter{Traits: traits, Noise: &measure.Noise{Luminance: 0.01}}).Instrument(); got != want {
		t.Errorf("states %+v, told %+v", got, want)
	}
	want.Spectral, want.Noise = true, measure.Noise{}
	if got := spectral(t, d, simulate.SpectralMeter{Traits: traits, Noise: &simulate.SpectralNoise{}}).Instrument(); got != want {
		t.Errorf("states %+v, told %+v", got, want)
	}
}

func TestMeterRefusals(t *testing.T) {
	d := simulate.Measured(simulate.CRT, simulate.Options{})
	nan := math.NaN()
	for name, traits := range map[string]simulate.Traits{
		"use": {Use: "underwater"}, "probability": {Outliers: simulate.Outliers{Probability: 2}}, "size": {Outliers: simulate.Outliers{Size: nan}},
		"integration": {Integration: -time.Second}, "longest": {Longest: 0.5}, "longest NaN": {Longest: nan}, "dark": {Dark: simulate.Dark{Valid: -1}},
		"dark rate": {Dark: simulate.Dark{CdM2PerHour: nan}}, "lowest": {LowestCdM2: nan}, "certificate": {CertificateUV: -1},
	} {
		if _, err := d.ColorimeterWith(simulate.FilterMeter{Traits: traits}); err == nil {
			t.Errorf("%s: no error", name)
		}
		if _, err := d.SpectroradiometerWith(simulate.SpectralMeter{Traits: traits}); err == nil {
			t.Errorf("spectral, %s: no error", name)
		}
	}
	for name, m := range map[string]simulate.SpectralMeter{
		"range": {FromNM: 700, ToNM: 400, StepNM: 1}, "step": {FromNM: 400, ToNM: 700, StepNM: 0.1}, "range NaN": {FromNM: nan, ToNM: 700, StepNM: 1},
		"bandwidth": {BandwidthNM: 60}, "bandwidth NaN": {BandwidthNM: nan}, "noise": {Noise: &simulate.SpectralNoise{Each: nan}},
		"unseen": {FromNM: 1000, ToNM: 1100, StepNM: 1},
	} {
		if _, err := d.SpectroradiometerWith(m); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := d.ColorimeterWith(simulate.FilterMeter{QuantumCdM2: nan}); err == nil {
		t.Error("counts of NaN")
	}
	if _, err := d.ColorimeterWith(simulate.FilterMeter{Sensitivities: [3]spectrum.Spectrum{spectrum.CIE1931().XBar}}); err == nil {
		t.Error("a colorimeter with one channel")
	}
}
