package simulate

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// Display is a display that is switched on, with the instruments that look at
// it. It is a [measure.Screen], [measure.CurveLoader] and [measure.Controls].
// It, its clock and its instruments are safe for concurrent use, so that a call
// which a session gave up waiting for does no harm.
type Display struct {
	spec    Spec
	options Options
	mode    *Mode // in force, nil for the panel's own
	clock   *Clock

	// The sources of light, as they are and as the 1931 observer and the
	// colorimeter see them, and the share of each primary's full light that
	// leaks at signal 0.
	spectra     [sources]spectrum.Spectrum
	light, seen *lights
	leak        [3]float64

	mu    sync.Mutex
	state state
}

// state is what a display can be told, and all that it remembers.
type state struct {
	curves tone.Channels
	steps  [controls]int // of the controls, in the order of controlNames
	place  Place         // looked at
	on     bool          // something is shown
	signal colorimetry.RGB
	since  time.Time       // signal is shown
	first  bool            // nothing was shown before signal
	before colorimetry.RGB // shown before signal
	path   path            // between the signal and the panel
}

// now returns the state in force.
func (d *Display) now() state {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.state
}

// change makes a change of state.
func (d *Display) change(f func(*state)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f(&d.state)
}

var (
	_ measure.Screen      = (*Display)(nil)
	_ measure.CurveLoader = (*Display)(nil)
	_ measure.Controls    = (*Display)(nil)
	_ measure.Clock       = (*Clock)(nil)
	_ measure.Restorer    = (*Clock)(nil)
)

// New switches on the display that spec describes, showing nothing, without
// curves, at the factory setting. It is an error if spec lacks a name, a tone
// or a primary, if one of its figures is out of the range stated there, or if
// one of o's is.
func New(spec Spec, o Options) (*Display, error) {
	spec, err := spec.complete()
	if err != nil {
		return nil, err
	}
	if o, err = o.complete(); err != nil {
		return nil, err
	}
	d := &Display{
		spec: spec, options: o, clock: newClock(o.Start),
		state: state{steps: factory, place: o.Place},
	}
	if d.mode, err = d.spec.mode(o.Mode); err != nil {
		return nil, err
	}
	cie := spectrum.CIE1931()
	y := cie.Emission(o.RoomLight).Y
	if !(y > 0) || math.IsInf(y, 0) {
		return nil, fmt.Errorf("simulate: the room's light has the luminance %g; its spectrum must give light", y)
	}
	d.spectra = [sources]spectrum.Spectrum{spec.Primaries[0], spec.Primaries[1], spec.Primaries[2], white: spec.White.Light, room: o.RoomLight.Scale(1 / y)}
	for c, strength := range spec.Dispersion {
		if strength != 0 {
			d.spectra[dispersed+c] = tilted(spec.Primaries[c], strength)
		}
	}
	d.light, d.seen = seenBy(cie, &d.spectra), seenBy(filterObserver(), &d.spectra)
	for c := range spec.Primaries {
		d.leak[c] = spec.Tones[c].Light(0)
		if !d.light[c].Finite() || !(d.light[c].Y > 0) {
			return nil, fmt.Errorf("simulate: the %s primary gives %g cd/m²; its spectrum must give light", channelNames[c], d.light[c].Y)
		}
	}
	return d, nil
}

// Spec returns what d was made from, its defaults filled in.
func (d *Display) Spec() Spec {
	s := d.spec
	s.Notes, s.Modes = slices.Clone(s.Notes), slices.Clone(s.Modes)
	return s
}

// Clock returns the time in which d lives. A session that measures d uses it.
func (d *Display) Clock() *Clock { return d.clock }

// Screen describes the path.
func (d *Display) Screen() measure.ScreenInfo {
	mode := d.spec.Mode
	if d.mode != nil {
		mode = d.mode.Name
	}
	return measure.ScreenInfo{
		Name: d.spec.Name, Mode: mode, Bits: d.options.Bits, WindowShare: d.options.WindowShare,
		Surround: d.options.Surround, SelfLit: d.spec.SelfLit, SettleMS: 400, Simulated: true,
	}
}

// Show shows signal, clamped to [0, 1], until the next call. It takes no
// simulated time. The error is ctx's, or says that a channel is NaN.
func (d *Display) Show(ctx context.Context, signal colorimetry.RGB) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if math.IsNaN(signal.R + signal.G + signal.B) {
		return fmt.Errorf("simulate: cannot show the signal %v; channels are numbers from 0 to 1", signal)
	}
	now := d.clock.Now()
	d.change(func(s *state) { s.first, s.on, s.since, s.before, s.signal = !s.on, true, now, s.signal, signal })
	return nil
}

// LoadCurves puts curves in force; the zero Channels takes them away. It takes
// no simulated time. The error is ctx's.
func (d *Display) LoadCurves(ctx context.Context, curves tone.Channels) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	d.change(func(s *state) { s.curves = curves })
	return nil
}

// Curves returns the curves in force.
func (d *Display) Curves() tone.Channels { return d.now().curves }

// MoveTo makes the instruments look at another place of the screen. It takes
// no simulated time. It is an error if the place is off the screen.
func (d *Display) MoveTo(p Place) error {
	if err := p.check(); err != nil {
		return err
	}
	d.change(func(s *state) { s.place = p })
	return nil
}

// Truth returns the colour of signal, absolute in cd/m², as it is seen from a
// distance at the place that is looked at: free of noise, with the controls and
// curves in force and through the path's depth, in the display's reference
// state, which is that of a display that has settled and not begun to drift.
// What depends on the patch alone, such as dimming under its load, is part of
// it, and so is the room's light; no mishap is.
func (d *Display) Truth(signal colorimetry.RGB) colorimetry.XYZ {
	return d.light.mix(d.amounts(d.now(), signal, steady))
}

// TruthAt is [Display.Truth] at a time: with the warm-up and the drift that
// the display has by then. Times before the start count as the start.
func (d *Display) TruthAt(signal colorimetry.RGB, at time.Time) colorimetry.XYZ {
	return d.light.mix(d.amounts(d.now(), signal, d.share(at)))
}

// Room returns the part of [Display.Truth] that is the room's light.
func (d *Display) Room() colorimetry.XYZ {
	return d.light[room].Scale(d.reflected())
}

// errNothingShown is the answer of an instrument that looks at a display which
// shows nothing yet.
var errNothingShown = errors.New("simulate: nothing is shown yet; show a patch, then measure it")
