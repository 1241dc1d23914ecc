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
// columns 3j to 3j+2 being of one pair, and of each with itself.
type together interface {
	between(signals []colorimetry.RGB, from int) (with *mat.Dense, own []colorimetry.Matrix)
}

// covariances asks m for many signals at once.
func covariances(m Joint, signals []colorimetry.RGB, from int) (with *mat.Dense, own []colorimetry.Matrix) {
	if t, ok := m.(together); ok {
		return t.between(signals, from)
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
	with, _ := m.between([]colorimetry.RGB{a, b}, 1)
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

func (m *PowerModel) between(signals []colorimetry.RGB, from int) (*mat.Dense, []colorimetry.Matrix) {
	return carry(slopes(m, signals), m.cov, from)
}

// gradient adds the derivatives of XYZ at s by the parameters.
func (m *PowerModel) gradient(s colorimetry.RGB, g *gradient) {
	predictPower(m.theta, [3]float64{s.R, s.G, s.B}, g)
}

// Between implements Joint.
func (m *AdditiveModel) Between(a, b colorimetry.RGB) colorimetry.Matrix { return single(m, a, b) }

func (m *AdditiveModel) between(signals []colorimetry.RGB, from int) (*mat.Dense, []colorimetry.Matrix) {
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
// residuals open, the functions make good what the same readings tell of it:
// Between takes that off, which Covariance does not. A model under the residuals
// that is of no kind of this package counts as certain.
func (m *ResidualModel) Between(a, b colorimetry.RGB) colorimetry.Matrix { return single(m, a, b) }

func (m *ResidualModel) between(signals []colorimetry.RGB, from int) (*mat.Dense, []colorimetry.Matrix) {
	places := make([][3]float64, len(signals))
	back := make([]colorimetry.Matrix, len(signals))
	for i, s := range signals {
		places[i], back[i] = m.placed(s)
	}
	with, own, weights := m.functions(places, from)
	if u, ok := m.under.(parametric); ok {
		by := m.evenSlopes(u, signals)
		m.follow(by, m.evenSlopes(u, m.signals), weights)
		under, alone := carry(by, u.uncertainty(), from)
		trust := m.trust()
		under.Scale(trust, under)
		with.Add(with, under)
		for i := range own {
			own[i] = own[i].Add(alone[i].Scale(trust))
		}
	}
	for i := range signals {
		own[i] = spreadBy(back[i], own[i])
		for j := range signals[from:] {
			put(with, i, j, back[i].Mul(block(with, i, j)).Mul(back[from+j].Transpose()))
		}
	}
	return with, own
}

// placed returns where the processes see a signal, and the slopes of light by
// L*, a* and b* there.
func (m *ResidualModel) placed(s colorimetry.RGB) (u [3]float64, back colorimetry.Matrix) {
	s = s.Clamp()
	u, _ = m.input(s)
	at := m.even.place(triple(m.under.XYZ(s)))
	for c, p := range m.process {
		at[c] += p.value(u)
	}
	_, back = m.even.light(at)
	return u, back
}

// evenSlopes returns the derivatives of L*, a* and b* by the parameters of the
// model under the residuals: three rows for each signal.
func (m *ResidualModel) evenSlopes(under parametric, signals []colorimetry.RGB) *mat.Dense {
	by := slopes(under, signals)
	for i, s := range signals {
		to := m.even.slopes(triple(under.XYZ(s)))
		x, y, z := by.RawRowView(3*i), by.RawRowView(3*i+1), by.RawRowView(3*i+2)
		for k := range x {
			v := times(to, [3]float64{x[k], y[k], z[k]})
			x[k], y[k], z[k] = v[0], v[1], v[2]
		}
	}
	return by
}

// follow takes off the slopes by what the functions follow of them: a change of
// the model under the residuals changes what it leaves over at the readings, by
// seen, and so the functions.
func (m *ResidualModel) follow(by, seen *mat.Dense, weights [3]*mat.Dense) {
	_, parameters := seen.Dims()
	for c, w := range weights {
		left := mat.NewDense(len(m.stated), parameters, nil)
		for i := range m.stated {
			left.SetRow(i, seen.RawRowView(3*i+c))
		}
		var followed mat.Dense
		followed.Mul(w, left)
		rows, _ := followed.Dims()
		for i := range rows {
			row := by.RawRowView(3*i + c)
			for k, v := range followed.RawRowView(i) {
				row[k] -= v
			}
		}
	}
}

// functions returns the covariances, in L*, a* and b*, of the functions at each
// place with those at each from the one at from on, and with themselves: what
// the readings leave open of each function, and between two coordinates what
// they share of the readings' noise; and by how much each reading moves the
// values, a row for each place.
func (m *ResidualModel) functions(places [][3]float64, from int) (with *mat.Dense, own []colorimetry.Matrix, weights [3]*mat.Dense) {
	n, seen := len(places), len(m.stated)
	with, own = mat.NewDense(3*n, 3*(n-from), nil), make([]colorimetry.Matrix, n)
	for c, p := range m.process {
		k := mat.NewDense(seen, n, nil)
		for i, z := range p.places {
			row := k.RawRowView(i)
			for j, u := range places {
				row[j] = p.at(u, z)
			}
		}
		var w, told mat.Dense
		// A factor that was found solves; a bad condition costs digits only.
		_ = p.factor.SolveTo(&w, k)
		weights[c] = mat.DenseCopyOf(w.T())
		told.Mul(weights[c], k.Slice(0, seen, from, n))
		for i, u := range places {
			row := with.RawRowView(3*i + c)
			for j, v := range places[from:] {
				row[3*j+c] = p.at(u, v) - told.At(i, j)
			}
			own[i][c][c] = p.self() - mat.Dot(weights[c].RowView(i), k.ColView(i))
		}
	}
	for c := range 3 {
		for d := range 3 {
			if c == d {
				continue
			}
			shared := mat.NewDense(n, seen, nil)
			shared.Apply(func(_, i int, w float64) float64 {
				return w * m.noise[0][i] / m.stated[i][0][0] * m.stated[i][c][d]
			}, weights[d])
			var v mat.Dense
			v.Mul(weights[c], shared.Slice(from, n, 0, seen).T())
			for i := range places {
				row := with.RawRowView(3*i + c)
				for j := range n - from {
					row[3*j+d] = v.At(i, j)
				}
				own[i][c][d] = mat.Dot(weights[c].RowView(i), shared.RowView(i))
			}
		}
	}
	return with, own, weights
}

// trust is what the covariance of the model under the residuals is multiplied
// by: it holds what that model misses beyond the readings' noise, which is what
// the functions are for.
func (m *ResidualModel) trust() float64 {
	u, ok := m.under.(interface{ Scatter() float64 })
	if !ok {
		return 1
	}
	k := math.Max(1, u.Scatter())
	return 1 / (k * k)
}
