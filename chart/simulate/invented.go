package simulate

import (
	"fmt"

	"example.org/primaries/colorimetry/tone"
)

// Example is one of the displays that this package invents so that there is one
// of every kind, those whose channels interact among them. Its figures are no
// one's panel: only their size is that of things that happen.
type Example int

// The invented displays. By how much the primaries miss the white is measured on
// them by [Display.NonAdditivity] at the factory setting. What a plain matrix
// does, free of noise, is judged by examples/bench: black, the primaries at full
// signal and each channel's own tone, added up, on colours that are even in the
// gamut.
const (
	// CoupledLCD is a wide-gamut liquid-crystal display of 200 cd/m² whose
	// sub-pixels pull at their neighbours' drives: the primaries together have
	// 8 % less luminance than white. It leaks 0.1 % in the dark.
	CoupledLCD Example = iota
	// SaggingPanel is a self-luminous display of 153 cd/m², black at signal 0,
	// whose supply sags: the primaries together have 11 % more luminance than
	// white, which turns by 0.004 in u'v' against that of a dark grey.
	SaggingPanel
	// FourSubpixels is a self-luminous display whose white sub-pixel takes 80 %
	// of what the channels have in common while they give way by half of it:
	// the primaries together have 28 % less luminance than white.
	FourSubpixels
	// SmoothLCD is a liquid-crystal display of 200 cd/m² whose channels leave
	// each other alone: its driver was adjusted to a power of 2.2 on cells that
	// bend a little otherwise. A plain matrix describes it exactly.
	SmoothLCD
	// CrossingLCD is a liquid-crystal display of 200 cd/m² whose sub-pixels pull
	// at their neighbours' drives, twice as much as CoupledLCD's, and whose blue
	// was left without correction: below the other tones in the dark, it crosses
	// them. A plain matrix misses it by 2.9 ΔE00 in the mean.
	CrossingLCD
	// DriftingLCD is a liquid-crystal display of 250 cd/m² lit by narrow
	// phosphors whose cells favour short waves while they are half open, so that
	// its primaries change their colour with the drive, by 0.02 in u'v'. The
	// channels leave each other alone. A plain matrix misses it by 1.1 ΔE00 in
	// the mean.
	DriftingLCD
	// CrosstalkPanel is a self-luminous display of 180 cd/m² with everything that
	// such a panel can have: neighbours that pull at each other, a white
	// sub-pixel, a supply that sags, and dimming under load. A plain matrix misses
	// it by 3.6 ΔE00 in the mean, as gain-offset-gamma models did nine telephones
	// of this kind.
	//
	// Source of that figure: Wu, Wei, Yang and Wang, Color Res. Appl. 48, 662-672
	// (2023), doi:10.1002/col.22875, as its abstract gives it: 3.61.
	CrosstalkPanel
	// OldCRT is a cathode-ray tube of 100 cd/m² whose beam is cut off in the dark
	// and whose phosphors saturate, blue most. In a lit room (Options.RoomLux) it
	// sends back 4 % of the light. A plain matrix describes it exactly.
	OldCRT
	// OfficePanel is a liquid-crystal display of 220 cd/m² with a poor black,
	// whose cells are not corrected and whose driver makes their voltages by a
	// ladder of few taps, so that its tones have corners. It is meant for a path
	// of 6 bits (Options.Bits). A plain matrix describes it exactly, but only one
	// that knows every level.
	OfficePanel
)

var examples = [...]struct {
	name   string
	source string        // key of the panel source
	scale  float64       // of its light
	light  [3]tone.Curve // nil where change brings them
	change func(*Spec)
}{
	CoupledLCD: {"Coupled LCD (invented)", "blue-quantum-dots", 1,
		[3]tone.Curve{tone.Stretch(tone.Power{Gamma: 2.25}, 0.0010), tone.Stretch(tone.Power{Gamma: 2.20}, 0.0009), tone.Stretch(tone.Power{Gamma: 2.15}, 0.0014)},
		func(s *Spec) { s.Coupling = Coupling{{0, 0.022, 0.008}, {0.018, 0, 0.020}, {0.008, 0.026, 0}} }},
	SaggingPanel: {"Sagging panel (invented)", "self-luminous-rgb", 0.9,
		[3]tone.Curve{tone.Power{Gamma: 2.2}, tone.Power{Gamma: 2.2}, tone.Power{Gamma: 2.2}},
		func(s *Spec) {
			s.Supply = Supply{Sag: 0.15, Currents: [3]float64{0.40, 0.28, 0.32}, Sensitivity: [3]float64{1.1, 1.2, 0.8}}
		}},
	FourSubpixels: {"Four sub-pixels (invented)", "self-luminous-white", 0.6,
		[3]tone.Curve{tone.Power{Gamma: 2.2}, tone.Power{Gamma: 2.25}, tone.Power{Gamma: 2.2}},
		func(s *Spec) {
			p := s.Primaries
			light := p[0].Scale(0.95).Add(p[1].Scale(1.02)).Add(p[2].Scale(0.90))
			s.White = WhiteSubpixel{Light: light, Share: 0.8, Relief: 0.5, Current: 0.3}
		}},
	SmoothLCD:      {name: "Smooth LCD (invented)", source: "blue-yellow", scale: 1, change: smooth},
	CrossingLCD:    {name: "Crossing LCD (invented)", source: "blue-yellow", scale: 1, change: crossing},
	DriftingLCD:    {name: "Drifting LCD (invented)", source: "blue-red-green", scale: 1.25, change: drifting},
	CrosstalkPanel: {name: "Crosstalk panel (invented)", source: "self-luminous-white", scale: 0.9, change: crosstalk},
	OldCRT:         {name: "Old CRT (invented)", source: "blue-yellow", scale: 1, change: oldCRT},
	OfficePanel:    {name: "Office panel (invented)", source: "blue-yellow", scale: 1.1, change: office},
}

