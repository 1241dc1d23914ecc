package simulate

import (
	"math"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// path is what a signal meets on its way beside the curves in force. The zero
// value is nothing.
type path struct {
	convert   bool
	mix       colorimetry.Matrix // of light, before the curves
	foreign   tone.Channels      // behind the curves
	low, high float64            // taken for the whole range; both 0 is neither
}

// before returns the signal that meets the curves.
func (p *path) before(s colorimetry.RGB) colorimetry.RGB {
	if !p.convert {
		return s
	}
	const gamma = 2.2
	s = s.Clamp()
	l := p.mix.Apply(colorimetry.XYZ{X: math.Pow(s.R, gamma), Y: math.Pow(s.G, gamma), Z: math.Pow(s.B, gamma)})
	back := func(v float64) float64 { return math.Pow(min(max(v, 0), 1), 1/gamma) }
	return colorimetry.RGB{R: back(l.X), G: back(l.Y), B: back(l.Z)}
}

// after returns what becomes of the signal that left the curves.
func (p *path) after(s colorimetry.RGB) colorimetry.RGB {
	s = p.foreign.Apply(s)
	if p.high > p.low {
		stretch := func(v float64) float64 { return (v - p.low) / (p.high - p.low) }
		s = colorimetry.RGB{R: stretch(s.R), G: stretch(s.G), B: stretch(s.B)}.Clamp()
	}
	return s
}

// view is what mishaps do to the light on its way to an instrument.
type view struct {
	share   [3]float64 // of the display's light, by channel
	follows float64    // light under no load, as a share; 1 for a steady one
	gone    bool       // no light of the display
	covered bool       // no light at all
	room    float64    // more of the room's light, cd/m²
	slipped float64    // share of the display's light that the instrument sees
	leaked  float64    // the room's light past its rim, cd/m²
}

// beset returns the state that the mishaps on at a time and a reading make of
// in, and the view of it.
func (d *Display) beset(in state, at time.Time, reading int) (state, view) {
	v := view{share: steady, follows: 1, slipped: 1}
	since := d.since(at)
	for n := range d.options.Mishaps {
		m := &d.options.Mishaps[n]
		if !m.lasts(since, reading) {
			continue
		}
		switch m.Kind {
		case Asleep:
			v.gone = true
		case Covered:
			v.covered = true
		case Slipped:
			v.slipped, v.leaked = m.Share, m.CdM2
		case RoomChanged:
			v.room += m.CdM2
		case SensorDimmed:
			s := m.faded(since)
			v.share = times(v.share, [3]float64{s, s, s})
		case PictureDimmed:
			v.follows = m.Share
		case NightWarmed:
			s := m.faded(since)
			v.share = times(v.share, [3]float64{1, 1 - (1-s)*0.4, s})
		default:
			in = m.misled(in)
		}
	}
	return in, v
}

// misled returns the state that a mishap of the path makes of in.
func (m *Mishap) misled(in state) state {
	switch m.Kind {
	case Clipped:
		in.path.low, in.path.high = m.Low, m.High
	case Duplicated:
		in.signal, in.before, in.first = m.Signal, m.Signal, false
	case Late:
		in.signal = in.before
	case CurvesForeign:
		in.path.foreign = m.Curves
	case ProfileForeign:
		in.path.convert, in.path.mix = true, m.Mix
	case CurvesLost:
		in.curves = tone.Channels{}
	}
	return in
}

// arriving returns the light that reaches an instrument of a certain use at a time.
func (d *Display) arriving(in state, at time.Time, reading int, contact bool) amounts {
	in, v := d.beset(in, at, reading)
	share := times(d.share(at), v.share)
	a := d.amounts(in, in.signal, share)
	if d.spec.Settling != (Settling{}) {
		a = d.settling(in, a, share, at)
	}
	if v.follows != 1 {
		x, w := d.asked(in, in.signal)
		f := v.follows + (1-v.follows)*min(d.load(x, w), 1)
		for n := range room {
			a[n] *= f
		}
	}
	a[room] += v.room
	if contact {
		a[room] = 0
	}
	for n := range room {
		a[n] *= v.slipped
		if v.gone {
			a[n] = 0
		}
	}
	a[room] += v.leaked
	if v.covered {
		a = amounts{}
	}
	return a
}

// settling returns what the sources give on their way from the patch before to
// the amounts a.
func (d *Display) settling(in state, a amounts, share [3]float64, at time.Time) amounts {
	var from amounts
	if !in.first {
		from = d.amounts(in, in.before, share)
	}
	for n := range room {
		a[n] = d.spec.Settling.towards(from[n], a[n], max(at.Sub(in.since), 0))
	}
	return a
}

// incident returns the light of a perfect white diffuser in the screen's place.
func (d *Display) incident(in state, at time.Time, reading int) amounts {
	_, v := d.beset(in, at, reading)
	if v.covered {
		return amounts{}
	}
	return amounts{room: d.options.RoomLux/math.Pi + v.room/d.spec.Reflectance}
}
