package simulate_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// tube returns a display of tones by a power of 2.4 with controls of its black.
func tube(t *testing.T, o simulate.Offset) *simulate.Display {
	t.Helper()
	return plain(t, func(s *simulate.Spec) {
		s.Offset = o
		for c := range s.Tones {
			s.Tones[c] = tone.Power{Gamma: 2.4}
		}
	}, simulate.Options{})
}

// TestOffset: the common control and each channel's add to the drive before a
// power, and what falls below 0 is dark. That is the offset of the
// gain-offset-gamma model of tubes, light = (gain·d + offset)^γ and 0 where the
// bracket is below 0 (Berns, Displays 16(4), 173-182 (1996),
// doi:10.1016/0141-9382(96)01011-6, its form from memory), with a gain of 1.
func TestOffset(t *testing.T) {
	ctx := context.Background()
	d := tube(t, simulate.Offset{Common: 0.1, Each: 0.05, Headroom: 1.1})
	for _, steps := range [][4]int{{50, 50, 50, 50}, {75, 50, 50, 50}, {20, 50, 50, 50}, {50, 80, 50, 10}, {60, 40, 100, 0}, {100, 100, 100, 100}} {
		for i, name := range []string{measure.Black, measure.RedOffset, measure.GreenOffset, measure.BlueOffset} {
			if err := d.Set(ctx, name, steps[i]); err != nil {
				t.Fatal(err)
			}
		}
		for _, signal := range []float64{0, 833.0 / 65535, 12877.0 / 65535, 1} {
			var want [3]float64
			for c := range want {
				drive := signal + 0.1*float64(steps[0]-50)/50 + 0.05*float64(steps[1+c]-50)/50
				want[c] = math.Pow(min(max(drive, 0), 1.1), 2.4)
			}
			near(t, fmt.Sprint(steps, signal), d.Truth(colorimetry.Gray(signal)), sum(d.Spec().Primaries, want), 1e-12)
		}
	}
}

// TestOffsetClips: electronics without headroom clip what is lifted above full
// drive, and a black that leaks gets no darker than its leak.
func TestOffsetClips(t *testing.T) {
	ctx := context.Background()
	spec := simulate.WideGamutLCD.Spec()
	spec.Offset = simulate.Offset{Common: 0.2}
	d, err := simulate.New(spec, simulate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	white, black, grey := d.Truth(colorimetry.Gray(1)), d.Truth(colorimetry.RGB{}), d.Truth(colorimetry.Gray(0.1))
	for step := range 101 {
		if err := d.Set(ctx, measure.Black, step); err != nil {
			t.Fatal(err)
		}
		w, k, g := d.Truth(colorimetry.Gray(1)), d.Truth(colorimetry.RGB{}), d.Truth(colorimetry.Gray(0.1))
		switch {
		case step < 50 && (k != black || w.Y >= white.Y || g.Y >= grey.Y):
			t.Errorf("step %d: black %v, white %v, grey %v", step, k, w, g)
		case step == 50 && (k != black || w != white || g != grey):
			t.Errorf("the factory's step changed black %v, white %v or grey %v", k, w, g)
		case step > 50 && (k.Y <= black.Y || w != white || g.Y <= grey.Y):
			t.Errorf("step %d: black %v, white %v, grey %v", step, k, w, g)
		}
	}
}

// TestWhoHasOffset: tubes have the common control, others none but what their
// spec says, and what a display has not cannot be set.
func TestWhoHasOffset(t *testing.T) {
	each := []string{measure.RedOffset, measure.GreenOffset, measure.BlueOffset}
	onlyEach := simulate.WideGamutLCD.Spec()
	onlyEach.Offset = simulate.Offset{Each: 0.1}
	for _, c := range []struct {
		spec simulate.Spec
		want []string
	}{
		{simulate.CRT.Spec(), []string{measure.Black}},
		{simulate.OldCRT.Spec(), []string{measure.Black}},
		{onlyEach, each},
		{simulate.ReferenceOLED.Spec(), nil},
		{simulate.WideGamutLCD.Spec(), nil},
		{simulate.OfficePanel.Spec(), nil},
	} {
		d, err := simulate.New(c.spec, simulate.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, x := range d.Controls()[4:] {
			got = append(got, x.Name)
			if x.Min != 0 || x.Max != 100 || x.Now != 50 {
				t.Errorf("%s: %+v", c.spec.Name, x)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s has %q beside brightness and gains, want %q", c.spec.Name, got, c.want)
		}
		for _, name := range append(each, measure.Black) {
			err := d.Set(context.Background(), name, 40)
			if slices.Contains(c.want, name) != (err == nil) {
				t.Errorf("%s: setting %s: %v", c.spec.Name, name, err)
			}
			if err != nil && !strings.Contains(err.Error(), "it has") {
				t.Errorf("%q does not say what there is", err)
			}
		}
	}
}

// TestOffsetBounds: figures out of range are errors.
func TestOffsetBounds(t *testing.T) {
	for name, o := range map[string]simulate.Offset{
		"negative": {Common: -0.1}, "wide": {Each: 0.6}, "no number": {Common: math.NaN()},
		"low headroom": {Common: 0.1, Headroom: 0.9}, "high headroom": {Common: 0.1, Headroom: 2},
	} {
		s := simulate.CRT.Spec()
		s.Offset = o
		if _, err := simulate.New(s, simulate.Options{}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	s := simulate.DriftingLCD.Spec()
	s.Offset = simulate.Offset{Common: 0.1, Headroom: 1.1}
	if _, err := simulate.New(s, simulate.Options{}); err == nil {
		t.Error("cells of half a wave that open beyond it: no error")
	}
}
