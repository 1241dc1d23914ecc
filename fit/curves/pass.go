package curves

import (
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// grays lists the greys of a pass, white last. The levels are even in a power
// of the signal that puts more of them in the dark, and each pass takes them
// from other places between the last one's, so that what is learned has no
// holes.
func grays(o Options, bits, pass int) []request {
	top := float64(uint(1)<<uint(bits)) - 1
	// The golden section's multiples never fall on each other.
	shift := math.Mod(0.5+float64(pass)*0.6180339887498949, 1)
	list := make([]request, 0, o.GrayLevels+1)
	for i := range o.GrayLevels {
		t := (float64(i) + shift) / float64(o.GrayLevels)
		v := math.Round((darkest+(1-darkest)*math.Pow(t, 1.4))*top) / top
		list = append(list, request{chart.Patch{ID: fmt.Sprintf("pass-%d-gray-%02d", pass+1, i+1), Signal: colorimetry.Gray(v)}, darkAverages(v, o.Averages)})
	}
	return append(list, request{chart.Patch{ID: fmt.Sprintf("pass-%d-white", pass+1), Signal: colorimetry.Gray(1)}, o.WhiteAverages})
}

// comb lists neighbouring greys, one an entry of the curves, where a jump of
// the display's tone is large against the limit and the path still fine enough
// to hold it: of such a display a few greys far apart tell nothing about those
// between them. They are read from dark to light, without jumps of their own.
func comb(o Options, floor float64) []request {
	const from, to, step = 0.08, 0.35, 1.0 / 255
	top := float64(uint(1)<<uint(o.Bits)) - 1
	var list []request
	for s := to; s >= math.Max(from, floor); s -= step {
		v := math.Round(s*top) / top
		list = append(list, request{chart.Patch{ID: fmt.Sprintf("comb-%03.0f", v*1000), Signal: colorimetry.Gray(v)}, o.Averages})
	}
	slices.Reverse(list)
	return list
}

// darkest is the lowest grey that is read through curves: below it the light
// of most displays is less than the noise of a reading.
const darkest = 0.04

// path is what a grey signal goes through.
type path struct {
	curves tone.Channels
	bits   int
}

// device returns the device signal that a signal ends up as.
func (p path) device(signal colorimetry.RGB) colorimetry.RGB {
	return p.curves.Apply(signal.Quantise(p.bits)).Quantise(p.bits)
}

// pass loads curves, reads the greys of list through them, and adds what it
// reads to the estimate.
func (e *estimate) pass(ctx context.Context, s *measure.Session, p path, list []request) ([]measure.Reading, error) {
	if err := s.LoadCurves(ctx, p.curves); err != nil {
		return nil, fmt.Errorf("curves: loading: %w", err)
	}
	readings, err := read(ctx, s, list)
	if err != nil {
		return nil, err
	}
	for _, r := range readings {
		e.add(p.device(r.Patch.Signal), r)
	}
	return readings, nil
}

// record sums up a pass against the wish that its curves followed.
func record(p path, w wish, readings []measure.Reading) Pass {
	out := Pass{Curves: p.curves.Digest()}
	var uv, uvNoise, y, yNoise, n float64
	for _, r := range readings {
		s := r.Patch.Signal.R
		want := w.aim.TargetOf(s, w.black, w.white)
		d := r.XYZ.UV().Distance(want.UV())
		sd := uvNoiseOf(r.XYZ, r.Covariance)
		rel, relNoise := r.XYZ.Y/want.Y-1, math.Sqrt(math.Max(r.Covariance[1][1], 0))/want.Y
		if s == 1 {
			out.WhiteDeltaUV, out.WhiteNoise = d, sd
			out.Luminance, out.LuminanceNoise = r.XYZ.Y, relNoise*want.Y
			continue
		}
		if s < w.Floor {
			continue
		}
		uv, uvNoise, y, yNoise, n = uv+d*d, uvNoise+sd*sd, y+rel*rel, yNoise+relNoise*relNoise, n+1
	}
	if n > 0 {
		out.GrayDeltaUV, out.GrayNoise = math.Sqrt(uv/n), math.Sqrt(uvNoise/n)
		out.GrayLuminance, out.GrayLuminanceNoise = math.Sqrt(y/n), math.Sqrt(yNoise/n)
	}
	return out
}

// uvNoiseOf returns the standard uncertainty of the u'v' of c, as root of the
// sum of the variances of u' and v'.
func uvNoiseOf(c colorimetry.XYZ, v colorimetry.Matrix) float64 {
	return measure.Reading{XYZ: c, Covariance: v}.SpreadUV()
}
