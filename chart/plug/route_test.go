//go:build unix

package plug_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// eyes is an instrument that looks at what the browser painted: it reads the
// pixel in the middle of the page, sends its codes on to a simulated display,
// as they are or as convert has them, and measures that.
type eyes struct {
	instrument measure.Instrument // of display
	tab        *chromium
	display    *simulate.Display
	convert    func(signal colorimetry.RGB, wide bool) colorimetry.RGB
	last       int // the reading that was looked at
	x, y       int
}

func lookAt(c *chromium, d *simulate.Display) *eyes {
	at := screenOf(c)
	return &eyes{instrument: d.Colorimeter(), tab: c, display: d, last: -1, x: at.Dx() / 2, y: at.Dy() / 2}
}

func (e *eyes) Measure(ctx context.Context, want measure.Request) (measure.Sample, error) {
	if want.Reading != e.last {
		signal, err := e.look()
		if err != nil {
			return measure.Sample{}, err
		}
		if err := e.display.Show(ctx, signal); err != nil {
			return measure.Sample{}, err
		}
		e.last = want.Reading
	}
	return e.instrument.Measure(ctx, want)
}

func (e *eyes) Instrument() measure.InstrumentInfo { return e.instrument.Instrument() }

func (e *eyes) look() (colorimetry.RGB, error) {
	p, err := e.tab.pixel(e.x, e.y)
	signal := colorimetry.RGB{R: float64(p.R) / 255, G: float64(p.G) / 255, B: float64(p.B) / 255}
	if err != nil || e.convert == nil {
		return signal, err
	}
	// A browser that converts does so before it cuts colours off.
	var css string
	e.tab.eval(`getComputedStyle(document.querySelector("#window")).backgroundColor`, &css)
	wide := strings.HasPrefix(css, "color(display-p3 ")
	if wide {
		if _, err := fmt.Sscanf(css, "color(display-p3 %g %g %g)", &signal.R, &signal.G, &signal.B); err != nil {
			return signal, err
		}
	}
	return e.convert(signal, wide), nil
}

// managed returns what a browser makes of a page's colour that was given the
// true profile of d: encoded colour to XYZ, adapted to the display's white, to
// its own primaries, cut off, through the inverse of its tone, to 8 bits.
func managed(t testing.TB, d *simulate.Display) func(colorimetry.RGB, bool) colorimetry.RGB {
	t.Helper()
	black := d.Truth(colorimetry.RGB{})
	light := func(s colorimetry.RGB) colorimetry.XYZ { return d.Truth(s).Sub(black) }
	primaries := colorimetry.Columns(light(colorimetry.RGB{R: 1}), light(colorimetry.RGB{G: 1}), light(colorimetry.RGB{B: 1}))
	inverse, err := primaries.Inverse()
	must(t, err)
	white := primaries.FromLinear(colorimetry.Gray(1))
	var to [2]colorimetry.Matrix
	spaces := [2]rgb.Space{rgb.SRGB(), rgb.DisplayP3()}
	for i, s := range spaces {
		m, err := s.Matrix()
		must(t, err)
		adapt, err := colorimetry.Bradford(s.White.XYZ(1), white.Scale(1/white.Y))
		must(t, err)
		to[i] = inverse.Mul(adapt).Mul(m).Scale(white.Y)
	}
	tone := func(channel int, share float64) float64 {
		one := [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}}[channel]
		full := light(one).Y
		best, gap := 0.0, math.Inf(1)
		for code := range 256 {
			v := float64(code) / 255
			y := light(colorimetry.RGB{R: v * one.R, G: v * one.G, B: v * one.B}).Y / full
			if g := math.Abs(y - share); g < gap {
				best, gap = v, g
			}
		}
		return best
	}
	return func(s colorimetry.RGB, wide bool) colorimetry.RGB {
		i := 0
		if wide {
			i = 1
		}
		l := spaces[i].Linear(s)
		out := to[i].Apply(colorimetry.XYZ{X: l.R, Y: l.G, Z: l.B})
		return colorimetry.RGB{R: tone(0, out.X), G: tone(1, out.Y), B: tone(2, out.Z)}
	}
}