func smooth(s *Spec) {
	s.Tones = [3]tone.Curve{cell(0.0010, corrected(2.2, 1.06)), cell(0.0009, corrected(2.2, 1.02)), cell(0.0014, corrected(2.2, 0.94))}
}

func crossing(s *Spec) {
	s.Tones = [3]tone.Curve{cell(0.0010, corrected(2.25, 1.03)), cell(0.0009, corrected(2.2, 1)), cell(0.0014, native(1.6))}
	s.Coupling = Coupling{{0, 0.045, 0.016}, {0.036, 0, 0.040}, {0.016, 0.052, 0}}
}

func drifting(s *Spec) {
	s.Tones = [3]tone.Curve{cell(0.0008, corrected(2.2, 1.03)), cell(0.0007, corrected(2.2, 1)), cell(0.0012, corrected(2.2, 0.95))}
	s.Dispersion = [3]float64{1.4, 1.4, 1.4}
}

func crosstalk(s *Spec) {
	p := s.Primaries
	s.Tones = [3]tone.Curve{tone.Power{Gamma: 2.25}, tone.Power{Gamma: 2.2}, tone.Power{Gamma: 2.3}}
	s.Coupling = Coupling{{0, 0.030, 0.015}, {0.024, 0, 0.030}, {0.015, 0.036, 0}}
	s.White = WhiteSubpixel{Light: p[0].Scale(0.95).Add(p[1].Scale(1.02)).Add(p[2].Scale(0.90)), Share: 0.6, Relief: 0.6, Current: 0.2}
	s.Supply = Supply{Sag: 0.12, Currents: [3]float64{0.40, 0.28, 0.32}, Sensitivity: [3]float64{1.1, 1.2, 0.8}}
	s.Dimming = Dimming{From: 0.05, Exponent: 0.3}
}

func oldCRT(s *Spec) {
	s.Primaries, s.SelfLit, s.Reflectance, s.Offset = CRT.Spec().Primaries, true, 0.04, Offset{Common: 0.15, Headroom: 1.2}
	s.Tones = [3]tone.Curve{beam(0.03, 0.04), beam(0.02, 0.03), beam(0.04, 0.12)}
}

func office(s *Spec) {
	s.Tones = [3]tone.Curve{cell(0.0030, ladder(9, native(1.25))), cell(0.0028, ladder(9, native(1.2))), cell(0.0042, ladder(9, native(1.3)))}
}

// String returns the display's name.
func (e Example) String() string {
	if e < 0 || int(e) >= len(examples) {
		return fmt.Sprintf("Example(%d)", int(e))
	}
	return examples[e].name
}

// Spec returns the figures of an invented display. It panics if e is none of
// them.
func (e Example) Spec() Spec {
	x := examples[e]
	s, err := Typical(x.source)
	if err != nil {
		panic("simulate: " + err.Error())
	}
	for c, p := range s.Primaries {
		s.Primaries[c] = p.Scale(x.scale)
	}
	s.Name, s.Tones, s.Origin = x.name, x.light, "invented to have what real displays of its kind have; no one's panel"
	x.change(&s)
	s, err = s.complete()
	if err != nil {
		panic(fmt.Sprintf("simulate: the invented %s is unusable: %v", x.name, err))
	}
	return s
}

// Invented switches on an invented display. It panics if e is none of them or
// if o.Bits is out of its range; [New] with e.Spec() returns that as an error.
func Invented(e Example, o Options) *Display {
	d, err := New(e.Spec(), o)
	if err != nil {
		panic(err)
	}
	return d
}
