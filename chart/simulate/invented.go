package simulate

import (
	"fmt"

	"example.org/primaries/colorimetry/tone"
)

// Example is one of the displays that this package invents so that there is
// something whose channels interact. Its figures are no one's panel: only their
// size is that of things that happen.
type Example int

// The invented displays. The figures given here are measured on them by
// [Display.NonAdditivity] at the factory setting.
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
)

var examples = [...]struct {
	name   string
	source string  // key of the panel source
	scale  float64 // of its light
	light  [3]tone.Curve
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
	s.Name, s.Tones, s.Origin = x.name, x.light, "invented, to have channels that interact; no one's panel"
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
