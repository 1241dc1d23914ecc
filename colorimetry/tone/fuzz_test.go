package tone_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// closedForms is one of each kind of curve that a formula describes.
func closedForms() []tone.Curve {
	dicom, _ := tone.NewGSDF(600, 0.3, 0.5)
	icc, _ := tone.NewParametric(4, 2.2, 0.95, 0.05, 0.1, 0.08, 0.01, 0.005)
	return []tone.Curve{
		tone.Linear{}, tone.Power{Gamma: 1.8}, tone.Power{Gamma: 2.6}, tone.SRGB{}, tone.LStar{}, tone.ROMM{},
		tone.BT709{}, tone.BT2020{}, tone.BT2020{Bits: 12}, tone.BT1886{}, tone.BT1886{WhiteCdM2: 100, BlackCdM2: 0.05},
		tone.PQ{}, tone.PQ{PeakCdM2: 600}, tone.HLGCamera{}, tone.HLG{}, tone.HLG{WhiteCdM2: 3000, BlackCdM2: 0.01},
		dicom, icc, tone.Lift(tone.SRGB{}, 0.002), tone.Stretch(tone.LStar{}, 0.001),
	}
}

// FuzzRoundTrip leads a light to its signal and back, within 1e-9 of it or
// 1e-12, and holds every answer off infinity for any signal at all.
func FuzzRoundTrip(f *testing.F) {
	for i := range closedForms() {
		f.Add(uint8(i), 0.25)
		f.Add(uint8(i), 0.0031308)
		f.Add(uint8(i), 1e-7)
		f.Add(uint8(i), math.Inf(1))
		f.Add(uint8(i), math.MaxFloat64)
	}
	curves := closedForms()
	f.Fuzz(func(t *testing.T, which uint8, v float64) {
		c := curves[int(which)%len(curves)]
		for _, got := range []float64{c.Light(v), c.Signal(v), c.Slope(v)} {
			if math.IsInf(got, 0) {
				t.Fatalf("%s answers %g for %g", c, got, v)
			}
		}
		if !(v >= c.Light(0) && v <= c.Light(1)) {
			return
		}
		s := c.Signal(v)
		back := c.Light(s)
		if math.Abs(back-v) <= math.Max(1e-9*v, 1e-12) {
			return
		}
		// SRGB and Parametric jump where line and power meet: light in the gap
		// is no signal's, and has the signal at which the curve passes it.
		if below, above := c.Light(s*(1-1e-14)), c.Light(s*(1+1e-14)); !(below <= v && v <= above) {
			t.Fatalf("%s: light %.17g comes back as %.17g", c, v, back)
		}
	})
}

// FuzzHLGDisplay leads a colour's HLG signal to light and back.
func FuzzHLGDisplay(f *testing.F) {
	f.Add(0.5, 0.2, 0.9, 1000.0, 0.01)
	f.Add(0.0, 0.0, 1.0, 400.0, 0.0)
	f.Add(1.0, 1.0, 1.0, 4000.0, 0.5)
	f.Fuzz(func(t *testing.T, r, g, b, white, black float64) {
		for _, v := range []float64{r, g, b} {
			if !(v >= 0 && v <= 1) {
				return
			}
		}
		if !(white >= 50 && white <= 10000 && black >= 0 && black < white/10) {
			return
		}
		c := tone.HLG{WhiteCdM2: white, BlackCdM2: black}
		back := c.Encode(c.Display(colorimetry.RGB{R: r, G: g, B: b}))
		if math.Abs(back.R-r) > 1e-9 || math.Abs(back.G-g) > 1e-9 || math.Abs(back.B-b) > 1e-9 {
			t.Fatalf("%s: %g %g %g comes back as %v", c, r, g, b, back)
		}
	})
}

// FuzzGSDF leads an index to its luminance and back.
func FuzzGSDF(f *testing.F) {
	f.Add(1.0)
	f.Add(512.3)
	f.Add(1023.0)
	f.Fuzz(func(t *testing.T, index float64) {
		cdM2, ok := tone.GSDFLuminance(index)
		if ok != (index >= 1 && index <= 1023) {
			t.Fatalf("index %g: %v", index, ok)
		}
		if !ok {
			return
		}
		if back, ok := tone.GSDFIndex(cdM2); !ok || math.Abs(back-index) > 1e-9*index {
			t.Fatalf("index %.17g comes back as %.17g, %v", index, back, ok)
		}
	})
}

func TestNoAllocation(t *testing.T) {
	var sink float64
	for _, c := range closedForms() {
		if n := testing.AllocsPerRun(100, func() { sink += c.Light(0.3) + c.Signal(0.3) + c.Slope(0.3) }); n != 0 {
			t.Errorf("%s: %g allocations", c, n)
		}
	}
	hlg := tone.HLG{WhiteCdM2: 800}
	if n := testing.AllocsPerRun(100, func() {
		sink += hlg.Encode(hlg.Display(colorimetry.RGB{R: 0.2, G: 0.3, B: 0.4})).R
	}); n != 0 {
		t.Errorf("HLG colours: %g allocations", n)
	}
	if math.IsNaN(sink) {
		t.Error("a curve answers NaN")
	}
}

func BenchmarkCurves(b *testing.B) {
	for _, c := range closedForms() {
		b.Run(c.String(), func(b *testing.B) {
			b.ReportAllocs()
			var s float64
			for b.Loop() {
				for i := range 256 {
					s += c.Light(float64(i) / 255)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/256, "ns/signal")
			if math.IsNaN(s) {
				b.Fatal(s)
			}
		})
	}
}
