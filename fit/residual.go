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
	under      Separable
	even       even
	process    [3]*process          // of L*, a* and b*
	stated     []colorimetry.Matrix // covariances of the readings in L*, a*, b*
	noise      [3][]float64         // their variances, more where a reading is doubted
	outliers   []int
	scatter    float64
	parameters float64           // effective number
	signals    []colorimetry.RGB // of the readings
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
		m, err = fitBoth(obs)
	} else {
		m, err = fitResidual(obs, under)
	}
	if err != nil {
		return nil, fmt.Errorf("fit: model of residuals: %w", err)
	}
	return m, nil
}

// fitBoth fits the additive model too, and anew without the readings that turn
// out to be contradicted: one on a ramp bends a curve.
func fitBoth(obs []observation) (*ResidualModel, error) {
	trusted := obs
	for {
		under, err := fitUnder(trusted)
		if err != nil {
			return nil, err
		}
		m, err := fitResidual(obs, under)
		if err != nil || len(m.outliers) == 0 || len(trusted) < len(obs) {
			return m, err
		}
		trusted = nil
		for i := range obs {
			if !slices.Contains(m.outliers, i) {
				trusted = append(trusted, obs[i])
			}
		}
	}
}

// tight is the scatter up to which what the additive model leaves over is taken
// for noise.
const tight = 1.5

// fitUnder fits the additive model. Where it explains the readings they all have
// their say in it. Elsewhere what the channels do to each other would bend its
// curves, and it is fitted to the readings of one channel alone, the others
// deciding no more than what those leave open.
func fitUnder(obs []observation) (*AdditiveModel, error) {
	power, err := fitPower(obs, nil)
	if err != nil {
		return nil, err
	}
	if m, err := fitAdditive(obs, power, nil); err == nil && m.Scatter() <= tight {
		return m, nil
	}
	return fitAdditive(power.loosen(obs), power, nil)
}

// mostEffect is the effect of one channel on another, in CIELAB, that is
// thought possible at full signal: more than almost any display shows.
const mostEffect = 60.0

// loosen returns observations whose standard deviations, in CIELAB, are raised
// by mostEffect times the level of the second brightest channel.
func (power *PowerModel) loosen(obs []observation) []observation {
	white := triple(brightest(obs))
	e := even{white}
	out := slices.Clone(obs)
	for i := range out {
		ob := &out[i]
		var u [3]float64
		for c := range 3 {
			u[c], _ = level(power.curves[c].Light(ob.signal[c]))
		}
		slices.Sort(u[:])
		if u[1] <= 0 {
			continue
		}
		_, back := e.light(e.place(ob.xyz))
		half := back.Mul(colorimetry.Diagonal(1, 1, 1).Scale(mostEffect * u[1]))
		l := colorimetry.Matrix(invertLower(ob.root))
		ob.root = whiten(l.Mul(l.Transpose()).Add(half.Mul(half.Transpose())), white[1])
	}
	return out
}

// calm is the number of times that contradicted readings are looked for.
const calm = 4

// fitResidual fits the three processes.
func fitResidual(obs []observation, under Separable) (*ResidualModel, error) {
	m := &ResidualModel{under: under, even: even{triple(under.White())}}
	places, values := m.look(obs)
	var theta [3][]float64
	for round := range calm + 1 {
		for c := range 3 {
			// Outliers mislead the parameters too.
			if round == 0 || len(m.outliers) > 0 {
				theta[c] = learn(places, values[c], m.noise[c])
			}
			var err error
			if m.process[c], err = newProcess(places, values[c], m.noise[c], theta[c]); err != nil {
				return nil, err
			}
		}
		if round == calm || !m.doubt() {
			break
		}
	}
	m.measure(obs)
	return m, nil
}

// look fills what is seen of the residuals and returns where and what.
func (m *ResidualModel) look(obs []observation) (places [][3]float64, values [3][]float64) {
	for i := range obs {
		ob := &obs[i]
		s := colorimetry.RGB{R: ob.signal[0], G: ob.signal[1], B: ob.signal[2]}
		u, _ := m.input(s)
		places = append(places, u)
		m.signals = append(m.signals, s)
		base, got := m.even.place(triple(m.under.XYZ(s))), m.even.place(ob.xyz)
		half := m.even.slopes(ob.xyz).Mul(colorimetry.Matrix(invertLower(ob.root)))
		m.stated = append(m.stated, half.Mul(half.Transpose()))
		for c := range 3 {
			values[c] = append(values[c], got[c]-base[c])
			m.noise[c] = append(m.noise[c], m.stated[i][c][c])
		}
	}
	return places, values
}

