package curves_test

import (
	"context"
	"math"
	"math/rand/v2"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// panel is a small fake display whose channels disturb each other, with the
// instrument that looks at it. All of it is invented.
type panel struct {
	bits      int
	curves    tone.Channels
	black     colorimetry.XYZ
	crosstalk float64 // share of a channel's light that full light of the others takes away
	noise     measure.Noise
	seed      uint64
	shown     colorimetry.RGB
}

func (p *panel) Screen() measure.ScreenInfo {
	return measure.ScreenInfo{Name: "fake", Mode: "native", Bits: p.bits, WindowShare: 0.1}
}

func (p *panel) Show(_ context.Context, s colorimetry.RGB) error { p.shown = s; return nil }

func (p *panel) LoadCurves(_ context.Context, c tone.Channels) error { p.curves = c; return nil }

func (p *panel) Instrument() measure.InstrumentInfo {
	return measure.InstrumentInfo{Name: "fake", Noise: p.noise}
}

// primaries are the columns of IEC 61966-2-1, table 1, times 150 cd/m².
func primaries() colorimetry.Matrix {
	return colorimetry.Matrix{{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}.Scale(150)
}

// truth returns the light of a signal.
func (p *panel) truth(s colorimetry.RGB) colorimetry.XYZ {
	d := p.curves.Apply(s.Quantise(p.bits)).Quantise(p.bits)
	l := [3]float64{math.Pow(d.R, 2.3), math.Pow(d.G, 2.2), math.Pow(d.B, 2.1)}
	sum := l[0] + l[1] + l[2]
	for c := range l {
		l[c] *= 1 - p.crosstalk*(sum-l[c])/2
	}
	return p.black.Add(primaries().FromLinear(colorimetry.RGB{R: l[0], G: l[1], B: l[2]}))
}

func (p *panel) Measure(_ context.Context, r measure.Request) (measure.Sample, error) {
	rnd := rand.New(rand.NewPCG(p.seed, uint64(r.Reading)<<16|uint64(r.Repeat)))
	t := p.truth(p.shown)
	if s := t.X + t.Y + t.Z; s > 0 && p.noise.Luminance > 0 {
		c := t.Chromaticity()
		c.X += p.noise.Chromaticity * rnd.NormFloat64()
		c.Y += p.noise.Chromaticity * rnd.NormFloat64()
		t = c.XYZ(t.Y * (1 + p.noise.Luminance*rnd.NormFloat64()))
	}
	f := p.noise.FloorCdM2
	return measure.Sample{XYZ: t.Add(colorimetry.XYZ{X: f * rnd.NormFloat64(), Y: f * rnd.NormFloat64(), Z: f * rnd.NormFloat64()})}, nil
}
