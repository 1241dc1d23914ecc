package simulate

import (
	"cmp"
	"fmt"
	"math"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// MishapKind is something that goes wrong around a display while every device
// does its duty.
type MishapKind string

// The mishaps, each with the figures of [Mishap] that it heeds and what they
// are where they are 0. The defaults are invented.
const (
	// Asleep: the display gives no light; the room's stays.
	Asleep MishapKind = "display asleep"
	// Covered: something lies before the instrument, and no light passes.
	Covered MishapKind = "covered"
	// Slipped: the instrument sees Share (0.6) of the display's light, and CdM2
	// (0.5) of the room's on top, whatever its Use.
	Slipped MishapKind = "instrument slipped"
	// RoomChanged: the screen sends CdM2 (1) more of the room's light back. An
	// instrument in contact shuts that out.
	RoomChanged MishapKind = "room's light changed"
	// SensorDimmed: a sensor of the room's light turns the display to Share
	// (0.85) of its light, above 1 for more, within Fade.
	SensorDimmed MishapKind = "brightness follows the room"
	// PictureDimmed: the brightness follows the patch, from Share (0.7) of the
	// light under no load to all of it under the full current.
	PictureDimmed MishapKind = "brightness follows the picture"
	// NightWarmed: green and blue are turned down to 1 − (1 − Share)·0.4 and to
	// Share (0.7), within Fade.
	NightWarmed MishapKind = "night mode"
	// Clipped: the output takes the signals Low (16/255) to High (235/255) for
	// its whole range, so that all below and all above show the same.
	Clipped MishapKind = "output clipped"
	// Duplicated: the screen shows another picture, which is Signal where the
	// instrument looks, whatever the patch. The zero Signal means a bluish
	// grey, R 0.27, G 0.36, B 0.45.
	Duplicated MishapKind = "another picture shown"
	// Late: the screen still shows the patch before.
	Late MishapKind = "patch not shown"
	// CurvesForeign: Curves that nobody asked for stand behind those in force.
	// The zero Channels mean powers of 1.15, 1.1 and 1.05.
	CurvesForeign MishapKind = "foreign curves in force"
	// ProfileForeign: the path converts every signal before the curves: to light
	// by a power of 2.2, then by Mix, limited to 0 to 1, and back. The zero Mix
	// shows an encoding of ordinary gamut on a wider display.
	ProfileForeign MishapKind = "foreign profile in force"
	// CurvesLost: the curves in force are not applied.
	CurvesLost MishapKind = "curves not in force"
)

// mishapConditions names the condition that a session should find.
var mishapConditions = map[MishapKind]measure.Condition{
	Asleep: measure.DisplayDark, Covered: measure.DisplayDark, Slipped: measure.InstrumentSlipped, RoomChanged: measure.AmbientChanged,
	SensorDimmed: measure.SelfAdjusting, PictureDimmed: measure.SelfAdjusting, NightWarmed: measure.SelfAdjusting,
	Clipped: measure.OutputClipped, Duplicated: measure.OutputDuplicated, Late: measure.PatchNotShown,
	CurvesForeign: measure.CurvesUnexpected, ProfileForeign: measure.CurvesUnexpected, CurvesLost: measure.CurvesMissing,
}

// Condition returns the condition that names k, "" for an unknown one.
func (k MishapKind) Condition() measure.Condition { return mishapConditions[k] }

// MishapKinds returns all mishaps, in the order of their documentation.
func MishapKinds() []MishapKind {
	return []MishapKind{Asleep, Covered, Slipped, RoomChanged, SensorDimmed, PictureDimmed, NightWarmed,
		Clipped, Duplicated, Late, CurvesForeign, ProfileForeign, CurvesLost}
}

// Mishap is one mishap and when it lasts: while the simulated time since the
// start is At or more, for the time For, and at readings with an index of
// Reading or more, as many as Readings; 0 for the last of each pair means to
// the end. A Mishap of nothing but a Kind lasts from the start to the end.
//
// It is seen by the instruments alone, never by [Display.Truth], and is a
// function of time, reading and what is shown, so that a run that is resumed
// meets it again as it was.
type Mishap struct {
	Kind              MishapKind
	At, For           time.Duration
	Reading, Readings int
	// Fade is how long it takes, from At, to come about where the kind fades; 0
	// means at once.
	Fade time.Duration

	// Figures, each heeded by the kinds that name it.
	Share     float64 // above 0 to 4
	CdM2      float64 // 0 to 1e5
	Low, High float64 // signals, Low below High; both 0 is the default
	Signal    colorimetry.RGB
	Curves    tone.Channels
	Mix       colorimetry.Matrix
}

// lasts reports whether m is on.
func (m *Mishap) lasts(since time.Duration, reading int) bool {
	return since >= m.At && (m.For == 0 || since < m.At+m.For) &&
		reading >= m.Reading && (m.Readings == 0 || reading-m.Reading < m.Readings)
}

// faded returns the share of light that is left, from 1 down to m.Share.
func (m *Mishap) faded(since time.Duration) float64 {
	if past := since - m.At; past < m.Fade {
		return 1 + (m.Share-1)*past.Seconds()/m.Fade.Seconds()
	}
	return m.Share
}

// complete returns m with its kind's defaults filled in, or says what is wrong.
func (m Mishap) complete() (Mishap, error) {
	if err := m.check(); err != nil {
		return m, err
	}
	switch m.Kind {
	case Slipped:
		m.Share, m.CdM2 = cmp.Or(m.Share, 0.6), cmp.Or(m.CdM2, 0.5)
	case RoomChanged:
		m.CdM2 = cmp.Or(m.CdM2, 1)
	case SensorDimmed:
		m.Share = cmp.Or(m.Share, 0.85)
	case PictureDimmed, NightWarmed:
		m.Share = cmp.Or(m.Share, 0.7)
	case Clipped:
		if m.High == 0 {
			m.Low, m.High = 16.0/255, 235.0/255
		}
	case Duplicated:
		m.Signal = cmp.Or(m.Signal, colorimetry.RGB{R: 0.27, G: 0.36, B: 0.45})
	case CurvesForeign:
		if m.Curves.Len() == 0 {
			m.Curves = foreignCurves()
		}
	case ProfileForeign:
		m.Mix = cmp.Or(m.Mix, ordinaryOnWide())
	}
	return m, nil
}

// ordinaryOnWide says how light of an ordinary gamut is mixed from wider
// primaries, greys kept. Invented, of the size that encodings in use differ by.
func ordinaryOnWide() colorimetry.Matrix {
	return colorimetry.Matrix{{0.82, 0.18, 0}, {0.03, 0.97, 0}, {0.02, 0.07, 0.91}}
}

// foreignCurves returns the curves that are in force unasked by default.
func foreignCurves() tone.Channels {
	var c [3][]float64
	for n, gamma := range [3]float64{1.15, 1.1, 1.05} {
		for i := range 257 {
			c[n] = append(c[n], math.Pow(float64(i)/256, gamma))
		}
	}
	curves, err := tone.NewChannels(c[0], c[1], c[2])
	if err != nil {
		panic("simulate: the foreign curves are unusable: " + err.Error())
	}
	return curves
}

func (m *Mishap) check() error {
	finite := func(v, low, high float64) bool { return v >= low && v <= high }
	switch {
	case m.Kind.Condition() == "":
		return fmt.Errorf("simulate: there is no mishap %q; there are %q", m.Kind, MishapKinds())
	case m.At < 0 || m.For < 0 || m.Fade < 0 || m.Reading < 0 || m.Readings < 0:
		return fmt.Errorf("simulate: the mishap %q begins or lasts below 0", m.Kind)
	case !finite(m.Share, 0, 4) || !finite(m.CdM2, 0, 1e5):
		return fmt.Errorf("simulate: the mishap %q has share %g and %g cd/m²; they lie in 0 to 4 and 0 to 1e5", m.Kind, m.Share, m.CdM2)
	case !finite(m.Low, 0, 1) || !finite(m.High, 0, 1) || m.Low >= m.High && m.High+m.Low != 0:
		return fmt.Errorf("simulate: the mishap %q leaves the signals %g to %g; the first must lie below the second, both in 0 to 1", m.Kind, m.Low, m.High)
	case math.IsNaN(m.Signal.R + m.Signal.G + m.Signal.B):
		return fmt.Errorf("simulate: the mishap %q shows the signal %v; channels are numbers from 0 to 1", m.Kind, m.Signal)
	}
	for _, row := range m.Mix {
		for _, v := range row {
			if !finite(v, -4, 4) {
				return fmt.Errorf("simulate: the mishap %q mixes by %g; figures lie within -4 to 4", m.Kind, v)
			}
		}
	}
	return nil
}
