package measure_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

type (
	instrument = measure.Instrument
	screen     = measure.Screen
)

// bent is an instrument whose samples pass through a function.
type bent struct {
	instrument
	bend func(measure.Request, colorimetry.XYZ) colorimetry.XYZ
}

func (b bent) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	out, err := b.instrument.Measure(ctx, want)
	out.XYZ = b.bend(want, out.XYZ)
	return out, err
}

// swapped is a screen whose channels come out as others.
type swapped struct {
	screen
	order [3]int
}

func (s swapped) Show(ctx context.Context, c colorimetry.RGB) error {
	v := [3]float64{c.R, c.G, c.B}
	return s.screen.Show(ctx, colorimetry.RGB{R: v[s.order[0]], G: v[s.order[1]], B: v[s.order[2]]})
}

// inspect looks at a display through an instrument and a screen that may be odd.
func inspect(t testing.TB, d *simulate.Display, screen measure.Screen, bend func(measure.Request, colorimetry.XYZ) colorimetry.XYZ, o measure.InspectOptions) (measure.Inspection, error) {
	t.Helper()
	var of measure.Instrument = d.Colorimeter()
	if bend != nil {
		of = bent{of, bend}
	}
	s, err := measure.Open(context.Background(), measure.Setup{Screen: screen, Instrument: of, Clock: d.Clock()})
	if err != nil {
		t.Fatal(err)
	}
	return measure.Inspect(context.Background(), s, o)
}

// plain fails where a text holds what is no figure.
func plain(t testing.TB, what string, err error) {
	t.Helper()
	if err != nil && (strings.Contains(err.Error(), "NaN") || strings.Contains(err.Error(), "Inf")) {
		t.Errorf("%s: %v", what, err)
	}
}

var glitches = []float64{1.22, 0.78, -1, 0, 10, 1e6}

// One bad reading in one look is looked at again, and nothing is found.
func TestInspectPassesOverOneBadReading(t *testing.T) {
	t.Parallel()
	desk := desks()[0]
	known := clean(t, desk.make(100), tone.Channels{}).Readings
	for at := range measure.InspectionPatches() {
		for _, by := range glitches {
			d := desk.make(1)
			_, err := inspect(t, d, d, func(want measure.Request, c colorimetry.XYZ) colorimetry.XYZ {
				if want.Reading == at {
					return c.Scale(by)
				}
				return c
			}, measure.InspectOptions{Known: known})
			plain(t, "glitch", err)
			if err != nil {
				t.Errorf("reading %d × %g: %v", at, by, err)
			}
		}
	}
}

// A bad reading in what is known is named as such: no profile does that. Nothing
// ever prints what is no figure.
func TestInspectDoubtsWhatIsKnown(t *testing.T) {
	t.Parallel()
	for _, desk := range desks() {
		good := clean(t, desk.make(100), tone.Channels{}).Readings
		for at, r := range good {
			for _, by := range glitches {
				known := slices.Clone(good)
				known[at].XYZ = r.XYZ.Scale(by)
				d := desk.make(1)
				_, err := inspect(t, d, d, nil, measure.InspectOptions{Known: known})
				what := fmt.Sprintf("%s, %s × %g", desk.name, r.Patch.ID, by)
				plain(t, what, err)
				pure := r.Patch.Signal.Max() == 1 && r.Patch.Signal.Min() == 0
				// A fifth of a dark blue may lie within the noise.
				slight := by > 0.5 && by < 2
				if got := found(err); pure && got != measure.ReadingDoubtful && !(slight && got == "") {
					t.Errorf("%s: %q: %v", what, got, err)
				}
			}
		}
	}
}

// Gains that no display has point at the instrument.
func TestInspectAsksForTheUnit(t *testing.T) {
	t.Parallel()
	desk := desks()[0]
	known := clean(t, desk.make(100), tone.Channels{}).Readings
	for _, c := range []struct {
		name string
		bend func(measure.Request, colorimetry.XYZ) colorimetry.XYZ
		o    measure.InspectOptions
		want measure.Condition
		unit bool
	}{
		{"blue × 10", func(want measure.Request, c colorimetry.XYZ) colorimetry.XYZ {
			return colorimetry.XYZ{X: c.X, Y: c.Y, Z: 10 * c.Z}
		}, measure.InspectOptions{Known: known}, measure.ReadingDoubtful, true},
		{"all × 1000", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(1000) }, measure.InspectOptions{Known: known}, measure.ReadingDoubtful, true},
		{"all × 1000, first", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(1000) }, measure.InspectOptions{}, measure.ReadingDoubtful, true},
		{"all × 30, first", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(30) }, measure.InspectOptions{}, "", false},
		{"all × -1", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(-1) }, measure.InspectOptions{}, measure.ReadingDoubtful, true},
		{"all × 4", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(4) }, measure.InspectOptions{Known: known}, measure.SelfAdjusting, true},
		{"all × 1.3", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(1.3) }, measure.InspectOptions{Known: known}, measure.SelfAdjusting, false},
		{"first, that is as it should be", func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(1000) }, measure.InspectOptions{Ignore: []measure.Condition{measure.ReadingDoubtful}}, "", false},
	} {
		d := desk.make(1)
		_, err := inspect(t, d, d, c.bend, c.o)
		plain(t, c.name, err)
		if got := found(err); got != c.want {
			t.Errorf("%s: %q: %v", c.name, got, err)
		} else if err != nil && strings.Contains(err.Error(), "cd/m²?") != c.unit {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Channels that come out as others are named, in whatever order, with what is
// known and without; very alike primaries alarm nobody.
func TestInspectFindsExchangedChannels(t *testing.T) {
	t.Parallel()
	for _, desk := range desks() {
		known := clean(t, desk.make(100), tone.Channels{}).Readings
		for _, order := range [][3]int{{1, 0, 2}, {2, 1, 0}, {0, 2, 1}, {1, 2, 0}, {2, 0, 1}} {
			for _, o := range []measure.InspectOptions{{}, {Known: known}} {
				d := desk.make(1)
				if _, err := inspect(t, d, swapped{d, order}, nil, o); found(err) != measure.ChannelsExchanged {
					t.Errorf("%s, %v, known %v: %v", desk.name, order, o.Known != nil, err)
				}
			}
		}
	}
	// Primaries of almost no gamut: each nine parts of grey and one of colour.
	alike := func(_ measure.Request, c colorimetry.XYZ) colorimetry.XYZ {
		grey := colorimetry.XYZ{X: 0.95, Y: 1, Z: 1.09}.Scale(0.9 * c.Y)
		return grey.Add(c.Scale(0.1))
	}
	for seed := range seeds(10) {
		d := desks()[0].make(seed)
		if _, err := inspect(t, d, d, alike, measure.InspectOptions{}); err != nil {
			t.Errorf("alike primaries, seed %d: %v", seed, err)
		}
	}
}
