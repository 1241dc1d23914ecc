package simulate_test

import (
	"math"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// line returns the spectrum of a narrow peak at nm.
func line(t *testing.T, nm float64) spectrum.Spectrum {
	t.Helper()
	var x, y []float64
	for l := 380.0; l <= 780; l++ {
		x, y = append(x, l), append(y, 0.02*math.Exp(-(l-nm)*(l-nm)/50))
	}
	s, err := spectrum.New(x, y)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestDispersion: each wavelength goes through a half-open cell by sin² of a phase
// that goes as 1/λ, as a retarder between polarisers does (E. Hecht, Optics, from
// memory), less what the change with 1/λ bends, and at full drive nothing changes.
func TestDispersion(t *testing.T) {
	const centre = 550.0
	d := plain(t, func(s *simulate.Spec) {
		s.Primaries = [3]spectrum.Spectrum{line(t, 620), line(t, centre), line(t, 460)}
		s.Dispersion = [3]float64{0, 1, 0}
		s.Tones = [3]tone.Curve{tone.Linear{}, tone.Linear{}, tone.Linear{}}
	}, simulate.Options{})
	meter, err := d.SpectroradiometerWith(simulate.SpectralMeter{FromNM: 380, ToNM: 780, StepNM: 1, BandwidthNM: 0.01, Noise: &simulate.SpectralNoise{}})
	if err != nil {
		t.Fatal(err)
	}
	for _, code := range []float64{0, 500, 16000, 40000, 65535} {
		x := code / 65535
		show(t, d, colorimetry.RGB{G: x})
		sample, err := meter.Measure(t.Context(), measure.Request{})
		if err != nil {
			t.Fatal(err)
		}
		phase := math.Asin(math.Sqrt(x))
		for _, nm := range []float64{540, 545, 550, 555, 560} {
			s := math.Sin(phase * centre / nm)
			want := d.Spec().Primaries[1].At(nm) * s * s
			bend := math.Pow(phase*(centre/nm-1), 2) * d.Spec().Primaries[1].At(nm)
			if x == 1 {
				want, bend = d.Spec().Primaries[1].At(nm), 0
			}
			// The passband rounds the corners of the spectrum by 2 parts in 10,000.
			if got := sample.Spectrum.At(nm); math.Abs(got-want) > 1.01*bend+3e-4*want+1e-9 {
				t.Errorf("share %.4f, %g nm: %g, want %g within %g", x, nm, got, want, bend)
			}
		}
		xyz, truth := spectrum.CIE1931().Emission(sample.Spectrum), d.Truth(colorimetry.RGB{G: x})
		near(t, "what the meter and the display say", xyz, truth, 1e-6)
	}
	for _, wrong := range []float64{-0.1, 1.6, math.NaN()} {
		s := simulate.CRT.Spec()
		s.Dispersion[1] = wrong
		if _, err := simulate.New(s, simulate.Options{}); err == nil {
			t.Errorf("a dispersion of %g is taken", wrong)
		}
	}
}

// TestInventedKinds: the displays of each kind are what their comments say.
func TestInventedKinds(t *testing.T) {
	for e, white := range map[simulate.Example]float64{
		simulate.SmoothLCD: 200, simulate.CrossingLCD: 200, simulate.DriftingLCD: 250,
		simulate.CrosstalkPanel: 180, simulate.OldCRT: 100, simulate.OfficePanel: 220,
	} {
		d := simulate.Invented(e, simulate.Options{})
		y, n := d.Truth(colorimetry.Gray(1)).Y, d.NonAdditivity()
		t.Logf("%v: white %.1f cd/m², non-additivity %.4f", e, y, n)
		if math.Abs(y-white) > 1 {
			t.Errorf("%v: white %.1f cd/m², its comment says %g", e, y, white)
		}
		if interacts := e == simulate.CrossingLCD || e == simulate.CrosstalkPanel; interacts != (math.Abs(n) > 1e-9) {
			t.Errorf("%v: non-additivity %g", e, n)
		}
	}

	// Blue's tone is below the others in the dark and above them in the light.
	s := simulate.CrossingLCD.Spec()
	for _, v := range []float64{0.1, 0.7} {
		light := func(c int) float64 { return s.Tones[c].Light(v) - s.Tones[c].Light(0) }
		if below := light(2) < min(light(0), light(1)); below != (v < 0.5) || light(2) >= light(1) && light(2) <= light(0) {
			t.Errorf("at %g the tones are %.4f, %.4f, %.4f", v, light(0), light(1), light(2))
		}
	}

	// Each primary, less the black, changes its colour from a dark level to full.
	d := simulate.Invented(simulate.DriftingLCD, simulate.Options{})
	black := d.Truth(colorimetry.RGB{})
	drift := 0.0
	for _, full := range [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} {
		low := colorimetry.RGB{R: full.R * 0.3, G: full.G * 0.3, B: full.B * 0.3}
		drift += d.Truth(low).Sub(black).UV().Distance(d.Truth(full).Sub(black).UV()) / 3
	}
	if math.Abs(drift-0.02) > 0.005 {
		t.Errorf("the primaries drift by %.4f in u'v', the comment says 0.02", drift)
	}
}
