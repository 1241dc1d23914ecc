package fit

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// ResidualModel is a model of channels that do not disturb each other and, on
// top, a smooth function of all three channels for what they do to each other.
// It is immutable and safe for concurrent use.
type ResidualModel struct {
	form       *form
	under      Separable
	shares     shares
	spots      []spot
	white      float64              // luminance
	process    [3]*process          // of L*, a* and b*
	stated     []colorimetry.Matrix // covariances of the readings in L*, a*, b*
	noise      [3][]float64         // their variances, more where a reading is doubted
	leverage   [3][]float64
	outliers   []int
	scatter    float64
	parameters float64 // effective number
}

// mostReadings is the number of readings that Residual takes: the work grows
// with its cube, and a minute is as long as anyone waits for a model.
const mostReadings = 3000

// Residual fits what is left over by the model under it, [Additive] of the same
// readings where under is nil, as a Gaussian process: a random function of which
// the readings are taken to be noisy looks, most likely smooth, and zero where
// nothing was read. So it follows channels that disturb each other, and leaves
// the model under it alone where they do not.
//
// Residuals are taken in CIELAB, where they are equally serious everywhere,
// against the level of light that the model under them gives each channel alone.
// Each reading weighs by its covariance, o.Noise standing in where it has none;
// one that its neighbours contradict loses weight. How smooth the function is,
// how large, and how much no smooth function explains, are those of greatest
// likelihood, for each coordinate by itself.
//
// Covariance holds what the readings leave open of the model under it and of the
// function, each by itself, which is rather more than of both together, and what
// no smooth function explains.
//
// At most 3000 readings can be used. The error says which reading is unusable,
// or that the readings do not determine the model.
//
// Sources of the method: Rasmussen and Williams, Gaussian Processes for Machine
// Learning, MIT Press (2006), chapters 2 and 5; Duvenaud, Nickisch and
// Rasmussen, Adv. Neural Inf. Process. Syst. 24 (2011) 226-234.
func Residual(readings []measure.Reading, under Separable, o Options) (*ResidualModel, error) {
	obs, err := observe(readings, o)
	if err != nil {
		return nil, err
	}
	if len(obs) > mostReadings {
		return nil, fmt.Errorf("fit: %d readings; a model of residuals takes at most %d: leave out those that lie closest together", len(obs), mostReadings)
	}
	var m *ResidualModel
	if under == nil {
		m, err = fitBoth(obs, smooth)
	} else {
		m, err = fitResidual(obs, under, smooth, nil)
	}
	if err != nil {
		return nil, fmt.Errorf("fit: model of residuals: %w", err)
	}
	return m, nil
}

// fitBoth fits the additive model too, and anew without the readings that turn
// out to be contradicted: one on a ramp bends a curve.
func fitBoth(obs []observation, f *form) (*ResidualModel, error) {
	g, err := newGround(obs)
	if err != nil {
		return nil, err
	}
	m, err := fitResidual(obs, g.under, f, nil)
	if err != nil || len(m.outliers) == 0 {
		return m, err
	}
	if err := g.leave(obs, m.outliers); err != nil {
		return nil, err
	}
	return fitResidual(obs, g.under, f, nil)
}

// calm is the number of times that contradicted readings are looked for.
const calm = 4

// fitResidual fits the three processes, beginning with the parameters of like
// where there is one.
func fitResidual(obs []observation, under Separable, f *form, like *ResidualModel) (*ResidualModel, error) {
	m := &ResidualModel{form: f, under: under, white: under.White().Y, shares: newShares(under.White())}
	values := m.look(obs)
	places := scatterPlaces(m.spots)
	for round := range calm + 1 {
		for c, p := range m.process {
			// A first look, not yet learnt from, finds the wild readings, which
			// would mislead the parameters; so do outliers found later.
			theta := begin(values[c])
			if like != nil {
				theta = like.process[c].theta
			}
			if round > 0 {
				theta = p.theta
			}
			if round == 1 || round > 0 && len(m.outliers) > 0 {
				theta = learn(f, m.spots, values[c], m.noise[c], theta)
			}
			if p == nil || round == 1 || len(m.outliers) > 0 {
				var err error
				if p, err = newProcess(f, places, m.spots, theta); err != nil {
					return nil, err
				}
				m.process[c] = p
			}
			if err := p.observe(m.spots, values[c], m.noise[c]); err != nil {
				return nil, err
			}
		}
		if err := m.lever(); err != nil {
			return nil, err
		}
		if found := m.doubt(values); round == calm || round > 0 && !found {
			break
		}
	}
	m.measure(obs, values)
	return m, nil
}

