package simulate

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// Traits are what every kind of instrument can be told. The zero value is an
// instrument that sees the room's light too, without outliers and without need
// of a dark calibration.
type Traits struct {
	Name   string // "" is the kind's
	Serial string
	// Use is how it is set up: [measure.UseContact] shuts the room's light out;
	// [measure.UseDistance] and "" see it; [measure.UseAmbient] looks at the
	// room from the screen and gives the light of a perfect white diffuser
	// there, whose luminance is the illuminance over π.
	Use string
	// WholeRefresh makes integrations long enough to span whole periods of a
	// flickering display.
	WholeRefresh bool
	// Certificate and its standard uncertainties are stated, nothing more.
	Certificate          string
	CertificateUV        float64
	CertificateLuminance float64
	LowestCdM2           float64 // stated; 0 is the kind's
	// Integration is the time of one in good light, 0 the kind's; below 5 cd/m²
	// it grows as the inverse root of the light, up to Longest times (0 = 4,
	// at least 1). In whole ms.
	Integration time.Duration
	Longest     float64
	Outliers    Outliers
	Dark        Dark
}

// Outliers are rare integrations that are far off: with Probability, by the
// seed, one is read as 1 ± Size of its light, either sign alike, and X and Z by
// Size/4 to either side on top. The zero value is none.
type Outliers struct {
	Probability float64 // 0 to 1
	Size        float64 // 0 to below 1; 0 means 0.1
}

// Dark is an instrument's need of dark calibrations: one holds for Valid, and
// from five minutes later on, so that a reading may end, the instrument adds
// CdM2PerHour, times the hours past, to X, Y and Z. One is taken at the start; a
// new one takes no simulated time, since a run that is resumed takes one anew
// and must not be later for it. The zero value needs none.
type Dark struct {
	Valid       time.Duration // 0 means without end
	CdM2PerHour float64       // 0 means 0.02
}

// darkMargin is how long a dark calibration is better than it promises.
const darkMargin = 5 * time.Minute

func (t *Traits) complete(name string, lowest float64, integration time.Duration) error {
	t.Name, t.LowestCdM2, t.Integration = cmp.Or(t.Name, name), cmp.Or(t.LowestCdM2, lowest), cmp.Or(t.Integration, integration)
	t.Longest, t.Outliers.Size, t.Dark.CdM2PerHour = cmp.Or(t.Longest, 4), cmp.Or(t.Outliers.Size, 0.1), cmp.Or(t.Dark.CdM2PerHour, 0.02)
	switch t.Use {
	case "", measure.UseContact, measure.UseDistance, measure.UseAmbient:
	default:
		return fmt.Errorf("simulate: an instrument is not used in the way %q; give %q, %q, %q or nothing", t.Use, measure.UseContact, measure.UseDistance, measure.UseAmbient)
	}
	if !(t.Outliers.Probability >= 0 && t.Outliers.Probability <= 1) || !(t.Outliers.Size >= 0 && t.Outliers.Size < 1) {
		return fmt.Errorf("simulate: outliers of the probability %g and size %g; they lie in 0 to 1", t.Outliers.Probability, t.Outliers.Size)
	}
	if t.Integration < time.Millisecond || t.Dark.Valid < 0 || !(t.Dark.CdM2PerHour >= 0) || math.IsInf(t.Dark.CdM2PerHour, 1) {
		return fmt.Errorf("simulate: integrations of %v, dark calibrations for %v and %g cd/m² an hour; give 1 ms or more, and 0 or more", t.Integration, t.Dark.Valid, t.Dark.CdM2PerHour)
	}
	if !(t.Longest >= 1 && t.Longest <= 1000) || !(t.LowestCdM2 >= 0) || !(t.CertificateUV >= 0) || !(t.CertificateLuminance >= 0) {
		return fmt.Errorf("simulate: %s stretches integrations by %g, states %g cd/m² as its least, and %g and %g of uncertainty; 1 to 1000 and 0 or above are possible", t.Name, t.Longest, t.LowestCdM2, t.CertificateUV, t.CertificateLuminance)
	}
	return nil
}

// info returns what the instrument says of itself.
func (t *Traits) info(spectral bool, noise measure.Noise) measure.InstrumentInfo {
	return measure.InstrumentInfo{
		Name: t.Name, Serial: t.Serial, Spectral: spectral, Noise: noise, LowestCdM2: t.LowestCdM2, Use: t.Use, WholeRefresh: t.WholeRefresh,
		Certificate: t.Certificate, CertificateUV: t.CertificateUV, CertificateLuminance: t.CertificateLuminance,
	}
}

