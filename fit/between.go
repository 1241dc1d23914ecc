package fit

import (
	"math"

	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/mat"
)

// Joint is a Model that knows how its predictions err together, and so what a
// reading at one signal would tell of the colour at another.
type Joint interface {
	Model
	// Between returns the covariance of the XYZ predicted at a with that at b, in
	// (cd/m²)²: rows are of a, columns of b. Between(s, s) is no more than
	// Covariance(s), which has what no reading at another signal tells of, too.
	Between(a, b colorimetry.RGB) colorimetry.Matrix
}

// together is a Joint that is asked for many signals at once: for the
// covariances of each with each from the one at from on, rows 3i to 3i+2 and
// columns 3j to 3j+2 being of one pair, and of each with itself. What a model
// under residuals leaves open counts by the share of it.
type together interface {
	between(signals []colorimetry.RGB, from int, share float64) (with *mat.Dense, own []colorimetry.Matrix)
}

// covariances asks m for many signals at once, for planning.
func covariances(m Joint, signals []colorimetry.RGB, from int) (with *mat.Dense, own []colorimetry.Matrix) {
	if t, ok := m.(together); ok {
		return t.between(signals, from, plannedShare)
	}
	with = mat.NewDense(3*len(signals), 3*(len(signals)-from), nil)
	for i, s := range signals {
		own = append(own, m.Between(s, s))
		for j, t := range signals[from:] {
			put(with, i, j, m.Between(s, t))
		}
	}
	return with, own
}

// single asks for one pair.
func single(m together, a, b colorimetry.RGB) colorimetry.Matrix {
	with, _ := m.between([]colorimetry.RGB{a, b}, 1, 1)
	return block(with, 0, 0)
}

// put sets and block returns the 3×3 numbers of row i and column j of blocks.
func put(m *mat.Dense, i, j int, v colorimetry.Matrix) {
	for r := range v {
		copy(m.RawRowView(3*i + r)[3*j:3*j+3], v[r][:])
	}
}

func block(m *mat.Dense, i, j int) (v colorimetry.Matrix) {
	for r := range v {
		copy(v[r][:], m.RawRowView(3*i + r)[3*j:3*j+3])
	}
	return v
}

// Between implements Joint.
func (m *PowerModel) Between(a, b colorimetry.RGB) colorimetry.Matrix { return single(m, a, b) }

func (m *PowerModel) between(signals []colorimetry.RGB, from int, _ float64) (*mat.Dense, []colorimetry.Matrix) {
	return carry(slopes(m, signals), m.cov, from)
}

// gradient adds the derivatives of XYZ at s by the parameters.
func (m *PowerModel) gradient(s colorimetry.RGB, g *gradient) {
	predictPower(m.theta, [3]float64{s.R, s.G, s.B}, g)
}

// Between implements Joint.
func (m *AdditiveModel) Between(a, b colorimetry.RGB) colorimetry.Matrix { return single(m, a, b) }

func (m *AdditiveModel) between(signals []colorimetry.RGB, from int, _ float64) (*mat.Dense, []colorimetry.Matrix) {
	return carry(slopes(m, signals), m.cov, from)
}

// gradient adds the derivatives of XYZ at s by the parameters.
func (m *AdditiveModel) gradient(s colorimetry.RGB, g *gradient) {
	var at sampled
	for c, d := range [3]float64{s.R, s.G, s.B} {
		at.light[c], at.basis[c] = m.shapes[c].sample(d)
	}
	predictAdditive(m.theta, &at, g)
}

// parametric is a model of few parameters, which may be wrong together.
type parametric interface {
	Joint
	gradient(s colorimetry.RGB, g *gradient)
	uncertainty() *mat.SymDense // their covariance
}

func (b *base) uncertainty() *mat.SymDense { return b.cov }

// slopes returns the derivatives of XYZ by the parameters: three rows for each
// signal.
func slopes(m parametric, signals []colorimetry.RGB) *mat.Dense {
	out := mat.NewDense(3*len(signals), m.uncertainty().SymmetricDim(), nil)
	var g gradient
	for i, s := range signals {
		g.reset()
		m.gradient(s.Clamp(), &g)
		for k, by := range g.by {
			for r, v := range by {
				out.RawRowView(3*i + r)[g.index[k]] += v
			}
		}
	}
	return out
}

