package metamerism_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/metamerism"
	"example.org/primaries/colorimetry/spectrum"
)

// panel returns a typical panel by its key.
func panel(t testing.TB, key string) metamerism.Display {
	t.Helper()
	for _, p := range spectrum.PanelSources() {
		if p.Key == key {
			return metamerism.Display{Primaries: p.Primaries}
		}
	}
	t.Fatalf("no panel %s", key)
	return metamerism.Display{}
}

func observers(t testing.TB, people []metamerism.Physiology) []spectrum.Observer {
	t.Helper()
	o, err := metamerism.Observers(people)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// distance returns how far apart two amounts are, as a share of the greatest of
// the first.
func distance(a, b colorimetry.RGB) float64 {
	size := math.Max(math.Abs(a.Max()), math.Abs(a.Min()))
	return math.Max(math.Abs(a.R-b.R), math.Max(math.Abs(a.G-b.G), math.Abs(a.B-b.B))) / size
}

// leaking returns the display with a share of its white leaking through.
func leaking(d metamerism.Display, share float64) metamerism.Display {
	d.Black = metamerism.Display{Primaries: d.Primaries}.Light(colorimetry.Gray(share))
	return d
}

// A match is a match: what an observer set on b looks to that observer like a,
// through spectra and summation, not through the matrices of the pair. And a
// display matches its own light with its own amounts.
func TestMatchIsAMatch(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	sources := spectrum.PanelSources()
	for _, o := range append(observers(t, metamerism.Categories()), spectrum.CIE1931(), spectrum.CIE1964()) {
		for i := range sources {
			a := leaking(metamerism.Display{Primaries: sources[i].Primaries}, 0.002)
			b := leaking(metamerism.Display{Primaries: sources[(i+1)%len(sources)].Primaries}, 0.001)
			p, err := metamerism.NewPair(o, a, b)
			if err != nil {
				t.Fatal(err)
			}
			c := colorimetry.RGB{R: r.Float64(), G: r.Float64(), B: r.Float64()}
			onB, err := metamerism.Match(o, a.Light(c), b)
			if err != nil {
				t.Fatal(err)
			}
			if d := distance(onB, p.Match(c)); d > 1e-11 {
				t.Errorf("%s: Match and Pair.Match differ by %g", o.Name, d)
			}
			first, second := o.Emission(a.Light(c)), o.Emission(b.Light(onB))
			if d := first.Sub(second); math.Abs(d.X)+math.Abs(d.Y)+math.Abs(d.Z) > 1e-9*first.Y {
				t.Errorf("%s: %v on a, %v on b", o.Name, first, second)
			}
			x, y := p.Seen(c, onB)
			if d := x.Sub(first); math.Abs(d.Y) > 1e-9*first.Y || math.Abs(y.Sub(second).Y) > 1e-9*first.Y {
				t.Errorf("%s: a pair sees %v and %v", o.Name, x, y)
			}
			own, err := metamerism.Match(o, b.Light(c), b)
			if err != nil || distance(c, own) > 1e-9 {
				t.Errorf("%s: %v of its own light, %v", o.Name, own, err)
			}
			if w, want := p.White(), o.Emission(a.Light(colorimetry.Gray(1))); math.Abs(w.Y-want.Y) > 1e-9*want.Y {
				t.Errorf("%s: white %v, summed %v", o.Name, w, want)
			}
		}
	}
}

// Who sees the same through other functions makes the same match: observers
// whose functions are mixtures of each other's. CIE 2015 is a mixture of the
// cone fundamentals of CIE 2006 (CIE 170-2:2015); both are tabulated, to six or
// seven digits.
func TestMatchIsOfTheCones(t *testing.T) {
	a, b := panel(t, "blue-yellow"), panel(t, "rgb-leds")
	c := spectrum.ConesTwoDegree()
	cones, err := spectrum.NewObserver("cones", c.L, c.M, c.S)
	if err != nil {
		t.Fatal(err)
	}
	first, err := metamerism.Match(cones, a.Light(colorimetry.Gray(1)), b)
	if err != nil {
		t.Fatal(err)
	}
	second, err := metamerism.Match(spectrum.CIE2015TwoDegree(), a.Light(colorimetry.Gray(1)), b)
	if err != nil {
		t.Fatal(err)
	}
	if d := distance(first, second); d > 5e-6 {
		t.Errorf("cones set %v, CIE 2015 %v", first, second)
	}
}

func TestNoMatch(t *testing.T) {
	d := panel(t, "rgb-leds")
	white := d.Light(colorimetry.Gray(1))
	infrared, err := spectrum.New([]float64{900, 1000}, []float64{1, 1})
	if err != nil {
		t.Fatal(err)
	}
	red := d.Primaries[0]
	strong, faint := red.Scale(1e305), white.Scale(1e-305)
	o := spectrum.CIE1931()
	for name, bad := range map[string]metamerism.Display{
		"none":      {},
		"infrared":  {Primaries: [3]spectrum.Spectrum{infrared, infrared, infrared}},
		"twice red": {Primaries: [3]spectrum.Spectrum{red, red.Scale(2), d.Primaries[2]}},
		"strong":    {Primaries: [3]spectrum.Spectrum{strong, strong, strong}},
		"faint":     {Primaries: [3]spectrum.Spectrum{faint, faint, faint}},
	} {
		c, err := metamerism.Match(o, white, bad)
		if err == nil || !strings.HasPrefix(err.Error(), `metamerism: to observer "CIE 1931 2°" `) {
			t.Errorf("%s: %v, %v", name, c, err)
		}
		if _, err := metamerism.NewPair(o, d, bad); err == nil {
			t.Errorf("%s: no error from NewPair", name)
		}
	}
	if c, err := metamerism.Match(o, white.Scale(1e308), d); err == nil {
		t.Errorf("a light too strong: %v", c)
	}
	// A colour out of gamut is an answer: laser red on a panel.
	laser, err := spectrum.New([]float64{637, 638, 639}, []float64{0, 1, 0})
	if err != nil {
		t.Fatal(err)
	}
	if c, err := metamerism.Match(o, laser, panel(t, "blue-yellow")); err != nil || !(c.R > 0 && c.Min() < 0) {
		t.Errorf("laser: %v, %v", c, err)
	}
}

// Amounts come back from light and from a pair, within 1e-9 of the greatest.
func FuzzMatch(f *testing.F) {
	f.Add(1.0, 1.0, 1.0, 40.0, 2.0, uint8(0))
	f.Add(0.0, 0.5, 1e-6, 70.0, 10.0, uint8(3))
	f.Add(-0.25, 3.0, 0.0, 20.0, 1.0, uint8(5))
	f.Fuzz(func(t *testing.T, r, g, b, years, field float64, which uint8) {
		c := colorimetry.RGB{R: r, G: g, B: b}
		size := math.Max(math.Abs(c.Max()), math.Abs(c.Min()))
		if !(size > 1e-100 && size < 1e100) { // the domain; beyond it, rounding to 0 and infinity
			return
		}
		o, err := metamerism.Physiology{Years: years, FieldDegrees: field}.Observer()
		if err != nil {
			return
		}
		sources := spectrum.PanelSources()
		d := metamerism.Display{Primaries: sources[int(which)%len(sources)].Primaries}
		e := metamerism.Display{Primaries: sources[(int(which)+1)%len(sources)].Primaries}
		back, err := metamerism.Match(o, d.Light(c), d)
		if err != nil || distance(c, back) > 1e-9 {
			t.Fatalf("%v came back as %v, %v", c, back, err)
		}
		there, err := metamerism.NewPair(o, d, e)
		if err != nil {
			t.Fatal(err)
		}
		here, err := metamerism.NewPair(o, e, d)
		if err != nil {
			t.Fatal(err)
		}
		if back := here.Match(there.Match(c)); distance(c, back) > 1e-9 {
			t.Fatalf("%v came back as %v", c, back)
		}
	})
}

func TestNoAllocation(t *testing.T) {
	p, err := metamerism.NewPair(spectrum.CIE1931(), panel(t, "blue-yellow"), panel(t, "rgb-leds"))
	if err != nil {
		t.Fatal(err)
	}
	var sum float64
	if n := testing.AllocsPerRun(100, func() {
		c := p.Match(colorimetry.Gray(0.5))
		a, b := p.Seen(colorimetry.Gray(0.5), c)
		sum += a.Y + b.Y + p.White().Y
	}); n != 0 {
		t.Errorf("%g allocations a colour", n)
	}
}

func BenchmarkPairMatch(b *testing.B) {
	p, err := metamerism.NewPair(spectrum.CIE1931(), panel(b, "blue-yellow"), panel(b, "rgb-leds"))
	if err != nil {
		b.Fatal(err)
	}
	src, dst := metamerism.Lattice(), make([]colorimetry.RGB, 26)
	b.ReportAllocs()
	for b.Loop() {
		for i, c := range src {
			dst[i] = p.Match(c)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(src)), "ns/colour")
}

func BenchmarkObserver(b *testing.B) {
	p := metamerism.Physiology{Years: 45, Macula: 20}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := p.Observer(); err != nil {
			b.Fatal(err)
		}
	}
}
