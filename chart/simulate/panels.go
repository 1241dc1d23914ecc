package simulate

import (
	"bytes"
	"embed"
	"fmt"
	"sync"
)

// Panel is one of the embedded displays: an additive reconstruction from
// published measurements of its primaries and tone.
type Panel int

// The embedded displays.
const (
	// ReferenceOLED is a self-luminous RGB reference monitor: wide gamut,
	// white x 0.3086, y 0.3230 at 157 cd/m², no light at signal 0, power of
	// about 2.2. Its tone table, 1024 rows, is a model's or a smoothed one,
	// the same for all three channels.
	ReferenceOLED Panel = iota
	// WideGamutLCD leaks in the dark, most in blue: 229 cd/m², x 0.3186,
	// y 0.3287. Its tone was measured at 5 levels.
	WideGamutLCD
	// CRT has a white of x 0.2980, y 0.3200 at 100 cd/m² and gives no light
	// at the lowest signals. Its tone was measured at 10 levels.
	CRT
)

//go:embed data
var files embed.FS

// panels says where the figures of each Panel are.
var panels = [...]struct {
	name, file string
	selfLit    bool
	offset     Offset // invented
	origin     string
}{
	ReferenceOLED: {"Reference OLED", "reference_oled", true, Offset{}, "self-luminous RGB reference monitor"},
	WideGamutLCD:  {"Wide-gamut LCD", "wide_gamut_lcd", false, Offset{}, "wide-gamut liquid-crystal display"},
	CRT:           {"CRT", "crt", false, Offset{Common: 0.2, Headroom: 1.3}, "cathode-ray tube"},
}

// String returns the display's name.
func (p Panel) String() string {
	if p < 0 || int(p) >= len(panels) {
		return fmt.Sprintf("Panel(%d)", int(p))
	}
	return panels[p].name
}

// Spec returns the figures of an embedded display. It panics if p is none of
// them.
func (p Panel) Spec() Spec {
	if p < 0 || int(p) >= len(panels) {
		panic(fmt.Sprintf("simulate: there is no measured display %d; there are %d, from 0", int(p), len(panels)))
	}
	s := panelSpecs()[p]
	s.Notes = append([]string(nil), s.Notes...)
	return s
}

// panelSpecs reads the embedded figures once.
var panelSpecs = sync.OnceValue(func() [len(panels)]Spec {
	var all [len(panels)]Spec
	for i, p := range panels {
		spectra, err := files.ReadFile("data/" + p.file + "_spectra.csv")
		if err != nil {
			panic("simulate: " + err.Error())
		}
		tones, err := files.ReadFile("data/" + p.file + "_tones.csv")
		if err != nil {
			panic("simulate: " + err.Error())
		}
		s, err := ReadSpec(bytes.NewReader(spectra), bytes.NewReader(tones), p.name)
		if err != nil {
			panic(fmt.Sprintf("simulate: the embedded %s is unusable: %v", p.name, err))
		}
		s.SelfLit, s.Offset = p.selfLit, p.offset
		s.Origin = p.origin + ": additive reconstruction from measured spectra and tone levels (ISETCAM/isetcam, data/displays, MIT)"
		all[i] = s
	}
	return all
})

// Measured switches on an embedded display. It panics if p is none of them or
// if o.Bits is out of its range; [New] with p.Spec() returns the latter as an error.
func Measured(p Panel, o Options) *Display {
	d, err := New(p.Spec(), o)
	if err != nil {
		panic(err)
	}
	return d
}