// carry returns the covariances by·cov·by' of predictions with the derivatives
// by, as together has them.
func carry(by *mat.Dense, cov *mat.SymDense, from int) (*mat.Dense, []colorimetry.Matrix) {
	rows, columns := by.Dims()
	var half, with mat.Dense
	half.Mul(by, cov)
	with.Mul(&half, by.Slice(3*from, rows, 0, columns).T())
	own := make([]colorimetry.Matrix, rows/3)
	for i := range own {
		for r := range 3 {
			for c := range 3 {
				own[i][r][c] = mat.Dot(half.RowView(3*i+r), by.RowView(3*i+c))
			}
		}
	}
	return &with, own
}

// Between implements Joint. What no smooth function explains is at one signal
// alone, and so not in it. Where readings leave something of the model under the
// residuals open, the functions make good what the same readings tell of it. A
// model under the residuals that is of no kind of this package counts as certain
// between signals.
func (m *ResidualModel) Between(a, b colorimetry.RGB) colorimetry.Matrix { return single(m, a, b) }

func (m *ResidualModel) between(signals []colorimetry.RGB, from int, share float64) (*mat.Dense, []colorimetry.Matrix) {
	spots := make([]spot, len(signals))
	for i, s := range signals {
		spots[i], _ = m.spot(s.Clamp(), m.under.XYZ(s.Clamp()).Y)
	}
	with, own, unit := m.field.between(spots, from)
	for i := range signals {
		own[i] = spreadBy(m.shares.from, own[i])
		for j := range signals[from:] {
			put(with, i, j, spreadBy(m.shares.from, block(with, i, j)))
		}
	}
	if u, ok := m.under.(parametric); ok {
		by := slopes(u, signals)
		m.follow(by, unit)
		under, alone := carry(by, u.uncertainty(), from)
		trust := share * m.underTrust()
		under.Scale(trust, under)
		with.Add(with, under)
		for i := range own {
			own[i] = own[i].Add(alone[i].Scale(trust))
		}
	} else {
		for i, s := range signals {
			own[i] = own[i].Add(m.under.Covariance(s))
		}
	}
	return with, own
}

// following returns how the places' values, in units of each process's lower,
// follow the parameters of the model under the residuals: a change of that model
// changes what it leaves over at the readings, and so the functions.
func (m *ResidualModel) following() *mat.Dense {
	seen := slopes(m.under.(parametric), m.signals)
	_, parameters := seen.Dims()
	var rows [3]*mat.Dense
	for c := range rows {
		rows[c] = mat.NewDense(len(m.signals), parameters, nil)
	}
	for i, w := range m.field.weight {
		to := w.Mul(m.shares.to)
		for c := range rows {
			row := rows[c].RawRowView(i)
			for j := range 3 {
				for k, v := range seen.RawRowView(3*i + j) {
					row[k] += to[c][j] * v
				}
			}
		}
	}
	places := len(m.field.process[0].places)
	out := mat.NewDense(3*places, parameters, nil)
	for c, p := range m.field.process {
		out.Slice(c*places, (c+1)*places, 0, parameters).(*mat.Dense).Mul(p.seen, rows[c])
	}
	// A factor that was found solves; a bad condition costs digits only.
	_ = m.field.factor.SolveTo(out, out)
	return out
}

// follow takes off the derivatives by what the functions follow of them, unit
// being what the values have to do with the places'.
func (m *ResidualModel) follow(by *mat.Dense, unit [3]*mat.Dense) {
	all := m.follows()
	places := len(m.field.process[0].places)
	_, parameters := all.Dims()
	var followed [3]mat.Dense
	for c := range followed {
		followed[c].Mul(unit[c].T(), all.Slice(c*places, (c+1)*places, 0, parameters))
	}
	rows, _ := followed[0].Dims()
	for i := range rows {
		for j := range 3 {
			row := by.RawRowView(3*i + j)
			for c := range 3 {
				if f := m.shares.from[j][c]; f != 0 {
					for k, v := range followed[c].RawRowView(i) {
						row[k] -= f * v
					}
				}
			}
		}
	}
}

// underTrust is what the covariance of the model under the residuals is
// multiplied by: it holds what that model misses beyond the readings' noise,
// which is what the functions are for.
func (m *ResidualModel) underTrust() float64 {
	u, ok := m.under.(interface{ Scatter() float64 })
	if !ok {
		return 1
	}
	k := math.Max(1, u.Scatter())
	return 1 / (k * k)
}