// sensor turns the light of an integration into what an instrument says of it.
type sensor interface {
	// luminance returns how bright it finds the light, in cd/m².
	luminance(a amounts) float64
	// sense returns the reading of an integration that took stretch times the
	// time of one in good light.
	sense(a amounts, stretch float64, r *rand.Rand) (colorimetry.XYZ, spectrum.Spectrum)
	// shift returns the reading with offset, in cd/m², added to X, Y and Z and
	// the whole scaled, channel by channel.
	shift(c colorimetry.XYZ, s spectrum.Spectrum, offset float64, scale colorimetry.XYZ) (colorimetry.XYZ, spectrum.Spectrum)
}

// instrument looks at a display: what all kinds share.
type instrument struct {
	display *Display
	eye     eye
	sensor  sensor
	traits  Traits
	info    measure.InstrumentInfo

	mu   sync.Mutex
	dark time.Time // of the last dark calibration
}

// Instrument describes the instrument.
func (i *instrument) Instrument() measure.InstrumentInfo { return i.info }

// Measure takes one integration of what is shown and moves the display's clock
// on by the time that takes. The light is that of the middle of the
// integration.
func (i *instrument) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	if err := ctx.Err(); err != nil {
		return measure.Sample{}, err
	}
	d := i.display
	state, begin := d.now(), d.clock.Now()
	if !state.on && i.traits.Use != measure.UseAmbient {
		return measure.Sample{}, errNothingShown
	}
	stretch, took := i.duration(i.sensor.luminance(i.light(state, begin, want.Reading)))
	seen := i.light(state, begin.Add(took/2), want.Reading)
	if d.spec.Flicker.Hz > 0 && !i.traits.WholeRefresh {
		f := d.spec.Flicker.mean(d.since(begin), d.since(begin.Add(took)))
		for n := range room {
			seen[n] *= f
		}
	}
	d.clock.advance(took)
	c, s := i.sensor.sense(seen, stretch, deviates(d.options.Seed, i.eye, want.Reading, want.Repeat))
	offset, scale := i.offset(begin), i.outlier(want)
	if offset != 0 || scale != (colorimetry.XYZ{X: 1, Y: 1, Z: 1}) {
		c, s = i.sensor.shift(c, s, offset, scale)
	}
	return measure.Sample{XYZ: c, Spectrum: s, Duration: took}, nil
}

// light returns what reaches the instrument at a time.
func (i *instrument) light(in state, at time.Time, reading int) amounts {
	if i.traits.Use == measure.UseAmbient {
		return i.display.incident(in, at, reading)
	}
	return i.display.arriving(in, at, reading, i.traits.Use == measure.UseContact)
}

// duration returns how long an integration of light of a luminance in cd/m²
// takes, in whole ms, and how many times that of one in good light: longer
// below 5 cd/m², as the inverse root of the light (invented).
func (i *instrument) duration(y float64) (stretch float64, took time.Duration) {
	stretch = i.traits.Longest
	if y > 0 {
		stretch = math.Min(math.Max(math.Sqrt(5/y), 1), i.traits.Longest)
	}
	took = time.Duration(float64(i.traits.Integration) * stretch).Round(time.Millisecond)
	if i.traits.WholeRefresh {
		took = i.display.spec.Flicker.wholePeriods(took)
	}
	return stretch, took
}

// outlier returns by what an integration is off.
func (i *instrument) outlier(want measure.Request) colorimetry.XYZ {
	one := colorimetry.XYZ{X: 1, Y: 1, Z: 1}
	o := i.traits.Outliers
	if o.Probability == 0 {
		return one
	}
	r := deviates(i.display.options.Seed, i.eye|outlying, want.Reading, want.Repeat)
	if r.Float64() >= o.Probability {
		return one
	}
	side := func() float64 { return o.Size * (2*float64(r.IntN(2)) - 1) }
	c := one.Scale(1 + side())
	c.X *= 1 + side()/4
	c.Z *= 1 + side()/4
	return c
}

// offset returns what an expired dark calibration adds, in cd/m².
func (i *instrument) offset(at time.Time) float64 {
	if i.traits.Dark.Valid == 0 {
		return 0
	}
	return i.traits.Dark.CdM2PerHour * max((at.Sub(i.holds())-darkMargin).Hours(), 0)
}

// holds returns until when the dark calibration in force does.
func (i *instrument) holds() time.Time {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.dark.Add(i.traits.Dark.Valid)
}

// as returns i as what its traits make it: a [measure.DarkCalibrator] where it
// needs dark calibrations.
func (i *instrument) as() measure.Instrument {
	if i.traits.Dark.Valid == 0 {
		return i
	}
	return darkInstrument{i}
}

// darkInstrument is an instrument that needs dark calibrations.
type darkInstrument struct{ *instrument }

var _ measure.DarkCalibrator = darkInstrument{}

// DarkCalibration returns until when the dark calibration in force holds.
func (i darkInstrument) DarkCalibration() time.Time { return i.holds() }

// CalibrateDark takes a dark calibration. The error is ctx's.
func (i darkInstrument) CalibrateDark(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	i.mu.Lock()
	defer i.mu.Unlock()
	i.dark = i.display.clock.Now()
	return nil
}
