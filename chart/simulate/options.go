package simulate

import (
	"fmt"
	"slices"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry/spectrum"
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

	// Mode is the gamut mode to switch on in, one of the spec's; "" means the
	// display's own.
	Mode string
	// WindowShare is the area of the patch as a share of the screen, above 0 to
	// 1; 0 means 0.1. Surround is the signal around it, 0 to 1. Both matter to
	// a display that dims.
	WindowShare, Surround float64
	// Place is where on the screen the instruments look; see [Display.MoveTo].
	Place Place
	// RoomLux is the illuminance of the screen by the room, 0 for darkness, and
	// RoomLight its spectrum, on any scale; the zero Spectrum means D65. The
	// screen sends the share Spec.Reflectance of it back, in all directions
	// alike, which everything that looks from a distance sees as well.
	RoomLux   float64
	RoomLight spectrum.Spectrum
	// Mishaps are what goes wrong, and when.
	Mishaps []Mishap
}

// complete returns o with its defaults filled in, or says what is out of range.
func (o Options) complete() (Options, error) {
	if o.Bits == 0 {
		o.Bits = 10
	}
	if o.Bits < 1 || o.Bits > 16 {
		return o, fmt.Errorf("simulate: a path of %d bits; 1 to 16 are possible", o.Bits)
	}
	if o.Start.IsZero() {
		o.Start = time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC)
	}
	if o.WindowShare == 0 {
		o.WindowShare = 0.1
	}
	if !(o.WindowShare > 0 && o.WindowShare <= 1) || !(o.Surround >= 0 && o.Surround <= 1) {
		return o, fmt.Errorf("simulate: the patch takes the share %g of the screen amid the signal %g; both lie in 0 to 1", o.WindowShare, o.Surround)
	}
	if !(o.RoomLux >= 0 && o.RoomLux <= maxLux) {
		return o, fmt.Errorf("simulate: the room lights the screen with %g lx; give 0 to %g", o.RoomLux, maxLux)
	}
	if o.RoomLight.Len() == 0 {
		o.RoomLight = spectrum.IlluminantD65()
	}
	o.Noise = noiseOr(o.Noise, measure.Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005})
	o.ReferenceNoise = noiseOr(o.ReferenceNoise, measure.Noise{Chromaticity: 0.0003, Luminance: 0.002, FloorCdM2: 0.002})
	o.Mishaps = slices.Clone(o.Mishaps)
	for n, m := range o.Mishaps {
		var err error
		if o.Mishaps[n], err = m.complete(); err != nil {
			return o, err
		}
	}
	return o, o.Place.check()
}

// noiseOr returns a copy of n, or of otherwise where n is nil.
func noiseOr(n *measure.Noise, otherwise measure.Noise) *measure.Noise {
	if n != nil {
		otherwise = *n
	}
	return &otherwise
}

// maxLux is about that of direct sunlight (from memory); brighter is a slip of
// the pen.
const maxLux = 1e5