// lever fills how much of each residual comes from the reading itself.
func (m *ResidualModel) lever() error {
	for c, p := range m.process {
		var err error
		if m.leverage[c], err = p.leverage(); err != nil {
			return err
		}
	}
	return nil
}

// look fills what is seen of the residuals and returns them.
func (m *ResidualModel) look(obs []observation) (values [3][]float64) {
	for i := range obs {
		ob := &obs[i]
		s := colorimetry.RGB{R: ob.signal[0], G: ob.signal[1], B: ob.signal[2]}
		base := triple(m.under.XYZ(s))
		at, _ := m.spot(s, base[1])
		m.spots = append(m.spots, at)
		rest := m.shares.rest(ob.xyz, base)
		half := m.shares.to.Mul(colorimetry.Matrix(invertLower(ob.root)))
		m.stated = append(m.stated, half.Mul(half.Transpose()))
		for c := range 3 {
			values[c] = append(values[c], rest[c])
			m.noise[c] = append(m.noise[c], m.stated[i][c][c])
		}
	}
	return values
}

// held returns the predictions of the observations of list by the model without
// them, under being the model under it without them.
func (m *ResidualModel) held(obs []observation, under Separable, list []int) ([]prediction, error) {
	var values, value [3][]float64
	for i := range obs {
		rest := m.shares.rest(obs[i].xyz, triple(under.XYZ(obs[i].rgb())))
		for c := range 3 {
			values[c] = append(values[c], rest[c])
		}
	}
	for c, p := range m.process {
		var err error
		if value[c], err = p.held(values[c], list); err != nil {
			return nil, err
		}
	}
	out := make([]prediction, len(list))
	for k, i := range list {
		v := m.shares.from.Apply(colorimetry.XYZ{X: value[0][k], Y: value[1][k], Z: value[2][k]})
		out[k] = prediction{i, cut(under.XYZ(obs[i].rgb()).Add(v))}
	}
	return out, nil
}

// doubt lowers the weight of readings that their neighbours contradict and
// reports whether there are any. It asks how far a reading lies from what all
// others predict, in standard deviations of that, in the coordinate where it is
// farthest.
func (m *ResidualModel) doubt(values [3][]float64) bool {
	found := false
	m.outliers = nil
	for i := range m.stated {
		var most float64
		for c, p := range m.process {
			alone := math.Max(1-m.leverage[c][i], 1e-9)
			v := p.noise[i]/alone - m.noise[c][i] + m.stated[i][c][c]
			most = math.Max(most, math.Abs(values[c][i]-p.fitted[i])/alone/math.Sqrt(v))
		}
		w := 1.0
		if most > huber {
			w, found = huber*huber/(most*most), true
		}
		if w < 0.25 {
			m.outliers = append(m.outliers, i)
		}
		for c := range 3 {
			m.noise[c][i] = m.stated[i][c][c] / (w * w)
		}
	}
	return found
}

// measure sets the figures of the fit.
func (m *ResidualModel) measure(obs []observation, values [3][]float64) {
	m.parameters = 0
	if u, ok := m.under.(interface{ Parameters() float64 }); ok {
		m.parameters = u.Parameters()
	}
	var sum float64
	for i := range obs {
		var rest [3]float64
		for c, p := range m.process {
			m.parameters += m.leverage[c][i]
			rest[c] = values[c][i] - p.fitted[i]
		}
		r := obs[i].whitened(times(m.shares.from, rest))
		sum += dot(r, r) * m.stated[i][0][0] / m.noise[0][i]
	}
	m.scatter = math.Sqrt(sum / math.Max(1, 3*float64(len(obs))-m.parameters))
}

// Name implements Model.
func (m *ResidualModel) Name() string { return m.form.name }

// Under returns the model under the residuals.
func (m *ResidualModel) Under() Separable { return m.under }

