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

// grays lists the greys of a pass, white last. The levels are even in the
// square root of the signal, which puts more of them in the dark, and each pass
// takes them from other places between the last one's, so that what is learned
// has no holes. Of a range below the floor, where colour cannot be had, only
// few are read.
func grays(o Options, pass int, floor float64) []request {
	top := float64(uint(1)<<uint(o.Bits)) - 1
	// The golden section's multiples never fall on each other.
	shift := math.Mod(0.5+float64(pass)*0.6180339887498949, 1)
	below := 0
	if floor > darkest {
		below = min(o.GrayLevels/6, o.GrayLevels-1)
	}
	list := make([]request, 0, o.GrayLevels+1)
	for i := range o.GrayLevels {
		var v float64
		if i < below {
			v = between(darkest, floor, (float64(i)+shift)/float64(below))
		} else {
			v = between(max(floor, darkest), 1, (float64(i-below)+shift)/float64(o.GrayLevels-below))
		}
		list = append(list, o.gray(fmt.Sprintf("pass-%d-gray-%02d", pass+1, i+1), math.Round(v*top)/top))
	}
	return append(list, request{patch: chart.Patch{ID: fmt.Sprintf("pass-%d-white", pass+1), Signal: colorimetry.Gray(1)}, averages: o.WhiteAverages})
}

// between returns the signal at the share t of the way from lo to hi, counted
// in square roots.
func between(lo, hi, t float64) float64 {
	r := math.Sqrt(lo) + t*(math.Sqrt(hi)-math.Sqrt(lo))
	return r * r
}

// firstComb is the first pass, counted from 0, that may read grey by grey: the
// two before it tell whether the display's tone is uneven.
const firstComb = 2

// list returns the greys of a pass: spread over the range or, in the later
// passes over a display whose tone is uneven from code to code, all those that
// this can turn and whose codes were not read together yet, since no grey then
// tells of its neighbours.
func (l *loop) list(pass int) []request {
	spread := grays(l.options, pass, l.wished.Floor)
	if !l.uneven() || pass < firstComb {
		return spread
	}
	var list []request
	for k := int(math.Ceil(math.Max(l.wished.Floor, darkest) * l.top)); k < int(l.top) && len(list) < mostTeeth; k++ {
		s := float64(k) / l.top
		if d := l.path.device(colorimetry.Gray(s)); !l.wasRead(d) && l.turns(d) {
			list = append(list, l.options.gray(fmt.Sprintf("pass-%d-code-%d", pass+1, k), s))
		}
	}
	if len(list) < l.options.GrayLevels {
		return append(list, spread...)
	}
	return append(list, spread[len(spread)-1])
}

// mostTeeth is the most greys that such a pass reads.
const mostTeeth = 300

// wasRead reports whether a reading of these very codes is in.
func (e *estimate) wasRead(d colorimetry.RGB) bool {
	for _, o := range e.seen {
		if (colorimetry.RGB{R: o.at[0].device, G: o.at[1].device, B: o.at[2].device}) == d {
			return true
		}
	}
	return false
}

// uneven reports whether the readings say that the display's tone is uneven
// from code to code or has jumps.
func (e *estimate) uneven() bool { return e.hyper.fine > 0 || e.hyper.grain > 0 }

// turns reports whether the unevenness of a channel's tone can turn the grey of
// a device signal by more than 0.0004 in u'v'.
func (l *loop) turns(d colorimetry.RGB) bool {
	at := l.places(d)
	a := [3]float64{at[0].light, at[1].light, at[2].light}
	uv := l.space.xyz(a).UV()
	for c, p := range at {
		b := a
		b[c] += math.Hypot(l.hyper.fine, l.hyper.grain) * p.step
		if l.space.xyz(b).UV().Distance(uv) > 0.0004 {
			return true
		}
	}
	return false
}

// gray returns the request of a grey through curves, read until its colour is
// as sure as wanted.
func (o Options) gray(id string, signal float64) request {
	return request{
		patch:     chart.Patch{ID: id, Signal: colorimetry.Gray(signal)},
		precision: measure.Precision{UV: o.GrayUncertainty, Least: o.Averages, Most: o.MostAverages},
	}
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
		list = append(list, request{patch: chart.Patch{ID: fmt.Sprintf("comb-%03.0f", v*1000), Signal: colorimetry.Gray(v)}, averages: o.Averages})
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
func (e *estimate) pass(ctx context.Context, s *measure.Session, p path, list []request, what string, progress func(measure.Progress)) ([]measure.Reading, error) {
	if err := s.LoadCurves(ctx, p.curves); err != nil {
		return nil, fmt.Errorf("curves: loading: %w", err)
	}
	readings, err := read(ctx, s, list, what, progress)
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