// doubt lowers the weight of readings that their neighbours contradict and
// reports whether there are any. It asks how far a reading lies from what all
// others predict, in standard deviations of that, in the coordinate where it is
// farthest.
func (m *ResidualModel) doubt() bool {
	found := false
	m.outliers = nil
	for i := range m.stated {
		var most float64
		for c, p := range m.process {
			v := 1/p.alone[i] - m.noise[c][i] + m.stated[i][c][c]
			most = math.Max(most, math.Abs(p.alpha[i]/p.alone[i])/math.Sqrt(v))
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
func (m *ResidualModel) measure(obs []observation) {
	m.parameters = 0
	if u, ok := m.under.(interface{ Parameters() float64 }); ok {
		m.parameters = u.Parameters()
	}
	var sum float64
	for c, p := range m.process {
		m.parameters += p.freedom(m.noise[c])
	}
	for i := range obs {
		s := obs[i].signal
		got := triple(m.XYZ(colorimetry.RGB{R: s[0], G: s[1], B: s[2]}))
		r := obs[i].whitened([3]float64{obs[i].xyz[0] - got[0], obs[i].xyz[1] - got[1], obs[i].xyz[2] - got[2]})
		sum += dot(r, r) * m.stated[i][0][0] / m.noise[0][i]
	}
	m.scatter = math.Sqrt(sum / math.Max(1, 3*float64(len(obs))-m.parameters))
}

// Name implements Model.
func (m *ResidualModel) Name() string { return ResidualName }

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

// input returns the place of a signal as the processes see it, the level of each
// channel's light alone, and its derivative by the signal.
func (m *ResidualModel) input(s colorimetry.RGB) (u, by [3]float64) {
	for c, d := range [3]float64{s.R, s.G, s.B} {
		curve := m.under.Curve(c)
		var slope float64
		u[c], slope = level(curve.Light(d))
		by[c] = slope * curve.Slope(d)
	}
	return u, by
}

// level returns where between dark and bright a share of a channel's light lies,
// 0 to 1, and its slope: an ordinary display's signal for it, which has more room
// for the dark than lightness has. There a little of a neighbour's signal changes
// most. levelFloor keeps the slope finite.
func level(light float64) (u, slope float64) {
	const levelFloor, levelPower = 1e-4, 1 / 2.4
	dark := math.Pow(levelFloor, levelPower)
	u = math.Pow(light+levelFloor, levelPower)
	slope = levelPower * u / (light + levelFloor)
	scale := 1 / (math.Pow(1+levelFloor, levelPower) - dark)
	return (u - dark) * scale, slope * scale
}

// XYZ implements Model.
func (m *ResidualModel) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	u, _ := m.input(s)
	at := m.even.place(triple(m.under.XYZ(s)))
	for c, p := range m.process {
		at[c] += p.value(u)
	}
	v, _ := m.even.light(at)
	return colorimetry.XYZ{X: math.Max(v[0], 0), Y: math.Max(v[1], 0), Z: math.Max(v[2], 0)}
}

// Jacobian implements Model.
func (m *ResidualModel) Jacobian(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	u, by := m.input(s)
	base := triple(m.under.XYZ(s))
	at := m.even.place(base)
	j := m.even.slopes(base).Mul(m.under.Jacobian(s))
	for c, p := range m.process {
		v, d := p.slopes(u)
		at[c] += v
		for k := range 3 {
			j[c][k] += d[k] * by[k]
		}
	}
	v, out := m.even.light(at)
	for r := range v {
		if v[r] <= 0 {
			out[r] = [3]float64{}
		}
	}
	return out.Mul(j)
}

// Covariance implements Model.
func (m *ResidualModel) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	u, _ := m.input(s)
	base := triple(m.under.XYZ(s))
	at := m.even.place(base)
	// What the readings leave open of the model under the residuals, by their
	// stated noise: what it misses beyond that is what the function is for.
	half := m.even.slopes(base)
	cov := half.Mul(m.under.Covariance(s)).Mul(half.Transpose())
	if u, ok := m.under.(interface{ Scatter() float64 }); ok {
		k := math.Max(1, u.Scatter())
		cov = cov.Scale(1 / (k * k))
	}
	var weights [3][]float64
	for c, p := range m.process {
		var rest float64
		weights[c], rest = p.share(u, m.noise[c])
		cov[c][c] += rest
		at[c] += p.value(u)
	}
	for a := range 3 {
		for b := range 3 {
			for i := range m.stated {
				doubt := m.noise[0][i] / m.stated[i][0][0]
				cov[a][b] += weights[a][i] * weights[b][i] * doubt * m.stated[i][a][b]
			}
		}
	}
	_, out := m.even.light(at)
	return out.Mul(cov).Mul(out.Transpose())
}
