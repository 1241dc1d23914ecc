package curves_test

import (
	"context"
	"flag"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/curves"
)

// The table of TestGrays, and what is tried on it.
var (
	graySeeds = flag.Uint64("grayseeds", 1, "number of seeds of the table of greys")
	graySure  = flag.Float64("graysure", 0.0005, "standard uncertainty in u'v' to which greys are averaged, 0 for the default options")
	grayOf    = flag.String("grayof", "", "only displays whose name holds this")
)

// shown is what a path shows: its codes, and the light of the codes and of the
// greys through the curves, free of noise.
type shown struct {
	top         float64
	bare, truth func(colorimetry.RGB) colorimetry.XYZ
	result      curves.Result
}

func (p shown) want(signal float64) colorimetry.XYZ {
	return p.result.Aim.Target(signal, p.truth(colorimetry.RGB{}), p.result.Aim.Luminance)
}

// floor returns the quantisation floor of the path at a grey code: the
// distance from the aim in u'v' that is left when all is known. It is that of
// the triple of codes whose light misses the aim least, 0.001 in u'v' counting
// as much as 1 % of luminance, found by going from the codes chosen to the best
// of their 26 neighbours until none is better.
func (p shown) floor(code int) float64 {
	s := float64(code) / p.top
	want := p.want(s)
	off := func(t [3]float64) float64 {
		c := p.bare(colorimetry.RGB{R: t[0] / p.top, G: t[1] / p.top, B: t[2] / p.top})
		return math.Hypot(c.UV().Distance(want.UV()), 0.1*(c.Y/want.Y-1))
	}
	d := p.result.Curves.Apply(colorimetry.Gray(s))
	best := [3]float64{math.Round(d.R * p.top), math.Round(d.G * p.top), math.Round(d.B * p.top)}
	least := off(best)
	for from := [3]float64{-1}; from != best; {
		from = best
		for i := range 27 {
			t := [3]float64{from[0] + float64(i/9-1), from[1] + float64(i/3%3-1), from[2] + float64(i%3-1)}
			if min(t[0], t[1], t[2]) < 0 || max(t[0], t[1], t[2]) > p.top {
				continue
			}
			if m := off(t); m < least {
				best, least = t, m
			}
		}
	}
	c := p.bare(colorimetry.RGB{R: best[0] / p.top, G: best[1] / p.top, B: best[2] / p.top})
	return c.UV().Distance(want.UV())
}

// row is a row of the table.
type row struct {
	worst, floor float64 // largest Δu'v' of a grey, and largest floor
	times        float64 // largest share of a grey's limit
	beyond, all  int     // greys beyond their limit, of all
	kept         int     // of the 256 greys of 8-bit content
	step         float64 // largest between two of them, in ΔE00
	crossing     float64 // signal at which the greys leave the aim's white
	strict       int     // greys beyond 0.001 and 1.5 times the floor at that very grey
	passes       int
	integrations int
}

// and returns the row of r and of another seed's.
func (r row) and(o row, first bool) row {
	if first {
		return o
	}
	return row{
		worst: math.Max(r.worst, o.worst), floor: math.Max(r.floor, o.floor), times: math.Max(r.times, o.times),
		beyond: r.beyond + o.beyond, all: r.all + o.all, strict: r.strict + o.strict,
		passes: max(r.passes, o.passes), integrations: max(r.integrations, o.integrations),
		crossing: math.Max(r.crossing, o.crossing), kept: min(r.kept, o.kept), step: math.Max(r.step, o.step),
	}
}

// grays judges every grey of the path from the floor of the display, and 5 %,
// up: within 0.001 in u'v' of the aim or 1.5 times the quantisation floor
// around it. That of a single grey is a matter of luck, since it depends on
// where the fractions of three codes fall; around it is the largest of that
// grey and its two neighbours on either side.
func (p shown) grays() row {
	var r row
	low, n := int(math.Ceil(math.Max(p.result.FloorSignal, 0.05)*p.top)), int(p.top)+1
	floors := make([]float64, n)
	for k := low; k < n; k++ {
		floors[k] = p.floor(k)
		r.floor = math.Max(r.floor, floors[k])
	}
	for k := low; k < n; k++ {
		s := float64(k) / p.top
		uv := p.truth(colorimetry.Gray(s)).UV().Distance(p.want(s).UV())
		around := 0.0
		for j := max(k-2, low); j <= min(k+2, n-1); j++ {
			around = math.Max(around, floors[j])
		}
		r.worst = math.Max(r.worst, uv)
		r.times = math.Max(r.times, uv/math.Max(0.001, 1.5*around))
		r.all++
		if uv > math.Max(0.001, 1.5*around) {
			r.beyond++
		}
		if uv > math.Max(0.001, 1.5*floors[k]) {
			r.strict++
		}
	}
	return r
}