// Scatter returns the residuals of the fit over the readings' stated noise, as
// a root mean square: about 1 where the model misses nothing.
func (m *ResidualModel) Scatter() float64 { return m.scatter }

// Parameters returns the effective number of parameters, those of the model
// under the residuals included.
func (m *ResidualModel) Parameters() float64 { return m.parameters }

// Outliers returns the readings, by their place in the slice that was fitted,
// that count for less than half because their neighbours contradict them.
func (m *ResidualModel) Outliers() []int { return slices.Clone(m.outliers) }

// spot returns the spot of a signal at which the model under has the luminance
// y, and the derivatives of its levels by the signal.
func (m *ResidualModel) spot(s colorimetry.RGB, y float64) (at spot, by [3]float64) {
	var u [3]float64
	for c, d := range [3]float64{s.R, s.G, s.B} {
		curve := m.under.Curve(c)
		var slope float64
		u[c], slope = level(curve.Light(d))
		by[c] = slope * curve.Slope(d)
	}
	return spotAt(u, math.Sqrt(math.Max(y/m.white, 0)+5e-4)), by
}

// level returns where between dark and bright a share of a channel's light lies,
// 0 to 1, and its slope: an ordinary display's signal for it, which has more room
// for the dark than lightness has. There a little of a neighbour's signal changes
// most. levelFloor keeps the slope finite.
const levelFloor, levelPower = 1e-4, 2.4

func level(light float64) (u, slope float64) {
	dark := math.Pow(levelFloor, 1/levelPower)
	u = math.Pow(light+levelFloor, 1/levelPower)
	slope = 1 / levelPower * u / (light + levelFloor)
	scale := 1 / (math.Pow(1+levelFloor, 1/levelPower) - dark)
	return (u - dark) * scale, slope * scale
}

// XYZ implements Model.
func (m *ResidualModel) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	base := m.under.XYZ(s)
	u, _ := m.spot(s, base.Y)
	var rest [3]float64
	for c, p := range m.process {
		rest[c] = p.value(&u)
	}
	return cut(base.Add(m.shares.from.Apply(colorimetry.XYZ{X: rest[0], Y: rest[1], Z: rest[2]})))
}

// cut returns v without light below 0.
func cut(v colorimetry.XYZ) colorimetry.XYZ {
	return colorimetry.XYZ{X: math.Max(v.X, 0), Y: math.Max(v.Y, 0), Z: math.Max(v.Z, 0)}
}

// stated returns what the readings leave open of a model under residuals, by
// their stated noise: what it misses beyond that is what the residuals are for.
func stated(under Separable, s colorimetry.RGB) colorimetry.Matrix {
	cov := under.Covariance(s)
	if u, ok := under.(interface{ Scatter() float64 }); ok {
		k := math.Max(1, u.Scatter())
		cov = cov.Scale(1 / (k * k))
	}
	return cov
}

// Jacobian implements Model.
func (m *ResidualModel) Jacobian(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	base := m.under.XYZ(s)
	u, by := m.spot(s, base.Y)
	var rest [3]float64
	var slopes colorimetry.Matrix
	for c, p := range m.process {
		rest[c], slopes[c] = p.slopes(&u)
		for k := range 3 {
			slopes[c][k] *= by[k]
		}
	}
	j := m.under.Jacobian(s).Add(m.shares.from.Mul(slopes))
	v := base.Add(m.shares.from.Apply(colorimetry.XYZ{X: rest[0], Y: rest[1], Z: rest[2]}))
	for r, light := range triple(v) {
		if light <= 0 {
			j[r] = [3]float64{}
		}
	}
	return j
}

// Covariance implements Model.
func (m *ResidualModel) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	u, _ := m.spot(s, m.under.XYZ(s).Y)
	var cov colorimetry.Matrix
	var weights [3][]float64
	for c, p := range m.process {
		weights[c], cov[c][c] = p.share(&u)
	}
	for a := range 3 {
		for b := range 3 {
			if a == b {
				continue
			}
			for i := range m.stated {
				doubt := m.noise[0][i] / m.stated[i][0][0]
				cov[a][b] += weights[a][i] * weights[b][i] * doubt * m.stated[i][a][b]
			}
		}
	}
	return stated(m.under, s).Add(m.shares.from.Mul(cov).Mul(m.shares.from.Transpose()))
}
