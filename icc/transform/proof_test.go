package transform_test

import (
	"context"
	"errors"
	"image"
	"image/color"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// hues is a picture of all hues and lightnesses, greys in its left column.
func hues(w, h int) *image.NRGBA64 {
	m := image.NewNRGBA64(image.Rect(5, 6, 5+w, 6+h))
	for y := range h {
		for x := range w {
			angle, s := 2*math.Pi*float64(x)/float64(w), min(1, float64(x)/4)
			v := func(shift float64) uint16 {
				l := float64(y) / float64(h-1)
				return uint16(65535 * l * (1 - s*(0.5+0.5*math.Cos(angle+shift))))
			}
			m.SetNRGBA64(5+x, 6+y, color.NRGBA64{v(0), v(2.1), v(4.2), 65535})
		}
	}
	return m
}

// A colour beyond a display without tables is one that has a channel beyond [0, 1]
// there, since curves and a matrix reproduce all others: the alarm knows them, and lets
// pass what clips less than the tolerance. Checked in float64, pixel by pixel.
func TestAlarmIsTheGamut(t *testing.T) {
	photo, device := wide(t), narrow(t)
	o := transform.Options{Intent: icc.Relative}
	asked, shown := way(t, o, photo), way(t, o, photo, device, device)
	m := hues(120, 90)
	// More and less than the default, which is met by 0.
	for _, tolerance := range []float64{0.1, 0, 4} {
		mask, err := asked.Alarm(t.Context(), shown, m, transform.AlarmOptions{Tolerance: tolerance})
		if err != nil {
			t.Fatal(err)
		}
		limit := tolerance
		if limit == 0 {
			limit = 3
		}
		from, err := icc.ToPCS(photo, icc.Options{Intent: icc.Relative, PCS: icc.SpaceXYZ})
		if err != nil {
			t.Fatal(err)
		}
		c, err := device.Colorants()
		if err != nil {
			t.Fatal(err)
		}
		matrix := colorimetry.Columns(c[0], c[1], c[2])
		inverse, err := matrix.Inverse()
		if err != nil {
			t.Fatal(err)
		}
		alarms, near, beyond := 0, 0, 0
		for y := mask.Rect.Min.Y; y < mask.Rect.Max.Y; y++ {
			for x := mask.Rect.Min.X; x < mask.Rect.Max.X; x++ {
				in, _, _, _ := numbers(m.At(x, y))
				v := make([]float64, 3)
				from.Eval(v, in)
				xyz := colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
				l := inverse.ToLinear(xyz)
				clipped := colorimetry.RGB{R: min(max(l.R, 0), 1), G: min(max(l.G, 0), 1), B: min(max(l.B, 0), 1)}
				d := difference.CIEDE2000(xyz.Lab(colorimetry.D50()), matrix.FromLinear(clipped).Lab(colorimetry.D50()))
				if d > limit {
					beyond++
				}
				if math.Abs(d-limit) < 0.02 { // float32
					near++
					continue
				}
				if alarm := mask.AlphaAt(x, y).A == 255; alarm != (d > limit) {
					t.Fatalf("tolerance %g, %d,%d: alarm %v at a difference of %g", limit, x, y, alarm, d)
				}
			}
		}
		for _, a := range mask.Pix {
			alarms += int(a) / 255
		}
		if alarms < 20 || alarms > 120*90*9/10 || near > 120 || mask.Rect != m.Rect {
			t.Errorf("tolerance %g: %d alarms, %d beyond it, %d near it, bounds %v", limit, alarms, beyond, near, mask.Rect)
		}
	}
}

// Through the tables of a press, colours that are printed come back, and the press's
// own inks never alarm at the default tolerance; fully saturated light does.
func TestAlarmOfAPress(t *testing.T) {
	o := transform.Options{Intent: icc.Relative}
	asked, shown := way(t, o, press(t)), way(t, o, press(t), press(t), press(t))
	inked := image.NewCMYK(image.Rect(0, 0, 40, 30))
	fill(inked, 1)
	for i := 3; i < len(inked.Pix); i += 4 {
		inked.Pix[i] = 0 // the separation of the invented press has no black
	}
	d, err := asked.Differences(t.Context(), shown, inked, nil)
	if err != nil {
		t.Fatal(err)
	}
	worst, sum := 0.0, 0.0
	for _, v := range d.Samples {
		worst, sum = max(worst, float64(v)), sum+float64(v)
	}
	t.Logf("the press's own colours come back within CIEDE2000 %.2f, mean %.2f", worst, sum/1200)
	mask, err := asked.Alarm(t.Context(), shown, inked, transform.AlarmOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range mask.Pix {
		if (a == 255) != (float64(d.Samples[i]) > 3) {
			t.Fatalf("pixel %d: alarm %d at a difference of %g", i, a, d.Samples[i])
		}
	}
	if sum/1200 > 1 {
		t.Errorf("mean difference of the press's own colours %.2f", sum/1200)
	}
	light := image.NewNRGBA(image.Rect(0, 0, 4, 1))
	light.SetNRGBA(0, 0, color.NRGBA{0, 0, 255, 255})
	light.SetNRGBA(1, 0, color.NRGBA{0, 255, 0, 255})
	light.SetNRGBA(2, 0, color.NRGBA{150, 140, 130, 255})
	light.SetNRGBA(3, 0, color.NRGBA{0, 0, 255, 0}) // no colour at all
	mask, err = way(t, o, wide(t)).Alarm(t.Context(), way(t, o, wide(t), press(t), press(t)), light, transform.AlarmOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if got := [4]uint8(mask.Pix); got != [4]uint8{255, 255, 0, 0} {
		t.Errorf("alarms at blue, green, a warm grey and nothing: %v", got)
	}
}

// The map is the metric of the two chains' colours, of 8 and of 16 bits, wherever the
// picture lies.
func TestDifferencesAreTheMetric(t *testing.T) {
	a := way(t, transform.Options{Intent: icc.Relative}, wide(t))
	b := way(t, transform.Options{Intent: icc.Relative}, narrow(t))
	for _, m := range []image.Image{
		hues(1500, 3), fill(image.NewRGBA(image.Rect(-4, 2, 30, 20)), 3), fill(image.NewYCbCr(image.Rect(3, 3, 40, 31), image.YCbCrSubsampleRatio420), 4),
		fill(nrgbaOther{image.NewNRGBA64(image.Rect(0, 0, 9, 9))}, 5),
	} {
		for name, metric := range map[string]transform.Metric{"CIEDE2000": nil, "AB": difference.AB} {
			got, err := a.Differences(t.Context(), b, m, metric)
			if err != nil {
				t.Fatal(err)
			}
			want := difference.CIEDE2000
			if metric != nil {
				want = metric
			}
			r := m.Bounds()
			if got.Width != r.Dx() || got.Height != r.Dy() {
				t.Fatalf("%v became %d × %d", r, got.Width, got.Height)
			}
			for y := range r.Dy() {
				for x := range r.Dx() {
					in, alpha, _, _ := numbers(m.At(r.Min.X+x, r.Min.Y+y))
					u, v := make([]float64, 3), make([]float64, 3)
					a.Chain().Eval(u, in)
					b.Chain().Eval(v, in)
					d := want(colorimetry.Lab{L: u[0], A: u[1], B: u[2]}, colorimetry.Lab{L: v[0], A: v[1], B: v[2]})
					if alpha == 0 {
						d = 0
					}
					// Twice the 0.005 that L*a*b* may be off, in each of three.
					if e := math.Abs(float64(got.Samples[y*got.Stride+x]) - d); !(e < 0.02) {
						t.Fatalf("%T %s %d,%d: %g, want %g", m, name, x, y, got.Samples[y*got.Stride+x], d)
					}
				}
			}
		}
	}
}

// Paper white and ink black as the absolute intent shows them: the display's colour of
// an unprinted pixel is the paper's, as measured, and of a black one the ink's.
func TestProofShowsPaperAndInk(t *testing.T) {
	photo, paper, screen := narrow(t), press(t), wide(t)
	ink := colorimetry.XYZ{}
	{
		to, err := icc.ToPCS(paper, icc.Options{Intent: icc.Absolute, PCS: icc.SpaceXYZ})
		if err != nil {
			t.Fatal(err)
		}
		black := way(t, transform.Options{Intent: icc.Relative}, photo, paper)
		v := make([]float64, 4)
		black.Chain().Eval(v, []float64{0, 0, 0})
		to.Eval(v, v)
		ink = colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
	}
	proof := way(t, transform.Options{Intents: []icc.Intent{icc.Relative, icc.Absolute}}, photo, paper, paper, screen)
	m := image.NewNRGBA64(image.Rect(0, 0, 2, 1))
	m.SetNRGBA64(0, 0, color.NRGBA64{65535, 65535, 65535, 65535})
	m.SetNRGBA64(1, 0, color.NRGBA64{0, 0, 0, 65535})
	got, err := proof.Convert(t.Context(), m)
	if err != nil {
		t.Fatal(err)
	}
	look, err := icc.ToPCS(screen, icc.Options{Intent: icc.Absolute, PCS: icc.SpaceXYZ})
	if err != nil {
		t.Fatal(err)
	}
	for x, want := range []colorimetry.XYZ{paperXYZ, ink} {
		in, _, _, _ := numbers(got.At(x, 0))
		v := make([]float64, 3)
		look.Eval(v, in)
		shown := colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
		// The display's white is D50 to its profile: what is shown is relative to that.
		d := difference.CIEDE2000(shown.Lab(colorimetry.D50()), want.Lab(colorimetry.D50()))
		t.Logf("want %.4f, shown %.4f, CIEDE2000 %.2f", want, shown, d)
		if d > 1 { // the separation's table of 33 points a side
			t.Errorf("pixel %d shows %v, want %v: CIEDE2000 %.2f", x, shown, want, d)
		}
	}
}

// What cannot be compared is an error that says what to do.
func TestComparisonRefuses(t *testing.T) {
	rgb, toLab, toRGB := image.NewRGBA(image.Rect(0, 0, 3, 3)), way(t, transform.Options{}, narrow(t)), way(t, transform.Options{}, narrow(t), wide(t))
	for _, c := range []struct {
		a, b     *transform.Transform
		m        image.Image
		o        transform.AlarmOptions
		mentions string
	}{
		{toRGB, toLab, rgb, transform.AlarmOptions{}, "way 1 of 2 ends in RGB"},
		{toLab, toRGB, rgb, transform.AlarmOptions{}, "way 2 of 2 ends in RGB"},
		{toLab, way(t, transform.Options{}, press(t)), rgb, transform.AlarmOptions{}, "begin both"},
		{toLab, way(t, transform.Options{PCS: icc.SpaceXYZ}, narrow(t)), rgb, transform.AlarmOptions{}, "way 2 of 2 ends in XYZ"},
		{toLab, toLab, image.NewUniform(color.White), transform.AlarmOptions{}, "pixels"},
		{toLab, toLab, image.NewCMYK(rgb.Rect), transform.AlarmOptions{}, "made for"},
		{toLab, toLab, rgb, transform.AlarmOptions{Tolerance: -1}, "tolerance"},
		{toLab, toLab, rgb, transform.AlarmOptions{Tolerance: math.NaN()}, "tolerance"},
	} {
		if _, err := c.a.Alarm(t.Context(), c.b, c.m, c.o); err == nil || !strings.Contains(err.Error(), c.mentions) {
			t.Errorf("error %v, want one with %q", err, c.mentions)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := toLab.Differences(ctx, toLab, rgb, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