// below fails on greys below the display's floor that do not go down, code by
// code, in luminance to the native black.
func (p shown) below(t *testing.T) {
	t.Helper()
	last := p.truth(colorimetry.RGB{})
	if last != p.bare(colorimetry.RGB{}) {
		t.Errorf("signal 0 is %v, the native black %v", last, p.bare(colorimetry.RGB{}))
	}
	for k := 1; k <= int(math.Ceil(math.Max(p.result.FloorSignal, 0.05)*p.top)); k++ {
		c := p.truth(colorimetry.Gray(float64(k) / p.top))
		if c.Y < last.Y {
			t.Errorf("grey %d of %g has %g cd/m², the one below it %g", k, p.top, c.Y, last.Y)
		}
		last = c
	}
}

// tabled are the displays of the table and the whites that they are brought to:
// those whose own white is D65 to another, lest there be nothing to do.
func tabled(t *testing.T) (specs []simulate.Spec, whites []aim.White) {
	t.Helper()
	d50, err := aim.Illuminant("D50")
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []simulate.Panel{simulate.ReferenceOLED, simulate.WideGamutLCD, simulate.CRT} {
		specs, whites = append(specs, p.Spec()), append(whites, d65(t))
	}
	for _, e := range []simulate.Example{simulate.CoupledLCD, simulate.SaggingPanel, simulate.FourSubpixels} {
		specs, whites = append(specs, e.Spec()), append(whites, d65(t))
	}
	for _, key := range []string{"blue-yellow", "rgb-leds", "self-luminous-rgb"} {
		s, err := simulate.Typical(key)
		if err != nil {
			t.Fatal(err)
		}
		specs, whites = append(specs, s), append(whites, d50)
	}
	return specs, whites
}

// TestGrays makes the table of greys through the curves, on the light free of
// noise that a display gives with the curves loaded: on displays whose channels
// add up and such as interact, on paths of 6, 8 and 10 bits, each read with the
// noise of the main job's colorimeter. The greys are to be within 0.001 in u'v'
// or 1.5 times the quantisation floor of the path, in at most 4 passes. Each
// reading is averaged to 0.0005 in u'v' for it; with the default options
// (-graysure 0) a few more greys miss, with a quarter of the integrations.
//
// Run it with -v for the table: worst, floor and limit are the largest of all
// seeds, beyond and strict of all greys of all seeds together.
func TestGrays(t *testing.T) {
	specs, whites := tabled(t)
	noise := mainJob()
	most := 0
	if *graySure > 0 {
		most = 400
	}
	t.Logf("%-46s bits  worst  floor  x limit  beyond   strict  passes readings integrations crossing  kept   step", "display")
	for i, spec := range specs {
		if !strings.Contains(spec.Name, *grayOf) {
			continue
		}
		for _, bits := range []int{6, 8, 10} {
			var worst row
			readings := 0
			for seed := range *graySeeds {
				o := simulate.Options{Seed: seed, Bits: bits, ReferenceNoise: &noise}
				d, err := simulate.New(spec, o)
				if err != nil {
					t.Fatal(err)
				}
				bare, err := simulate.New(spec, o)
				if err != nil {
					t.Fatal(err)
				}
				s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
				if err != nil {
					t.Fatal(err)
				}
				r, err := curves.Correct(context.Background(), s, aim.Aim{White: whites[i], Luminance: 100}, curves.Options{GrayUncertainty: *graySure, MostAverages: most})
				if err != nil {
					t.Fatal(err)
				}
				p := shown{float64(int(1)<<bits) - 1, bare.Truth, d.Truth, r}
				p.below(t)
				got := p.grays()
				got.passes = len(r.Passes) - 1
				got.kept, got.step = r.Gradations[0].Distinct, r.Gradations[0].LargestStep
				for _, x := range s.Readings() {
					got.integrations += len(x.Repeats)
				}
				readings = max(readings, len(s.Readings()))
				worst = worst.and(got, seed == 0)
				worst.crossing = math.Max(worst.crossing, r.FloorSignal)
			}
			t.Logf("%-46.46s %4d %.4f %.4f %6.2f %4d of %-5d %4d %5d %8d %8d %12.3f %6d %6.2f", spec.Name, bits, worst.worst, worst.floor, worst.times, worst.beyond, worst.all, worst.strict, worst.passes, readings, worst.integrations, worst.crossing, worst.kept, worst.step)
			// A reading's noise decides between triples that are all but equal,
			// so that single greys miss: of 3 seeds up to 2 in a row, by up to a
			// third of their limit. Where each code of a display is off by itself
			// (the reference OLED at 10 bits) it is 6 of 2916, by up to a half.
			// Tried before were greys spread over the range in all passes (3.1
			// times the limit at most) and every second code in each of two
			// passes (2.4 times).
			allowed, share := 1.35, 0.006
			if spec.Name == simulate.ReferenceOLED.String() {
				allowed = 1.5
			}
			if *graySure == 0 {
				allowed, share = 2.2, 0.01
			}
			if worst.times > allowed || float64(worst.beyond) > share*float64(worst.all) || worst.passes > 4 {
				t.Errorf("%s, %d bits: %+v", spec.Name, bits, worst)
			}
		}
	}
}
