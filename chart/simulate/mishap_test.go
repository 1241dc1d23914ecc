package simulate_test

import (
	"context"
	"math"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

var bluish = colorimetry.RGB{R: 0.27, G: 0.36, B: 0.45}

// TestMishaps: what each mishap makes of a reading of signal, shown after
// before, on a display of known tone in a lit room, worked out here; nothing of
// it in the truth, and nothing at the readings before it.
func TestMishaps(t *testing.T) {
	signal, before := colorimetry.RGB{R: 0.8, G: 0.5, B: 0.3}, colorimetry.RGB{R: 0.1, G: 0.9, B: 0.9}
	pow := func(s colorimetry.RGB, g float64) [3]float64 {
		return [3]float64{math.Pow(s.R, g), math.Pow(s.G, g), math.Pow(s.B, g)}
	}
	times := func(a [3]float64, r, g, b float64) [3]float64 { return [3]float64{a[0] * r, a[1] * g, a[2] * b} }
	mean := func(a [3]float64) float64 { return (a[0] + a[1] + a[2]) / 3 }
	light := pow(signal, 2.2)
	clip := func(v, low, high float64) float64 { return math.Min(math.Max((v-low)/(high-low), 0), 1) }
	for _, tc := range []struct {
		m    simulate.Mishap
		want [3]float64 // amounts of the primaries
		room float64    // cd/m² of the room's light beside the 2 reflected
	}{
		{simulate.Mishap{Kind: simulate.Asleep}, [3]float64{}, 0},
		{simulate.Mishap{Kind: simulate.Covered}, [3]float64{}, -2},
		{simulate.Mishap{Kind: simulate.Slipped}, times(light, 0.6, 0.6, 0.6), 0.5},
		{simulate.Mishap{Kind: simulate.Slipped, Share: 0.9, CdM2: 3}, times(light, 0.9, 0.9, 0.9), 3},
		{simulate.Mishap{Kind: simulate.RoomChanged}, light, 1},
		{simulate.Mishap{Kind: simulate.SensorDimmed}, times(light, 0.85, 0.85, 0.85), 0},
		{simulate.Mishap{Kind: simulate.SensorDimmed, Share: 1.2}, times(light, 1.2, 1.2, 1.2), 0},
		{simulate.Mishap{Kind: simulate.PictureDimmed}, times(light, 0.7+0.3*mean(light), 0.7+0.3*mean(light), 0.7+0.3*mean(light)), 0},
		{simulate.Mishap{Kind: simulate.NightWarmed}, times(light, 1, 0.88, 0.7), 0},
		{simulate.Mishap{Kind: simulate.Clipped}, pow(colorimetry.RGB{R: clip(0.8, 16.0/255, 235.0/255), G: clip(0.5, 16.0/255, 235.0/255), B: clip(0.3, 16.0/255, 235.0/255)}, 2.2), 0},
		{simulate.Mishap{Kind: simulate.Clipped, Low: 0.4, High: 0.7}, pow(colorimetry.RGB{R: 1, G: 1.0 / 3}, 2.2), 0},
		{simulate.Mishap{Kind: simulate.Duplicated}, pow(bluish, 2.2), 0},
		{simulate.Mishap{Kind: simulate.Duplicated, Signal: colorimetry.RGB{G: 1}}, [3]float64{0, 1, 0}, 0},
		{simulate.Mishap{Kind: simulate.Late}, pow(before, 2.2), 0},
		{simulate.Mishap{Kind: simulate.CurvesForeign}, [3]float64{math.Pow(0.8, 2.2*1.15), math.Pow(0.5, 2.2*1.1), math.Pow(0.3, 2.2*1.05)}, 0},
		{simulate.Mishap{Kind: simulate.ProfileForeign}, [3]float64{0.82*light[0] + 0.18*light[1], 0.03*light[0] + 0.97*light[1], 0.02*light[0] + 0.07*light[1] + 0.91*light[2]}, 0},
		{simulate.Mishap{Kind: simulate.ProfileForeign, Mix: colorimetry.Diagonal(2, 0.5, -1)}, [3]float64{1, 0.5 * light[1], 0}, 0},
		{simulate.Mishap{Kind: simulate.CurvesLost}, light, 0}, // there are none to lose
	} {
		tc.m.Reading = 1
		d := plain(t, func(s *simulate.Spec) { s.Reflectance = 0.01 }, simulate.Options{RoomLux: 200 * math.Pi, Mishaps: []simulate.Mishap{tc.m}})
		p := d.Spec().Primaries
		room := d.Room().Scale(1 / d.Room().Y)
		show(t, d, before)
		show(t, d, signal)
		near(t, string(tc.m.Kind)+", before it", read(t, d.Spectroradiometer(), 0, 0).XYZ, sum(p, light).Add(room.Scale(2)), 1e-4)
		got := read(t, d.Spectroradiometer(), 1, 0).XYZ
		want := sum(p, tc.want).Add(room.Scale(2 + tc.room))
		near(t, string(tc.m.Kind), got, want, 1e-4) // the path has 16 bits, the curves 257 entries
		near(t, string(tc.m.Kind)+", truth", d.Truth(signal), sum(p, light).Add(room.Scale(2)), 1e-4)
		if tc.m.Kind.Condition() == "" {
			t.Errorf("%q has no condition", tc.m.Kind)
		}
		// In contact the room is shut out, but for a slip.
		contact, err := d.ColorimeterWith(simulate.FilterMeter{Traits: simulate.Traits{Use: measure.UseContact}, Noise: &measure.Noise{}, Sensitivities: spectrumOfCIE()})
		if err != nil {
			t.Fatal(err)
		}
		leaked := 0.0
		if tc.m.Kind == simulate.Slipped {
			leaked = tc.room
		}
		near(t, string(tc.m.Kind)+", in contact", read(t, contact, 1, 0).XYZ, sum(p, tc.want).Add(room.Scale(leaked)), 1e-4)
	}
	if n := len(simulate.MishapKinds()); n != 13 {
		t.Errorf("%d kinds of mishap", n)
	}
}

// TestMishapCurvesLost: curves are loaded, and the patch looks as without them.
func TestMishapCurvesLost(t *testing.T) {
	ramp := make([]float64, 33)
	for i := range ramp {
		ramp[i] = 0.8 * float64(i) / 32
	}
	curves, err := tone.NewChannels(ramp, ramp, ramp)
	if err != nil {
		t.Fatal(err)
	}
	d := plain(t, nil, simulate.Options{Mishaps: []simulate.Mishap{{Kind: simulate.CurvesLost, Reading: 1}}})
	bare := d.Truth(colorimetry.Gray(1))
	if err := d.LoadCurves(context.Background(), curves); err != nil {
		t.Fatal(err)
	}
	show(t, d, colorimetry.Gray(1))
	near(t, "with curves", read(t, d.Spectroradiometer(), 0, 0).XYZ, bare.Scale(math.Pow(0.8, 2.2)), 1e-4)
	near(t, "curves lost", read(t, d.Spectroradiometer(), 1, 0).XYZ, bare, 1e-12)
}

// TestMishapWhen: from a time, for a time, from a reading, for some readings,
// and all four together; a fade is half way at half its time.
func TestMishapWhen(t *testing.T) {
	ctx := context.Background()
	m := simulate.Mishap{Kind: simulate.Asleep, At: time.Minute, For: time.Minute, Reading: 3, Readings: 2}
	d := plain(t, nil, simulate.Options{Mishaps: []simulate.Mishap{m, {Kind: simulate.NightWarmed, At: time.Hour, Fade: 2 * time.Minute, Share: 0.5}}})
	show(t, d, colorimetry.Gray(1))
	start := d.Clock().Now()
	at := func(after time.Duration, reading int) colorimetry.XYZ {
		t.Helper()
		if err := d.Clock().Restore(ctx, measure.Reading{Time: start.Add(after - time.Second)}); err != nil { // the middle of 2 s; in the dark 8
			t.Fatal(err)
		}
		return read(t, d.Spectroradiometer(), reading, 0).XYZ
	}
	for _, tc := range []struct {
		after   time.Duration
		reading int
		dark    bool
	}{{59 * time.Second, 3, false}, {61 * time.Second, 3, true}, {61 * time.Second, 2, false}, {61 * time.Second, 4, true},
		{61 * time.Second, 5, false}, {115 * time.Second, 4, true}, {120 * time.Second, 4, false}} {
		if got := at(tc.after, tc.reading).Y == 0; got != tc.dark {
			t.Errorf("after %v, reading %d: dark %v, want %v", tc.after, tc.reading, got, tc.dark)
		}
	}
	p := d.Spec().Primaries
	near(t, "half faded", at(61*time.Minute, 9), sum(p, [3]float64{1, 0.9, 0.75}), 1e-12)
	near(t, "faded", at(62*time.Minute, 9), sum(p, [3]float64{1, 0.8, 0.5}), 1e-12)
}

func TestMishapRefusals(t *testing.T) {
	nan := math.NaN()
	for name, m := range map[string]simulate.Mishap{
		"unknown":    {Kind: "lost in the post"},
		"no kind":    {},
		"time":       {Kind: simulate.Asleep, At: -1},
		"reading":    {Kind: simulate.Asleep, Reading: -1},
		"share":      {Kind: simulate.Slipped, Share: -0.1},
		"share NaN":  {Kind: simulate.Slipped, Share: nan},
		"light":      {Kind: simulate.RoomChanged, CdM2: math.Inf(1)},
		"upside":     {Kind: simulate.Clipped, Low: 0.9, High: 0.1},
		"low alone":  {Kind: simulate.Clipped, Low: 0.2},
		"signal NaN": {Kind: simulate.Duplicated, Signal: colorimetry.RGB{G: nan}},
		"mix NaN":    {Kind: simulate.ProfileForeign, Mix: colorimetry.Diagonal(1, nan, 1)},
	} {
		if _, err := simulate.New(simulate.CRT.Spec(), simulate.Options{Mishaps: []simulate.Mishap{m}}); err == nil {
			t.Errorf("%s: no error", name)
		} else {
			t.Log(err)
		}
	}
}
