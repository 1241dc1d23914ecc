package plug

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"unicode"
	"unicode/utf8"

	"example.org/primaries/chart/measure"
)

// offer is what a program said about itself, checked.
type offer struct {
	program    string
	screen     *measure.ScreenInfo
	curves     bool // the screen holds curves
	check      bool // the screen can tell whether its patch stands there
	instrument *instrumentRole
	reference  *instrumentRole
	controls   []measure.Control
	clock      bool
}

// instrumentRole is an instrument that a program offers.
type instrumentRole struct {
	info     measure.InstrumentInfo
	spectrum bool
	dark     *darkDone // nil where it needs no dark calibration
}

// roles lists what the program offers, for errors.
func (o offer) roles() []string {
	var list []string
	for _, r := range []struct {
		there bool
		name  string
	}{
		{o.clock, "clock"}, {len(o.controls) > 0, "controls"}, {o.instrument != nil, "instrument"},
		{o.reference != nil, "reference"}, {o.screen != nil, "screen"},
	} {
		if r.there {
			list = append(list, r.name)
		}
	}
	return list
}

// differs names what is not as it was, "" where all is: controls may stand
// elsewhere and a dark calibration may have ended.
func (o offer) differs(now offer) string {
	same := func(a, b *instrumentRole) bool {
		if a == nil || b == nil {
			return a == b
		}
		return a.info == b.info && a.spectrum == b.spectrum && (a.dark == nil) == (b.dark == nil)
	}
	switch {
	case o.program != now.program:
		return "program"
	case (o.screen == nil) != (now.screen == nil) || o.screen != nil && *o.screen != *now.screen || o.curves != now.curves || o.check != now.check:
		return "screen"
	case !same(o.instrument, now.instrument):
		return "instrument"
	case !same(o.reference, now.reference):
		return "reference"
	case !slices.EqualFunc(o.controls, now.controls, func(a, b measure.Control) bool {
		return a.Name == b.Name && a.Min == b.Min && a.Max == b.Max
	}):
		return "controls"
	case o.clock != now.clock:
		return "clock"
	}
	return ""
}

// offer checks what a program says about itself.
func (h helloDone) offer() (offer, error) {
	o := offer{clock: h.Clock}
	if h.Version == nil || *h.Version != ProtocolVersion {
		return o, fmt.Errorf(`"version" is not %d, the one that was offered`, ProtocolVersion)
	}
	var err error
	if o.program, err = name("program", h.Program); err != nil {
		return o, err
	}
	if h.Screen != nil {
		if o.screen, err = h.Screen.info(); err != nil {
			return o, fmt.Errorf("screen: %w", err)
		}
		o.curves, o.check = h.Screen.Curves, h.Screen.Check
	}
	if o.instrument, err = h.Instrument.role(); err != nil {
		return o, fmt.Errorf("instrument: %w", err)
	}
	if o.reference, err = h.Reference.role(); err != nil {
		return o, fmt.Errorf("reference: %w", err)
	}
	if o.controls, err = controls(h.Controls); err != nil {
		return o, fmt.Errorf("controls: %w", err)
	}
	if o.screen == nil && o.instrument == nil && len(o.controls) == 0 {
		return o, errors.New("it offers no screen, no instrument and no controls")
	}
	return o, nil
}

// name checks a name that is needed.
func name(field string, s *string) (string, error) {
	if s == nil || *s == "" {
		return "", fmt.Errorf("field %q is missing or empty", field)
	}
	return *s, words(field, *s)
}

// words checks a text that ends in reports, journals and file names.
func words(field, s string) error {
	if len(s) > maxName {
		return fmt.Errorf("field %q has more than %d bytes", field, maxName)
	}
	for _, r := range s {
		if !unicode.IsPrint(r) || r == utf8.RuneError {
			return fmt.Errorf("field %q has the character %q, which does not print", field, r)
		}
	}
	return nil
}

// between checks a number, which may be NaN.
func between(field string, v, low, high float64) error {
	if !(v >= low && v <= high) {
		return fmt.Errorf("field %q is %g; %g to %g are possible", field, v, low, high)
	}
	return nil
}

