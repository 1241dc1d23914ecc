package simulate

import (
	"cmp"
	"time"
)

// save returns s, which is complete, as it is kept.
func save(s Spec) (f savedSpec, err error) {
	f = savedSpec{
		Kind: savedKind, Version: savedVersion, Name: s.Name, Mode: s.Mode, SelfLit: s.SelfLit, Origin: s.Origin, Notes: s.Notes,
		Primaries:   savedSpectra{spectrumOf(s.Primaries[0]), spectrumOf(s.Primaries[1]), spectrumOf(s.Primaries[2])},
		Reflectance: s.Reflectance,
		WarmUp:      &savedWarmUp{three(s.WarmUp.Missing), savedTime(s.WarmUp.Decay)},
		Brightness:  (*savedControl)(&s.Brightness),
		Gain:        (*savedControl)(&s.Gain),
		Supply:      &savedSupply{s.Supply.Sag, three(s.Supply.Currents), three(s.Supply.Sensitivity)},
	}
	for c, text := range [3]*string{&f.Tones.Red, &f.Tones.Green, &f.Tones.Blue} {
		if *text, err = toneText(channelNames[c], s.Tones[c]); err != nil {
			return f, err
		}
	}
	if s.Dispersion != ([3]float64{}) {
		v := three(s.Dispersion)
		f.Dispersion = &v
	}
	if s.Coupling != (Coupling{}) {
		m := matrix(s.Coupling)
		f.Coupling = &m
	}
	if w := s.White; w.present() {
		f.White = &savedWhite{spectrumOf(w.Light), w.Share, w.Relief, w.Current}
	}
	if s.Dimming != (Dimming{}) {
		f.Dimming = (*savedDimming)(&s.Dimming)
	}
	if n := s.Drift; n != (Drift{}) {
		f.Drift = &savedDrift{three(n.Amount), savedTime(n.Time), three(n.Wave), savedTime(n.Period)}
	}
	if n := s.Field; n != (Field{}) {
		f.Field = &savedField{three(n.Fall), three(n.Across), three(n.Down)}
	}
	if s.Offset != (Offset{}) {
		f.Offset = (*savedOffset)(&s.Offset)
	}
	if s.Flicker != (Flicker{}) {
		f.Flicker = (*savedFlicker)(&s.Flicker)
	}
	if n := s.Settling; n != (Settling{}) {
		f.Settling = &savedSettling{savedTime(n.Rise), savedTime(n.Fall)}
	}
	for _, m := range s.Modes {
		text, err := toneText("the gamut mode "+m.Name, m.Tone)
		if err != nil {
			return f, err
		}
		f.Modes = append(f.Modes, savedMode{m.Name, text, matrix(m.Mix)})
	}
	return f, nil
}

// spec returns what f describes; its figures are not looked at.
func (f *savedSpec) spec() (s Spec, err error) {
	s = Spec{Name: f.Name, Mode: f.Mode, SelfLit: f.SelfLit, Origin: f.Origin, Notes: f.Notes, Reflectance: f.Reflectance}
	for c, from := range [3]savedSpectrum{f.Primaries.Red, f.Primaries.Green, f.Primaries.Blue} {
		if s.Primaries[c], err = from.spectrum(channelNames[c]); err != nil {
			return s, err
		}
	}
	for c, text := range [3]string{f.Tones.Red, f.Tones.Green, f.Tones.Blue} {
		if s.Tones[c], err = parseTone(channelNames[c], text); err != nil {
			return s, err
		}
	}
	if f.Dispersion != nil {
		s.Dispersion = f.Dispersion.array()
	}
	if f.Coupling != nil {
		s.Coupling = f.Coupling.array()
	}
	if n := f.Supply; n != nil {
		s.Supply = Supply{n.Sag, n.Currents.array(), n.Sensitivity.array()}
	}
	if w := f.White; w != nil {
		s.White = WhiteSubpixel{Share: w.Share, Relief: w.Relief, Current: w.Current}
		if s.White.Light, err = w.Light.spectrum("the white sub-pixel"); err != nil {
			return s, err
		}
	}
	s.Dimming = Dimming(*cmp.Or(f.Dimming, &savedDimming{}))
	s.Flicker = Flicker(*cmp.Or(f.Flicker, &savedFlicker{}))
	s.Brightness = Response(*cmp.Or(f.Brightness, &savedControl{}))
	s.Gain = Response(*cmp.Or(f.Gain, &savedControl{}))
	s.Offset = Offset(*cmp.Or(f.Offset, &savedOffset{}))
	if n := f.Drift; n != nil {
		s.Drift = Drift{n.Amount.array(), time.Duration(n.Time), n.Wave.array(), time.Duration(n.Period)}
	}
	if n := f.Settling; n != nil {
		s.Settling = Settling{time.Duration(n.Rise), time.Duration(n.Fall)}
	}
	if n := f.Field; n != nil {
		s.Field = Field{n.Fall.array(), n.Across.array(), n.Down.array()}
	}
	if n := f.WarmUp; n != nil {
		s.WarmUp = WarmUp{n.Missing.array(), time.Duration(n.Decay)}
	}
	for _, m := range f.Modes {
		mode, err := m.mode()
		if err != nil {
			return s, err
		}
		s.Modes = append(s.Modes, mode)
	}
	return s, nil
}
