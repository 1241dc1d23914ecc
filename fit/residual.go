package fit

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/internal/level"

	"gonum.org/v1/gonum/mat"
)

// ResidualModel is a model of channels that do not disturb each other and, on
// top, a smooth function of all three channels for what they do to each other.
// It is immutable and safe for concurrent use.
type ResidualModel struct {
	form       *form
	under      footing
	white      float64 // luminance
	shares     shares
	spots      []spot
	field      field                // of the coordinates of shares
	stated     []colorimetry.Matrix // covariances of the readings in them
	trust      []float64            // weight of each reading, less than 1 where it is doubted
	apart      []apart              // of each reading
	signals    []colorimetry.RGB    // of the readings
	follows    func() *mat.Dense
	calibrated func() [3]float64
	outliers   []int
	scatter    float64
	parameters float64 // effective number
}

// footing is what the residuals are taken against: a Separable or less.
type footing interface {
	Model
	White() colorimetry.XYZ
	Curve(channel int) tone.Curve
}

// Residual fits what is left over by the model under it, [Additive] of the same
// readings where under is nil, as a Gaussian process: a random function of which
// the readings are taken to be noisy looks, most likely smooth, and zero where
// nothing was read. So it follows channels that disturb each other, and leaves
// the model under it alone where they do not. [Of] fits forms that are made of
// fewer functions.
//
// Residuals are taken as light, where what channels do to each other adds up,
// against the level that the model under them gives each channel alone. The
// function is a sum of functions of one channel, of two, of three, and of what
// two or three have in common, each as large as the readings ask for. Each
// reading weighs by its covariance, o.Noise standing in where it has none; one
// that all others contradict loses weight. How smooth the functions are, how
// large, and how much no smooth function explains, are those of greatest
// likelihood.
//
// Covariance holds what the readings leave open of the model under it and of the
// functions, together, and what no smooth function explains.
//
// At most 3000 readings can be used. The error says which reading is unusable,
// or that the readings do not determine the model.
//
// Sources of the method: Rasmussen and Williams, Gaussian Processes for Machine
// Learning, MIT Press (2006), chapters 2 and 5; Duvenaud, Nickisch and
// Rasmussen, Adv. Neural Inf. Process. Syst. 24 (2011) 226-234;
// Quiñonero-Candela and Rasmussen, J. Mach. Learn. Res. 6 (2005) 1939-1959.
func Residual(readings []measure.Reading, under Separable, o Options) (*ResidualModel, error) {
	obs, err := observe(readings, o)
	if err != nil {
		return nil, err
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
	return g.fit(obs, f)
}

// calm is the number of times that contradicted readings are looked for.
const calm = 6

// fitResidual fits the three processes, beginning with the parameters of like
// where there is one.
func fitResidual(obs []observation, under footing, f *form, like *ResidualModel) (*ResidualModel, error) {
	m := &ResidualModel{form: f, under: under, white: under.White().Y, shares: newShares(under.White())}
	m.follows, m.calibrated = sync.OnceValue(m.following), sync.OnceValue(m.calibrate)
	values := m.look(obs)
	places := scatterPlaces(m.spots)
	trusting := false
	for round := 0; ; round++ {
		noise := m.doubted()
		// A first look, not yet learnt from, finds the wild readings, which would
		// mislead the parameters; so may those found when they are learnt.
		if round < 2 || round == 2 && len(m.outliers) > 0 {
			if err := m.learn(f, places, values, noise, like, round); err != nil {
				return nil, err
			}
		}
		if err := m.field.observe(m.spots, values, noise); err != nil {
			return nil, err
		}
		own, err := m.field.own()
		if err != nil {
			return nil, err
		}
		m.apart = m.others(values, own)
		if round == 0 {
			m.doubt(2*wild, 1)
			continue
		}
		if round == calm || trusting || !m.doubt(wild, overreach) {
			m.measure(obs, values, own)
			for _, p := range m.field.process {
				p.web = nil // large, and not asked for again
			}
			return m, nil
		}
		trusting = len(m.outliers) > len(obs)/mostWild
		if trusting {
			m.outliers, m.trust = nil, ones(len(obs))
		}
	}
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// learn fills the processes. The luminance, of which most is known, is learnt
// first, and the others are expected to be like it.
func (m *ResidualModel) learn(f *form, places []spot, values [][3]float64, covariances []colorimetry.Matrix, like *ResidualModel, round int) error {
	var whole float64
	for c, p := range m.field.process {
		seen, noise := alone(values, covariances, c)
		b, size := expect(), excess(seen, noise)
		if c == 0 {
			whole = math.Max(size, least)
		} else if round > 0 {
			b = alike(m.field.process[0].theta, math.Max(size, least)/whole)
		}
		var theta []float64
		switch {
		case round == 0 && like != nil:
			theta = like.field.process[c].theta
		case round == 0:
			theta = b.begin(most(seen, noise))
		case round == 1 && (like == nil || c > 0):
			theta = b.learn(f, m.spots, seen, noise, b.starts(size, seen, noise)...)
		default:
			theta = append([]float64(nil), p.theta...)
			if c > 0 {
				copy(theta[atLength:atLength+lengths], b.value[atLength:])
			}
			theta = b.learn(f, m.spots, seen, noise, theta)
		}
		var err error
		if m.field.process[c], err = newProcess(f, places, m.spots, theta, m.field.process[0]); err != nil {
			return err
		}
	}
	return nil
}

// least is the size, as a share of the white, below which an effect is not told
// from none.
const least = 1e-4

// look fills what is seen of the residuals and returns them.
func (m *ResidualModel) look(obs []observation) [][3]float64 {
	values := make([][3]float64, len(obs))
	for i := range obs {
		ob := &obs[i]
		base := triple(m.under.XYZ(ob.rgb()))
		at, _ := m.spot(ob.rgb(), base[1])
		m.spots = append(m.spots, at)
		half := m.shares.to.Mul(ob.half())
		m.stated = append(m.stated, half.Mul(half.Transpose()))
		m.trust = append(m.trust, 1)
		m.signals = append(m.signals, ob.rgb())
		values[i] = m.shares.rest(ob.xyz, base)
	}
	return values
}

// alone returns one coordinate of the values and the variances of its noise.
func alone(values [][3]float64, covariances []colorimetry.Matrix, c int) (seen, noise []float64) {
	for i, v := range covariances {
		seen, noise = append(seen, values[i][c]), append(noise, v[c][c])
	}
	return seen, noise
}

// doubted returns the covariances of the readings, larger where they are doubted.
func (m *ResidualModel) doubted() []colorimetry.Matrix {
	out := make([]colorimetry.Matrix, len(m.stated))
	for i, v := range m.stated {
		out[i] = v.Scale(1 / (m.trust[i] * m.trust[i]))
	}
	return out
}

// held returns the predictions of the observations of list by the model without
// them, under being the model under it without them.
func (m *ResidualModel) held(obs []observation, under footing, list []int) ([]prediction, error) {
	values := make([][3]float64, len(obs))
	for i := range obs {
		values[i] = m.shares.rest(obs[i].xyz, triple(under.XYZ(obs[i].rgb())))
	}
	rest, err := m.field.held(values, list)
	if err != nil {
		return nil, err
	}
	out := make([]prediction, len(list))
	for k, i := range list {
		out[k] = prediction{i, cut(under.XYZ(obs[i].rgb()).Add(m.shares.light(rest[k])))}
	}
	return out, nil
}

// wild is the distance of a reading from what all others predict, in standard
// deviations of that, beyond which it loses weight: 0.7 % of readings lie there
// by chance.
const wild = 3.5

// overreach is how many times as large as the model says the standard deviation of
// what others predict may be. At the corners of the cube nothing surrounds a
// reading, and a model that goes on beyond the others is not to overrule it.
const overreach = 3

// mostWild is the share of readings, one in so many, beyond which it is the model
// that is wrong and not they.
const mostWild = 8

// apart is how a reading lies from what all others say of it.
type apart struct {
	rest   [3]float64         // by how much
	spread colorimetry.Matrix // covariance expected of that but for the reading's own noise
}

// others returns it of each reading, own being what the fit leaves open of the
// value of each.
func (m *ResidualModel) others(values [][3]float64, own []colorimetry.Matrix) []apart {
	out := make([]apart, len(m.stated))
	for i := range out {
		// With N what was assumed of the reading's noise and S what is then
		// known of the value, N·(N−S)⁻¹ times the residual is how far the
		// reading lies from what the others say, and N·(N−S)⁻¹·N the covariance
		// of that, the reading's noise included.
		n, err := m.field.weight[i].Inverse()
		if err != nil {
			continue
		}
		free, err := n.Add(own[i].Scale(-1)).Inverse()
		if err != nil {
			continue
		}
		leave := n.Mul(free)
		var r [3]float64
		for c, v := range values[i] {
			r[c] = v - m.field.fitted[i][c]
		}
		noise := m.stated[i].Scale(1 / (m.trust[i] * m.trust[i]))
		out[i] = apart{times(leave, r), leave.Mul(n).Add(noise.Scale(-1))}
	}
	return out
}

// doubt lowers the weight of readings that their neighbours contradict by more
// than limit standard deviations, and reports whether any weight has changed.
func (m *ResidualModel) doubt(limit, overreach float64) bool {
	changed := false
	m.outliers = nil
	for i, a := range m.apart {
		w := 1.0
		if inv, err := a.spread.Scale(overreach * overreach).Add(m.stated[i]).Inverse(); err == nil {
			w = math.Min(1, limit*limit/math.Max(dot(a.rest, times(inv, a.rest)), 1e-300))
		}
		// Half way at a time, lest two readings take turns in contradicting each
		// other.
		w = math.Sqrt(w * m.trust[i])
		if math.Abs(w-m.trust[i]) > 0.02 {
			changed = true
		}
		if m.trust[i] = w; w < 0.25 {
			m.outliers = append(m.outliers, i)
		}
	}
	return changed
}

// measure sets the figures of the fit.
func (m *ResidualModel) measure(obs []observation, values [][3]float64, own []colorimetry.Matrix) {
	m.parameters = 0
	if u, ok := m.under.(interface{ Parameters() float64 }); ok {
		m.parameters = u.Parameters()
	}
	var sum float64
	for i := range obs {
		share := own[i].Mul(m.field.weight[i])
		m.parameters += share[0][0] + share[1][1] + share[2][2]
		rest := values[i]
		for c, v := range m.field.fitted[i] {
			rest[c] -= v
		}
		r := obs[i].whitened(triple(m.shares.light(rest)))
		sum += dot(r, r) * m.trust[i] * m.trust[i]
	}
	m.scatter = math.Sqrt(sum / math.Max(1, 3*float64(len(obs))-m.parameters))
}

// Name implements Model.
func (m *ResidualModel) Name() string { return m.form.name }

// Under returns the model under the residuals, nil where that is itself one with
// residuals, of an earlier run ([Since]).
func (m *ResidualModel) Under() Separable {
	s, _ := m.under.(Separable)
	return s
}

// Scatter returns the residuals of the fit over the readings' stated noise, as
// a root mean square: about 1 where the model misses nothing.
func (m *ResidualModel) Scatter() float64 { return m.scatter }

// Parameters returns the effective number of parameters, those of the model
// under the residuals included.
func (m *ResidualModel) Parameters() float64 { return m.parameters }

// Outliers returns the readings, by their place in the slice that was fitted,
// that all others contradict so much that they count for less than a sixteenth.
func (m *ResidualModel) Outliers() []int { return slices.Clone(m.outliers) }

// spot returns the spot of a signal at which the model under has the luminance
// y, and the derivatives of its levels by the signal.
func (m *ResidualModel) spot(s colorimetry.RGB, y float64) (at spot, by [3]float64) {
	var u [3]float64
	for c, d := range [3]float64{s.R, s.G, s.B} {
		curve := m.under.Curve(c)
		light := curve.Light(d)
		u[c], by[c] = channelLevel.Of(light), channelLevel.Slope(light)*curve.Slope(d)
	}
	return spotAt(u, math.Sqrt(math.Max(y/m.white, 0)+5e-4)), by
}

// channelLevel is where between dark and bright a share of a channel's light lies: an
// ordinary display's signal for it, which has more room for the dark than
// lightness has. There a little of a neighbour's signal changes most.
var channelLevel = level.New(1e-4)

// XYZ implements Model.
func (m *ResidualModel) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	base := m.under.XYZ(s)
	u, _ := m.spot(s, base.Y)
	return cut(base.Add(m.shares.light(m.field.value(&u))))
}

// cut returns v without light below 0.
func cut(v colorimetry.XYZ) colorimetry.XYZ {
	return colorimetry.XYZ{X: math.Max(v.X, 0), Y: math.Max(v.Y, 0), Z: math.Max(v.Z, 0)}
}

// Jacobian implements Model.
func (m *ResidualModel) Jacobian(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	base := m.under.XYZ(s)
	u, by := m.spot(s, base.Y)
	rest, slopes := m.field.slopes(&u)
	for c := range slopes {
		for k := range by {
			slopes[c][k] *= by[k]
		}
	}
	j := m.under.Jacobian(s).Add(m.shares.from.Mul(slopes))
	for r, light := range triple(base.Add(m.shares.light(rest))) {
		if light <= 0 {
			j[r] = [3]float64{}
		}
	}
	return j
}

// Covariance implements Model.
func (m *ResidualModel) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	_, own := m.between([]colorimetry.RGB{s}, 0, 1)
	return own[0].Add(m.misfit(s)).Scale(m.factor(s))
}

// misfit returns the covariance of what no smooth function explains.
func (m *ResidualModel) misfit(s colorimetry.RGB) colorimetry.Matrix {
	s = s.Clamp()
	u, _ := m.spot(s, m.under.XYZ(s).Y)
	var v [3]float64
	for c, p := range m.field.process {
		v[c] = p.misfitAt(&u)
	}
	return spreadBy(m.shares.from, colorimetry.Diagonal(v[0], v[1], v[2]))
}
