package report

import (
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// Spread returns the standard deviations that the covariance of a reading
// makes, to first order: that of u' and of v' (their root mean square) and that
// of the luminance in cd/m². They are 0 where the reading states no noise, and
// the first is 0 for a reading without light.
//
// Source: Gardner, NMI TR 8 (2005), propagation from tristimulus values.
func Spread(r measure.Reading) (uv, luminanceCdM2 float64) {
	return r.SpreadUV() / math.Sqrt2, math.Sqrt(math.Max(0, r.Covariance[1][1]))
}

// Greys returns the neutrals among the readings, by rising signal, beside what
// the aim asks for (absolute XYZ, cd/m²) and beside what was found before. A
// signal that was read twice counts once, the later reading. found may be nil.
func Greys(want verify.Predict, readings, found []measure.Reading, floorSignal float64) []Grey {
	before := neutrals(found)
	var greys []Grey
	for signal, r := range neutrals(readings) {
		w := want(r.Patch.Signal)
		g := Grey{Signal: signal, WantCdM2: w.Y, GotCdM2: r.XYZ.Y, DeltaUV: distance(r.XYZ, w), BelowFloor: signal < floorSignal}
		uv, y := Spread(r)
		if g.SpreadUV = uv; g.GotCdM2 > 0 {
			g.SpreadShare = y / g.GotCdM2
		}
		if b, ok := before[signal]; ok {
			g.FoundCdM2, g.FoundDelta = b.XYZ.Y, distance(b.XYZ, w)
		}
		greys = append(greys, g)
	}
	slices.SortFunc(greys, func(a, b Grey) int {
		if a.Signal < b.Signal {
			return -1
		}
		return 1
	})
	return greys
}

// distance returns the distance of two colours in u'v', 0 where one has no
// light and so no chromaticity.
func distance(a, b colorimetry.XYZ) float64 {
	if !(a.Y > 0 && b.Y > 0) {
		return 0
	}
	return a.UV().Distance(b.UV())
}

func neutrals(readings []measure.Reading) map[float64]measure.Reading {
	m := map[float64]measure.Reading{}
	for _, r := range readings {
		if s := r.Patch.Signal; s.R == s.G && s.G == s.B {
			m[s.R] = r
		}
	}
	return m
}

// Trace returns the readings of a warm-up as a trace: minutes since the first
// and the distance in u'v' from the last.
func Trace(readings []measure.Reading) []WarmUpStep {
	if len(readings) == 0 {
		return nil
	}
	first, end := readings[0].Time, readings[len(readings)-1].XYZ.UV()
	var trace []WarmUpStep
	for _, r := range readings {
		trace = append(trace, WarmUpStep{Minutes: r.Time.Sub(first).Minutes(), LuminanceCdM2: r.XYZ.Y, DeltaUV: r.XYZ.UV().Distance(end)})
	}
	return trace
}

// States of the display that a Primary was read in.
const (
	AsFound    = "as found"
	WithCurves = "with curves"
)

// PrimariesOf returns the full-signal primaries and the white among the
// readings, when being AsFound or WithCurves. Of several the last counts.
func PrimariesOf(when string, readings []measure.Reading) []Primary {
	var out []Primary
	for _, p := range [...]struct {
		name   string
		signal colorimetry.RGB
	}{{"red", colorimetry.RGB{R: 1}}, {"green", colorimetry.RGB{G: 1}}, {"blue", colorimetry.RGB{B: 1}}, {"white", colorimetry.Gray(1)}} {
		for _, r := range slices.Backward(readings) {
			if r.Patch.Signal == p.signal {
				c := r.XYZ.Chromaticity()
				out = append(out, Primary{Name: p.name, When: when, X: c.X, Y: c.Y, LuminanceCdM2: r.XYZ.Y})
				break
			}
		}
	}
	return out
}
