package simulate

import (
	"context"
	"math"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry/spectrum"
)

// instrument looks at a display: the part that the two kinds share.
type instrument struct {
	display *Display
	eye     eye
	light   *lights // the sources as it sees them
	info    measure.InstrumentInfo
	base    time.Duration // of an integration in good light
}

// Colorimeter returns a filter colorimeter that looks at d. It sees with
// [Display.Sensitivities], which is why its readings lie up to 0.01 in x and y
// from the truth until they are corrected, and it has the noise that
// [Options] says. One integration takes a second of simulated time, in the
// dark up to four.
func (d *Display) Colorimeter() measure.Instrument {
	return &instrument{display: d, eye: filterEye, light: d.seen, base: time.Second,
		info: measure.InstrumentInfo{Name: "simulated filter colorimeter", Noise: *d.options.Noise, LowestCdM2: 0.02}}
}

// Spectroradiometer returns an instrument that looks at d and sees with the
// CIE 1931 functions themselves: its readings differ from the truth by noise
// only. One integration takes two seconds of simulated time, in the dark up to
// eight.
func (d *Display) Spectroradiometer() measure.Instrument {
	return &instrument{display: d, eye: spectralEye, light: d.light, base: 2 * time.Second,
		info: measure.InstrumentInfo{Name: "simulated spectroradiometer", Spectral: true, Noise: *d.options.ReferenceNoise, LowestCdM2: 0.01}}
}

// Sensitivities returns the spectral sensitivities of the colorimeter's X, Y
// and Z channels, in the place of the three colour-matching functions.
func (d *Display) Sensitivities() [3]spectrum.Spectrum {
	o := filterObserver()
	return [3]spectrum.Spectrum{o.XBar, o.YBar, o.ZBar}
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
	if !state.on {
		return measure.Sample{}, errNothingShown
	}
	light := func(at time.Time) amounts { return d.amounts(state, state.signal, d.share(at)) }
	took := i.duration(i.light.mix(light(begin)).Y)
	seen := light(begin.Add(took / 2))
	if d.spec.Flicker.Hz > 0 {
		f := d.spec.Flicker.mean(d.since(begin), d.since(begin.Add(took)))
		for n := range room {
			seen[n] *= f
		}
	}
	d.clock.advance(took)
	return measure.Sample{
		XYZ:      disturb(i.light.mix(seen), i.info.Noise, deviates(d.options.Seed, i.eye, want.Reading, want.Repeat)),
		Duration: took,
	}, nil
}

// duration returns how long an integration of light of a luminance in cd/m²
// takes, in whole ms: longer below 5 cd/m², as the inverse root of the light,
// up to four times (invented).
func (i *instrument) duration(y float64) time.Duration {
	stretch := 4.0
	if y > 0 {
		stretch = math.Min(math.Max(math.Sqrt(5/y), 1), 4)
	}
	return time.Duration(float64(i.base) * stretch).Round(time.Millisecond)
}
