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

// Options steer a simulation. The zero value is the default.
type Options struct {
	// Seed varies the noise. Equal seeds give equal readings.
	Seed uint64
	// Start is the simulated time at which the run begins; zero means
	// 2026-01-05 09:00 UTC, an arbitrary instant.
	Start time.Time
	// Bits is the depth of the path, where signals enter and where they leave
	// the curves, 1 to 16 bits a channel; 0 means 10.
	Bits int
	// Cold switches the display on at Start, so that it warms up during the
	// run; otherwise it was on long before and is settled.
	Cold bool
	// NoControls leaves the display without controls worth using: it stays at
	// the factory setting.
	NoControls bool
	// Noise is that of one integration of the colorimeter, nil for the
	// default: 0.001 in x and in y, 0.5 % of Y, 0.005 cd/m² in X, Y and Z. The
	// zero Noise is an instrument without noise.
	Noise *measure.Noise
	// ReferenceNoise is that of the spectroradiometer, nil for the default:
	// 0.0003 in x and in y, 0.2 % of Y, 0.002 cd/m² in X, Y and Z (invented).
	ReferenceNoise *measure.Noise
}

// Display is a display that is switched on, with the instruments that look at
// it. It is a [measure.Screen], [measure.CurveLoader] and [measure.Controls].
// It, its clock and its instruments are safe for concurrent use, so that a call
// which a session gave up waiting for does no harm.
type Display struct {
	spec                  Spec
	seed                  uint64
	bits                  int
	cold, fixed           bool
	noise, referenceNoise measure.Noise
	clock                 *Clock

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
	steps  [4]int // of the controls, in the order of controlNames
	on     bool   // something is shown
	signal colorimetry.RGB
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

// controlNames are the controls in the order in which they should be set.
var controlNames = [4]string{measure.Brightness, measure.RedGain, measure.GreenGain, measure.BlueGain}

// New switches on the display that spec describes, showing nothing, without
// curves, at the factory setting. It is an error if spec lacks a name, a tone
// or a primary, if one of its figures is out of the range stated there, or if
// o.Bits is.
func New(spec Spec, o Options) (*Display, error) {
	spec, err := spec.complete()
	if err != nil {
		return nil, err
	}
	if o.Bits == 0 {
		o.Bits = 10
	}
	if o.Bits < 1 || o.Bits > 16 {
		return nil, fmt.Errorf("simulate: a path of %d bits; 1 to 16 are possible", o.Bits)
	}
	if o.Start.IsZero() {
		o.Start = time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)
	}
	d := &Display{
		spec: spec, seed: o.Seed, bits: o.Bits, cold: o.Cold, fixed: o.NoControls,
		noise:          measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005},
		referenceNoise: measure.Noise{Chromaticity: 0.0003, Luminance: 0.002, FloorCdM2: 0.002},
		clock:          newClock(o.Start),
		state:          state{steps: [4]int{topStep, topStep, topStep, topStep}},
	}
	if o.Noise != nil {
		d.noise = *o.Noise
	}
	if o.ReferenceNoise != nil {
		d.referenceNoise = *o.ReferenceNoise
	}
	d.spectra = [sources]spectrum.Spectrum{spec.Primaries[0], spec.Primaries[1], spec.Primaries[2], spec.White.Light}
	d.light, d.seen = seenBy(spectrum.CIE1931(), &d.spectra), seenBy(filterObserver(), &d.spectra)
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
	s.Notes = slices.Clone(s.Notes)
	return s
}

// Clock returns the time in which d lives. A session that measures d uses it.
func (d *Display) Clock() *Clock { return d.clock }

// Screen describes the path.
func (d *Display) Screen() measure.ScreenInfo {
	return measure.ScreenInfo{
		Name: d.spec.Name, Mode: d.spec.Mode, Bits: d.bits,
		WindowShare: 0.1, SelfLit: d.spec.SelfLit, SettleMS: 400, Simulated: true,
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
	d.change(func(s *state) { s.on, s.signal = true, signal })
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

// Controls lists brightness and the three gains, steps 0 to 100, or nothing
// for a display that has no controls. Now is the step in force.
func (d *Display) Controls() []measure.Control {
	if d.fixed {
		return nil
	}
	steps := d.now().steps
	var list []measure.Control
	for i, name := range controlNames {
		list = append(list, measure.Control{Name: name, Min: 0, Max: topStep, Now: steps[i]})
	}
	return list
}

// Set brings a control to a step. It takes no simulated time: a run that
// resumes sets only the last step of each control, and must not be earlier for
// it. It is an error if there is no such control or step, or ctx is done.
func (d *Display) Set(ctx context.Context, name string, step int) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	i := slices.Index(controlNames[:], name)
	switch {
	case d.fixed:
		return fmt.Errorf("simulate: cannot set %q: %s has no controls", name, d.spec.Name)
	case i < 0:
		return fmt.Errorf("simulate: there is no control %q; there are %q", name, controlNames)
	case step < 0 || step > topStep:
		return fmt.Errorf("simulate: %s has steps 0 to %d; %d is none", name, topStep, step)
	}
	d.change(func(s *state) { s.steps[i] = step })
	return nil
}

// Truth returns the colour of signal, absolute in cd/m², free of noise, with
// the controls and curves in force and through the path's depth, once the
// display has settled.
func (d *Display) Truth(signal colorimetry.RGB) colorimetry.XYZ {
	return d.light.mix(d.amounts(d.now(), signal, steady))
}

// TruthAt is [Display.Truth] at a time, which differs from it while the
// display warms up. Times before the start count as the start.
func (d *Display) TruthAt(signal colorimetry.RGB, at time.Time) colorimetry.XYZ {
	return d.light.mix(d.amounts(d.now(), signal, d.warmth(at)))
}

// errNothingShown is the answer of an instrument that looks at a display which
// shows nothing yet.
var errNothingShown = errors.New("simulate: nothing is shown yet; show a patch, then measure it")
