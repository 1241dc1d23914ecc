package simulate

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// FaultKind is what a device does wrong.
type FaultKind string

// The faults. Screens know only those that say so.
const (
	Slips      FaultKind = "slips"      // reads Share (0.6) of the light
	Saturates  FaultKind = "saturates"  // reads no more than CdM2 (100) in X, Y and Z
	NotANumber FaultKind = "NaN"        // reads NaN
	Infinite   FaultKind = "infinite"   // reads infinity
	Negative   FaultKind = "negative"   // reads the light below 0
	WrongUnit  FaultKind = "wrong unit" // reads in foot-lamberts, 0.2919 of cd/m²
	// Drops loses a sample: an error that wraps [measure.ErrTransient]. A screen
	// fails to show, with the same error.
	Drops FaultKind = "drops"
	// Hangs answers nothing until its context ends. A screen does too.
	Hangs FaultKind = "hangs"
	// Disconnects gives an error that wraps [ErrDisconnected], from then on at
	// every call, until Reconnect. A screen does too.
	Disconnects FaultKind = "disconnects"
	// Crashes calls Do, or panics where that is nil. A screen does too.
	Crashes FaultKind = "crashes"
	// Ignores shows nothing new and says that it did: a screen's fault alone.
	Ignores FaultKind = "ignores"
)

var (
	instrumentFaults = []FaultKind{Slips, Saturates, NotANumber, Infinite, Negative, WrongUnit, Drops, Hangs, Disconnects, Crashes}
	screenFaults     = []FaultKind{Drops, Hangs, Disconnects, Crashes, Ignores}
)

// ErrDisconnected is wrapped by the error of a device that is not there.
var ErrDisconnected = errors.New("the device is gone; plug it in again")

// Fault is one fault and when it happens: at the readings from the index
// Reading on, as many as Readings says (0 = that one; below 0 = all to come),
// or, for a screen, at the patches shown, counted alike. At each of them the
// first Attempts calls fail, 0 = all: so a fault can pass when the session
// tries again.
type Fault struct {
	Kind                        FaultKind
	Reading, Readings, Attempts int
	Share                       float64 // for Slips
	CdM2                        float64 // for Saturates
	Do                          func()  // for Crashes
}

// hits reports whether f happens at a reading's call, the first being 0.
func (f *Fault) hits(reading, call int) bool {
	readings := max(f.Readings, 1)
	return reading >= f.Reading && (f.Readings < 0 || reading-f.Reading < readings) && (f.Attempts == 0 || call < f.Attempts)
}

// checkFaults panics where a fault is none that the device can have.
func checkFaults(device string, faults []Fault, known []FaultKind) []Fault {
	for _, f := range faults {
		if !slices.Contains(known, f.Kind) {
			panic(fmt.Sprintf("simulate: %s cannot have the fault %q; it can have %q", device, f.Kind, known))
		}
		if !(f.Share >= 0) || !(f.CdM2 >= 0) || f.Reading < 0 || f.Attempts < 0 {
			panic(fmt.Sprintf("simulate: the fault %q has a figure below 0", f.Kind))
		}
	}
	return slices.Clone(faults)
}

// fail returns the error that a fault of the call makes, if it makes one. It
// blocks for a fault that hangs and does not return from one that panics.
func (f *Fault) fail(ctx context.Context, device string) error {
	switch f.Kind {
	case Drops:
		return fmt.Errorf("simulate: the %s lost it: %w", device, measure.ErrTransient)
	case Hangs:
		<-ctx.Done()
		return ctx.Err()
	case Crashes:
		if f.Do == nil {
			panic("simulate: the " + device + " crashes, as it was told to")
		}
		f.Do()
	}
	return nil
}

// spoil returns what a fault makes of a sample.
func (f *Fault) spoil(s measure.Sample) measure.Sample {
	c := s.XYZ
	switch f.Kind {
	case Slips:
		return scaled(s, cmp.Or(f.Share, 0.6))
	case WrongUnit:
		const footLamberts = 0.3048 * 0.3048 * math.Pi // in a cd/m²
		return scaled(s, footLamberts)
	case Saturates:
		most := cmp.Or(f.CdM2, 100)
		c = colorimetry.XYZ{X: min(c.X, most), Y: min(c.Y, most), Z: min(c.Z, most)}
	case NotANumber:
		c = colorimetry.XYZ{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}
	case Infinite:
		c = colorimetry.XYZ{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}
	case Negative:
		return scaled(s, -1)
	default:
		return s
	}
	if c != s.XYZ {
		s.XYZ, s.Spectrum = c, spectrum.Spectrum{} // no spectrum has that colour
	}
	return s
}

func scaled(s measure.Sample, k float64) measure.Sample {
	s.XYZ = s.XYZ.Scale(k)
	if s.Spectrum.Len() > 0 {
		s.Spectrum = s.Spectrum.Scale(k)
	}
	return s
}
