package fit

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// AdditiveModel is the additive model with sampled curves: black, primaries,
// and for each channel a smooth curve that never falls. It is immutable and
// safe for concurrent use.
type AdditiveModel struct {
	base
	shapes [3]shape
	curves [3]tone.Sampled
	zones  []float64 // weight of the roughness of each zone
}

// shape is the curve of one channel as the fit sees it: a power curve, small
// changes of its two parameters, and a spline whose unit is made even along the
// curve. Relative errors of dark light and absolute errors of bright light do
// not weigh alike: the step of lightness lies between.
type shape struct{ power offsetCurve }

// step returns what one unit of the spline changes the light by.
func (s shape) step(light float64) float64 { return math.Cbrt((light + 0.01) * (light + 0.01)) }

// sample returns power curve and scaled basis at signal d.
func (s shape) sample(d float64) (float64, basis) {
	t, byGamma, byOffset := s.power.byParameters(d)
	b := basisAt(warp(d))
	w := s.step(t)
	for k := range b.n {
		b.value[k] *= w
	}
	b.add(free, byGamma)
	b.add(free+1, byOffset)
	return t, b
}

// at returns the light at signal d with the channel's coefficients.
func (s shape) at(d float64, coef []float64) float64 {
	t, b := s.sample(d)
	for k := range b.n {
		t += b.value[k] * coef[b.index[k]]
	}
	return t
}

// Additive fits the additive model to absolute readings; the package comment
// says how. It needs no particular set of patches, but each channel's curve is
// only as good as the readings along it.
//
// At least eight readings are needed, among them dark and bright ones of all
// three channels. Each weighs by its covariance, o.Noise standing in where it
// has none. The error says which reading is unusable, or that the readings do
// not determine the model.
//
// Sources of the method: Day, Taplin and Berns, Color Res. Appl. 29 (2004)
// 365-373 (curves rebuilt while a 3×4 matrix is fitted); Eilers and Marx, Stat.
// Sci. 11 (1996) 89-121 (splines with difference penalties); Wood and Fasiolo,
// Biometrics 73 (2017) 1071-1081 (the smoothing weights).
func Additive(readings []measure.Reading, o Options) (*AdditiveModel, error) {
	obs, err := observe(readings, o)
	if err != nil {
		return nil, err
	}
	start, err := fitPower(obs, nil)
	if err == nil {
		var m *AdditiveModel
		if m, err = fitAdditive(obs, start); err == nil {
			return m, nil
		}
	}
	return nil, fmt.Errorf("fit: additive model: %w", err)
}

// sampled is one observation's place in the three curves.
type sampled struct {
	light [3]float64
	basis [3]basis
}

// fitAdditive fits the additive model, beginning with a power model.
func fitAdditive(obs []observation, start *PowerModel) (*AdditiveModel, error) {
	m := &AdditiveModel{}
	for c := range 3 {
		m.shapes[c] = shape{start.curves[c]}
	}
	p := m.problem(obs)
	copy(p.theta, start.theta[:atCurves])
	return m.fit(p, nil)
}

// again fits the model to other readings of the same display, as smooth as it
// is.
func (m *AdditiveModel) again(obs []observation) (*AdditiveModel, error) {
	n := &AdditiveModel{shapes: m.shapes}
	p := n.problem(obs)
	for i, v := range m.theta {
		p.theta[i] = math.Min(math.Max(v, p.lower[i]), p.upper[i])
	}
	return n.fit(p, m.zones)
}

// problem returns the problem of a model whose shapes are set, not begun.
func (m *AdditiveModel) problem(obs []observation) *problem {
	places := make([]sampled, len(obs))
	for c := range 3 {
		for i := range obs {
			places[i].light[c], places[i].basis[c] = m.shapes[c].sample(obs[i].signal[c])
		}
	}
	p := newProblem(obs, atCurves+3*perChannel)
	p.predict = func(theta []float64, i int, g *gradient) [3]float64 {
		return predictAdditive(theta, &places[i], g)
	}
	p.boundBlack()
	return p
}

// fit solves the problem. Where zones is given it holds the smoothing weights;
// otherwise they are found.
func (m *AdditiveModel) fit(p *problem, zones []float64) (*AdditiveModel, error) {
	s := newSmoother(m.shapes, zones)
	s.apply(p)
	if err := s.run(p, zones == nil); err != nil {
		return nil, err
	}
	cov, err := p.covariance()
	if err != nil {
		return nil, err
	}
	m.zones = s.weights
	m.base = newBase(p, cov)
	for c := range 3 {
		if m.curves[c], err = m.sampleCurve(c); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// predictAdditive is K + Σ P_c·t_c with its derivatives.
func predictAdditive(theta []float64, at *sampled, g *gradient) [3]float64 {
	v := [3]float64{theta[0], theta[1], theta[2]}
	g.add(0, 1, 0, 0)
	g.add(1, 0, 1, 0)
	g.add(2, 0, 0, 1)
	for c := range 3 {
		pr, cv := atPrimaries+3*c, atCurves+perChannel*c
		t, b := at.light[c], &at.basis[c]
		for k := range b.n {
			t += b.value[k] * theta[cv+b.index[k]]
		}
		x, y, z := theta[pr], theta[pr+1], theta[pr+2]
		v[0], v[1], v[2] = v[0]+t*x, v[1]+t*y, v[2]+t*z
		if t != 0 {
			g.add(pr, t, 0, 0)
			g.add(pr+1, 0, t, 0)
			g.add(pr+2, 0, 0, t)
		}
		for k := range b.n {
			w := b.value[k]
			g.add(cv+b.index[k], w*x, w*y, w*z)
		}
	}
	return v
}

// curvePoints is the number of steps that a fitted curve is sampled in: fine
// enough that the cubic between two of them misses less than 1e-7 of the
// light.
const curvePoints = 2048

// sampleCurve returns the curve of a channel, made never to fall where the fit
// left a last trace of that.
func (m *AdditiveModel) sampleCurve(c int) (tone.Sampled, error) {
	signal, light := make([]float64, curvePoints+1), make([]float64, curvePoints+1)
	var top float64
	for i := range signal {
		signal[i] = float64(i) / curvePoints
		t := m.shapes[c].at(signal[i], m.theta[atCurves+perChannel*c:])
		top = math.Max(top, math.Min(t, 1))
		light[i] = top
	}
	light[0], light[curvePoints] = 0, 1
	return tone.NewSampled(signal, light)
}

// Name implements Model.
func (m *AdditiveModel) Name() string { return AdditiveName }

// Curve implements Separable.
func (m *AdditiveModel) Curve(channel int) tone.Curve { return m.curves[channel] }

// XYZ implements Model.
func (m *AdditiveModel) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	return m.at(m.curves[0].Light(s.R), m.curves[1].Light(s.G), m.curves[2].Light(s.B))
}

// Jacobian implements Model.
func (m *AdditiveModel) Jacobian(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	return m.slopes(m.curves[0].Slope(s.R), m.curves[1].Slope(s.G), m.curves[2].Slope(s.B))
}

// Covariance implements Model.
func (m *AdditiveModel) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	var g gradient
	m.gradient(s.Clamp(), &g)
	return m.spread(&g).Add(m.missed(m.XYZ(s)))
}
