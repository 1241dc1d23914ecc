package simulate

import (
	"fmt"

	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// Typical returns a display with a typical light source, one of the keys of
// [spectrum.PanelSources]: a D65 white of 200 cd/m², tones by a power of 2.2,
// and, where the pixels do not make their own light, a leak of 0.1 % in the
// dark. All of it is invented and describes no one's panel. It is an error if
// there is no such source.
func Typical(key string) (Spec, error) {
	var keys []string
	for _, source := range spectrum.PanelSources() {
		keys = append(keys, source.Key)
		if source.Key != key {
			continue
		}
		s := Spec{
			Name:    "Typical display: " + source.Description,
			SelfLit: key == "self-luminous-rgb" || key == "self-luminous-white",
			Origin:  "invented: a typical light source, no one's panel",
		}
		black := 0.001
		if s.SelfLit {
			black = 0
		}
		for c, p := range source.Primaries {
			s.Primaries[c] = p.Scale(2)
			s.Tones[c] = tone.Stretch(tone.Power{Gamma: 2.2}, black)
		}
		return s.complete()
	}
	return Spec{}, fmt.Errorf("simulate: there is no typical light source %q; there are %q", key, keys)
}
