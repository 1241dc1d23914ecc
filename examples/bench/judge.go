package main

import (
	"context"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/fit"
)

// figures are those of a model on a region: how far it is from the truth on Count
// colours, and how often truth and new readings lie where it says.
type figures struct {
	Count  int     `json:"count"`
	Mean   float64 `json:"mean_dE00"`
	P95    float64 `json:"p95_dE00"`
	Max    float64 `json:"max_dE00"`
	MeanAB float64 `json:"mean_dEab"`
	P95AB  float64 `json:"p95_dEab"`
	MaxAB  float64 `json:"max_dEab"`
	// Shares within the limits of 95 %: of components X, Y, Z and of colours as a
	// whole.
	TruthComponents   float64 `json:"truth_components"`
	TruthJointly      float64 `json:"truth_jointly"`
	ReadingComponents float64 `json:"reading_components"`
	ReadingJointly    float64 `json:"reading_jointly"`
}

// fields are the numbers of f but its count, in the order of the columns of a
// table.
func (f *figures) fields() []*float64 {
	return []*float64{&f.Mean, &f.P95, &f.Max, &f.MeanAB, &f.P95AB, &f.MaxAB,
		&f.TruthComponents, &f.TruthJointly, &f.ReadingComponents, &f.ReadingJointly}
}

// predicted returns what a model says of a region.
func (g *ground) predicted(model func(colorimetry.RGB) colorimetry.XYZ, region int) []colorimetry.XYZ {
	out := make([]colorimetry.XYZ, len(g.colours[region]))
	for i, c := range g.colours[region] {
		out[i] = model(c.signal)
	}
	return out
}

// errors returns how far what was predicted of a region is from the truth.
func (g *ground) errors(predicted []colorimetry.XYZ, region int) figures {
	de, ab := make([]float64, len(predicted)), make([]float64, len(predicted))
	for i, c := range g.colours[region] {
		got := predicted[i].Lab(g.white)
		de[i], ab[i] = difference.CIEDE2000(c.lab, got), difference.AB(c.lab, got)
	}
	f := figures{Count: len(predicted)}
	f.Mean, f.P95, f.Max = summary(de)
	f.MeanAB, f.P95AB, f.MaxAB = summary(ab)
	return f
}

// summary returns the mean of v, the value that 95 % do not exceed, and the
// largest. It sorts v.
func summary(v []float64) (mean, p95, most float64) {
	slices.Sort(v)
	for _, x := range v {
		mean += x / float64(len(v))
	}
	return mean, v[int(math.Ceil(0.95*float64(len(v))))-1], v[len(v)-1]
}

// Limits of 95 %: of a normal deviate, and of the chi-squared distribution of
// three degrees of freedom.
const (
	deviations = 1.959964
	chiSquared = 7.814728
)

// every is which part of a region's colours limits are judged on: a model may need
// far longer for a covariance than for a colour.
const every = 4

// judge returns the figures of a model on all regions. fresh are new readings of
// every colour that limits are judged on, one integration each.
func (g *ground) judge(m fit.Model, fresh *[regions][]colorimetry.XYZ) (out [regions]figures) {
	for r := range out {
		predicted := g.predicted(m.XYZ, r)
		f := g.errors(predicted, r)
		one := 1 / float64(len(fresh[r]))
		for k, read := range fresh[r] {
			c, got := g.colours[r][k*every], predicted[k*every]
			cov := m.Covariance(c.signal)
			parts, whole := within(got.Sub(c.truth), cov)
			f.TruthComponents, f.TruthJointly = f.TruthComponents+parts*one, f.TruthJointly+whole*one
			parts, whole = within(got.Sub(read), cov.Add(noise.Covariance(got, 1)))
			f.ReadingComponents, f.ReadingJointly = f.ReadingComponents+parts*one, f.ReadingJointly+whole*one
		}
		out[r] = f
	}
	return out
}

// within returns the share of the components of an error that lie within 95 % of
// their covariance, and 1 or 0 for the error as a whole. A covariance that is
// singular holds no error as a whole.
func within(e colorimetry.XYZ, cov colorimetry.Matrix) (parts, whole float64) {
	for k, d := range [3]float64{e.X, e.Y, e.Z} {
		if math.Abs(d) <= deviations*math.Sqrt(math.Max(cov[k][k], 0)) {
			parts += 1.0 / 3
		}
	}
	inverse, err := cov.Inverse()
	if err != nil {
		return parts, 0
	}
	q := inverse.Apply(e)
	if e.X*q.X+e.Y*q.Y+e.Z*q.Z <= chiSquared {
		whole = 1
	}
	return parts, whole
}

// eye is the instrument: it sees as the standard observer does, with noise.
type eye struct {
	ctx     context.Context
	display *simulate.Display
	meter   measure.Instrument
	reading int // its next
}

func look(ctx context.Context, d *simulate.Display, first int) *eye {
	return &eye{ctx, d, d.Spectroradiometer(), first}
}

// at returns the integrations of a signal.
func (e *eye) at(s colorimetry.RGB, integrations int) ([]colorimetry.XYZ, error) {
	if err := e.display.Show(e.ctx, s); err != nil {
		return nil, err
	}
	out := make([]colorimetry.XYZ, integrations)
	for i := range out {
		sample, err := e.meter.Measure(e.ctx, measure.Request{Reading: e.reading, Repeat: i})
		if err != nil {
			return nil, err
		}
		out[i] = sample.XYZ
	}
	e.reading++
	return out, nil
}

// freshFrom is the index of the first reading that no set reaches.
const freshFrom = 1 << 20

// fresh returns new readings of every colour that limits are judged on, one
// integration each.
func (g *ground) fresh(ctx context.Context, d *simulate.Display) (*[regions][]colorimetry.XYZ, error) {
	var out [regions][]colorimetry.XYZ
	e := look(ctx, d, freshFrom)
	for r, list := range g.colours {
		for i := 0; i < len(list); i += every {
			v, err := e.at(list[i].signal, 1)
			if err != nil {
				return nil, err
			}
			out[r] = append(out[r], v[0])
		}
	}
	return &out, nil
}
