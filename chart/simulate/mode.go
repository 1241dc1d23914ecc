package simulate

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// maxModes bounds the gamut modes of one display; menus have about ten.
const maxModes = 32

// Mode is a gamut mode: the display's own electronics take the signals apart
// by Tone, ask channel c for
//
//	Σ_k Mix[c][k] · Tone(signal_k)
//
// of the light above its leak, limited to 0 to 1, and find the signal at which
// the panel gives that. All that follows, coupling for one, is the panel's.
type Mode struct {
	Name string
	Tone tone.Curve
	Mix  colorimetry.Matrix // each −4 to 4
}

func (m *Mode) check() error {
	if m.Name == "" || m.Tone == nil {
		return fmt.Errorf("simulate: the gamut mode %q lacks a name or a tone", m.Name)
	}
	if dark, full := m.Tone.Light(0), m.Tone.Light(1); !(math.Abs(dark) < 1e-9 && math.Abs(full-1) < 1e-9) {
		return fmt.Errorf("simulate: the tone of the gamut mode %q runs from %g to %g; it must run from 0 to 1", m.Name, dark, full)
	}
	for _, row := range m.Mix {
		for _, v := range row {
			if !(math.Abs(v) <= 4) {
				return fmt.Errorf("simulate: the gamut mode %q mixes by %g; figures lie within -4 to 4", m.Name, v)
			}
		}
	}
	return nil
}

// panel returns the signals that the mode hands to a panel of these tones and
// leaks.
func (m *Mode) panel(v [3]float64, tones *[3]tone.Curve, leak [3]float64) [3]float64 {
	var light, out [3]float64
	for k, s := range v {
		light[k] = m.Tone.Light(s)
	}
	for c, row := range m.Mix {
		l := min(max(row[0]*light[0]+row[1]*light[1]+row[2]*light[2], 0), 1)
		out[c] = tones[c].Signal(leak[c] + (1-leak[c])*l)
	}
	return out
}

// Emulate returns the gamut mode in which s, as far as its primaries reach,
// shows an encoding as bright as it can; a colour outside is cut off where a
// channel ends. The mode has the encoding's name and curve. It is an error if
// the primaries of s or of the encoding lie on a line, or if its curve does not
// run from 0 to 1. Black and interaction are left out of account.
func (s Spec) Emulate(e rgb.Space) (Mode, error) {
	o, p := spectrum.CIE1931(), s.Primaries
	inverse, err := colorimetry.Columns(o.Emission(p[0]), o.Emission(p[1]), o.Emission(p[2])).Inverse()
	if err != nil {
		return Mode{}, fmt.Errorf("simulate: the display's primaries make no gamut: %w", err)
	}
	toXYZ, err := e.Matrix()
	if err != nil {
		return Mode{}, fmt.Errorf("simulate: the encoding %q: %w", e.Name, err)
	}
	mix := inverse.Mul(toXYZ)
	most := 0.0
	for _, row := range mix {
		most = max(most, row[0]+row[1]+row[2]) // what white asks for
	}
	if !(most > 0) {
		return Mode{}, fmt.Errorf("simulate: the white of the encoding %q asks for no light of the display", e.Name)
	}
	m := Mode{Name: e.Name, Tone: e.Curve, Mix: mix.Scale(1 / most)}
	return m, m.check()
}

// mode returns the gamut mode of a name, nil for the display's own.
func (s *Spec) mode(name string) (*Mode, error) {
	if name == "" || name == s.Mode {
		return nil, nil
	}
	i := slices.IndexFunc(s.Modes, func(m Mode) bool { return m.Name == name })
	if i < 0 {
		names := []string{s.Mode}
		for _, m := range s.Modes {
			names = append(names, m.Name)
		}
		return nil, fmt.Errorf("simulate: %s has no gamut mode %q; it has %q", s.Name, name, names)
	}
	return &s.Modes[i], nil
}

func (s *Spec) checkModes() error {
	if len(s.Modes) > maxModes {
		return fmt.Errorf("simulate: %d gamut modes; %d are the most", len(s.Modes), maxModes)
	}
	names := map[string]bool{s.Mode: true}
	for i := range s.Modes {
		if err := s.Modes[i].check(); err != nil {
			return err
		}
		if names[s.Modes[i].Name] {
			return fmt.Errorf("simulate: there are two gamut modes %q", s.Modes[i].Name)
		}
		names[s.Modes[i].Name] = true
	}
	return nil
}
