package simulate

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"time"

	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// Spec describes a display. Channels are in the order red, green, blue.
type Spec struct {
	Name    string // the display's name, for reports and file names
	Mode    string // its gamut mode; "" means "native"
	SelfLit bool   // pixels make their own light
	Origin  string // where the figures come from, one line, for reports

	// Primaries are the spectral radiances of the primaries at full drive,
	// in W/(sr m² nm), without the other two channels' light.
	Primaries [3]spectrum.Spectrum
	// Tones lead from the signal to the share of the full drive's light:
	// non-decreasing, 1 at signal 1. What a curve gives at signal 0 is the
	// channel's leak.
	Tones [3]tone.Curve

	// Dispersion is how much the colour of each channel depends on how far its
	// liquid-crystal cell is open, 0 to 1.5: 1 is a cell of half a wave whose
	// birefringence is the same for all light, more one in which it falls with the
	// wavelength, as it does. See the package's own documentation.
	Dispersion [3]float64

	// How the channels interact; zero values are none.
	Coupling Coupling      // of drives, before the tone
	Supply   Supply        // shared, sags
	White    WhiteSubpixel // takes a part of the common light

	// Nuisances, none of them where the value is zero.
	Dimming  Dimming  // under the load of the whole picture
	Drift    Drift    // during a run
	Field    Field    // over the screen
	Flicker  Flicker  // of the light
	Settling Settling // after a patch was shown
	// Reflectance is the share of the room's light that the screen sends back
	// in all directions alike, 0 to 1; 0 means 0.01, which is invented.
	Reflectance float64

	// Modes are the gamut modes that the display has beside its own.
	Modes []Mode

	// WarmUp is the behaviour after a cold start.
	WarmUp WarmUp
	// Brightness and Gain are the effect of the stepped controls. At the
	// factory setting, the top step of each, the display shows its Primaries.
	Brightness, Gain Response
	// Offset is the effect of the controls of the black; the zero value is a
	// display without any. At the factory setting they change nothing.
	Offset Offset

	// Notes says what was done to the figures while they were read.
	Notes []string
}

// WarmUp describes how light approaches its settled value after a cold start:
// at time t a channel has 1 − Missing·exp(−t/Decay) of it. The zero value is
// the default, which is invented: 3.0, 3.6 and 4.6 % of red, green and blue
// missing at first, decaying with 4 minutes, so that after a quarter of an
// hour about 0.1 % of luminance is missing and after half an hour nothing that
// could be read.
type WarmUp struct {
	Missing [3]float64    // share of each channel, 0 to below 1
	Decay   time.Duration // time in which the missing share falls to 1/e
}

// Response is the effect of a control with steps 0 to 100: the light at a step
// is Lowest + (1 − Lowest)·(step/100)^Exponent of that at the top. The zero
// value is the control's default.
type Response struct {
	Lowest   float64 // light at step 0, share of the top's, 0 to below 1
	Exponent float64 // above 0; 1 is even steps
	// Hold is how many steps in a row do the same, counted from step 0, up to
	// 100: a menu with more steps than the electronics behind it. 0 means 1.
	Hold int
}

// Defaults, all invented. A brightness step near 70 is 1.9 % of the light
// there. A gain step near the top is 0.4 % of the channel's light and larger
// further down, so that a white can be approached to about 0.0005 in u'v'.
var (
	defaultWarmUp     = WarmUp{Missing: [3]float64{0.030, 0.036, 0.046}, Decay: 4 * time.Minute}
	defaultBrightness = Response{Lowest: 0.08, Exponent: 1.5}
	defaultGain       = Response{Lowest: 0.50, Exponent: 0.8}
)

// topStep is the highest step of every control; that of brightness and the gains
// is the factory's too.
const topStep = 100

// light returns the share of the top step's light at step.
func (r Response) light(step int) float64 {
	if step >= topStep {
		return 1
	}
	if r.Hold > 1 {
		step -= step % r.Hold
	}
	return r.Lowest + (1-r.Lowest)*math.Pow(float64(step)/topStep, r.Exponent)
}

// share returns the share of settled light that each channel has after the
// display was on for d.
func (w WarmUp) share(d time.Duration) [3]float64 {
	f := math.Exp(-d.Seconds() / w.Decay.Seconds())
	return [3]float64{1 - w.Missing[0]*f, 1 - w.Missing[1]*f, 1 - w.Missing[2]*f}
}

// complete returns s with its defaults filled in, or says what it lacks.
func (s Spec) complete() (Spec, error) {
	if s.Name == "" {
		return s, errors.New("simulate: the display has no name; give one, reports and files are named after it")
	}
	if s.Mode == "" {
		s.Mode = "native"
	}
	if s.WarmUp == (WarmUp{}) {
		s.WarmUp = defaultWarmUp
	}
	if s.WarmUp.Decay <= 0 {
		return s, fmt.Errorf("simulate: the warm-up decays with %v; give a time above 0", s.WarmUp.Decay)
	}
	for c, t := range s.Tones {
		if m := s.WarmUp.Missing[c]; !(m >= 0 && m < 1) {
			return s, fmt.Errorf("simulate: %g of %s is missing at switch-on; give a share from 0 to below 1", m, channelNames[c])
		}
		if t == nil {
			return s, fmt.Errorf("simulate: %s has no tone curve", channelNames[c])
		}
		if dark, full := t.Light(0), t.Light(1); !(dark >= 0 && dark < 1) || math.Abs(full-1) > 1e-9 {
			return s, fmt.Errorf("simulate: the tone of %s runs from %g to %g; it must begin at 0 or above and end at 1", channelNames[c], dark, full)
		}
	}
	if err := s.check(); err != nil {
		return s, err
	}
	if s.Reflectance == 0 {
		s.Reflectance = 0.01
	}
	for _, r := range []struct {
		of  string
		use *Response
		def Response
	}{{"brightness", &s.Brightness, defaultBrightness}, {"gain", &s.Gain, defaultGain}} {
		if *r.use == (Response{}) {
			*r.use = r.def
		}
		if !(r.use.Lowest >= 0 && r.use.Lowest < 1) || !(r.use.Exponent > 0) || math.IsInf(r.use.Exponent, 1) || r.use.Hold < 0 || r.use.Hold > topStep {
			return s, fmt.Errorf("simulate: the %s control has lowest light %g, exponent %g and holds %d steps; they must be 0 to below 1, above 0 and 0 to %d", r.of, r.use.Lowest, r.use.Exponent, r.use.Hold, topStep)
		}
	}
	return s, nil
}

// check looks at interaction, nuisances and modes.
func (s *Spec) check() error {
	if !(s.Reflectance >= 0 && s.Reflectance <= 1) {
		return fmt.Errorf("simulate: the screen reflects the share %g; give 0 to 1", s.Reflectance)
	}
	for c, strength := range s.Dispersion {
		if !(strength >= 0 && strength <= 1.5) {
			return fmt.Errorf("simulate: the dispersion of %s is %g; give 0 to 1.5", channelNames[c], strength)
		}
	}
	return cmp.Or(s.Coupling.check(), s.Offset.check(s.Dispersion), s.Supply.complete(), s.White.check(),
		s.Dimming.check(), s.Drift.check(), s.Field.check(), s.Flicker.check(), s.Settling.check(), s.checkModes())
}

// channelNames are the channels in the order of every array of three.
var channelNames = [3]string{"red", "green", "blue"}
