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

// plain returns a display of three typical primaries, power laws of 2.2 and a
// path of 16 bits, with what change does to it, free of noise.
func plain(t testing.TB, change func(*simulate.Spec), o simulate.Options) *simulate.Display {
	t.Helper()
	s := simulate.Spec{Name: "bench", Primaries: spectrum.PanelSources()[0].Primaries,
		Tones: [3]tone.Curve{tone.Power{Gamma: 2.2}, tone.Power{Gamma: 2.2}, tone.Power{Gamma: 2.2}}}
	if change != nil {
		change(&s)
	}
	o.Bits = 16
	if o.Noise == nil {
		o.Noise = &measure.Noise{}
	}
	if o.ReferenceNoise == nil {
		o.ReferenceNoise = &measure.Noise{}
	}
	d, err := simulate.New(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// sum returns the light of primaries in their amounts.
func sum(p [3]spectrum.Spectrum, a [3]float64) (c colorimetry.XYZ) {
	for n, s := range p {
		c = c.Add(spectrum.CIE1931().Emission(s).Scale(a[n]))
	}
	return c
}

func near(t *testing.T, what string, got, want colorimetry.XYZ, share float64) {
	t.Helper()
	if off := got.Sub(want); !(math.Abs(off.X)+math.Abs(off.Y)+math.Abs(off.Z) <= share*(want.X+want.Y+want.Z)) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// TestCoupling: drives move towards their neighbours', worked out by hand;
// greys stay.
func TestCoupling(t *testing.T) {
	d := plain(t, func(s *simulate.Spec) { s.Coupling = simulate.Coupling{1: {0: 0.03, 2: 0.02}, 0: {1: 0.04}} }, simulate.Options{})
	p := d.Spec().Primaries
	// Red 1, green 0.5 on 16 bits, blue 0: red's drive is 1 − 0.04·0.5.
	g := 32768.0 / 65535
	want := [3]float64{math.Pow(1-0.04*(1-g), 2.2), math.Pow(g+0.03*(1-g)-0.02*g, 2.2), 0}
	near(t, "red and green", d.Truth(colorimetry.RGB{R: 1, G: 0.5}), sum(p, want), 1e-12)
	grey := math.Pow(g, 2.2)
	near(t, "grey", d.Truth(colorimetry.Gray(0.5)), sum(p, [3]float64{grey, grey, grey}), 1e-12)
	near(t, "blue alone drags green along", d.Truth(colorimetry.RGB{B: 1}), sum(p, [3]float64{0, math.Pow(0.02, 2.2), 1}), 1e-12)
}

// TestSupply: the voltage is that of a divider, in which the load sees its own
// sagging voltage: V = 1 − Sag·D·V.
func TestSupply(t *testing.T) {
	supply := simulate.Supply{Sag: 0.2, Currents: [3]float64{0.5, 0.3, 0.2}, Sensitivity: [3]float64{1, 1.5, 0.5}}
	d := plain(t, func(s *simulate.Spec) { s.Supply = supply }, simulate.Options{})
	for _, signal := range []colorimetry.RGB{{R: 1, G: 1, B: 1}, {R: 1}, {G: 1, B: 20001.0 / 65535}, {}} {
		x := [3]float64{math.Pow(signal.R, 2.2), math.Pow(signal.G, 2.2), math.Pow(signal.B, 2.2)}
		demand := 0.5*x[0] + 0.3*x[1] + 0.2*x[2]
		v := 1.0
		for range 200 { // to the fixed point
			v = 1 - 0.2*demand*v
		}
		for c, e := range supply.Sensitivity {
			x[c] *= math.Pow(v, e)
		}
		near(t, "supply", d.Truth(signal), sum(d.Spec().Primaries, x), 1e-12)
	}
}

// TestWhiteSubpixel: with full relief and the primaries' own sum as its light
// nothing is seen of a white sub-pixel; with another light or less relief grey
// is what the amounts say, and what has no common part does not change.
func TestWhiteSubpixel(t *testing.T) {
	p := spectrum.PanelSources()[0].Primaries
	own := p[0].Add(p[1]).Add(p[2])
	bare := plain(t, nil, simulate.Options{})
	same := plain(t, func(s *simulate.Spec) { s.White = simulate.WhiteSubpixel{Light: own, Share: 0.7, Relief: 1} }, simulate.Options{})
	warm := plain(t, func(s *simulate.Spec) {
		s.White = simulate.WhiteSubpixel{Light: p[0].Add(p[1]), Share: 0.6, Relief: 0.25}
	}, simulate.Options{})
	for _, signal := range []colorimetry.RGB{{R: 1, G: 1, B: 1}, {R: 0.9, G: 0.4, B: 0.2}, {R: 0.5, B: 0.7}, {}} {
		near(t, "own light", same.Truth(signal), bare.Truth(signal), 1e-12)
		if signal.G == 0 && warm.Truth(signal) != bare.Truth(signal) {
			t.Errorf("%v has no common part, and changed", signal)
		}
	}
	// The common part of white is 1: channels give 1 − 0.25·0.6 each.
	want := sum(p, [3]float64{0.85, 0.85, 0.85}).Add(sum(p, [3]float64{0.6, 0.6, 0}))
	near(t, "white", warm.Truth(colorimetry.Gray(1)), want, 1e-12)
}

// TestInvented: the invented displays interact by the figures in their
// comments, the measured ones not at all.
func TestInvented(t *testing.T) {
	for e, want := range map[simulate.Example]float64{simulate.CoupledLCD: -0.08, simulate.SaggingPanel: 0.11, simulate.FourSubpixels: -0.28} {
		d := simulate.Invented(e, simulate.Options{})
		got := d.NonAdditivity()
		t.Logf("%v: the primaries' luminances differ from white's by %+.2f %%; white %.1f cd/m²", e, 100*got, d.Truth(colorimetry.Gray(1)).Y)
		if math.Abs(got-want) > 0.005 {
			t.Errorf("%v: non-additivity %.4f, its comment says %.2f", e, got, want)
		}
		dark, full := d.Truth(colorimetry.Gray(0.3)).Sub(d.Truth(colorimetry.RGB{})), d.Truth(colorimetry.Gray(1))
		t.Logf("%v: white and a dark grey lie %.4f apart in u'v'", e, dark.UV().Distance(full.UV()))
		if d.Spec().Name != e.String() {
			t.Errorf("%v is called %q", e, d.Spec().Name)
		}
	}
	for _, e := range embedded {
		if n := simulate.Measured(e.panel, simulate.Options{}).NonAdditivity(); math.Abs(n) > 1e-12 {
			t.Errorf("%v: non-additivity %g", e.panel, n)
		}
	}
}

func TestInteractionRefusals(t *testing.T) {
	light := spectrum.PanelSources()[0].Primaries[0]
	for name, change := range map[string]func(*simulate.Spec){
		"coupling to itself":   func(s *simulate.Spec) { s.Coupling[1][1] = 0.1 },
		"negative coupling":    func(s *simulate.Spec) { s.Coupling[1][2] = -0.1 },
		"coupling too strong":  func(s *simulate.Spec) { s.Coupling[1] = [3]float64{0.3, 0, 0.3} },
		"coupling NaN":         func(s *simulate.Spec) { s.Coupling[1][2] = math.NaN() },
		"sag":                  func(s *simulate.Spec) { s.Supply.Sag = 1.5 },
		"sag NaN":              func(s *simulate.Spec) { s.Supply.Sag = math.NaN() },
		"currents":             func(s *simulate.Spec) { s.Supply.Currents = [3]float64{0.5, 0.5, 0.5} },
		"negative current":     func(s *simulate.Spec) { s.Supply.Currents = [3]float64{-0.5, 0.5, 0.5} },
		"sensitivity":          func(s *simulate.Spec) { s.Supply.Sensitivity = [3]float64{5, 1, 1} },
		"white without light":  func(s *simulate.Spec) { s.White.Share = 0.5 },
		"white without share":  func(s *simulate.Spec) { s.White.Light = light },
		"white's relief":       func(s *simulate.Spec) { s.White = simulate.WhiteSubpixel{Light: light, Share: 1, Relief: 2} },
		"white's current":      func(s *simulate.Spec) { s.White = simulate.WhiteSubpixel{Light: light, Share: 1, Current: -1} },
		"white's light is nil": func(s *simulate.Spec) { s.White = simulate.WhiteSubpixel{Light: light.Scale(0), Share: 1} },
	} {
		s := simulate.CRT.Spec()
		change(&s)
		if _, err := simulate.New(s, simulate.Options{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// spectrumOfCIE returns the 1931 functions as sensitivities.
func spectrumOfCIE() [3]spectrum.Spectrum {
	o := spectrum.CIE1931()
	return [3]spectrum.Spectrum{o.XBar, o.YBar, o.ZBar}
}