// checkRoute runs the check on a page that is started.
func checkRoute(t testing.TB, b *plug.Browser, e *eyes, journal *measure.Memory) (plug.Route, error) {
	t.Helper()
	s, err := measure.Open(short(t), measure.Setup{Screen: b, Instrument: e, Clock: e.display.Clock(), Journal: journal, Start: e.display.Clock().Now()})
	must(t, err)
	return plug.CheckRoute(short(t), s, b, plug.RouteOptions{})
}

// TestRouteSimulated: a browser that passes codes on goes through, on wide
// displays and on one near sRGB; one that converts to the display's own profile
// is refused wherever it matters.
func TestRouteSimulated(t *testing.T) {
	t.Parallel() // it waits for frames, in a browser of its own
	b := openBrowser(t, plug.BrowserOptions{})
	c := startChromium(t, 800, 600)
	c.open(b.Address())
	c.start()
	for _, f := range []struct {
		panel simulate.Panel
		plain plug.RouteState
		own   plug.RouteState // converted to its own profile
	}{
		{simulate.WideGamutLCD, plug.RoutePlain, plug.RouteConverted},
		{simulate.ReferenceOLED, plug.RoutePlain, plug.RouteConverted},
		{simulate.CRT, plug.RoutePlain, plug.RouteUntold},
	} {
		seeds := 3
		if testing.Short() {
			seeds = 1
		}
		for seed := range seeds {
			d := simulate.Measured(f.panel, simulate.Options{Seed: uint64(seed + 1), Bits: 8})
			e := lookAt(c, d)
			journal := &measure.Memory{}
			route, err := checkRoute(t, b, e, journal)
			t.Logf("%v, plain: %s", f.panel, route.Sentence)
			if route.State != f.plain || err != nil {
				t.Errorf("%v, plain: %+v, %v", f.panel, route, err)
			}
			last := string(journal.Lines()[len(journal.Lines())-1])
			if !strings.Contains(last, `"curves_applied_by":"the page"`) {
				t.Errorf("the journal ends with %s", last)
			}
			if seed > 0 {
				continue
			}
			e = lookAt(c, d)
			e.convert = managed(t, d)
			route, err = checkRoute(t, b, e, journal)
			t.Logf("%v, converted to its own profile: %s", f.panel, route.Sentence)
			if route.State != f.own || (condition(err) == measure.CurvesUnexpected) != (f.own == plug.RouteConverted) {
				t.Errorf("%v, converted: %+v, %v", f.panel, route, err)
			}
		}
	}
}

// TestRouteManagedBrowser: a browser that really converts is found out, to
// whatever profile it does, and so where it cuts wide colours off before; the
// same browser with sRGB forced on it is let through.
func TestRouteManagedBrowser(t *testing.T) {
	t.Parallel() // it waits for frames, in a browser of its own
	for _, f := range []struct {
		name    string
		options []string
		want    plug.RouteState
		says    string
	}{
		{"to Display P3, as with a graphics card", append([]string{"--force-color-profile=display-p3-d65"}, glPath...), plug.RouteConverted, "Display P3 lies"},
		{"to a profile of swapped primaries", append([]string{"--force-color-profile=color-spin-gamma24"}, glPath...), plug.RouteConverted, "not this display's"},
		{"to Display P3, wide colours cut off before", []string{"--force-color-profile=display-p3-d65"}, plug.RouteConverted, "takes the display for a wide one (p3)"},
		{"forced to sRGB", append([]string{"--force-color-profile=srgb"}, glPath...), plug.RoutePlain, "as they are"},
	} {
		b := openBrowser(t, plug.BrowserOptions{})
		c := startChromium(t, 800, 600, f.options...)
		c.open(b.Address())
		c.start()
		d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 3, Bits: 8})
		route, err := checkRoute(t, b, lookAt(c, d), &measure.Memory{})
		t.Logf("%s: %s", f.name, route.Sentence)
		if route.State != f.want || !strings.Contains(route.Sentence, f.says) || (err != nil) != (f.want == plug.RouteConverted) {
			t.Errorf("%s: %+v, %v", f.name, route, err)
		}
		if err != nil && (condition(err) != measure.CurvesUnexpected || !strings.Contains(err.Error(), "--force-color-profile=srgb")) {
			t.Errorf("%s: %v", f.name, err)
		}
		c.kill()
	}
}
