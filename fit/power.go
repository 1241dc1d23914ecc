package fit

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/internal/linear"

	"gonum.org/v1/gonum/mat"
)

// Places of the parameters that both models share: black, then the columns of
// the primaries. What describes the curves follows.
const (
	atBlack     = 0
	atPrimaries = 3
	atCurves    = 12
)

// Bounds of the power curves.
const (
	leastGamma, mostGamma   = 0.3, 8.0
	leastOffset, mostOffset = -0.6, 0.3
	// A weak pull towards an ordinary curve decides where readings are few: the
	// power is expected within 1 of 2.2 and the offset within 0.3 of 0.
	pullGamma, pullOffset = 1.0, 10.0
)

// offsetCurve is the curve of one channel of the gain-offset-gamma model,
//
//	f(d) = max(0, (1−o)·d + o)^γ,  t(d) = (f(d) − f(0)) / (1 − f(0)):
//
// below 0 the offset o is a dead zone, above it light that the channel always
// leaks, which the model's black holds.
type offsetCurve struct{ gamma, offset float64 }

func (c offsetCurve) raw(d float64) float64 {
	v := (1-c.offset)*d + c.offset
	if v <= 0 {
		return 0
	}
	return math.Pow(v, c.gamma)
}

// Light implements tone.Curve.
func (c offsetCurve) Light(d float64) float64 {
	d = math.Min(math.Max(d, 0), 1)
	f0 := c.raw(0)
	return (c.raw(d) - f0) / (1 - f0)
}

// Signal implements tone.Curve.
func (c offsetCurve) Signal(light float64) float64 {
	if light <= 0 {
		return 0
	}
	f0 := c.raw(0)
	v := math.Pow(light*(1-f0)+f0, 1/c.gamma)
	return math.Min(math.Max((v-c.offset)/(1-c.offset), 0), 1)
}

// Slope implements tone.Curve.
func (c offsetCurve) Slope(d float64) float64 {
	if !(d >= 0 && d <= 1) {
		return 0
	}
	v := (1-c.offset)*d + c.offset
	if v <= 0 {
		return 0
	}
	return c.gamma * math.Pow(v, c.gamma-1) * (1 - c.offset) / (1 - c.raw(0))
}

// String implements tone.Curve.
func (c offsetCurve) String() string {
	return fmt.Sprintf("offset %.6g, power %.6g", c.offset, c.gamma)
}

// byParameters returns the light at d and its derivatives by gamma and offset.
func (c offsetCurve) byParameters(d float64) (t, byGamma, byOffset float64) {
	part := func(d float64) (f, g, o float64) {
		v := (1-c.offset)*d + c.offset
		if v <= 0 {
			return 0, 0, 0
		}
		f = math.Pow(v, c.gamma)
		return f, f * math.Log(v), c.gamma * math.Pow(v, c.gamma-1) * (1 - d)
	}
	f, fg, fo := part(d)
	z, zg, zo := part(0)
	k := 1 / (1 - z)
	t = (f - z) * k
	return t, (fg - zg + t*zg) * k, (fo - zo + t*zo) * k
}

// PowerModel is the gain-offset-gamma model: black, primaries, and a power of
// an offset signal for each channel. It is immutable and safe for concurrent
// use.
type PowerModel struct {
	base
	curves [3]offsetCurve
}

// GainOffsetGamma fits the gain-offset-gamma model to absolute readings: each
// channel's light is a power of a scaled and shifted signal. It needs few
// readings and suits cathode-ray tubes; most panels have tones of another
// shape.
//
// At least eight readings are needed, among them dark and bright ones of all
// three channels. Each weighs by its covariance, o.Noise standing in where it
// has none; readings far off lose weight. The error says which reading is
// unusable, or that the readings do not determine the model.
//
// Source of the model: Berns, Displays 16 (1996) 173-182.
func GainOffsetGamma(readings []measure.Reading, o Options) (*PowerModel, error) {
	obs, err := observe(readings, o)
	if err != nil {
		return nil, err
	}
	m, err := fitPower(obs, nil)
	if err != nil {
		return nil, fmt.Errorf("fit: gain-offset-gamma: %w", err)
	}
	return m, nil
}

// fitPower fits the power model, beginning with an earlier one where there is
// one.
func fitPower(obs []observation, earlier *PowerModel) (*PowerModel, error) {
	p := powerProblem(obs)
	if earlier != nil {
		for i, v := range earlier.theta {
			p.theta[i] = math.Min(math.Max(v, p.lower[i]), p.upper[i])
		}
	} else if err := startPower(p); err != nil {
		return nil, err
	}
	p.reweigh()
	for round := range 60 {
		gain, err := p.step()
		if err != nil {
			return nil, err
		}
		p.reweigh()
		if round > 4 && gain < 1e-9 {
			break
		}
	}
	cov, err := p.covariance()
	if err != nil {
		return nil, err
	}
	m := &PowerModel{curves: powerCurves(p.theta)}
	m.base = newBase(p, cov)
	return m, nil
}

func powerCurves(theta []float64) [3]offsetCurve {
	var c [3]offsetCurve
	for i := range 3 {
		c[i] = offsetCurve{theta[atCurves+2*i], theta[atCurves+2*i+1]}
	}
	return c
}