func (s *screenOffer) info() (*measure.ScreenInfo, error) {
	title, err := name("name", s.Name)
	if err != nil {
		return nil, err
	}
	if s.Bits == nil || s.WindowShare == nil {
		return nil, errors.New(`field "bits" or "window_share" is missing`)
	}
	mode := cmp.Or(s.Mode, "native")
	err = cmp.Or(
		words("mode", mode),
		between("bits", float64(*s.Bits), 1, 16),
		between("window_share", *s.WindowShare, 0.001, 1),
		between("surround", s.Surround, 0, 1),
		between("settle_ms", float64(s.SettleMS), 0, 60_000),
	)
	return &measure.ScreenInfo{
		Name: title, Mode: mode, Bits: *s.Bits, WindowShare: *s.WindowShare, Surround: s.Surround,
		SelfLit: s.SelfLuminous, SettleMS: s.SettleMS, Limited: s.Limited, Simulated: s.Simulated,
	}, err
}

func (i *instrumentOffer) role() (*instrumentRole, error) {
	if i == nil {
		return nil, nil
	}
	title, err := name("name", i.Name)
	if err != nil {
		return nil, err
	}
	if !slices.Contains([]string{"", measure.UseAmbient, measure.UseContact, measure.UseDistance}, i.Use) {
		return nil, fmt.Errorf(`"use" is %.40q; there are contact, distance and ambient`, i.Use)
	}
	r := &instrumentRole{spectrum: i.Spectrum, dark: i.DarkCalibration, info: measure.InstrumentInfo{
		Name: title, Serial: i.Serial, Spectral: i.Spectral, LowestCdM2: i.LowestCdM2, Use: i.Use, WholeRefresh: i.WholeRefresh,
		Certificate: i.Certificate, CertificateUV: i.CertificateUV, CertificateLuminance: i.CertificateLuminance,
	}}
	if r.info.Noise, err = i.Noise.noise(); err != nil {
		return nil, err
	}
	if r.dark != nil {
		err = r.dark.check()
	}
	return r, cmp.Or(err,
		words("serial", i.Serial), words("certificate", i.Certificate),
		between("lowest_cd_m2", i.LowestCdM2, 0, 1e4),
		between("certificate_uv", i.CertificateUV, 0, 0.1),
		between("certificate_luminance_share", i.CertificateLuminance, 0, 1),
	)
}

// noise returns the noise that an instrument states; all of it or nothing.
func (n *noiseOffer) noise() (measure.Noise, error) {
	if n == nil {
		return measure.Noise{}, nil
	}
	if n.Chromaticity == nil || n.Luminance == nil || n.FloorCdM2 == nil {
		return measure.Noise{}, errors.New(`"noise" needs "chromaticity_xy", "luminance_share" and "floor_cd_m2"`)
	}
	out := measure.Noise{Chromaticity: *n.Chromaticity, Luminance: *n.Luminance, FloorCdM2: *n.FloorCdM2}
	return out, cmp.Or(
		between("chromaticity_xy", out.Chromaticity, 0, 0.1),
		between("luminance_share", out.Luminance, 0, 1),
		between("floor_cd_m2", out.FloorCdM2, 0, 100),
	)
}

func controls(list []controlOffer) ([]measure.Control, error) {
	if len(list) > maxControls {
		return nil, fmt.Errorf("there are %d; at most %d are possible", len(list), maxControls)
	}
	var out []measure.Control
	for _, c := range list {
		title, err := name("name", c.Name)
		if err != nil {
			return nil, err
		}
		if c.Min == nil || c.Max == nil || c.Now == nil {
			return nil, fmt.Errorf(`%s needs "min", "max" and "now"`, title)
		}
		if *c.Min < -maxStep || *c.Max > maxStep || *c.Min > *c.Now || *c.Now > *c.Max {
			return nil, fmt.Errorf("%s has the steps %d to %d and stands at %d", title, *c.Min, *c.Max, *c.Now)
		}
		if slices.ContainsFunc(out, func(o measure.Control) bool { return o.Name == title }) {
			return nil, fmt.Errorf("%s is there twice", title)
		}
		out = append(out, measure.Control{Name: title, Min: *c.Min, Max: *c.Max, Now: *c.Now})
	}
	return out, nil
}
