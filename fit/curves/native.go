package curves

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
)

// request is a patch with the number of its integrations, or with the
// precision that they are to reach.
type request struct {
	patch     chart.Patch
	averages  int
	precision measure.Precision
}

// asFound lists what is read of the display as it is: white and black with
// many averages, greys, and each channel alone. Ramps go up and down by turns,
// which spreads a drift and spares the eyes.
func asFound(o Options, bits int) []request {
	top := float64(uint(1)<<uint(bits)) - 1
	level := func(v float64) float64 { return math.Round(v*top) / top }
	list := []request{
		{patch: chart.Patch{ID: "found-white", Signal: colorimetry.Gray(1)}, averages: o.WhiteAverages},
		{patch: chart.Patch{ID: "found-black", Signal: colorimetry.Gray(0)}, averages: o.WhiteAverages},
	}
	for i := 1; i < o.NeutralLevels; i++ {
		v := level(float64(i) / float64(o.NeutralLevels-1))
		list = append(list, request{patch: chart.Patch{ID: fmt.Sprintf("found-gray-%02d", i), Signal: colorimetry.Gray(v)}, averages: darkAverages(v, o.Averages)})
	}
	for c, name := range channelNames {
		for i := 1; i < o.ChannelLevels; i++ {
			j := i
			if c != 1 {
				j = o.ChannelLevels - i
			}
			v := level(float64(j) / float64(o.ChannelLevels-1))
			s := [3]float64{}
			s[c] = v
			list = append(list, request{patch: chart.Patch{ID: fmt.Sprintf("found-%s-%02d", name, j), Signal: colorimetry.RGB{R: s[0], G: s[1], B: s[2]}}, averages: darkAverages(v, o.Averages)})
		}
	}
	return list
}

// darkAverages is the number of integrations of a patch: up to six times the
// usual below a third of the signal, where additive noise outgrows the part
// that follows the light.
func darkAverages(signal float64, usual int) int {
	return int(math.Ceil(float64(usual) * math.Min(math.Max(0.3/math.Max(signal, 1e-3), 1), 6)))
}

// read takes the readings of a list, and tells progress how far what it is has
// come.
func read(ctx context.Context, s *measure.Session, list []request, what string, progress func(measure.Progress)) ([]measure.Reading, error) {
	out := make([]measure.Reading, 0, len(list))
	var pace []time.Time // of what was not in the journal already
	// What is read until it is sure takes the longer the darker it is, so that the
	// readings so far do not tell of those to come.
	even := !slices.ContainsFunc(list, func(q request) bool { return q.precision.UV > 0 })
	for i, q := range list {
		p := measure.Progress{Stage: measure.StageCurves, Text: what, Done: i + 1, Total: len(list), Replayed: s.Replaying()}
		r, err := s.Read(ctx, measure.ReadRequest{Stage: measure.StageCurves, Patch: q.patch, Averages: q.averages, Precision: q.precision})
		if err != nil {
			return nil, fmt.Errorf("curves: reading %s: %w", q.patch.ID, err)
		}
		out = append(out, r)
		if !p.Replayed {
			pace = append(pace, r.Time)
		}
		if n := len(pace) - 1; even && n > 0 {
			p.Left = r.Time.Sub(pace[0]) / time.Duration(n) * time.Duration(len(list)-i-1)
		}
		if progress != nil {
			progress(p)
		}
	}
	return out, nil
}

// found reads the display as it is and returns the estimate to start from.
func found(ctx context.Context, s *measure.Session, o Options) (*estimate, error) {
	if err := s.LoadCurves(ctx, tone.Channels{}); err != nil {
		return nil, fmt.Errorf("curves: taking the old curves away: %w", err)
	}
	readings, err := read(ctx, s, asFound(o, o.Bits), "as found", o.Progress)
	if err != nil {
		return nil, err
	}
	m, err := fit.Additive(readings, fit.Options{Noise: s.Instrument().Noise})
	if err != nil {
		return nil, fmt.Errorf("curves: the display as found: %w", err)
	}
	e, err := newEstimate(m, o.Bits)
	if err != nil {
		return nil, err
	}
	e.lightWeight = o.LuminanceWeight
	e.adopt(readings)
	return e, nil
}

// adopt takes in the greys as found where the model misses them by more than
// their noise, as it does on displays whose channels disturb each other: they
// lie near the way of the greys through curves, and tell there what the
// channels' own ramps do not. Where the model fits they have said all they
// know already, and must not say it twice.
func (e *estimate) adopt(readings []measure.Reading) {
	var grays []measure.Reading
	var chi float64
	for _, r := range readings {
		s := r.Patch.Signal
		if s.R != s.G || s.G != s.B || s.R == 0 {
			continue
		}
		grays = append(grays, r)
		miss := r.XYZ.Y - e.model.XYZ(s).Y
		chi += miss * miss / math.Max(r.Covariance[1][1], 1e-12)
	}
	// On a model that fits, chi is about the number of greys, give or take the
	// root of twice that.
	if n := float64(len(grays)); chi < n+5*math.Sqrt(2*n) {
		return
	}
	for _, r := range grays {
		e.add(r.Patch.Signal, r)
	}
	e.learn()
}