// powerProblem returns the problem with its bounds, not begun.
func powerProblem(obs []observation) *problem {
	p := newProblem(obs, atCurves+6)
	p.predict = func(theta []float64, i int, g *gradient) [3]float64 {
		return predictPower(theta, obs[i].signal, g)
	}
	p.boundBlack()
	for c := range 3 {
		p.lower[atCurves+2*c], p.upper[atCurves+2*c] = leastGamma, mostGamma
		p.lower[atCurves+2*c+1], p.upper[atCurves+2*c+1] = leastOffset, mostOffset
		p.rows = append(p.rows,
			row{index: []int{atCurves + 2*c}, coef: []float64{1}, target: 2.2, weight: pullGamma},
			row{index: []int{atCurves + 2*c + 1}, coef: []float64{1}, weight: pullOffset})
	}
	return p
}

// startPower sets the parameters to the best of a few shared powers, with
// black and primaries solved for.
func startPower(p *problem) error {
	least := math.Inf(1)
	for gamma := 1.0; gamma < 3.6; gamma += 0.3 {
		theta, err := linearStart(p.obs, func(d float64) float64 { return math.Pow(d, gamma) })
		if err != nil {
			return err
		}
		for range 3 {
			theta = append(theta, gamma, 0)
		}
		for i := range theta {
			theta[i] = math.Min(math.Max(theta[i], p.lower[i]), p.upper[i])
		}
		if l := p.loss(theta); l < least {
			least = l
			copy(p.theta, theta)
		}
	}
	return nil
}

// predictPower is K + Σ P_c·t_c with its derivatives.
func predictPower(theta []float64, signal [3]float64, g *gradient) [3]float64 {
	v := [3]float64{theta[0], theta[1], theta[2]}
	g.add(0, 1, 0, 0)
	g.add(1, 0, 1, 0)
	g.add(2, 0, 0, 1)
	for c := range 3 {
		at, cv := atPrimaries+3*c, atCurves+2*c
		t, byGamma, byOffset := offsetCurve{theta[cv], theta[cv+1]}.byParameters(signal[c])
		x, y, z := theta[at], theta[at+1], theta[at+2]
		v[0], v[1], v[2] = v[0]+t*x, v[1]+t*y, v[2]+t*z
		if t != 0 {
			g.add(at, t, 0, 0)
			g.add(at+1, 0, t, 0)
			g.add(at+2, 0, 0, t)
		}
		g.add(cv, byGamma*x, byGamma*y, byGamma*z)
		g.add(cv+1, byOffset*x, byOffset*y, byOffset*z)
	}
	return v
}

// boundBlack limits the black to what light can be: not below 0, and not above
// the darkest reading by more than its noise could explain (5 standard
// deviations).
func (p *problem) boundBlack() {
	for j := range 3 {
		p.lower[atBlack+j] = 0
		for i := range p.obs {
			ob := &p.obs[i]
			if top := ob.xyz[j] + 5*ob.deviation(j); top < p.upper[atBlack+j] {
				p.upper[atBlack+j] = math.Max(top, 0)
			}
		}
	}
}

// linearStart solves for black and primaries when all channels share a curve.
func linearStart(obs []observation, curve func(float64) float64) ([]float64, error) {
	n := atCurves
	a, b := make([]float64, n*n), make([]float64, n)
	for i := range obs {
		ob := &obs[i]
		y := ob.whitened(ob.xyz)
		var cols [12][3]float64
		for j := range 3 {
			var e [3]float64
			e[j] = 1
			cols[j] = ob.whitened(e)
		}
		for c := range 3 {
			t := curve(ob.signal[c])
			for j := range 3 {
				for k := range 3 {
					cols[atPrimaries+3*c+j][k] = t * cols[j][k]
				}
			}
		}
		for r := range n {
			b[r] += dot(cols[r], y)
			for s := range n {
				a[r*n+s] += dot(cols[r], cols[s])
			}
		}
	}
	var factor mat.Cholesky
	if !factor.Factorize(mat.NewSymDense(n, a)) || factor.Cond() > 1e14 {
		return nil, errUnsolved
	}
	out := mat.NewVecDense(n, nil)
	if err := factor.SolveVecTo(out, mat.NewVecDense(n, b)); linear.Unusable(err) {
		return nil, errUnsolved
	}
	return append([]float64(nil), out.RawVector().Data...), nil
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// Name implements Model.
func (m *PowerModel) Name() string { return GainOffsetGammaName }

// Curve implements Separable.
func (m *PowerModel) Curve(channel int) tone.Curve { return m.curves[channel] }

// XYZ implements Model.
func (m *PowerModel) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	return m.at(m.curves[0].Light(s.R), m.curves[1].Light(s.G), m.curves[2].Light(s.B))
}

// Jacobian implements Model.
func (m *PowerModel) Jacobian(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	return m.slopes(m.curves[0].Slope(s.R), m.curves[1].Slope(s.G), m.curves[2].Slope(s.B))
}

// Covariance implements Model.
func (m *PowerModel) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	var g gradient
	m.gradient(s.Clamp(), &g)
	return m.spread(&g).Add(m.missed(m.XYZ(s)))
}
