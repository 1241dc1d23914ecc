package simulate

import (
	"math"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// The sources of light, in the order of every array of amounts: the three
// primaries in that of the channels, the white sub-pixel, what the dispersion of
// each channel's cell adds, and the room's light that the screen sends back.
const (
	white     = 3
	dispersed = 4 // and the two after it
	room      = 7
	sources   = 8
)

// amounts says how much of each source there is: for primaries, the white
// sub-pixel and dispersion the share of their full light, for the room cd/m².
type amounts [sources]float64

// lights are the colours of the sources, absolute in cd/m², for the room that
// of 1 cd/m², as one observer sees them.
type lights [sources]colorimetry.XYZ

// seenBy returns what an observer makes of the sources.
func seenBy(o spectrum.Observer, of *[sources]spectrum.Spectrum) *lights {
	var l lights
	for n, s := range of {
		l[n] = o.Emission(s)
	}
	return &l
}

// mix returns the sum of the lights, each in its amount.
func (l *lights) mix(a amounts) colorimetry.XYZ {
	sum := l[0].Scale(a[0]).Add(l[1].Scale(a[1])).Add(l[2].Scale(a[2]))
	for n := white; n < sources; n++ {
		if a[n] != 0 {
			sum = sum.Add(l[n].Scale(a[n]))
		}
	}
	return sum
}

// steady are the shares of light of a display that has settled.
var steady = [3]float64{1, 1, 1}

// amounts returns what each source gives while signal is shown, with share the
// part of its settled light that each channel has at the time.
func (d *Display) amounts(in state, signal colorimetry.RGB, share [3]float64) amounts {
	if d.spec.Field != (Field{}) {
		share = times(share, d.spec.Field.share(in.place))
	}
	whole := (share[0] + share[1] + share[2]) / 3
	x, w := d.asked(in, signal)
	brightness := d.spec.Brightness.light(in.steps[0])
	current := brightness * d.load(x, w)
	if d.spec.Dimming != (Dimming{}) {
		f := d.dimmed(in, current)
		share, whole, current = times(share, [3]float64{f, f, f}), whole*f, current*f
	}
	if d.spec.Supply.Sag > 0 {
		sag, rest := d.spec.Supply.sagged(current)
		share, whole = times(share, sag), whole*rest
	}
	var a amounts
	for c := range x {
		a[c] = brightness * share[c] * x[c]
		if d.spec.Dispersion[c] != 0 {
			a[dispersed+c] = brightness * share[c] * halfOpen(x[c])
		}
	}
	a[white] = brightness * whole * w
	a[room] = d.reflected()
	return a
}

func times(a, b [3]float64) [3]float64 {
	return [3]float64{a[0] * b[0], a[1] * b[1], a[2] * b[2]}
}

// asked returns the amounts that the channels and the white sub-pixel are
// asked for: of their full light, at full brightness, under no load.
func (d *Display) asked(in state, signal colorimetry.RGB) (x [3]float64, w float64) {
	bits := d.options.Bits
	s := in.path.after(in.curves.Apply(in.path.before(signal.Quantise(bits))).Quantise(bits))
	v := [3]float64{s.R, s.G, s.B}
	if d.mode != nil {
		v = d.mode.panel(v, &d.spec.Tones, d.leak)
	}
	if d.spec.Coupling != (Coupling{}) {
		v = d.spec.Coupling.drives(v)
	}
	for c := range v {
		light := d.spec.Tones[c].Light(v[c])
		if offset := d.spec.Offset.drive(&in.steps, c); offset != 0 {
			light = d.lit(c, v[c]+offset)
		}
		x[c] = d.leak[c] + d.spec.Gain.light(in.steps[firstGain+c])*(light-d.leak[c])
	}
	if d.spec.White.present() {
		x, w = d.spec.White.relieve(x, d.leak)
	}
	return x, w
}

// load returns the share of the supply's full current that amounts draw.
func (d *Display) load(x [3]float64, w float64) float64 {
	i := d.spec.Supply.Currents
	return i[0]*x[0] + i[1]*x[1] + i[2]*x[2] + d.spec.White.Current*w
}

// dimmed returns the share of light that the load of the whole picture leaves,
// with the load of the patch.
func (d *Display) dimmed(in state, patch float64) float64 {
	area := d.options.WindowShare
	whole := area * patch
	if area < 1 {
		x, w := d.asked(in, colorimetry.Gray(d.options.Surround))
		whole += (1 - area) * d.spec.Brightness.light(in.steps[0]) * d.load(x, w)
	}
	return d.spec.Dimming.light(whole)
}

// reflected returns the luminance of the room's light on the screen, in cd/m².
func (d *Display) reflected() float64 {
	return d.spec.Reflectance * d.options.RoomLux / math.Pi
}

// share returns the share of its light in the reference state that each
// channel has at a time.
func (d *Display) share(at time.Time) [3]float64 {
	since, s := d.since(at), steady
	if d.options.Cold {
		s = d.spec.WarmUp.share(since)
	}
	if d.spec.Drift != (Drift{}) {
		s = times(s, d.spec.Drift.share(since))
	}
	return s
}

// since returns the time that passed from the start, at least 0.
func (d *Display) since(at time.Time) time.Duration { return max(at.Sub(d.clock.start), 0) }
